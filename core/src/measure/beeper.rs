//! Whether the leads are joined, for the ear: faster and coarser than a reading.
//!
//! From one window of 50 ms in one direction, so that an answer comes within about 0.1 s of a touch
//! (common practice), the first window of a turn included. Two thresholds, so that a joint in
//! between does not stutter. An EMF is not cancelled here: 20 mV are 0.1 ohm at 200 mA.

/// Below this it sounds (common practice; the trade has no agreed figure).
const ON_OHMS: f32 = 2.0;
/// Above this it stops.
const OFF_OHMS: f32 = 2.5;

/// Follows one press.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Beeper {
    joined: bool,
}

impl Beeper {
    /// Nothing joined yet.
    pub(super) const NEW: Self = Self { joined: false };

    /// Takes the volts and amperes of one window; `leads` ohms are taken off, and below `least`
    /// amperes nothing is joined.
    pub(super) fn step(&mut self, v: f32, i: f32, least: f32, leads: f32) {
        let most = if self.joined { OFF_OHMS } else { ON_OHMS };
        self.joined = least <= libm::fabsf(i) && v / i - leads < most;
    }

    /// Whether it sounds.
    pub(super) const fn is_joined(self) -> bool {
        self.joined
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn between_the_thresholds_it_stays_as_it_was_in_either_direction() {
        for sign in [1.0, -1.0] {
            let mut beeper = Beeper::NEW;
            let mut sounds = |ohms: f32| {
                beeper.step(sign * ohms * 0.2, sign * 0.2, 40.0e-6, 0.3);
                beeper.is_joined()
            };
            let ohms = [2.5, 2.2, 2.4, 2.7, 2.9, 2.7, 2.4, 2.2];
            let heard = ohms.map(&mut sounds);
            assert_eq!(heard, [false, true, true, true, false, false, false, true]);
        }
    }

    #[test]
    fn without_a_current_nothing_is_joined() {
        let mut beeper = Beeper::NEW;
        beeper.step(0.0, 0.0, 40.0e-6, 0.0);
        assert!(!beeper.is_joined());
        beeper.step(1.0e-6, 10.0e-6, 40.0e-6, 0.0);
        assert!(!beeper.is_joined());
    }
}
