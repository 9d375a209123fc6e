//! What each kind of expectation means, worked over a whole trace at once.

use ohmwarden_sim::expect::{Now, Outcome};
use proptest::prelude::*;

use crate::{SAME, STEP, agrees};

/// What a whole trace says: held, margin in scales or seconds.
pub(crate) type Worked = Option<(bool, f64)>;

pub(crate) fn worked_always(nows: &[(f64, Now)]) -> Worked {
    let margin = nows.iter().map(|(_, now)| now.margin).reduce(f64::min)?;
    Some((nows.iter().all(|(_, now)| now.holds), margin))
}

pub(crate) fn worked_until(hold: &[(f64, Now)], until: &[(f64, Now)]) -> Worked {
    let at = |j: usize| {
        let before = || hold[..j].iter().map(|(_, now)| now);
        let holds = until[j].1.holds && before().all(|now| now.holds);
        (holds, before().fold(until[j].1.margin, |least, now| least.min(now.margin)))
    };
    let all: Vec<(bool, f64)> = (0..until.len()).map(at).collect();
    let best = all.iter().map(|(_, margin)| *margin).reduce(f64::max)?;
    Some((all.iter().any(|(holds, _)| *holds), best))
}

/// Time to spare of a window that asks for one true sample.
pub(crate) fn worked_once(nows: &[(f64, Now)], opening: f64, length: f64) -> Worked {
    let deadline = opening + length;
    let last = nows.last()?.0;
    let interval = if nows.len() > 1 { STEP } else { 0.0 };
    let first = nows.iter().find(|(t, now)| *t >= opening && now.holds).map(|(t, _)| *t);
    match first {
        Some(t) if t <= deadline + SAME => Some((true, (deadline - t).max(0.0))),
        Some(t) => Some((false, deadline - t)),
        None if last + interval + SAME < deadline => None,
        None => Some((false, (deadline - last).min(0.0))),
    }
}

/// Time to spare of a window after which it must stay until `stop`.
pub(crate) fn worked_stays(
    nows: &[(f64, Now)],
    opening: f64,
    length: f64,
    stop: Option<f64>,
) -> Worked {
    let last = nows.last()?.0;
    let interval = if nows.len() > 1 { STEP } else { 0.0 };
    let stop = stop.filter(|stop| *stop > opening);
    let end = stop.unwrap_or(last);
    let deadline = (opening + length).min(stop.unwrap_or(f64::INFINITY));
    if stop.is_none() && last + interval + SAME < deadline {
        return None;
    }
    let inside: Vec<&(f64, Now)> =
        nows.iter().filter(|(t, _)| *t >= opening && stop.is_none_or(|stop| *t < stop)).collect();
    let row = inside.iter().rev().take_while(|(_, now)| now.holds).last().map(|(t, _)| *t);
    match row {
        Some(t) if t <= deadline + SAME => Some((true, (deadline - t).max(0.0))),
        row => Some((false, (deadline - row.unwrap_or(end)).min(0.0))),
    }
}

pub(crate) fn same(outcome: &Outcome, worked: Worked) -> Result<(), TestCaseError> {
    prop_assert_eq!(outcome.held, worked.map(|(held, _)| held), "{:?}", outcome);
    let margins = outcome.margin.zip(worked.map(|(_, margin)| margin));
    prop_assert_eq!(outcome.margin.is_some(), worked.is_some());
    if let Some((told, worked)) = margins {
        prop_assert!((told - worked).abs() < 1.0e-12, "{told} {worked}");
    }
    if let (Some(held), Some(score)) = (outcome.held, outcome.score) {
        prop_assert!(agrees(held, score), "{outcome:?}");
    }
    Ok(())
}

/// The score of a window: to spare as a part of it, or the worse of lateness and margin.
pub(crate) fn scored(
    outcome: &Outcome,
    length: f64,
    margins: &[f64],
    join: fn(f64, f64) -> f64,
) -> bool {
    let (Some(held), Some(spare)) = (outcome.held, outcome.margin) else {
        return outcome.score.is_none();
    };
    let time = if length > 0.0 { spare / length } else { spare };
    let value = margins.iter().copied().reduce(join).unwrap_or(0.0).min(0.0);
    let worked = if held { time } else { time.min(value) };
    outcome.score.is_some_and(|score| (score - worked).abs() < 1.0e-9)
}

/// The margins of the samples from `from`, up to `to` or beyond it.
pub(crate) fn margins(nows: &[(f64, Now)], within: impl Fn(f64) -> bool) -> Vec<f64> {
    nows.iter().filter(|(t, _)| within(*t)).map(|(_, now)| now.margin).collect()
}
