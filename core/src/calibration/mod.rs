//! What an instrument was adjusted to: gain and zero of every scale, their uncertainty, two days.
//!
//! Constants correct numbers in `measure`, in floats, and nothing else. Gate, detect and interlock
//! keep the nominal codes and the tolerance that they allow for: a damaged constant can never move
//! a trip. For the same reason a correction beyond what the front end may be made to is refused as
//! damage, so that it cannot hide a broken channel either. Without sound constants a reading is
//! made with the nominal ones, has the uncertainty of an unadjusted front end and cannot pass; past
//! the due day, or where the day is not known, it is flagged.
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::expect_used,
        clippy::indexing_slicing,
        reason = "a test may panic; the library itself is checked in the build without tests"
    )
)]

mod bytes;
mod constants;
pub mod daily;
pub mod fit;

pub use bytes::LENGTH;
pub use constants::{Constants, Unfit};

use crate::date::Date;
use crate::judge::Flags;
use crate::profile::{FrontEnd, SCALES, Scale};

/// All constants of an instrument, or the fact that there are none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Calibration {
    constants: [Constants; SCALES.len()],
    made: Date,
    due: Date,
    lost: Option<Lost>,
}

/// Why there are no constants.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Lost {
    Absent,
    Damaged,
}

/// How an instrument stands with its calibration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Standing {
    /// Sound and not yet due.
    Valid,
    /// Sound, but past its due day, or nobody knows the day.
    Due,
    /// What was kept is not what was written, or is not of this front end.
    Damaged,
    /// Nothing was ever kept.
    Absent,
}

impl Calibration {
    /// None was ever made.
    pub const ABSENT: Self = Self::without(Lost::Absent);
    /// One was made and what is left of it cannot be used.
    pub const DAMAGED: Self = Self::without(Lost::Damaged);

    const fn without(lost: Lost) -> Self {
        Self {
            constants: [Constants::NOMINAL; SCALES.len()],
            made: Date::FIRST,
            due: Date::FIRST,
            lost: Some(lost),
        }
    }

    /// Keeps the constants of all scales, in the order of [`SCALES`].
    ///
    /// # Errors
    /// The first constant that the front end cannot need, or a due day before the first.
    pub fn new(constants: [Constants; SCALES.len()], made: Date, due: Date) -> Result<Self, Unfit> {
        if due < made {
            return Err(Unfit::Days);
        }
        for (constants, scale) in constants.iter().zip(SCALES) {
            constants.check(scale)?;
        }
        Ok(Self { constants, made, due, lost: None })
    }

    /// Makes the calibration of an instrument that needed no correction, each scale known as well as
    /// adjusting must leave it and no better: what a table of figures is worked out for.
    ///
    /// # Errors
    /// A due day before the first.
    pub fn as_specified(made: Date, due: Date) -> Result<Self, Unfit> {
        let mut constants = [Constants::NOMINAL; SCALES.len()];
        for (place, scale) in constants.iter_mut().zip(SCALES) {
            let limits = scale.accuracy();
            let gain = standard(limits.adjusted_gain) / 1.0e6;
            let zero = standard(limits.adjusted_zero) / 100.0;
            *place = Constants::new(0.0, 0.0, gain, zero).map_err(|unfit| unfit.of(scale))?;
        }
        Self::new(constants, made, due)
    }

    /// How it stands on a day; a day that is not known may be past the due one.
    #[must_use]
    pub fn standing(&self, today: Option<Date>) -> Standing {
        match self.lost {
            Some(Lost::Absent) => Standing::Absent,
            Some(Lost::Damaged) => Standing::Damaged,
            None if today.is_some_and(|day| day <= self.due) => Standing::Valid,
            None => Standing::Due,
        }
    }

    /// The constants of a scale; the nominal ones where there are none.
    #[must_use]
    pub fn constants(&self, scale: Scale) -> Constants {
        self.constants.get(scale.index()).copied().unwrap_or(Constants::NOMINAL)
    }

    /// The day on which it was made; `None` where there is none.
    #[must_use]
    pub fn made(&self) -> Option<Date> {
        self.lost.is_none().then_some(self.made)
    }

    /// The last day on which it counts; `None` where there is none.
    #[must_use]
    pub fn due(&self) -> Option<Date> {
        self.lost.is_none().then_some(self.due)
    }

    /// What a measurement needs of it on a day.
    #[must_use]
    pub fn on<'a>(&'a self, today: Option<Date>, front: &'a FrontEnd) -> Adjusted<'a> {
        let standing = self.standing(today);
        let lost = matches!(standing, Standing::Absent | Standing::Damaged);
        let flags = Flags::NONE
            .with_if(Flags::UNCALIBRATED, lost)
            .with_if(Flags::CALIBRATION_DUE, standing == Standing::Due);
        Adjusted { calibration: self, front, flags }
    }
}

impl Standing {
    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Valid => "valid",
            Self::Due => "due",
            Self::Damaged => "damaged",
            Self::Absent => "absent",
        }
    }
}

/// The scales of one instrument as they are to be read today.
#[derive(Clone, Copy, Debug)]
pub struct Adjusted<'a> {
    calibration: &'a Calibration,
    front: &'a FrontEnd,
    flags: Flags,
}

impl Adjusted<'_> {
    /// What every reading has to say of it.
    #[must_use]
    pub const fn flags(&self) -> Flags {
        self.flags
    }

    /// The front end that they are of.
    #[must_use]
    pub const fn front(&self) -> &FrontEnd {
        self.front
    }

    /// What one code of a scale is worth.
    #[must_use]
    pub const fn code(&self, scale: Scale) -> f32 {
        scale.code(self.front)
    }

    /// What a scale reads at nothing, as far as its constants know.
    #[must_use]
    pub fn zero(&self, scale: Scale) -> f32 {
        self.calibration.constants(scale).zero() * self.code(scale)
    }

    /// Corrects a value that was read with the nominal gain and zero.
    #[must_use]
    pub fn corrected(&self, scale: Scale, value: f32) -> f32 {
        (value - self.zero(scale)) * (1.0 + self.calibration.constants(scale).gain())
    }

    /// Standard uncertainty of the gain, as a share, and of the zero, in codes, on the day of the
    /// calibration; without one, that of a front end as it is made.
    #[must_use]
    pub fn doubt(&self, scale: Scale) -> (f32, f32) {
        if self.calibration.lost.is_none() {
            let constants = self.calibration.constants(scale);
            return (constants.u_gain(), constants.u_zero());
        }
        let limits = scale.accuracy();
        (standard(limits.gain) / 1.0e6, standard(limits.zero) / 100.0)
    }
}

/// The standard uncertainty of what lies anywhere within a limit (JCGM 100:2008, 4.3.7: a
/// rectangular distribution; secondary source, not checked against the text).
pub(crate) fn standard(limit: u16) -> f32 {
    const ONE_OVER_ROOT_3: f32 = 0.577_350_3;
    f32::from(limit) * ONE_OVER_ROOT_3
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::{GENERAL, Shunt};

    fn day(days: u16) -> Date {
        Date::from_days(days)
    }

    fn some() -> Calibration {
        let constants = Constants::new(0.01, 1.5, 0.001, 0.25).expect("inside the tolerance");
        Calibration::new([constants; SCALES.len()], day(100), day(465)).expect("sound")
    }

    #[test]
    fn the_last_day_still_counts_and_a_day_nobody_knows_does_not() {
        let calibration = some();
        for (today, standing) in [
            (Some(day(100)), Standing::Valid),
            (Some(day(465)), Standing::Valid),
            (Some(day(466)), Standing::Due),
            (None, Standing::Due),
        ] {
            assert_eq!(calibration.standing(today), standing, "{today:?}");
        }
        assert_eq!(Calibration::ABSENT.standing(Some(day(1))), Standing::Absent);
        assert_eq!(Calibration::DAMAGED.standing(None), Standing::Damaged);
    }

    #[test]
    fn each_standing_flags_as_it_should() {
        let flags = |c: &Calibration, day| c.on(day, &GENERAL.front_end).flags();
        assert_eq!(flags(&some(), Some(day(465))), Flags::NONE);
        assert_eq!(flags(&some(), None), Flags::CALIBRATION_DUE);
        assert_eq!(flags(&Calibration::ABSENT, Some(day(1))), Flags::UNCALIBRATED);
        assert_eq!(flags(&Calibration::DAMAGED, None), Flags::UNCALIBRATED);
    }

    #[test]
    fn a_correction_takes_the_zero_off_first_and_then_scales() {
        let calibration = some();
        let adjusted = calibration.on(None, &GENERAL.front_end);
        // One code is 0.75 V: (101.125 - 1.125) 1.01.
        assert!((adjusted.corrected(Scale::Volts, 101.125) - 101.0).abs() < 1.0e-3);
        let fine = Scale::Amps(Shunt::Nanoamps250);
        assert!((adjusted.corrected(fine, 15.0e-12)).abs() < 1.0e-15);
        let nominal = Calibration::ABSENT;
        let nominal = nominal.on(None, &GENERAL.front_end);
        assert_eq!(nominal.corrected(Scale::Low, 0.123).to_bits(), 0.123_f32.to_bits());
    }

    #[test]
    fn without_constants_the_doubt_is_that_of_the_tolerance() {
        let (gain, zero) = Calibration::ABSENT.on(None, &GENERAL.front_end).doubt(Scale::Volts);
        assert!((gain - 0.03 / 3.0_f32.sqrt()).abs() < 1.0e-6, "{gain}");
        assert!((zero - 2.66 / 3.0_f32.sqrt()).abs() < 1.0e-5, "{zero}");
    }

    #[test]
    fn every_scale_can_hold_what_its_specification_leaves() {
        let specified = Calibration::as_specified(day(1), day(1)).expect("can be held");
        let (gain, zero) = specified.on(None, &GENERAL.front_end).doubt(Scale::Volts);
        assert!((0.002_886..0.002_91).contains(&gain) && (0.288..0.305).contains(&zero));
    }

    #[test]
    fn a_due_day_before_the_first_is_refused() {
        let constants = [Constants::NOMINAL; SCALES.len()];
        assert_eq!(Calibration::new(constants, day(5), day(4)), Err(Unfit::Days));
    }

    #[test]
    fn all_of_it_takes_no_more_room_than_a_hand_held_board_can_spare() {
        assert!(size_of::<Calibration>() <= 60, "{}", size_of::<Calibration>());
    }
}
