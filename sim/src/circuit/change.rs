//! What may be changed while a circuit runs: switches, inputs, sines, charges and values.

use alloc::sync::Arc;
use alloc::vec::Vec;

use super::Circuit;
use super::error::NetError;
use super::graph::Capacitor;
use super::netlist::{InputId, PartId};
use super::part::{Part, Wave};
use super::range::sine_values;
use super::segment::{CLOSED, DISABLED, OFF, OPEN};
use super::topology::Store;

impl Circuit {
    /// Closes or opens a switch, or enables or disables a regulator, from the next step on.
    ///
    /// States carry over untouched. For any other part nothing happens.
    pub fn set_switch(&mut self, part: PartId, closed: bool) {
        let Some(element) = self.model.element(part.0) else { return };
        let segment = self.segments.get(element);
        let wanted = match self.model.part(part.0) {
            Part::Switch { .. } => {
                if closed {
                    CLOSED
                } else {
                    OPEN
                }
            }
            Part::Regulator { .. } if closed && segment == DISABLED => OFF,
            Part::Regulator { .. } if !closed => DISABLED,
            _ => segment,
        };
        if wanted != segment {
            self.segments.set(element, wanted);
            self.touched = true;
        }
    }

    /// Sets an outside-driven value: at once, or, for a ramped input, by the end of the next step.
    ///
    /// A value that is not finite makes the next step fail.
    #[inline]
    pub fn set_input(&mut self, id: InputId, value: f64) {
        let place = 1 + id.0;
        let ramp = self.model.ramps.iter().find(|ramp| ramp.value == place);
        if id.0 >= self.model.net.inputs.len() {
            return;
        }
        if !value.is_finite() {
            self.broken = true;
            self.touched = true;
        } else if let Some(ramp) = ramp {
            self.inputs[ramp.rise] = value - self.inputs[place];
        } else {
            self.inputs[place] = value;
        }
    }

    /// Restarts a sine source with its harmonics at a given phase; for any other part nothing
    /// happens.
    ///
    /// A new frequency makes every topology be computed again. A value that is out of range makes
    /// the next step fail.
    pub fn set_sine(&mut self, part: PartId, volts_rms: f64, hertz: f64, phase_deg: f64) {
        let Some(named) = self.model.net.parts.get(part.0) else { return };
        let Some(&Wave::Sine { hertz: before, .. }) = named.part.wave() else { return };
        let values = sine_values(volts_rms, hertz, phase_deg);
        self.touched = true;
        if values.iter().any(|&(_, value, (least, most))| !(value >= least && value <= most)) {
            self.broken = true;
            return;
        }
        if hertz != before {
            self.change_part(part, |part| match part {
                Part::Source { wave: Wave::Sine { hertz: old, .. }, .. }
                | Part::CurrentSource { wave: Wave::Sine { hertz: old, .. }, .. } => *old = hertz,
                _ => {}
            });
        }
        for sine in self.model.sines.iter().filter(|sine| sine.part == part.0) {
            sine.start(volts_rms, phase_deg, &mut self.now);
        }
    }

    /// Takes the charge out of every capacitor.
    pub fn empty(&mut self) {
        self.touched = true;
        self.now[..self.model.free].fill(0.0);
    }

    /// Puts a capacitor at a voltage, as if charge came from outside.
    ///
    /// Capacitors in a loop with it share the charge. A value that is not finite makes the next
    /// step fail. For any other part nothing happens.
    pub fn set_state_volts(&mut self, capacitor: PartId, volts: f64) {
        let all = &self.model.capacitors;
        let Some(found) = all.iter().position(|one| one.part == capacitor.0) else { return };
        self.touched = true;
        if !volts.is_finite() {
            self.broken = true;
            return;
        }
        let now = |one: &Capacitor| {
            one.path.iter().fold(0.0, |sum, &(state, sign)| sum + sign * self.now[state])
        };
        let mut at: Vec<f64> = all.iter().map(now).collect();
        at[found] = volts;
        if self.model.share_charge(&at, &mut self.now).is_err() {
            self.broken = true;
        }
    }

    /// Changes a resistance (of a switch: when closed), capacitance or inductance; voltages and
    /// currents of the states stay.
    ///
    /// Every topology is computed again, unless the value is the one it had.
    ///
    /// # Errors
    ///
    /// A part without such a value, or a value out of range; the circuit is then unchanged.
    pub fn set_value(&mut self, part: PartId, ohms_or_farads: f64) -> Result<(), NetError> {
        let named = self.model.net.parts.get(part.0).ok_or(NetError::ForeignProbe)?;
        let mut changed = named.part.clone();
        match &mut changed {
            Part::Resistor { ohms: value, .. }
            | Part::Capacitor { farads: value, .. }
            | Part::Inductor { henries: value, .. }
            | Part::Switch { on_ohms: value, .. } => *value = ohms_or_farads,
            _ => return Err(NetError::NotAdjustable { part: named.name.clone() }),
        }
        changed.check(&named.name)?;
        if changed != named.part {
            self.change_part(part, |part| *part = changed);
        }
        Ok(())
    }

    fn change_part(&mut self, part: PartId, change: impl FnOnce(&mut Part)) {
        change(&mut Arc::make_mut(&mut self.model).net.parts[part.0].part);
        self.store = Store::default();
        self.touched = true;
    }
}
