//! Everything that may be wrong with the electronics, set and cleared by effects of faults.

use ohmwarden_core::frame::Sample;
use ohmwarden_core::profile::{SHUNTS, Shunt};

use crate::faults::{Actuator, LeadFault, Sensor, SupplyFault};
use crate::scenario::Side;

/// What is wrong now; the default is nothing.
#[derive(Clone, Debug)]
pub(super) struct Wrong {
    /// Any sensor is wrong: the channels below are to be looked at.
    pub(super) sensors: bool,
    gain: [f64; 5],
    reference: f64,
    offset: [f64; 5],
    noise: [f64; 5],
    stuck: [Option<i16>; 5],
    copies_first: bool,
    pub(super) range: Option<Shunt>,
    pub(super) repeats: bool,
    pub(super) drops_every: u32,
    spike: (f64, u32),
    pub(super) source: Option<SourceFault>,
    pub(super) set_factor: f64,
    pub(super) no_ramp: Option<f64>,
    pub(super) limit_factor: f64,
    pub(super) ripple: Option<(f64, f64)>,
    pub(super) discharge: Option<bool>,
    pub(super) discharge_factor: f64,
    pub(super) relay_welded: bool,
    pub(super) supply: Option<bool>,
    pub(super) intermittent_hertz: f64,
    pub(super) open: [bool; 2],
    pub(super) swapped: bool,
    pub(super) short: bool,
    pub(super) fuse_blown: bool,
    pub(super) sagged_mv: Option<u16>,
}

/// The source does not listen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum SourceFault {
    StuckOn(f64),
    Dead,
}

impl Default for Wrong {
    fn default() -> Self {
        Self {
            sensors: false,
            gain: [1.0; 5],
            reference: 1.0,
            offset: [0.0; 5],
            noise: [0.0; 5],
            stuck: [None; 5],
            copies_first: false,
            range: None,
            repeats: false,
            drops_every: 0,
            spike: (0.0, 0),
            source: None,
            set_factor: 1.0,
            no_ramp: None,
            limit_factor: 1.0,
            ripple: None,
            discharge: None,
            discharge_factor: 1.0,
            relay_welded: false,
            supply: None,
            intermittent_hertz: 0.0,
            open: [false; 2],
            swapped: false,
            short: false,
            fuse_blown: false,
            sagged_mv: None,
        }
    }
}

impl Wrong {
    /// Sets or clears what one effect on a sensor does to codes.
    pub(super) fn sensor(&mut self, sensor: Sensor, on: bool) {
        self.sensors = true;
        match sensor {
            Sensor::Stuck { channel, code } => self.stuck[channel.index()] = on.then_some(code),
            Sensor::Gain { channel, factor } => {
                self.gain[channel.index()] = if on { factor } else { 1.0 };
            }
            Sensor::Reference { factor } => self.reference = if on { factor } else { 1.0 },
            Sensor::Offset { channel, amount } => {
                self.offset[channel.index()] = if on { amount } else { 0.0 };
            }
            Sensor::Noise { channel, rms } => {
                self.noise[channel.index()] = if on { rms } else { 0.0 };
            }
            Sensor::CopiesFirst => self.copies_first = on,
            Sensor::RangeStuck { range } => {
                self.range = SHUNTS.get(range).copied().filter(|_| on);
            }
            Sensor::Repeats => self.repeats = on,
            Sensor::Drops { every } => self.drops_every = if on { every } else { 0 },
            Sensor::Spike { volts, samples } => self.spike = (volts, if on { samples } else { 0 }),
            Sensor::DividerOpen { .. } | Sensor::NoFilter => {}
        }
    }

    /// Sets or clears what one effect on an actuator does.
    pub(super) fn actuator(&mut self, actuator: Actuator, on: bool) {
        match actuator {
            Actuator::SourceStuckOn { volts } => {
                self.source = on.then_some(SourceFault::StuckOn(volts));
            }
            Actuator::SourceDead => self.source = on.then_some(SourceFault::Dead),
            Actuator::SetPoint { factor } => self.set_factor = if on { factor } else { 1.0 },
            Actuator::NoRamp { volts } => self.no_ramp = on.then_some(volts),
            Actuator::Limit { factor } => self.limit_factor = if on { factor } else { 1.0 },
            Actuator::Ripple { volts, hertz } => self.ripple = on.then_some((volts, hertz)),
            Actuator::DischargeOpen => self.discharge = on.then_some(false),
            Actuator::DischargeClosed => self.discharge = on.then_some(true),
            Actuator::DischargeResistor { factor } => {
                self.discharge_factor = if on { factor } else { 1.0 };
            }
            Actuator::RelayWelded => self.relay_welded = on,
            Actuator::SupplyStuckOn => self.supply = on.then_some(true),
            Actuator::SupplyDead => self.supply = on.then_some(false),
            Actuator::RelayTimes { .. } => {}
        }
    }

    /// Sets or clears what one effect on the leads does.
    pub(super) fn lead(&mut self, lead: LeadFault, on: bool) {
        match lead {
            LeadFault::Open(side) => self.open[usize::from(side == Side::Neg)] = on,
            LeadFault::Intermittent { hertz } => {
                self.intermittent_hertz = if on { hertz } else { 0.0 };
            }
            LeadFault::Short => self.short = on,
            LeadFault::Swapped => self.swapped = on,
            LeadFault::FuseBlown => self.fuse_blown = on,
            LeadFault::Leak { .. } => {}
        }
    }

    /// Sets or clears what one effect on the battery does.
    pub(super) fn battery(&mut self, fault: SupplyFault, on: bool) {
        let SupplyFault::Sags { millivolts } = fault;
        self.sagged_mv = on.then_some(millivolts);
    }

    /// Bends the values of the channels, in codes, and their noise; `unit` is one code of each.
    pub(super) fn bend(&mut self, values: &mut [f64; 5], noise: &mut [f64; 5], unit: &[f64; 5]) {
        if self.spike.1 > 0 {
            self.spike.1 -= 1;
            values[0] += self.spike.0 / unit[0];
        }
        if self.copies_first {
            values[1] = values[0];
        }
        for channel in 0..5 {
            let true_value = values[channel] * self.gain[channel] * self.reference;
            values[channel] = true_value + self.offset[channel] / unit[channel];
            let extra = self.noise[channel] / unit[channel];
            noise[channel] = libm::sqrt(noise[channel] * noise[channel] + extra * extra);
        }
    }

    /// Puts in the codes that do not change, and the copied one.
    pub(super) fn replace(&self, sample: &mut Sample) {
        if self.copies_first {
            sample.v2 = sample.v;
        }
        let places =
            [&mut sample.v, &mut sample.v2, &mut sample.i, &mut sample.i_gate, &mut sample.low];
        for (place, stuck) in places.into_iter().zip(self.stuck) {
            *place = stuck.unwrap_or(*place);
        }
    }
}
