//! The calibration that a simulated instrument comes with, and the day on which it is used.

use ohmwarden_core::calibration::{Calibration, Standing};
use ohmwarden_core::date::Date;

/// 1 January 2026.
const MADE: Date = Date::from_days(26 * 365 + 7);
/// A year later.
const DUE: Date = MADE.plus_days(365);

/// Gives what the board hands to the instrument, and the day, so that it stands as asked.
pub(super) fn of(standing: Standing) -> (Option<Calibration>, Date) {
    let made = Calibration::as_specified(MADE, DUE).ok();
    match standing {
        Standing::Valid => (made, MADE),
        Standing::Due => (made, DUE.plus_days(1)),
        Standing::Absent => (None, MADE),
        Standing::Damaged => (made.map(damaged), MADE),
    }
}

/// What a board finds after one bit of what it kept has turned.
fn damaged(calibration: Calibration) -> Calibration {
    let mut bytes = calibration.to_bytes();
    if let Some(byte) = bytes.get_mut(7) {
        *byte ^= 1;
    }
    Calibration::from_bytes(&bytes).unwrap_or(Calibration::DAMAGED)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_instrument_stands_with_its_calibration_as_asked() {
        for standing in [Standing::Valid, Standing::Due, Standing::Absent, Standing::Damaged] {
            let (calibration, today) = of(standing);
            let found = calibration.unwrap_or(Calibration::ABSENT).standing(Some(today));
            assert_eq!(found, standing);
        }
        assert_eq!(MADE.as_ymd(), (2026, 1, 1));
    }
}
