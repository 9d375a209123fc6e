//! The instrument's electronics round the user's circuit: what core commands goes in, codes come out.
//!
//! A [`Bench`] holds the circuit with the electronics of [`FrontEndParams`] wired to the nodes
//! `lead.pos` and `lead.neg`, the delays of relays and gate, the supply that lives on its token, and
//! the converters. One call advances one sample period. Every fault of the electronics can be set
//! and cleared at any time. Nothing here decides anything.

use ohmwarden_core::frame::Sample;
use ohmwarden_core::profile::{FrontEnd, SHUNTS, Shunt};

use crate::circuit::{Circuit, Diverged, NetError, Netlist, PartId};

mod act;
mod actuator;
mod converter;
mod faulty;
mod lines;
mod params;
#[cfg(test)]
mod tests;
mod truth;
mod wiring;
mod wrong;

pub use lines::Lines;
pub use params::FrontEndParams;
pub use truth::Truth;

use act::{Levels, Positions};
use actuator::{Contact, Delay, Supply};
use converter::Converter;
use wiring::{CURRENT_GAIN, Handles};
use wrong::Wrong;

/// Circuit, electronics and converters. A clone is a fork.
#[derive(Clone, Debug)]
pub struct Bench {
    circuit: Circuit,
    handles: Handles,
    params: FrontEndParams,
    step_seconds: f64,
    substeps: u32,
    steps: u64,
    gate: Delay,
    discharge: Delay,
    output: Contact,
    continuity: Contact,
    supply: Supply,
    supply_mv: u16,
    positions: Positions,
    levels: Levels,
    /// What the last step was told, and whether everything had arrived by then.
    obeyed: Lines,
    rests: bool,
    held_set: f64,
    joules: f64,
    converters: [Converter; 5],
    /// What one code is worth, in the order of a sample's fields.
    units: [f64; 5],
    codes_per_unit: [f64; 5],
    shunt: Shunt,
    range_left: u32,
    range_settle: u32,
    samples: u64,
    last: Sample,
    wrong: Wrong,
}

/// Noise streams by name, in the order of a sample's fields.
const STREAMS: [&str; 5] = ["adc.v", "adc.v2", "adc.i", "adc.i_gate", "adc.low"];
/// How far a change of range throws the reading off at first, codes of the new range.
const RANGE_CODES: f64 = 3_000.0;

impl Bench {
    /// Wires the instrument to the user's netlist.
    ///
    /// # Errors
    /// Whatever makes the whole unsolvable, by name of part or node.
    pub fn new(
        net: Netlist,
        params: &FrontEndParams,
        rate: u32,
        substeps: u32,
        seed: u64,
    ) -> Result<Self, NetError> {
        let substeps = substeps.max(1);
        let step_seconds = 1.0 / (f64::from(rate) * f64::from(substeps));
        let (circuit, handles) = wiring::build(net, params, step_seconds)?;
        let (low, gate) = ((-32_000.0, 32_000.0), (-2_048.0, 2_047.0));
        let (voltage, ranged) = ((-2_000.0, 2_000.0), (-32_767.0, 32_767.0));
        let ends = [voltage, voltage, ranged, gate, low];
        let mut channels = STREAMS.iter().zip(ends);
        let converters = core::array::from_fn(|_| {
            let (name, ends) = channels.next().unwrap_or((&"adc", low));
            Converter::new(seed, name, ends)
        });
        let contact = Contact::new(params.relay_travel_s, params.relay_bounce_s, step_seconds);
        Ok(Self {
            levels: Levels { limit: params.limit_amps, ..Levels::default() },
            circuit,
            handles,
            step_seconds,
            substeps,
            steps: 0,
            gate: Delay::new(params.gate_delay_s, step_seconds),
            discharge: Delay::new(params.discharge_delay_s, step_seconds),
            output: contact,
            continuity: contact,
            supply: Supply::new(params.token_hold_s, params.supply_travel_s, step_seconds),
            supply_mv: params.supply_mv,
            positions: Positions::default(),
            obeyed: Lines::default(),
            rests: false,
            held_set: 0.0,
            joules: 0.0,
            converters,
            units: units(Shunt::default()),
            codes_per_unit: units(Shunt::default()).map(|unit| 1.0 / unit),
            shunt: Shunt::default(),
            range_left: 0,
            range_settle: actuator::steps(params.range_settle_s, 1.0 / f64::from(rate)),
            samples: 0,
            last: Sample::default(),
            wrong: Wrong::default(),
            params: params.clone(),
        })
    }

    /// Advances one sample period with the lines held and gives the codes at its end; `None` when
    /// the sample is lost.
    ///
    /// # Errors
    /// The circuit found no consistent state.
    pub fn sample(&mut self, lines: &Lines) -> Result<Option<Sample>, Diverged> {
        for _ in 0..self.substeps {
            self.act(lines);
            self.circuit.step()?;
            self.steps += 1;
            if self.positions.discharge {
                let volts = self.circuit.probe(self.handles.probes.terminal);
                self.joules += volts * volts / self.discharge_ohms() * self.step_seconds;
            }
        }
        self.samples += 1;
        let lost = self.wrong.drops_every;
        if lost > 0 && self.samples.is_multiple_of(u64::from(lost)) {
            return Ok(None);
        }
        if self.wrong.repeats {
            return Ok(Some(self.last));
        }
        // Given from here and not from where it is kept: what was just written in parts and is
        // read back as a whole waits for the writing.
        let sample = self.codes(lines.shunt);
        self.last = sample;
        Ok(Some(sample))
    }

    fn codes(&mut self, shunt: Shunt) -> Sample {
        let shunt = self.wrong.range.unwrap_or(shunt);
        if shunt != self.shunt {
            self.shunt = shunt;
            self.units = units(shunt);
            self.codes_per_unit = self.units.map(|unit| 1.0 / unit);
            self.range_left = self.range_settle;
        }
        let probes = &self.handles.probes;
        let amps = self.circuit.probe(probes.current) * (1.0 / CURRENT_GAIN);
        let [v, v2] = probes.v.map(|probe| self.circuit.probe(probe));
        let low = self.circuit.probe(probes.terminal);
        let measured = [v, v2, amps, amps, low];
        let mut values: [f64; 5] = core::array::from_fn(|n| measured[n] * self.codes_per_unit[n]);
        if self.range_left > 0 {
            values[2] += RANGE_CODES * f64::from(self.range_left) / f64::from(self.range_settle);
            self.range_left -= 1;
        }
        let params = &self.params;
        let volts = params.noise_volts * self.codes_per_unit[0];
        let current = params.noise_current_codes;
        let mut noise = [volts, volts, current, current, params.noise_low_codes];
        if self.wrong.sensors {
            self.wrong.bend(&mut values, &mut noise, &self.units);
        }
        let code = |n: usize| self.converters[n].code(values[n], noise[n]);
        let mut sample = packed(core::array::from_fn(code));
        if self.wrong.sensors {
            self.wrong.replace(&mut sample);
        }
        sample
    }

    /// Gives the circuit, to move the user's parts.
    pub const fn circuit_mut(&mut self) -> &mut Circuit {
        &mut self.circuit
    }

    /// Gives the circuit.
    #[must_use]
    pub const fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// Finds a part of the circuit by name.
    #[must_use]
    pub fn find_part(&self, name: &str) -> Option<PartId> {
        self.circuit.find_part(name)
    }

    /// Sets the battery.
    pub const fn set_supply_mv(&mut self, millivolts: u16) {
        self.rests = false;
        self.supply_mv = millivolts;
    }

    /// Gives the battery as it stands, sagged where it is.
    #[must_use]
    pub fn supply_mv(&self) -> u16 {
        self.wrong.sagged_mv.map_or(self.supply_mv, |sagged| sagged.min(self.supply_mv))
    }
}

/// Makes a sample of codes by way of one word, so that it is written as one: what is written in
/// parts and read back as a whole at once costs more than all that is done to it here.
#[inline]
fn packed([v, v2, i, i_gate, low]: [i16; 5]) -> Sample {
    let place = |code: i16, at: u32| u64::from(code.cast_unsigned()) << at;
    let word = place(v, 0) | place(v2, 16) | place(i, 32) | place(i_gate, 48);
    let part = |at: u32| ((word >> at) as u16).cast_signed();
    Sample { v: part(0), v2: part(16), i: part(32), i_gate: part(48), low }
}

/// Gives what one code of each channel is worth, in volts and amperes.
fn units(shunt: Shunt) -> [f64; 5] {
    /// Core holds a gain as base units times 2^24.
    const BITS: f64 = 16_777_216.0;
    let front = &FrontEnd::DEFAULT;
    let microvolts = |gain: i64| gain as f64 / BITS * 1.0e-6;
    let picoamps = |gain: i64| gain as f64 / BITS * 1.0e-12;
    [
        microvolts(front.v.gain_q24()),
        microvolts(front.v2.gain_q24()),
        picoamps(shunt.channel().gain_q24()),
        picoamps(front.i_gate.gain_q24()),
        microvolts(front.low.gain_q24()),
    ]
}

/// The ranges are in the order in which faults count them.
const _: () = assert!(SHUNTS.len() == 6);
