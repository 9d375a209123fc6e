//! The measuring window: how long it is, and the weight of each of its steps.
//!
//! A plain window of 0.2 s holds 3.2 cycles of 16 Hz and is up to 2.4 % wrong. Weights that fall
//! smoothly to nothing at both ends hardly care where in its cycle the window cuts the signal.
//! With `x = f T` the part of a frequency that leaks into the mean is `sinc(x)` for a plain window,
//! `sinc(x) / (1 - x^2)` for the raised cosine and `4 sinc(x) / ((1 - x^2) (4 - x^2))` for its
//! square, which is used here (mathematics: the transform of cos^4). What alternates at 15 Hz has
//! its square at 30 Hz: 1 part in 8 000 leaks, and the RMS is wrong by half of that.
//!
//! Direct and alternating voltage together hold 15 Hz itself in the square, where 1 part in 200
//! would leak. The leak is nothing at whole numbers of cycles from 3 up, so the window is made to
//! hold as many whole cycles as fit, once the frequency is known.
//!
//! A weight is held for one step (1 ms), so the sums stay plain within it. That costs nothing up
//! to 450 Hz: what a held weight lets through lies at 1 kHz, where the step's own average is zero.

use crate::unit::Frequency;

/// Steps in a window of which the frequency is not known.
pub(super) const STEPS: u8 = 200;
/// Steps in the longest window: three cycles of 14.5 Hz.
const MOST_STEPS: u32 = 207;
/// The fewest whole cycles between which a window leaks nothing.
const LEAST_CYCLES: u32 = 3;
/// Steps on the way up; the way down mirrors them.
const HALF: usize = 100;
/// Weight at the middle of the window, nearly: 2^14.
const TOP_BITS: u32 = 14;

static RISE: [u16; HALF] = rise();

/// The length of a window in steps: whole cycles where that can be had, else [`STEPS`].
pub(super) fn length(hz: Option<Frequency>, millisteps_per_second: u64) -> u8 {
    let whole = || {
        let millihertz = u64::from(hz?.as_millihertz());
        let cycles = u64::from(MOST_STEPS)
            .saturating_mul(1_000)
            .saturating_mul(millihertz)
            .checked_div(millisteps_per_second)?
            .wrapping_div(1_000);
        let half = millihertz >> 1;
        let steps = cycles.saturating_mul(millisteps_per_second).saturating_add(half);
        let steps = steps.checked_div(millihertz)?;
        (cycles >= u64::from(LEAST_CYCLES)).then_some(u8::try_from(steps).ok()?)
    };
    whole().unwrap_or(STEPS)
}

/// The weight of a step of a window of `length` steps, 0 outside it.
pub(super) fn weight(step: u8, length: u8) -> u16 {
    let Some(mirrored) = length.saturating_sub(1).checked_sub(step) else { return 0 };
    if length == STEPS {
        // The length of the table, twice: nothing lies between two entries.
        let entry = usize::from(step.min(mirrored));
        return RISE.get(entry).copied().unwrap_or(0);
    }
    // The middle of the step, in 1/256 of an entry of the table, which are 200 to the window.
    let odd = u32::from(step.min(mirrored)).saturating_mul(2).saturating_add(1);
    let place = odd.saturating_mul(u32::from(STEPS)).saturating_mul(128);
    let place = place.checked_div(u32::from(length)).unwrap_or(0).saturating_sub(128);
    let entry = usize::try_from(place >> 8).unwrap_or(HALF);
    let at = |entry: usize| u32::from(RISE.get(entry.min(HALF - 1)).copied().unwrap_or(0));
    let (low, high) = (at(entry), at(entry.saturating_add(1)));
    let between = high.saturating_sub(low).saturating_mul(place & 255) >> 8;
    u16::try_from(low.saturating_add(between)).unwrap_or(0)
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
    // cos(pi/200) and 2 cos(pi/100), times 2^40 (mathematics; pinned below).
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

#[cfg(test)]
mod tests {
    use super::{STEPS, TOP_BITS, length, weight};
    use crate::unit::Frequency;

    #[test]
    fn weights_are_the_fourth_power_of_the_sine() {
        // 2^14 sin^4(pi (k + 1/2) / n), rounded (mathematics).
        for (step, of, expected) in [
            (0, 200, 0),
            (10, 200, 12),
            (33, 200, 1_043),
            (50, 200, 4_226),
            (99, 200, 16_382),
            (44, 180, 3_954),
            (90, 207, 15_150),
        ] {
            assert!(
                weight(step, of).abs_diff(expected) <= 2,
                "{step} of {of}: {}",
                weight(step, of)
            );
        }
    }

    #[test]
    fn weights_mirror_add_up_and_end_with_the_window() {
        for of in [150, 167, 180, STEPS, 207] {
            let sum: u32 = (0..of).map(|step| u32::from(weight(step, of))).sum();
            // The mean of the fourth power of a sine is 3/8.
            let exact = u32::from(of) * 3 * (1 << TOP_BITS) / 8;
            assert!(sum.abs_diff(exact) <= exact / 2_000, "{of}: {sum} for {exact}");
            assert!((0..of).all(|step| weight(step, of) == weight(of - 1 - step, of)));
            assert!((of..=u8::MAX).all(|step| weight(step, of) == 0));
        }
    }

    #[test]
    fn a_window_holds_as_many_whole_cycles_as_fit() {
        for (millihertz, steps) in [
            (0, 200),
            (10_000, 200),
            (14_492, 200),
            (14_500, 207),
            (15_000, 200),
            (16_667, 180),
            (19_000, 158),
            (50_000, 200),
            (49_900, 200),
            (450_000, 207),
            (4_000_000, 207),
        ] {
            let hz = Some(Frequency::from_millihertz(millihertz));
            assert_eq!(length(hz, 1_000_000), steps, "{millihertz} mHz");
        }
        assert_eq!(length(None, 1_000_000), STEPS);
    }
}
