//! Readings: voltage, continuity with reversal and lead null, resistance, insulation, capacitance.
//!
//! The only place in core with floats, `f32` once a window, roots by `libm`, no fused multiply-add:
//! the same bits on every machine. Nothing here decides about safety.

mod beeper;
mod capacitance;
mod continuity;
mod decay;
mod insulation;
mod range;
pub mod timed;

pub use capacitance::{Stored, without_leads};
pub use continuity::{Continuity, Ended};
pub use decay::Decay;
pub use insulation::{AtRest, Insulation};
pub use range::Ranger;
pub use timed::{Curve, MOST_POINTS, Point, TimedRun};

use crate::judge::root;
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

/// Ohms of a resistance of the front end.
#[expect(clippy::cast_precision_loss, reason = "four digits")]
pub(crate) fn float_ohms(r: crate::unit::Resistance) -> f32 {
    r.as_milliohms() as f32 / 1.0e3
}

/// Farads.
#[expect(clippy::cast_precision_loss, reason = "an estimate of two digits")]
fn float_farads(c: crate::unit::Capacitance) -> f32 {
    c.as_picofarads() as f32 / 1.0e12
}
