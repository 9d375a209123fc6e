//! Decides whether two readings of one drive make a ratio, and gives it with its doubt.
//!
//! Polarization index: ten minutes over one. Absorption ratio: one minute over half a minute. Both
//! readings stand in ohms, at the same voltage and in the same range.

use core::fmt;

use crate::judge::{Flags, Reading, Unit, Value};
use crate::unit::Voltage;

/// Above this resistance after one minute a polarization index says nothing, because the current is
/// as small as what disturbs it (IEEE Std 43-2013 as cited in technical articles; secondary source,
/// not checked against the standard, no conformity claimed).
pub const INDEX_MOST: f32 = 5.0e9;

/// How far the two voltages may lie apart, as a share (common practice).
const VOLTS_APART: f32 = 0.01;

/// Which ratio is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum RatioKind {
    /// One minute over half a minute.
    Absorption,
    /// Ten minutes over one.
    Polarization,
}

/// One of the two readings, with the voltage that it was taken at where that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Half {
    /// The resistance.
    pub reading: Reading,
    /// The voltage at the terminals.
    pub v: Option<Voltage>,
}

/// Why two readings make no ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum NoRatio {
    /// One of them is no positive resistance.
    NoResistance,
    /// One of them is a bound only.
    Bound,
    /// The resistance after a minute is above [`INDEX_MOST`].
    TooHigh,
    /// The voltage was not the same.
    VoltageMoved,
}

impl fmt::Display for NoRatio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoResistance => "a ratio needs two resistances above zero",
            Self::Bound => "a bound makes no ratio: both readings must be numbers",
            Self::TooHigh => {
                "above 5000 Mohm after a minute a polarization index says nothing; the resistance \
                 itself does"
            }
            Self::VoltageMoved => "the two voltages lie more than 1 % apart",
        })
    }
}

/// Gives the later reading over the earlier one.
///
/// That the early one was still rising is what a ratio tells, so it is no flag of the ratio; all
/// others are. The doubts are taken as independent: a gain that both share is counted twice, which
/// errs to the side of doubt.
///
/// # Errors
/// What forbids a ratio.
pub fn ratio(kind: RatioKind, early: Half, late: Half) -> Result<Reading, NoRatio> {
    let (first, last) = (ohms(early.reading)?, ohms(late.reading)?);
    if kind == RatioKind::Polarization && first > INDEX_MOST {
        return Err(NoRatio::TooHigh);
    }
    if let (Some(one), Some(other)) = (early.v, late.v)
        && apart(one, other)
    {
        return Err(NoRatio::VoltageMoved);
    }
    let value = last / first;
    let (u_first, u_last) = (early.reading.doubt / first, late.reading.doubt / last);
    let of_early = early.reading.flags.without(Flags::UNSETTLED.with(Flags::RISING));
    let of_late = late.reading.flags.without(Flags::RISING);
    Ok(Reading {
        value: Value::Number(value),
        unit: Unit::Ratio,
        doubt: value * libm::sqrtf(u_first * u_first + u_last * u_last),
        flags: of_early.with(of_late),
        ..Reading::NONE
    })
}

fn ohms(reading: Reading) -> Result<f32, NoRatio> {
    match (reading.unit, reading.value) {
        (Unit::Ohm, Value::Number(ohms)) if ohms > 0.0 && ohms.is_finite() => Ok(ohms),
        (Unit::Ohm, Value::Above(_) | Value::Below(_)) => Err(NoRatio::Bound),
        _ => Err(NoRatio::NoResistance),
    }
}

#[expect(clippy::cast_precision_loss, reason = "a hundredth is asked for, f32 has seven digits")]
fn apart(one: Voltage, other: Voltage) -> bool {
    let volts = |v: Voltage| v.abs().as_microvolts() as f32;
    let difference = one.saturating_sub(other).abs();
    volts(difference) > VOLTS_APART * volts(one.abs().greatest(other.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn half(value: Value) -> Half {
        let reading = Reading { value, ..Reading::NONE };
        Half { reading, v: Some(Voltage::from_volts(500)) }
    }

    #[test]
    fn what_is_no_pair_of_numbers_makes_no_ratio() {
        let good = half(Value::Number(1.0e8));
        for (value, why) in [
            (Value::Above(1.0e9), NoRatio::Bound),
            (Value::Below(1.0e3), NoRatio::Bound),
            (Value::None, NoRatio::NoResistance),
            (Value::Number(0.0), NoRatio::NoResistance),
            (Value::Number(f32::NAN), NoRatio::NoResistance),
            (Value::Number(f32::INFINITY), NoRatio::NoResistance),
        ] {
            for kind in [RatioKind::Absorption, RatioKind::Polarization] {
                assert_eq!(ratio(kind, half(value), good), Err(why));
                assert_eq!(ratio(kind, good, half(value)), Err(why));
            }
        }
    }

    #[test]
    fn an_index_is_refused_where_the_resistance_is_too_high_for_one() {
        let (at, above) = (half(Value::Number(5.0e9)), half(Value::Number(5.01e9)));
        assert!(ratio(RatioKind::Polarization, at, above).is_ok());
        assert_eq!(ratio(RatioKind::Polarization, above, above), Err(NoRatio::TooHigh));
        assert!(ratio(RatioKind::Absorption, above, above).is_ok());
    }

    #[test]
    fn voltages_more_than_a_hundredth_apart_make_no_ratio() {
        let early = half(Value::Number(1.0e8));
        let at = |v| Half { v: Some(Voltage::from_volts(v)), ..early };
        assert!(ratio(RatioKind::Absorption, early, at(505)).is_ok());
        assert_eq!(ratio(RatioKind::Absorption, early, at(506)), Err(NoRatio::VoltageMoved));
        assert_eq!(ratio(RatioKind::Absorption, early, at(-500)), Err(NoRatio::VoltageMoved));
        assert!(ratio(RatioKind::Absorption, early, Half { v: None, ..early }).is_ok());
    }

    #[test]
    fn rising_is_what_a_ratio_tells_and_any_other_flag_goes_with_it() {
        let good = half(Value::Number(1.0e8));
        let flagged = |flags| Half { reading: good.reading.flagged(flags), ..good };
        let of = |early, late| ratio(RatioKind::Polarization, early, late).map(|read| read.flags);
        assert_eq!(of(flagged(Flags::RISING.with(Flags::UNSETTLED)), good), Ok(Flags::NONE));
        assert_eq!(of(good, flagged(Flags::UNSETTLED)), Ok(Flags::UNSETTLED));
        assert_eq!(
            of(flagged(Flags::DISTURBED), flagged(Flags::CLIPPED)),
            Ok(Flags::DISTURBED.with(Flags::CLIPPED))
        );
    }

    #[test]
    fn relative_doubts_add_by_their_squares() {
        let with = |ohms: f32, doubt| Half {
            reading: Reading { value: Value::Number(ohms), doubt, ..Reading::NONE },
            v: None,
        };
        let read = ratio(RatioKind::Polarization, with(1.0e8, 3.0e6), with(2.0e8, 8.0e6));
        assert!(read.is_ok_and(|it| (it.doubt - 2.0 * 0.05).abs() < 1e-6), "{read:?}");
    }
}
