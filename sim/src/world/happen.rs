//! What the scenario lets happen, at its moment.

use alloc::string::String;

use ohmwarden_core::frame::Key;
use ohmwarden_core::invariants::Arrival;
use ohmwarden_core::unit::{Frequency, Resistance, Voltage};

use super::build::selected;
use super::{Observer, World};
use crate::expect::Fired;
use crate::scenario::{Action, Button, Event, Lead, NamedPart, Part};

impl World {
    /// Lets everything happen whose moment has come.
    pub(super) fn happen(&mut self, observer: &mut dyn Observer) {
        self.come_back();
        let t = self.seconds();
        // Half a nanosecond: a moment that was written in decimals is on its sample.
        while let Some(event) = self.timeline.get(self.next_event).filter(|e| e.s <= t + 0.5e-9) {
            let event = event.clone();
            self.next_event += 1;
            if let Some(label) = event.label.as_deref()
                && let Some(at) = self.labels.iter().position(|known| known == label)
            {
                self.fired.push(Fired { label: at, seconds: event.s });
            }
            let panel =
                matches!(event.action, Action::Press(_) | Action::Release(_) | Action::Select(_));
            self.changed |= !panel;
            self.act(&event);
            observer.event(t, &event);
        }
    }

    fn act(&mut self, event: &Event) {
        match &event.action {
            Action::Press(button) => self.key(*button, true),
            Action::Release(button) => self.key(*button, false),
            // The timeline has made press and release of it.
            Action::Tap(_) => {}
            Action::Select(function) => self.panel.function = selected(*function),
            Action::Close(name) => self.switch(name, true),
            Action::Open(name) => self.switch(name, false),
            Action::Set { part, values } => self.set(part, values),
            Action::Charge { part, volts } => {
                if let Some(id) = self.bench.find_part(part) {
                    self.bench.circuit_mut().set_state_volts(id, *volts);
                }
            }
            Action::Lead(lead) => self.lead(lead),
            Action::BatteryVolts(volts) => {
                self.bench.set_supply_mv(libm::round(volts * 1.0e3) as u16)
            }
            Action::Reset => self.reset(),
            Action::CutPowerInWrite(operations) => self.cut_power_after(*operations as u64),
            Action::Overwrite(allowed) => self.allow_overwriting(*allowed),
            Action::Fault(call) => self.fault(call),
            Action::Clear(name) => self.clear(name),
        }
    }

    fn key(&mut self, button: Button, down: bool) {
        match button {
            Button::Test => self.panel.test = Key::new(down),
            Button::Null => self.panel.null = down,
            Button::Hold => self.panel.hold = down,
        }
    }

    fn switch(&mut self, name: &str, closed: bool) {
        if let Some(id) = self.bench.find_part(name) {
            self.bench.circuit_mut().set_switch(id, closed);
        }
        if let Some(outside) = &mut self.outside
            && let Some(id) = outside.find_part(name)
        {
            outside.set_switch(id, closed);
        }
        if let Some(NamedPart { part: Part::Switch { closed: now, .. }, .. }) =
            self.parts.iter_mut().find(|part| part.name == name)
        {
            *now = closed;
        }
        if closed {
            self.arrived = self.arrival(name);
        }
    }

    /// What joins the terminals when a lead is on again.
    fn arrival_by_lead(&self) -> Option<Arrival> {
        let joins = |part: &&NamedPart| !matches!(part.part, Part::Switch { closed: false, .. });
        self.parts.iter().filter(joins).find_map(|part| self.arrival(&part.name))
    }

    fn lead(&mut self, lead: &Lead) {
        match lead {
            Lead::Open(_) => self.lead_open = true,
            Lead::Join(_) => {
                self.lead_open = false;
                self.arrived = self.arrival_by_lead();
            }
            Lead::Ohms(_) | Lead::Short(_) | Lead::Swap(_) => {}
        }
        self.bench.lead(lead);
    }

    fn set(&mut self, name: &str, values: &[(String, f64)]) {
        let value = |key: &str| values.iter().find(|(k, _)| k == key).map(|(_, v)| *v);
        if let Some(volts) = value("volts") {
            self.drivers.set_steady(name, volts);
        }
        let Some(part) = self.parts.iter_mut().find(|part| part.name == name) else { return };
        for (key, value) in values {
            part.set(key, *value);
        }
        let part = part.clone();
        self.set_in_circuits(&part, value("ohms").or(value("farads")));
        self.arrived = self.arrival(name);
    }

    fn set_in_circuits(&mut self, part: &NamedPart, adjusted: Option<f64>) {
        let shadow = self.outside.as_mut().map(|o| (o.find_part(&part.name), o.circuit_mut()));
        let real = (self.bench.find_part(&part.name), self.bench.circuit_mut());
        for (id, circuit) in core::iter::once(real).chain(shadow) {
            let Some(id) = id else { continue };
            if let Part::Sine { volts_rms, hertz, phase_deg, .. }
            | Part::Pickup { volts_rms, hertz, phase_deg, .. } = part.part
            {
                circuit.set_sine(id, volts_rms, hertz, phase_deg);
            }
            if let Some(value) = adjusted {
                // The file's own check has bounded it; a part without such a value is left alone.
                let _unchanged = circuit.set_value(id, value);
            }
        }
    }

    /// What joins the terminals when this switch closes or this source is set: only a source that
    /// is joined to a lead by nothing but that switch, through at most 1 kohm. For anything softer
    /// nothing is promised.
    fn arrival(&self, name: &str) -> Option<Arrival> {
        let named = self.parts.iter().find(|part| part.name == name)?;
        let is_lead = |node: &str| node == "lead.pos" || node == "lead.neg";
        let source = if matches!(named.part, Part::Switch { .. }) {
            let far = named.across.iter().find(|node| !is_lead(node))?;
            named.across.iter().find(|node| is_lead(node))?;
            self.parts.iter().find(|part| {
                part.across.contains(far)
                    && part.across.iter().any(|node| is_lead(node))
                    && part.name != name
            })?
        } else {
            Some(named).filter(|part| part.across.iter().all(|node| is_lead(node)))?
        };
        let own = self.lines.gate.set_point;
        let reversed = source.across.first().is_some_and(|node| node == "lead.neg");
        let reversed = reversed != self.bench.is_swapped();
        let load = self.load_siemens();
        // Loads of 5 kohm and more are in the box of the promises; what stands behind a heavier one
        // arrives only with what the load leaves of it.
        let left = |ohms: f64| if load > 1.0 / 5.0e3 { 1.0 / (1.0 + ohms * load) } else { 1.0 };
        let volts = |v: f64, ohms: f64| {
            Voltage::from_microvolts(libm::round(v * left(ohms) * 1.0e6) as i32)
        };
        let runs_low = self.lines.continuity.is_some();
        let low = |ohms: f64| {
            let milliohms = libm::round(ohms * 1.0e3) as u64;
            Some(Resistance::from_milliohms(milliohms)).filter(|_| runs_low)
        };
        match source.part {
            Part::Sine { volts_rms, hertz, ohms, .. } if ohms <= 1_000.0 => Some(Arrival {
                rms: volts(volts_rms, ohms),
                hz: Frequency::from_millihertz(libm::round(hertz * 1.0e3) as u32),
                dc: Voltage::ZERO,
                own,
                low: low(ohms),
            }),
            Part::Dc { volts: v, ohms } if ohms <= 1_000.0 => Some(Arrival {
                rms: Voltage::ZERO,
                hz: Frequency::ZERO,
                dc: volts(if reversed { -v } else { v }, ohms),
                own,
                low: low(ohms),
            }),
            _ => None,
        }
    }

    /// What conducts straight from lead to lead.
    fn load_siemens(&self) -> f64 {
        let across = |part: &&NamedPart| {
            let has = |lead: &str| part.across.iter().any(|node| node == lead);
            has("lead.pos") && has("lead.neg")
        };
        let siemens = |part: &NamedPart| match part.part {
            Part::Resistor { ohms } | Part::Insulation { ohms, .. } => 1.0 / ohms,
            _ => 0.0,
        };
        self.parts.iter().filter(across).map(siemens).sum()
    }
}
