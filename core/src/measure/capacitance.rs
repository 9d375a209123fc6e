//! What the load stores, in two ways that share neither channel nor moment.
//!
//! From charge: what went in while the voltage climbed, less what leaked. From decay: how long the
//! discharge resistor needs, `C = T / (R_p ln(V1 / V2))` with the resistor, the dividers and the
//! leak in parallel, less the output capacitor. Where they do not agree within a tenth, or within
//! their doubts, the reading says so.
//!
//! Absorption makes the first too large by some percent. Worse for small loads: the set point climbs
//! by a step a sample and the shunt is read at the end of each, when part of what flowed has died
//! away already. Below 0.1 uF the first therefore says little, and the second counts.

use super::decay::{Decay, Fall};
use super::{float_farads, float_ohms, root, volts};
use crate::judge::{Flags, Reading, Unit, Value};
use crate::profile::FrontEnd;
use crate::signal::SampleRate;
use crate::unit::Capacitance;

/// Two ways agree within this share of their mean (own design).
const AGREE: f32 = 0.1;
/// Standard uncertainty of the charge as a share: gain, and absorption where the leak was known at
/// a plateau, or where it was not.
const CHARGE_DOUBT: [f32; 2] = [0.03, 0.05];
/// And as a share of what is lost between two steps of the set point, up to so many farads (found in
/// the simulated front end: 45 % of 1 nF, 38 % of 10 nF, 8 nF of 100 nF and more).
const STEPS_DOUBT: f32 = 0.5;
const STEPS_MOST: f32 = 8.0e-9;
/// Standard uncertainty of the resistors together, as a share.
const RESISTOR_DOUBT: f32 = 0.01;
/// That of the output capacitor.
const OUTPUT_DOUBT: f32 = 0.02;
/// Noise of two samples of a voltage channel, with what a code hides, in volts.
const NOISE: f32 = 0.35;
/// Standard uncertainty of what leads store, as a share: they lie otherwise each time.
const LEADS_DOUBT: f32 = 0.3;
/// A decay by less says too little.
const LEAST_FALL: f32 = 1.4;
/// The leak takes the charge away before it can be counted: `R C` below this.
const LEAST_SECONDS: f32 = 0.02;

/// What one drive and its discharge tell of the store.
#[derive(Clone, Copy, Debug)]
pub struct Stored {
    /// From charge; and whether the leak was known.
    pub charge: Option<(Capacitance, bool)>,
    /// From decay.
    pub decay: Decay,
    /// The leak beside it, in ohms, where it is a number.
    pub leak: Option<f32>,
}

impl Stored {
    /// The capacitance at the terminals, leads included; no reading where either way has none.
    #[must_use]
    pub fn reading(&self, front: &FrontEnd, rate: SampleRate) -> Reading {
        let holds = |reading: &Reading| reading.value.amount().is_none_or(|c| !self.loses(c));
        self.both_ways(front, rate).filter(holds).unwrap_or(Reading::NONE)
    }

    /// Whether it is the leak that hides the capacitance: the charge is gone before it is counted.
    #[must_use]
    pub fn leaks_away(&self, front: &FrontEnd, rate: SampleRate) -> bool {
        let read = self.both_ways(front, rate).and_then(|reading| reading.value.amount());
        let by_charge = self.charge.map(|(c, _)| float_farads(c));
        read.or(by_charge).is_some_and(|c| self.loses(c))
    }

    fn loses(&self, farads: f32) -> bool {
        self.leak.is_some_and(|r| r * farads < LEAST_SECONDS)
    }

    fn both_ways(&self, front: &FrontEnd, rate: SampleRate) -> Option<Reading> {
        let (by_charge, refined) = self.charge?;
        let fall = self.decay.fall(front, rate)?;
        let charge = charged(float_farads(by_charge), refined);
        Some(weighed(charge, decayed(&fall, self.leak, front)?))
    }
}

/// Takes off what the leads store by themselves; never below nothing.
#[must_use]
pub fn without_leads(reading: Reading, leads: Capacitance) -> Reading {
    let Value::Number(c) = reading.value else { return reading };
    let leads = float_farads(leads);
    let value = Value::Number((c - leads).max(0.0));
    let at_null = Flags::NONE.with_if(Flags::AT_NULL, c < leads);
    let doubt = root(&[reading.doubt, LEADS_DOUBT * leads]);
    Reading { value, doubt, ..reading }.flagged(at_null)
}

/// A capacitance in farads with its standard uncertainty.
type Farads = (f32, f32);

fn charged(c: f32, refined: bool) -> Farads {
    let [known, unknown] = CHARGE_DOUBT;
    let share = if refined { known } else { unknown };
    (c, root(&[share * c, STEPS_DOUBT * c.min(STEPS_MOST)]))
}

fn decayed(fall: &Fall, leak: Option<f32>, front: &FrontEnd) -> Option<Farads> {
    let (from, to) = (volts(fall.from), volts(fall.to));
    if from / to < LEAST_FALL {
        return None;
    }
    let siemens = 1.0 / float_ohms(front.discharge)
        + 1.0 / float_ohms(front.input)
        + leak.map_or(0.0, |r| 1.0 / r);
    let folds = libm::logf(from / to);
    let whole = fall.seconds * siemens / folds;
    let output = float_farads(front.output);
    let noise = root(&[NOISE / from, NOISE / to]) / folds;
    let doubt = root(&[whole * noise, whole * RESISTOR_DOUBT, output * OUTPUT_DOUBT]);
    Some(((whole - output).max(0.0), doubt))
}

/// Both by the inverse of their variance; apart, by what they are apart.
fn weighed((a, u_a): Farads, (b, u_b): Farads) -> Reading {
    let share = u_b * u_b / (u_a * u_a + u_b * u_b);
    let c = share * a + (1.0 - share) * b;
    let apart = libm::fabsf(a - b);
    let disagrees = apart > root(&[AGREE * c, 2.0 * u_a, 2.0 * u_b]);
    let doubt = root(&[u_a * libm::sqrtf(share), if disagrees { apart } else { 0.0 }]);
    Reading {
        value: Value::Number(c),
        unit: Unit::Farad,
        doubt,
        skew: 0.0,
        flags: Flags::NONE.with_if(Flags::DISAGREEING, disagrees),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::Sample;
    use crate::profile::GENERAL;

    const FRONT: &FrontEnd = &GENERAL.front_end;

    /// The decay of so many farads, output capacitor included, from 500 V through so many ohms.
    fn decay(farads: f32, ohms: f32) -> Decay {
        let mut decay = Decay::NEW;
        for n in 0..40_000_u16 {
            let v = 500.0 * libm::expf(-f32::from(n) * 1.0e-4 / (ohms * farads));
            #[expect(clippy::cast_possible_truncation, reason = "at most 667")]
            let code = libm::roundf(v / 0.75) as i16;
            decay.step(&[Sample { v: code, v2: code, ..Sample::default() }]);
        }
        decay
    }

    fn stored(nanofarads: u32, decay: Decay, leak: Option<f32>) -> Reading {
        let charge = Some((Capacitance::from_nanofarads(nanofarads), true));
        Stored { charge, decay, leak }.reading(FRONT, SampleRate::DEFAULT)
    }

    #[test]
    fn a_decay_through_known_resistors_gives_the_capacitance() {
        // 100 kohm beside 2 Mohm are 95.24 kohm; with a leak of 1 Mohm beside them 86.96 kohm.
        for (nanofarads, leak, ohms) in [(100, None, 95.24e3), (1_000, Some(1.0e6), 86.96e3)] {
            #[expect(clippy::cast_precision_loss, reason = "a small number")]
            let farads = nanofarads as f32 * 1.0e-9;
            let reading = stored(nanofarads, decay(farads + 5.0e-9, ohms), leak);
            let c = reading.value.amount().unwrap_or(0.0);
            assert!((c - farads).abs() < 0.01 * farads, "{nanofarads} nF: {reading:?}");
            assert!(!reading.flags.any(Flags::DISAGREEING), "{reading:?}");
        }
    }

    #[test]
    fn two_ways_that_differ_by_a_fifth_are_flagged_and_their_doubt_grows() {
        let reading = stored(120, decay(105.0e-9, 95.24e3), None);
        assert!(reading.flags.any(Flags::DISAGREEING), "{reading:?}");
        assert!(reading.doubt > 15.0e-9, "{reading:?}");
    }

    #[test]
    fn nothing_is_said_where_the_leak_takes_the_charge_or_nothing_decays() {
        assert_eq!(stored(10, decay(15.0e-9, 87.0e3), Some(1.0e6)), Reading::NONE);
        assert_eq!(stored(10, Decay::NEW, None), Reading::NONE);
        let still = Sample { v: 600, ..Sample::default() };
        let mut decay = Decay::NEW;
        decay.step(&[still; 1_000]);
        assert_eq!(stored(10, decay, None), Reading::NONE);
    }

    #[test]
    fn leads_are_taken_off_and_never_leave_less_than_nothing() {
        let of = |c: f32| Reading {
            value: Value::Number(c),
            unit: Unit::Farad,
            doubt: 30.0e-12,
            ..Reading::NONE
        };
        let leads = Capacitance::from_picofarads(200);
        let less = without_leads(of(1.2e-9), leads);
        assert!(matches!(less.value, Value::Number(c) if (c - 1.0e-9).abs() < 1.0e-12));
        assert!(less.doubt > 30.0e-12 && !less.flags.any(Flags::AT_NULL));
        let none = without_leads(of(0.15e-9), leads);
        assert_eq!((none.value, none.flags), (Value::Number(0.0), Flags::AT_NULL));
    }
}
