//! The weights of a measuring window: the square of a raised cosine, in 200 steps.
//!
//! A plain window of 0.2 s holds 3.2 cycles of 16 Hz and is up to 2.4 % wrong. Weights that fall
//! smoothly to nothing at both ends do not care where in its cycle the window cuts the signal.
//! With `x = 2 f T` the part of the doubled frequency that leaks into the mean square is
//! `sinc(x)` for a plain window, `sinc(x) / (1 - x^2)` for the raised cosine and
//! `4 sinc(x) / ((1 - x^2) (4 - x^2))` for its square: at 15 Hz and 0.2 s, 1 part in 850 and in
//! 8 000 for the last two (mathematics: the transform of cos^4). The RMS is wrong by half of that.
//!
//! A weight is held for one step (1 ms), so the sums stay plain within it. That costs nothing up
//! to 450 Hz: what a held weight lets through lies at 1 kHz, where the step's own average is zero.

/// Steps in a window.
pub(super) const STEPS: u8 = 200;
/// Steps on the way up; the way down mirrors them.
const HALF: usize = 100;
/// Weight at the middle of the window, nearly: 2^14.
const TOP_BITS: u32 = 14;

static RISE: [u16; HALF] = rise();

/// The weight of a step, 0 outside the window.
pub(super) fn weight(step: u8) -> u16 {
    let mirrored = STEPS.saturating_sub(1).saturating_sub(step);
    RISE.get(usize::from(step.min(mirrored))).copied().unwrap_or(0)
}

/// Tabulates `sin^4(pi (k + 1/2) / 200)` by the recurrence of the cosine, in integers.
#[expect(
    clippy::arithmetic_side_effects,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "evaluated by the compiler, where an overflow or a wrong index is an error"
)]
const fn rise() -> [u16; HALF] {
    // cos(pi/200) and 2 cos(pi/100), times 2^40 (mathematics; pinned by `tests/tests/rms.rs`).
    const START: i128 = 1_099_375_983_755;
    const TWICE: i128 = 2_197_938_170_321;
    let mut table = [0; HALF];
    let (mut before, mut cosine) = (START, START);
    let mut step = 0;
    while step < HALF {
        let hann = ((1 << 40) - cosine) >> 1;
        let squared = (hann * hann) >> 40;
        table[step] = ((squared + (1 << (39 - TOP_BITS))) >> (40 - TOP_BITS)) as u16;
        (before, cosine) = (cosine, ((TWICE * cosine) >> 40) - before);
        step += 1;
    }
    table
}
