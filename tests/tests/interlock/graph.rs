//! What can follow what: reached, left, and never going round for ever.

use core::ops::ControlFlow;
use std::collections::HashSet;

use ohmwarden_core::interlock::{DriveLevel, Lock, Reason, State, Then, next};

use crate::Table;
use crate::lists::{Selection, all_states};
use crate::rules::{inhibits, is_high, restarts};

/// What may follow a state under any of some selections of inputs.
fn follows(table: Table, from: State, selections: &[Selection]) -> HashSet<State> {
    let mut last = from;
    let mut follow = HashSet::new();
    for selection in selections {
        let _flow = selection.each(|input| {
            let to = table(from, input).state;
            if to != last {
                follow.insert(to);
                last = to;
            }
            ControlFlow::Continue(())
        });
    }
    follow
}

/// Every state that can be reached from `start`.
pub(crate) fn reached(table: Table, start: State, selections: &[Selection]) -> HashSet<State> {
    let (mut seen, mut open) = (HashSet::from([start]), vec![start]);
    while let Some(state) = open.pop() {
        open.extend(follows(table, state, selections).into_iter().filter(|&to| seen.insert(to)));
    }
    seen
}

/// Every proof with everything but faults, and every fault with everything but proofs.
pub(crate) fn wide() -> [Selection; 2] {
    let full = Selection::full();
    [
        Selection { fault: vec![None], store: full.store[1..].to_vec(), ..full.clone() },
        Selection {
            proof: full.proof[..1].to_vec(),
            press: full.press[..1].to_vec(),
            task: full.task[..1].to_vec(),
            supply_low: vec![false],
            ..full
        },
    ]
}

/// Which states there are to be reached: all but payloads that no row writes.
fn expected() -> HashSet<State> {
    let written = |state: &State| match *state {
        // An inhibit has a reason to inhibit, and what locks does not count absorptions.
        State::Inhibited { why } => inhibits(why),
        State::Discharging { absorb, then: Then::Lock(_) } => absorb == 0,
        _ => true,
    };
    all_states().into_iter().filter(written).collect()
}

#[test]
fn every_state_is_reached_from_power_up_and_no_other_payload_is() {
    let reached = reached(next, State::Boot, &wide());
    let expected = expected();
    let missing: Vec<_> = expected.difference(&reached).collect();
    let surplus: Vec<_> = reached.difference(&expected).collect();
    assert!(missing.is_empty() && surplus.is_empty(), "never {missing:?}, but {surplus:?}");
}

#[test]
fn every_state_but_a_lock_can_rest_again_once_the_cause_is_gone() {
    let stuck = stuck(next);
    assert!(stuck.is_empty(), "{stuck:?}");
}

/// The states that are not to lock and from which rest cannot be reached although nothing is wrong.
pub(crate) fn stuck(table: Table) -> Vec<State> {
    let locks = |state: &State| {
        matches!(state, State::Locked { .. } | State::Discharging { then: Then::Lock(_), .. })
    };
    let states: Vec<State> = all_states().into_iter().filter(|state| !locks(state)).collect();
    let calm = [Selection::calm()];
    let rests = |&state: &State| reached(table, state, &calm).contains(&State::Rest);
    states.into_iter().filter(|state| !rests(state)).collect()
}

#[test]
fn what_is_to_lock_ends_in_that_lock_and_nowhere_else() {
    for why in Lock::ALL {
        let from = State::Discharging { absorb: 0, then: Then::Lock(why) };
        let reached = reached(next, from, &[Selection::calm()]);
        // A discharge that comes to no end in time locks for that.
        let allowed =
            HashSet::from([from, State::Locked { why }, State::Locked { why: Lock::Discharge }]);
        assert!(reached.contains(&State::Locked { why }), "{why:?}");
        assert!(reached.is_subset(&allowed), "{why:?}: {reached:?}");
    }
}

#[test]
fn no_run_drives_for_ever_in_one_press() {
    // With its time over, every state of a press goes on to one that stands nearer to its end.
    // Trips so far count first; then proof, ramp, look, drive, the rest. A look may lead back to
    // the drive, whose time goes on meanwhile; so it stands before it.
    let place = |state: State| match state {
        State::Prove { .. } => 0,
        State::Ramp { .. } => 1,
        State::Peek { .. } => 2,
        State::Drive { .. } | State::TimedDrive { .. } => 3,
        _ => 4,
    };
    let rank = |state: State| (restarts(state).unwrap_or(u8::MAX), place(state));
    for from in all_states().into_iter().filter(|&s| is_high(s) || place(s) == 0) {
        let _flow = Selection::reduced().each(|input| {
            let to = next(from, input).state;
            if input.due {
                assert!(rank(to) > rank(from), "{from:?} goes to {to:?} on {input:?}");
            }
            ControlFlow::Continue(())
        });
    }
}

#[test]
fn a_current_ends_when_its_time_is_over() {
    for from in [State::ContRun, State::Nulling] {
        let _flow = Selection::reduced().each(|input| {
            let to = next(from, input);
            assert!(!input.due || to.drive != Some(DriveLevel::Low), "{from:?} on {input:?}");
            ControlFlow::Continue(())
        });
    }
}

#[test]
fn reasons_of_inhibits_are_those_that_core_lists() {
    let named = Reason::ALL.into_iter().filter(|&reason| inhibits(reason)).count();
    assert_eq!(named, 15, "a reason left the list that core gives");
}
