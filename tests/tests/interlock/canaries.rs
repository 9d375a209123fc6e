//! Tables with one row broken. Each must be caught by the rule that it breaks: a check that lets
//! one of them live checks nothing.

use ohmwarden_core::frame::Task;
use ohmwarden_core::interlock::{Asked, Input, Next, Press, Proof, State, Then, Trip, next};

use crate::lists::{Selection, reduced_states};
use crate::{Table, graph, search};

const fn to(state: State) -> Next {
    Next { state, reason: None, drive: state.drive() }
}

/// The rule that must catch it, the states whose rows are broken, and the broken table.
type Canary = (&'static str, &'static [&'static str], Table);

const CANARIES: &[Canary] = &[
    ("a drive begins from a proof alone", &["prove"], |s, i| match (s, i) {
        // Live together with the proof itself.
        (State::Prove { restarts }, Input { proof: Proof::Permitted, live: true, .. })
            if i.asked == Asked::Yes && i.task == Task::Insulation && i.fault.is_none() =>
        {
            to(State::Ramp { restarts })
        }
        _ => next(s, i),
    }),
    ("a drive begins from a proof alone", &["rest"], |s, i| match (s, i) {
        // Straight from rest.
        (State::Rest, Input { press: Press::Test, task: Task::Continuity, fault: None, .. }) => {
            to(State::ContRun)
        }
        _ => next(s, i),
    }),
    ("a drive begins from a proof alone", &["peek"], |s, i| match (s, i) {
        // A look that found a source.
        (State::Peek { restarts }, Input { stiff: true, ready: true, .. })
            if next(s, Input { stiff: false, ..i }).drive.is_some() =>
        {
            to(State::Drive { restarts })
        }
        _ => next(s, i),
    }),
    ("a drive begins from a proof alone", &["peek"], |s, i| match s {
        // A look that took too long.
        State::Peek { .. } if i.ready => next(s, Input { due: false, ..i }),
        _ => next(s, i),
    }),
    ("whatever ends a drive ends it at once", &["drive"], |s, i| match s {
        // Something said live in a drive.
        State::Drive { .. } => next(s, Input { live: false, ..i }),
        _ => next(s, i),
    }),
    ("rest is entered only when it is safe", &["prove"], |s, i| match s {
        // The key let go while proving after a trip.
        State::Prove { restarts } if restarts > 0 && i.asked == Asked::Released => to(State::Rest),
        _ => next(s, i),
    }),
    ("whatever ends a drive ends it at once", &["drive"], |s, i| match s {
        // The key let go in a drive.
        State::Drive { .. } if i.asked == Asked::Released => {
            next(s, Input { asked: Asked::Yes, ..i })
        }
        _ => next(s, i),
    }),
    ("whatever ends a drive ends it at once", &["timed_drive"], |s, i| match s {
        // A trip in a timed drive.
        State::TimedDrive { .. } => next(s, Input { trip: Trip::None, ..i }),
        _ => next(s, i),
    }),
    ("whatever ends a drive ends it at once", &["ramp"], |s, i| match s {
        // A supply that fails in the ramp.
        State::Ramp { .. } => next(s, Input { supply_low: false, ..i }),
        _ => next(s, i),
    }),
    ("whatever ends a drive ends it at once", &["nulling"], |s, i| match s {
        // A fault while a lead is nulled.
        State::Nulling => next(s, Input { fault: None, ..i }),
        _ => next(s, i),
    }),
    ("a drive ends in time", &["drive"], |s, i| match s {
        // A drive without an end.
        State::Drive { .. } => next(s, Input { due: false, ..i }),
        _ => next(s, i),
    }),
    ("a fourth trip inhibits", &["drive"], |s, i| match (s, i) {
        // Once more after the fourth trip.
        (State::Drive { restarts: 3 }, Input { trip: Trip::Load, .. }) => {
            to(State::Prove { restarts: 3 })
        }
        _ => next(s, i),
    }),
    ("restarts are counted", &["ramp"], |s, i| match (s, i) {
        // Restarts that are not counted.
        (State::Ramp { restarts: 1 }, Input { trip: Trip::Breakdown, .. }) => {
            to(State::Prove { restarts: 1 })
        }
        _ => next(s, i),
    }),
    ("a lock is for ever", &["locked"], |s, i| match (s, i) {
        // A lock that a quiet moment opens.
        (State::Locked { .. }, Input { ready: true, fault: None, .. }) => to(State::Rest),
        _ => next(s, i),
    }),
    ("a discharge follows high voltage", &["timed_drive"], |s, i| match (s, i) {
        // To rest with the charge still there.
        (State::TimedDrive { .. }, Input { due: true, trip: Trip::None, .. })
            if i.fault.is_none() && i.asked == Asked::Yes =>
        {
            to(State::Inhibited { why: ohmwarden_core::interlock::Reason::TimeUp })
        }
        _ => next(s, i),
    }),
    ("a current is unwound", &["cont_run"], |s, i| match (s, i) {
        // The path opened under current.
        (State::ContRun, Input { asked: Asked::AnyKey, fault: None, .. }) => to(State::Rest),
        _ => next(s, i),
    }),
    ("a proof needs a fresh press", &["inhibited"], |s, i| match (s, i) {
        // A key held through an inhibit.
        (State::Inhibited { .. }, Input { ready: true, asked: Asked::Yes, .. })
            if i.fault.is_none() =>
        {
            to(State::Prove { restarts: 0 })
        }
        _ => next(s, i),
    }),
    ("a proof ends in time", &["prove"], |s, i| match s {
        // A proof that waits for ever.
        State::Prove { .. } => next(s, Input { due: false, ..i }),
        _ => next(s, i),
    }),
    ("rest is entered only when it is safe", &["inhibited"], |s, i| match s {
        // Rest while live.
        State::Inhibited { .. } => next(s, Input { live: false, ..i }),
        _ => next(s, i),
    }),
    ("rest is entered only when it is safe", &["settle"], |s, i| match s {
        // Rest with the voltage back.
        State::Settle { .. } => next(s, Input { charged: false, ..i }),
        _ => next(s, i),
    }),
    ("a fault is not passed over", &["boot"], |s, i| match s {
        // A fault at power-up.
        State::Boot => next(s, Input { fault: None, ..i }),
        _ => next(s, i),
    }),
    ("absorption is counted", &["settle"], |s, i| match (s, next(s, i).state) {
        // A count that begins again each time.
        (State::Settle { .. }, State::Discharging { .. }) => {
            to(State::Discharging { absorb: 0, then: Then::Settle })
        }
        _ => next(s, i),
    }),
    ("the drive is that of the state", &["rest", "prove"], |s, i| {
        // A proof that drives.
        let next = next(s, i);
        match next.state {
            State::Prove { .. } => {
                Next { drive: Some(ohmwarden_core::interlock::DriveLevel::Low), ..next }
            }
            _ => next,
        }
    }),
];

#[test]
fn every_broken_table_is_caught_by_the_rule_that_it_breaks() {
    for (number, &(rule, words, table)) in CANARIES.iter().enumerate() {
        // Only the states whose rows are broken: the others have been tried.
        let states: Vec<State> =
            reduced_states().into_iter().filter(|state| words.contains(&state.word())).collect();
        let (found, _) = search(table, &states, &Selection::reduced());
        let (by, step) = found.unwrap_or_else(|| panic!("canary {number} lives: {rule}"));
        assert_eq!(by, rule, "canary {number} was caught at {step:?}");
    }
}

#[test]
fn every_rule_has_a_canary() {
    for (rule, _) in crate::rules::RULES {
        assert!(CANARIES.iter().any(|(name, ..)| name == rule), "{rule}");
    }
}

#[test]
fn a_table_without_a_way_back_is_caught() {
    let stuck = graph::stuck(|s, i| match s {
        State::Inhibited { .. } => to(s),
        _ => next(s, i),
    });
    assert!(stuck.iter().all(|s| matches!(s, State::Inhibited { .. })) && !stuck.is_empty());
}

#[test]
fn a_table_with_a_state_that_nothing_reaches_is_caught() {
    let reached = graph::reached(
        |s, i| match next(s, i).state {
            State::Peek { restarts } => to(State::Drive { restarts }),
            _ => next(s, i),
        },
        State::Boot,
        &graph::wide(),
    );
    assert!(!reached.iter().any(|s| matches!(s, State::Peek { .. })));
}
