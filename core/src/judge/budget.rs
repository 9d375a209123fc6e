//! Where the doubt of a reading comes from, part by part, and the smallest reading that proves a
//! limit.
//!
//! Resistance is `V / I`. Each side has a gain (on the day of its calibration), a drift since, an
//! offset, noise and the resolution of its converter; the quotient has the lead null beside them.
//! The combined standard uncertainty is the root of the sum of squares, expanded with `k = 2`, as
//! JCGM 100:2008, 5.1.2 and 6.2.1 are commonly cited (secondary source, not checked against the
//! text). All parts are standard uncertainties: volts, amperes, ohms, or a share of the reading.
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        reason = "a test may panic; the library itself is checked in the build without tests"
    )
)]

use super::{Limit, Reading, Rule, Unit, Value, Verdict};
use crate::calibration::{Adjusted, standard};
use crate::profile::{Scale, Shunt};

/// Coverage factor of an expanded uncertainty, and of a bound.
pub const COVER: f32 = 2.0;
/// Samples of one reading of insulation: half a second at 10 000 a second.
const LONG: f32 = 5_000.0;
/// Samples of one turn of continuity.
const SHORT: f32 = 500.0;
/// Two contacts (common practice: 20 to 50 mohm to either side, pressed on by hand, half of it
/// taken up by the null or by the person who presses).
pub(crate) const CONTACTS: f32 = 0.01;
/// A lead null: copper moves by 0.4 % a kelvin, contacts by 20 to 50 mohm (common practice).
const NULL: f32 = 0.03;
/// One code, either half of it as likely: `1 / sqrt(12)`.
const ROUNDING: f32 = 0.288_675_13;

/// The doubt of one side of the quotient.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Parts {
    /// Gain on the day of its calibration, as a share.
    pub gain: f32,
    /// What the gain moved by since, as a share.
    pub drift: f32,
    /// Zero, that day and since.
    pub offset: f32,
    /// Noise, in the mean of one reading.
    pub noise: f32,
    /// Resolution of the converter.
    pub resolution: f32,
}

/// What the parts come to, for whoever asks for the doubt of one scale again and again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Whole {
    share: f32,
    fixed: f32,
}

/// The doubt of one function in one range.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Budget {
    /// The voltage.
    pub v: Parts,
    /// The current.
    pub i: Parts,
    /// Contacts and lead null, in ohms.
    pub null: f32,
}

/// What a test holds constant while the resistance may be anything.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Held {
    /// So many volts.
    Volts(f32),
    /// So many amperes.
    Amps(f32),
}

impl Parts {
    /// The parts of a scale that is shown by itself.
    #[must_use]
    pub fn shown(adjusted: &Adjusted<'_>, scale: Scale) -> Self {
        Self::of(adjusted, scale, SHORT)
    }

    /// The parts of a scale in the mean of so many samples.
    fn of(adjusted: &Adjusted<'_>, scale: Scale, samples: f32) -> Self {
        let (limits, code) = (scale.accuracy(), adjusted.code(scale));
        let (gain, zero) = adjusted.doubt(scale);
        Self {
            gain,
            drift: standard(limits.gain_drift) / 1.0e6,
            offset: code * root(&[zero, standard(limits.zero_drift) / 100.0]),
            noise: code * f32::from(limits.noise) / 100.0 / libm::sqrtf(samples),
            resolution: code * ROUNDING,
        }
    }

    /// The same, of the difference of two readings: the zero falls out.
    fn of_difference(self) -> Self {
        const ROOT_2: f32 = core::f32::consts::SQRT_2;
        let (noise, resolution) = (self.noise * ROOT_2, self.resolution * ROOT_2);
        Self { offset: 0.0, noise, resolution, ..self }
    }

    /// What grows with the reading, as a share.
    #[must_use]
    pub fn share(&self) -> f32 {
        root(&[self.gain, self.drift])
    }

    /// What is there at nothing too.
    #[must_use]
    pub fn fixed(&self) -> f32 {
        root(&[self.offset, self.noise, self.resolution])
    }

    /// Both.
    #[must_use]
    pub fn whole(&self) -> Whole {
        Whole { share: self.share(), fixed: self.fixed() }
    }

    /// The whole at a reading.
    #[must_use]
    pub fn at(&self, x: f32) -> f32 {
        self.whole().at(x)
    }
}

impl Whole {
    /// The doubt at a reading.
    #[must_use]
    pub fn at(&self, x: f32) -> f32 {
        root(&[self.share * x, self.fixed])
    }
}

impl Budget {
    /// Of insulation, in a range.
    #[must_use]
    pub fn insulation(adjusted: &Adjusted<'_>, shunt: Shunt) -> Self {
        Self {
            v: Parts::of(adjusted, Scale::Volts, LONG),
            i: Parts::of(adjusted, Scale::Amps(shunt), LONG),
            null: 0.0,
        }
    }

    /// Of continuity and resistance, in a range: both directions of current or one alone, with a
    /// lead null or without.
    #[must_use]
    pub fn continuity(adjusted: &Adjusted<'_>, shunt: Shunt, one_way: bool, nulled: bool) -> Self {
        let of = |scale| {
            let parts = Parts::of(adjusted, scale, SHORT);
            if one_way { parts } else { parts.of_difference() }
        };
        let null = root(&[CONTACTS, if nulled { NULL } else { 0.0 }]);
        Self { v: of(Scale::Low), i: of(Scale::Amps(shunt)), null }
    }

    /// The doubt of `v / i` in ohms, and how much of it, as a share, is in `i`.
    #[must_use]
    pub fn doubt(&self, v: f32, i: f32) -> (f32, f32) {
        let (ohms, share) = (v / i, self.i.at(i) / i);
        (root(&[self.v.at(v) / i, ohms * share, self.null]), share)
    }

    /// The doubt of a bound, as a share: what is in both gains.
    #[must_use]
    pub fn doubt_of_bound(&self, v: f32) -> f32 {
        root(&[self.v.at(v) / v, self.i.share()])
    }

    /// The reading that a resistance would give, with nothing to be said against it.
    #[must_use]
    pub fn reading(&self, ohms: f32, held: Held) -> Reading {
        let (v, i) = match held {
            Held::Volts(v) => (v, v / ohms),
            Held::Amps(i) => (ohms * i, i),
        };
        let (doubt, share) = self.doubt(v, i);
        let skew = if matches!(held, Held::Volts(_)) { share } else { 0.0 };
        Reading { value: Value::Number(ohms), unit: Unit::Ohm, doubt, skew, ..Reading::NONE }
    }
}

/// The least reading that proves a limit from below, the greatest that proves one from above; by the
/// same judging that a reading gets. `None` where no reading does.
///
/// For a user's own range, ask with the budget of the range that the current at the limit needs.
#[must_use]
pub fn smallest_proving(limit: Limit, rule: Rule, budget: &Budget, held: Held) -> Option<f32> {
    /// Halvings of the way: more than `f32` has digits.
    const STEPS: u8 = 40;
    let proves = |ohms| budget.reading(ohms, held).judge_by(limit, rule).verdict() == Verdict::Pass;
    let (mut good, mut bad) = match limit {
        Limit::AtLeast(l) => (l * 100.0, l),
        Limit::AtMost(l) => (l * 1.0e-6, l),
    };
    if proves(bad) {
        return Some(bad);
    }
    if !proves(good) {
        return None;
    }
    for _ in 0..STEPS {
        let middle = 0.5 * (good + bad);
        if proves(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Some(good)
}

/// Root of a sum of squares.
#[inline(never)]
pub(crate) fn root(parts: &[f32]) -> f32 {
    libm::sqrtf(parts.iter().fold(0.0, |sum, x| sum + x * x))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Calibration;
    use crate::profile::GENERAL;

    fn unadjusted(shunt: Shunt) -> Budget {
        Budget::insulation(&Calibration::ABSENT.on(None, &GENERAL.front_end), shunt)
    }

    #[test]
    fn the_parts_of_a_scale_are_those_of_its_limits() {
        let parts = unadjusted(Shunt::Microamps25).i;
        // Limits of 3 % and 2 %, 20 and 5 codes of 1 nA, each over the root of three; one code of
        // noise in 5000 samples; one code over the root of twelve.
        let expected = [0.017_320_5, 0.011_547, 11.902_38e-9, 0.014_142_1e-9, 0.288_675e-9];
        let got = [parts.gain, parts.drift, parts.offset, parts.noise, parts.resolution];
        for (got, expected) in got.into_iter().zip(expected) {
            assert!((got / expected - 1.0_f32).abs() < 1.0e-4, "{got} for {expected}");
        }
        assert!((parts.share() - 0.020_816_66).abs() < 1.0e-7);
        assert!((parts.at(1.0e-6) - 23.981e-9).abs() < 1.0e-11, "{}", parts.at(1.0e-6));
    }

    #[test]
    fn the_smallest_proving_reading_is_where_the_verdict_turns() {
        let budget = unadjusted(Shunt::Milliamps2);
        for (limit, held) in [
            (Limit::AtLeast(1.0e6), Held::Volts(500.0)),
            (Limit::AtLeast(0.5e6), Held::Volts(250.0)),
            (Limit::AtMost(1.0e6), Held::Volts(500.0)),
        ] {
            let least = smallest_proving(limit, Rule::Guarded, &budget, held).expect("one does");
            let verdict = |ohms| budget.reading(ohms, held).judge(limit).verdict();
            let inwards = if matches!(limit, Limit::AtLeast(_)) { 1.0e-5 } else { -1.0e-5 };
            assert_eq!(verdict(least * (1.0 + inwards)), Verdict::Pass, "{limit:?}");
            assert_ne!(verdict(least * (1.0 - inwards)), Verdict::Pass, "{limit:?}");
        }
        let simple =
            smallest_proving(Limit::AtLeast(1.0e6), Rule::Simple, &budget, Held::Volts(500.0));
        assert_eq!(simple, Some(1.0e6));
    }

    #[test]
    fn a_limit_below_the_doubt_of_contacts_and_null_cannot_be_proved() {
        let absent = Calibration::ABSENT;
        let adjusted = absent.on(None, &GENERAL.front_end);
        let budget = Budget::continuity(&adjusted, Shunt::Milliamps250, false, true);
        let proving =
            |limit| smallest_proving(Limit::AtMost(limit), Rule::Guarded, &budget, Held::Amps(0.2));
        assert_eq!(proving(0.05), None);
        let half = proving(0.5).expect("half an ohm can be proved");
        // R + 1.64 root((2.61 % R)^2 + 0.0316^2) = 0.5.
        assert!((half - 0.4448).abs() < 0.001, "{half}");
    }
}
