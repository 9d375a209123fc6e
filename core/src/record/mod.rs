//! What is kept of one measurement, and as which bytes.
//!
//! A [`Record`] is made only from what was measured and, where there was a limit, judged: its
//! verdict is that of its own [`Judged`], or none. Reading one back judges again and refuses bytes
//! whose verdict is another one, so no row of bytes is a pass that [`crate::judge`] would not give.
//! When a rule of judgement changes, [`Record::VERSION`] has to change with it.
//!
//! ```compile_fail
//! use ohmwarden_core::judge::Reading;
//! use ohmwarden_core::record::{About, Finding, Record};
//! let forged = Record { serial: 1, finding: Finding::Unjudged(Reading::NONE), about: About::NOTHING };
//! ```

mod about;
mod code;
mod layout;

pub use about::{About, Correction, LeadNull};
pub(crate) use code::{unit_number, unit_of};

pub use crate::judge::Origin;

use crate::block::{Block, Damage, Kind, SEAL, seal_as};
use crate::frame::Function;
use crate::judge::{Flags, Judged, Limit, Reading, Value, Verdict};
use crate::measure::MOST_POINTS;

/// What is kept of one measurement.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Record {
    serial: u32,
    finding: Finding,
    about: About,
}

/// The main reading, judged or not.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub enum Finding {
    /// With its verdict, and where its limit comes from.
    Judged(Judged, Origin),
    /// Without a limit there is no verdict.
    Unjudged(Reading),
}

impl Finding {
    /// The main reading.
    #[must_use]
    pub const fn reading(&self) -> Reading {
        match self {
            Self::Judged(judged, _) => judged.reading(),
            Self::Unjudged(reading) => *reading,
        }
    }

    /// What was judged, if anything was.
    #[must_use]
    pub const fn judged(&self) -> Option<&Judged> {
        match self {
            Self::Judged(judged, _) => Some(judged),
            Self::Unjudged(_) => None,
        }
    }
}

/// Bytes of a point of a curve.
const POINT: usize = 12;
/// Bytes of a record's body before its points.
const BODY: usize = 86;

impl Record {
    /// The version of the layout, and of the rules by which a verdict comes about.
    pub const VERSION: u8 = 1;
    /// The bytes of a record, whatever is in it.
    pub const LENGTH: usize = SEAL + BODY + MOST_POINTS * POINT;

    /// Makes the record of one measurement.
    ///
    /// # Errors
    /// What no record can hold: [`Damage::NotANumber`], [`Damage::NothingMeasured`], or as a
    /// [`Damage::Contradiction`] a flag that says "corrected" without the correction, a correction
    /// without the flag, points that are not in the order of time, and profile 0.
    ///
    /// ```
    /// use ohmwarden_core::frame::Function;
    /// use ohmwarden_core::judge::{Limit, Reading, Value, Verdict};
    /// use ohmwarden_core::record::{About, Finding, Origin, Record};
    /// use ohmwarden_core::unit::Voltage;
    ///
    /// let main = Reading { value: Value::Number(5.0e6), doubt: 2.0e5, ..Reading::NONE };
    /// let finding = Finding::Judged(main.judge(Limit::AtLeast(1.0e6)), Origin::default());
    /// let about = About { function: Function::Insulation(Voltage::from_volts(500)), ..About::NOTHING };
    /// let record = Record::of(1, finding, about).unwrap();
    /// assert_eq!(record.verdict(), Some(Verdict::Pass));
    /// assert_eq!(Record::from_bytes(&record.to_bytes()), Ok(record));
    /// ```
    pub fn of(serial: u32, finding: Finding, about: About) -> Result<Self, Damage> {
        let record = Self { serial, finding, about };
        record.check().map(|()| record)
    }

    /// The bytes of the record: a sealed block.
    #[must_use]
    pub fn to_bytes(&self) -> [u8; Self::LENGTH] {
        let mut bytes = [0; Self::LENGTH];
        let kind = [Kind::Record.number(), Self::VERSION];
        seal_as(&mut bytes, kind, self.serial, |w| self.write(w));
        bytes
    }

    /// The record of such bytes; every bit of them is accounted for.
    ///
    /// # Errors
    /// What is wrong with them first: [`Damage`].
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, Damage> {
        Self::of_block(&Block::all(bytes)?)
    }

    /// The record in a block.
    ///
    /// # Errors
    /// What is wrong with it first: [`Damage`].
    pub fn of_block(block: &Block<'_>) -> Result<Self, Damage> {
        block.is(Kind::Record, Self::VERSION)?;
        let record = Self::read(block)?;
        record.check()?;
        block.is_written_as(&record.to_bytes()).map(|()| record)
    }

    /// Its number: one more than that of the record before it.
    #[must_use]
    pub const fn serial(&self) -> u32 {
        self.serial
    }

    /// The main reading, judged or not.
    #[must_use]
    pub const fn finding(&self) -> &Finding {
        &self.finding
    }

    /// The verdict; `None` for what was not judged.
    #[must_use]
    pub fn verdict(&self) -> Option<Verdict> {
        self.finding.judged().map(Judged::verdict)
    }

    /// What else is known of the measurement.
    #[must_use]
    pub const fn about(&self) -> &About {
        &self.about
    }

    /// What holds for every record, made here or read from bytes.
    fn check(&self) -> Result<(), Damage> {
        let (main, about) = (self.finding.reading(), &self.about);
        let limit = match self.finding.judged().map(Judged::limit) {
            Some(Limit::AtLeast(limit) | Limit::AtMost(limit)) => limit,
            None => 0.0,
        };
        let raw = about.correction.map_or(Value::None, |correction| correction.raw);
        let mut values = about.curve.iter().map(|point| point.value).chain([raw]);
        if !is_sound(&main) || !is_sound(&about.second) || !limit.is_finite() || !values.all(finite)
        {
            return Err(Damage::NotANumber);
        }
        if matches!(about.function, Function::Between | Function::Off) {
            return Err(Damage::NothingMeasured);
        }
        let points = about.curve.iter().map(|point| point.seconds);
        let in_order = points.clone().zip(points.skip(1)).all(|(one, next)| one < next);
        let corrected = main.flags.any(Flags::TEMPERATURE);
        if corrected != about.correction.is_some() || !in_order || about.profile == 0 {
            return Err(Damage::Contradiction);
        }
        Ok(())
    }
}

fn is_sound(reading: &Reading) -> bool {
    let doubt = |x: f32| x.is_finite() && x >= 0.0;
    finite(reading.value) && doubt(reading.doubt) && doubt(reading.skew)
}

fn finite(value: Value) -> bool {
    value.amount().is_none_or(f32::is_finite)
}
