//! An instrument drawn at random inside the limits of its front end.

use ohmwarden_core::calibration::{Calibration, Constants, Standing};
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

    /// Gives every scale a gain and a zero inside its limits, and a calibrated instrument the
    /// constants that belong to them. `shunt` is the range that the reading will be made in. Both
    /// dividers go together, as those on one reference do; that they are compared is tried elsewhere.
    pub(crate) fn differ(&self, world: &mut World, shunt: Shunt) {
        let specified = Calibration::as_specified(world.today(), world.today());
        let specified = specified.expect("every scale can hold it");
        let mut constants = SCALES.map(|scale| specified.constants(scale));
        for (channels, scale) in [
            (&[Channel::V, Channel::V2][..], Scale::Volts),
            (&[Channel::Low], Scale::Low),
            (&[Channel::I], Scale::Amps(shunt)),
        ] {
            let Errors { made, moved } = self.errors(scale);
            let factor = (1.0 + made.gain) * (1.0 + moved.gain);
            let amount = (made.zero + moved.zero) * f64::from(scale.code(&FrontEnd::DEFAULT));
            if scale == Scale::Volts {
                // The regulator is trimmed by the first divider: the trip allows the two 12 V.
                let factor = 1.0 / factor;
                world.differ(&Effect::Actuator(Actuator::SetPoint { factor }));
            }
            for &channel in channels {
                world.differ(&Effect::Sensor(Sensor::Gain { channel, factor }));
                world.differ(&Effect::Sensor(Sensor::Offset { channel, amount }));
            }
            let known = constants[scale.index()];
            let gain = (1.0 / (1.0 + made.gain) - 1.0) as f32;
            constants[scale.index()] =
                Constants::new(gain, made.zero as f32, known.u_gain(), known.u_zero())
                    .expect("inside the limits of the scale");
        }
        if self.standing() == Standing::Valid {
            let calibration = Calibration::new(constants, world.today(), world.today());
            world.calibrate(calibration.expect("inside the limits of every scale"));
        }
    }

    /// What a scale was made to, and what it moved by since its constants were worked out; together
    /// never beyond the tolerance, which the trip relies on for all the life of an instrument.
    fn errors(&self, scale: Scale) -> Errors {
        let limits = scale.accuracy();
        let within = |what: &str, limit: u16, of: f64| {
            self.within(&format!("{} {what}", scale.word()), f64::from(limit) / of)
        };
        let (ppm, codes) = (1.0e6, 100.0);
        let gain = limits.gain - limits.adjusted_gain - limits.gain_drift;
        // The front end has one zero of current, whatever the range: the finest holds the most of it.
        let coarse = matches!(scale, Scale::Amps(shunt) if shunt != Shunt::Nanoamps250);
        let zero = limits.zero - limits.adjusted_zero - limits.zero_drift;
        Errors {
            made: Error {
                gain: within("gain", gain, ppm),
                zero: within("zero", if coarse { 0 } else { zero }, codes),
            },
            moved: Error {
                gain: within("adjusted gain", limits.adjusted_gain, ppm)
                    + within("gain drift", limits.gain_drift, ppm),
                zero: within("adjusted zero", limits.adjusted_zero, codes)
                    + within("zero drift", limits.zero_drift, codes),
            },
        }
    }
}

/// Of gain as a share, of zero in codes.
struct Error {
    gain: f64,
    zero: f64,
}

/// When it came about.
struct Errors {
    made: Error,
    moved: Error,
}

#[test]
fn a_drawn_instrument_stays_inside_its_limits_and_fills_them() {
    for scale in SCALES {
        let most = f64::from(scale.accuracy().gain) / 1.0e6;
        let gain = |case| {
            let Errors { made, moved } = Draw::of(case).errors(scale);
            (made.gain + moved.gain).abs()
        };
        let gains: Vec<f64> = (0..2_000).map(gain).collect();
        assert!(gains.iter().all(|gain| *gain <= most), "{}", scale.word());
        assert!(gains.iter().any(|gain| *gain > 0.8 * most), "{}", scale.word());
    }
}
