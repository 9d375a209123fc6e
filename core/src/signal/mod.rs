//! Turns converter codes into levels: exact integer sums, integer roots, no float.
//!
//! Codes come in as `i16` with a [`Channel`] that says what one code is worth. [`Sums`] holds the
//! exact count, sum and sum of squares of any stretch of codes and gives its [`Level`]. [`Meter`]
//! weighs such sums over 0.2 s, so that the true RMS is right to 0.1 % and one code from 15 Hz to
//! 450 Hz without being locked to the signal, and tells the frequency.
//!
//! Nothing here rounds before the last step: `n * sum(x^2) - sum(x)^2` is formed without loss, so a
//! small alternating part on a large direct one keeps all its digits. Checked against every
//! textbook waveform in `tests/tests/rms/`.
#![deny(clippy::float_arithmetic)]
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::expect_used,
        clippy::indexing_slicing,
        clippy::unwrap_used,
        reason = "a test may panic; the library itself is checked in the build without tests"
    )
)]

mod channel;
mod crossing;
mod inside;
mod level;
mod mean;
mod meter;
mod moments;
mod rate;
mod sums;
mod window;

pub use channel::{Channel, Quantity};
pub use level::Level;
pub use mean::Mean;
pub use meter::Meter;
pub use rate::SampleRate;
pub use sums::Sums;
