//! Readings at set times of one drive: what ratios are made of, and what is kept of a run cut short.

use crate::judge::Value;
use crate::profile::Shunt;
use crate::unit::Voltage;

/// The most points that a run leaves: a quarter, half and three quarters of a minute, and each of
/// ten minutes.
pub const MOST_POINTS: usize = 13;

/// The resistance at one moment of a run.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Point {
    /// The resistance, in ohms, or its bound.
    pub value: Value,
    /// The voltage at the terminals meanwhile.
    pub v: Voltage,
    /// Seconds since the voltage first stood at 95 % of what was asked for.
    pub seconds: u16,
    /// The range that the current was measured in.
    pub shunt: Shunt,
}

/// The points of one run, in the order of time.
pub type Curve = heapless::Vec<Point, MOST_POINTS>;
