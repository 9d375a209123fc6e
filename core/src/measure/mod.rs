//! Readings: voltage, continuity with reversal and lead null, resistance, insulation.
//!
//! The only place in core with floats, `f32` once a window, roots by `libm`, no fused multiply-add:
//! the same bits on every machine. Nothing here decides about safety.

mod continuity;
mod curve;
mod insulation;
mod range;

pub use continuity::{Continuity, Turn};
pub use curve::{Curve, MOST_POINTS, Point};
pub use insulation::{Insulation, StandingStart};
pub use range::Ranger;

use crate::signal::Quantity;

/// A quantity as a float in units of `1 / per`.
#[expect(clippy::cast_precision_loss, reason = "a reading has four digits, f32 has seven")]
fn float<Q: Quantity>(q: Q, per: f32) -> f32 {
    q.as_base() as f32 / per
}

/// Volts.
fn volts(v: crate::unit::Voltage) -> f32 {
    float(v, 1.0e6)
}

/// Amperes.
fn amps(i: crate::unit::Current) -> f32 {
    float(i, 1.0e12)
}
