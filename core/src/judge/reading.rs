//! A number with its doubt, its flags and what it is of.

use super::Flags;

/// What a reading is of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Unit {
    /// Ohms.
    #[default]
    Ohm,
    /// Volts.
    Volt,
    /// Amperes.
    Ampere,
    /// Farads.
    Farad,
    /// Hertz.
    Hertz,
    /// A ratio of two readings.
    Ratio,
    /// Metres.
    Metre,
    /// Milliamperes per volt and farad: what the trade gives a dielectric discharge in.
    MilliampPerVoltFarad,
}

impl Unit {
    /// Its symbol in plain letters.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Ohm => "ohm",
            Self::Volt => "V",
            Self::Ampere => "A",
            Self::Farad => "F",
            Self::Hertz => "Hz",
            Self::Ratio => "",
            Self::Metre => "m",
            Self::MilliampPerVoltFarad => "mA/(V F)",
        }
    }
}

/// A number, a bound, or nothing: an over-range number cannot be written.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Value {
    /// No reading.
    #[default]
    None,
    /// A number, in the base unit.
    Number(f32),
    /// Less than this.
    Below(f32),
    /// More than this.
    Above(f32),
}

impl Value {
    /// The number or bound, if there is one.
    #[must_use]
    pub const fn amount(self) -> Option<f32> {
        match self {
            Self::None => None,
            Self::Number(x) | Self::Below(x) | Self::Above(x) => Some(x),
        }
    }
}

/// A reading.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Reading {
    /// The number or bound.
    pub value: Value,
    /// What it is of.
    pub unit: Unit,
    /// Its standard uncertainty, in the base unit; for a bound, that of the bound.
    pub doubt: f32,
    /// What is to be known about it.
    pub flags: Flags,
}

impl Reading {
    /// No reading.
    pub const NONE: Self =
        Self { value: Value::None, unit: Unit::Ohm, doubt: 0.0, flags: Flags::NONE };

    /// The same reading with more flags.
    #[must_use]
    pub const fn flagged(self, flags: Flags) -> Self {
        Self { flags: self.flags.with(flags), ..self }
    }
}
