//! The insulation resistance of a cable by its length: twice the length leaks twice the current.
//!
//! Method: NAVEDTRA 14120, Interior Communications Electrician, cable insulation resistance: the
//! reading times the length of the sheath; conductors side by side do not add to it.

use core::fmt;

use crate::judge::{Reading, Unit, Value};
use crate::unit::Length;

/// Why a reading cannot be brought to another length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum NoLength {
    /// One of the lengths is nothing.
    Zero,
    /// It is no resistance.
    NoResistance,
}

impl fmt::Display for NoLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Zero => "a length of nothing has no resistance by length",
            Self::NoResistance => "only a resistance goes by the length",
        })
    }
}

/// Gives what a length `to` of the same cable would read, from a reading of a `sheath` so long.
///
/// # Errors
/// Either length is zero, or the reading is no resistance.
pub fn for_length(raw: Reading, sheath: Length, to: Length) -> Result<Reading, NoLength> {
    if sheath == Length::ZERO || to == Length::ZERO {
        return Err(NoLength::Zero);
    }
    let by = metres(sheath) / metres(to);
    let value = match (raw.unit, raw.value) {
        (Unit::Ohm, Value::Number(x)) => Value::Number(x * by),
        (Unit::Ohm, Value::Below(x)) => Value::Below(x * by),
        (Unit::Ohm, Value::Above(x)) => Value::Above(x * by),
        _ => return Err(NoLength::NoResistance),
    };
    Ok(Reading { value, doubt: raw.doubt * by, ..raw })
}

/// Metres.
#[expect(clippy::cast_precision_loss, reason = "seven digits of a length are enough")]
pub(super) fn metres(length: Length) -> f32 {
    length.as_millimetres() as f32 / 1.0e3
}
