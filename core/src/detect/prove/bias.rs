//! How the two channels answered the proving bias, which moves them apart.

use crate::unit::Voltage;

/// How the channels answered the bias.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Answer {
    Right,
    /// Both answered, both alike wrong: what they have in common is off.
    Broken,
    /// One answered wrongly or not at all.
    None,
}

/// Both channels together within 8 % of the expected shift: right. What the terminals themselves
/// did between the two windows moves one answer up and the other down and falls out of the mean; a
/// dead channel halves it. The bias comes from a reference of its own, so a converter reference
/// that sags shows here although both channels agree.
pub(super) fn answer(shifts: [Voltage; 2], expected: Voltage) -> Answer {
    let most = expected.div(100).saturating_mul(8);
    let [a, b] = shifts;
    let mean = a.saturating_add(b).div(2);
    let apart = a.saturating_sub(b).abs();
    if mean.saturating_sub(expected).abs() < most && apart < expected {
        Answer::Right
    } else if expected.div(2) < a && expected.div(2) < b && apart < most {
        Answer::Broken
    } else {
        Answer::None
    }
}
