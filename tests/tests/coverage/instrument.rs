//! An instrument drawn at random inside the limits of its front end.

use ohmwarden_core::calibration::{Calibration, Standing};
use ohmwarden_core::date::Date;
use ohmwarden_core::profile::{FrontEnd, SCALES, Scale, Shunt};
use ohmwarden_sim::faults::{Actuator, Channel, Effect, Sensor};
use ohmwarden_sim::scenario::{stream, unit};
use ohmwarden_sim::world::World;

/// Draws of one case: each named, so that a new one does not move the others.
pub(crate) struct Draw(u64);

impl Draw {
    /// The draws of a case.
    pub(crate) const fn of(case: u64) -> Self {
        Self(case)
    }

    /// An even number from 0 to 1.
    pub(crate) fn even(&self, name: &str) -> f64 {
        unit(&mut stream(self.0, name))
    }

    /// An even number within a limit, either sign.
    pub(crate) fn within(&self, name: &str, limit: f64) -> f64 {
        (2.0 * self.even(name) - 1.0) * limit
    }

    /// Between two values, every factor as likely as every other.
    pub(crate) fn spread(&self, name: &str, from: f64, to: f64) -> f64 {
        from * (to / from).powf(self.even(name))
    }

    /// Half of the instruments are calibrated.
    pub(crate) fn standing(&self) -> Standing {
        if self.even("standing") < 0.5 { Standing::Valid } else { Standing::Absent }
    }

    /// Gives every scale a gain and a zero inside its limits: of a calibrated instrument what
    /// adjusting left and what moved since, of another what it was made to. `shunt` is the range that
    /// the reading will be made in: its zero is in codes of that range. Both dividers go together,
    /// as those on one reference do; that they are compared is tried elsewhere.
    pub(crate) fn differ(&self, world: &mut World, shunt: Shunt) {
        let current = Scale::Amps(shunt);
        for (channels, scale) in [
            (&[Channel::V, Channel::V2][..], Scale::Volts),
            (&[Channel::Low], Scale::Low),
            (&[Channel::I], current),
        ] {
            let (gain, zero) = self.errors(scale);
            let amount = zero * f64::from(scale.code(&FrontEnd::DEFAULT));
            if scale == Scale::Volts {
                // The regulator is trimmed by the first divider: the trip allows the two 12 V.
                let factor = 1.0 / (1.0 + gain);
                world.differ(&Effect::Actuator(Actuator::SetPoint { factor }));
            }
            for &channel in channels {
                world.differ(&Effect::Sensor(Sensor::Gain { channel, factor: 1.0 + gain }));
                world.differ(&Effect::Sensor(Sensor::Offset { channel, amount }));
            }
        }
    }

    /// The error of gain, as a share, and of zero, in codes.
    fn errors(&self, scale: Scale) -> (f64, f64) {
        let limits = scale.accuracy();
        let (name, share) = (scale.word(), |limit: u16| f64::from(limit) / 1.0e6);
        let codes = |limit: u16| f64::from(limit) / 100.0;
        let within = |what: &str, limit| self.within(&format!("{name} {what}"), limit);
        match self.standing() {
            Standing::Valid => (
                within("gain", share(limits.adjusted_gain))
                    + within("gain drift", share(limits.gain_drift)),
                within("zero", codes(limits.adjusted_zero))
                    + within("zero drift", codes(limits.zero_drift)),
            ),
            // What it was made to holds for all its life: the trip relies on it.
            _ => (within("gain", share(limits.gain)), within("zero", codes(limits.zero))),
        }
    }
}

#[test]
fn a_drawn_instrument_stays_inside_its_limits_and_fills_them() {
    let specified = Calibration::as_specified(Date::FIRST, Date::FIRST).expect("can be held");
    assert!(specified.due().is_some());
    for scale in SCALES {
        let limits = scale.accuracy();
        let most = f64::from(limits.gain.max(limits.adjusted_gain + limits.gain_drift)) / 1.0e6;
        let gains: Vec<f64> = (0..500).map(|case| Draw::of(case).errors(scale).0.abs()).collect();
        assert!(gains.iter().all(|gain| *gain <= most), "{}", scale.word());
        assert!(gains.iter().any(|gain| *gain > 0.9 * most), "{}", scale.word());
    }
}
