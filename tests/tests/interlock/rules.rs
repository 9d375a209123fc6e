//! What must hold of one step of the interlock, whatever state and input it had.
//!
//! Each rule is a function of the state, the input and what followed; it is told from the table in
//! core by saying less: not what follows, but what must not.

use ohmwarden_core::frame::Task;
use ohmwarden_core::interlock::{
    Asked, DriveLevel, Input, Next, Press, Proof, Reason, State, Then, Trip,
};

/// One step: from where, on what, to where.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    pub(crate) from: State,
    pub(crate) on: Input,
    pub(crate) to: Next,
}

/// A rule with its name.
pub(crate) type Rule = (&'static str, fn(&Step) -> bool);

/// All of them.
pub(crate) const RULES: &[Rule] = &[
    ("the drive is that of the state", drive_is_that_of_the_state),
    ("a drive begins from a proof alone", drive_begins_from_a_proof_alone),
    ("whatever ends a drive ends it at once", ends_at_once),
    ("a drive ends in time", drive_ends_in_time),
    ("a fourth trip inhibits", fourth_trip_inhibits),
    ("restarts are counted", restarts_are_counted),
    ("a lock is for ever", lock_is_for_ever),
    ("a discharge follows high voltage", discharge_follows_high_voltage),
    ("a current is unwound", current_is_unwound),
    ("a proof needs a fresh press", proof_needs_a_fresh_press),
    ("a proof ends in time", proof_ends_in_time),
    ("rest is entered only when it is safe", rest_is_safe),
    ("a fault is not passed over", fault_is_not_passed_over),
    ("absorption is counted", absorption_is_counted),
];

/// Nothing but the state decides what may be driven.
fn drive_is_that_of_the_state(s: &Step) -> bool {
    s.to.drive == s.to.state.drive()
}

/// Asked for, proved in this very step and nothing wrong; or on after a look that found nothing.
fn drive_begins_from_a_proof_alone(s: &Step) -> bool {
    if s.from.drive().is_some() || s.to.drive.is_none() {
        return true;
    }
    let fine = s.on.asked == Asked::Yes && s.on.fault.is_none() && !s.on.supply_low;
    match s.from {
        State::Prove { .. } => fine && s.on.proof == Proof::Permitted && !s.on.live,
        State::Peek { .. } => {
            // A look belongs to the drive that it interrupts, and to no other.
            let back = match s.on.task {
                Task::Timed => matches!(s.to.state, State::TimedDrive { .. }),
                _ => matches!(s.to.state, State::Drive { .. }),
            };
            let in_time = s.on.ready && !s.on.due;
            fine && back && in_time && !s.on.live && !s.on.stiff && s.on.trip == Trip::None
        }
        _ => false,
    }
}

/// A trip, live terminals, the key, a function left, a fault, a low supply: no drive from this step
/// on.
fn ends_at_once(s: &Step) -> bool {
    let ends = s.on.trip != Trip::None
        || s.on.live
        || s.on.asked != Asked::Yes
        || s.on.fault.is_some()
        || s.on.supply_low;
    s.from.drive().is_none() || !ends || s.to.drive.is_none()
}

/// When its time is over a drive goes on only from the ramp, at the limit of the source.
fn drive_ends_in_time(s: &Step) -> bool {
    let goes_on = matches!((s.from, s.to.state), (State::Ramp { .. }, State::Drive { .. }));
    s.from.drive().is_none() || !s.on.due || s.to.drive.is_none() || goes_on
}

/// After three restarts a trip ends in an inhibit, or in a lock where our own source was too high.
fn fourth_trip_inhibits(s: &Step) -> bool {
    if restarts(s.from) != Some(3) || !is_high(s.from) || s.on.trip == Trip::None {
        return true;
    }
    match s.on.trip {
        Trip::Own => locks_in_the_end(s.to.state),
        _ => matches!(s.to.state, State::Inhibited { .. }),
    }
}

/// They rise by one at a trip, stay otherwise within a press, and never pass three.
fn restarts_are_counted(s: &Step) -> bool {
    let Some(after) = restarts(s.to.state) else { return true };
    match restarts(s.from) {
        None => after == 0,
        Some(before) => {
            let again = is_high(s.from) && matches!(s.to.state, State::Prove { .. });
            let tripped = matches!(s.on.trip, Trip::Load | Trip::Breakdown);
            after <= 3 && if again { tripped && after == before + 1 } else { after == before }
        }
    }
}

fn lock_is_for_ever(s: &Step) -> bool {
    !matches!(s.from, State::Locked { .. }) || s.to.state == s.from
}

/// High voltage leads to more of it, to its discharge, to another proof after a trip, or to an
/// inhibit after the fourth one or a look that found a source. The last two let down what they find.
fn discharge_follows_high_voltage(s: &Step) -> bool {
    if !is_high(s.from) {
        return true;
    }
    let tripped = matches!(s.on.trip, Trip::Load | Trip::Breakdown);
    match s.to.state {
        State::Ramp { .. }
        | State::Drive { .. }
        | State::TimedDrive { .. }
        | State::Peek { .. }
        | State::Discharging { .. } => true,
        State::Prove { .. } => tripped,
        State::Inhibited { .. } => {
            tripped || s.on.live || matches!(s.from, State::Peek { .. }) && s.on.stiff
        }
        _ => false,
    }
}

/// A continuity current leaves only through the state that lets it die away.
fn current_is_unwound(s: &Step) -> bool {
    s.from.drive() != Some(DriveLevel::Low) || s.to.state == s.from || s.to.state == State::Unwind
}

/// From rest alone, on a fresh press, with nothing wrong.
fn proof_needs_a_fresh_press(s: &Step) -> bool {
    let proves = matches!(s.to.state, State::Prove { .. });
    if !proves || matches!(s.from, State::Prove { .. }) || is_high(s.from) {
        return true;
    }
    let on = &s.on;
    let wrong = on.live || on.charged || on.fault.is_some() || on.supply_low;
    s.from == State::Rest && on.press != Press::None && !wrong
}

/// A proof whose time is over is not where it was.
fn proof_ends_in_time(s: &Step) -> bool {
    !matches!(s.from, State::Prove { .. }) || !s.on.due || s.to.state != s.from
}

/// Each way to rest with what it asks for.
fn rest_is_safe(s: &Step) -> bool {
    if s.to.state != State::Rest || s.from == State::Rest {
        return true;
    }
    let on = &s.on;
    match s.from {
        State::Boot => on.ready && !on.live && !on.charged && on.fault.is_none(),
        State::RestLow => on.ready && !on.supply_low && !on.live && !on.charged,
        // After a trip the charge of the drive may still be there.
        State::Prove { restarts } => {
            restarts == 0 && (on.asked != Asked::Yes || on.proof == Proof::Permitted)
        }
        State::Unwind => on.ready && !on.live && !on.charged && on.fault.is_none(),
        State::Settle { .. } => {
            on.due && !on.live && !on.stiff && !on.charged && on.fault.is_none()
        }
        State::Inhibited { .. } => on.ready && !on.live && on.fault.is_none(),
        _ => false,
    }
}

/// With something broken, nothing is driven and nothing rests; what is not locked at once lets
/// down, unwinds or was let go of in the same step.
fn fault_is_not_passed_over(s: &Step) -> bool {
    if s.on.fault.is_none() || s.to.drive.is_some() {
        return s.on.fault.is_none();
    }
    match s.to.state {
        State::Rest => matches!(s.from, State::Prove { .. }) && s.on.asked != Asked::Yes,
        State::RestLow | State::Boot | State::Ramp { .. } | State::Settle { .. } => false,
        State::Drive { .. } | State::TimedDrive { .. } | State::Peek { .. } => false,
        State::ContRun | State::Nulling => false,
        State::Prove { .. } => is_high(s.from),
        State::Inhibited { .. } => is_high(s.from) || s.from == State::Unwind,
        State::Unwind | State::Discharging { .. } | State::Locked { .. } => true,
    }
}

/// From one discharge to the next by one, to ten at the most, and from nothing else.
fn absorption_is_counted(s: &Step) -> bool {
    match (s.from, s.to.state) {
        (State::Settle { absorb }, State::Discharging { absorb: after, .. }) => {
            after == (absorb + 1).min(10)
        }
        (State::Discharging { absorb, .. }, State::Settle { absorb: after }) => after == absorb,
        (State::Discharging { absorb, then }, State::Discharging { absorb: after, then: next }) => {
            after == absorb && next == then
                || after == 0 && then == Then::Settle && matches!(next, Then::Lock(_))
        }
        (State::Settle { absorb }, State::Settle { absorb: after }) => after == absorb,
        (_, State::Settle { .. }) => false,
        (_, State::Discharging { absorb, .. }) => absorb == 0,
        _ => true,
    }
}

/// Trips so far in this press, in the states that count them.
pub(crate) fn restarts(state: State) -> Option<u8> {
    match state {
        State::Prove { restarts }
        | State::Ramp { restarts }
        | State::Drive { restarts }
        | State::Peek { restarts }
        | State::TimedDrive { restarts } => Some(restarts),
        _ => None,
    }
}

/// Whether high voltage is, or was a moment ago, on the terminals by our own doing.
pub(crate) fn is_high(state: State) -> bool {
    state.drive() == Some(DriveLevel::High) || matches!(state, State::Peek { .. })
}

fn locks_in_the_end(state: State) -> bool {
    matches!(state, State::Locked { .. } | State::Discharging { then: Then::Lock(_), .. })
}

/// The name of the first rule that a step breaks.
pub(crate) fn broken(step: &Step) -> Option<&'static str> {
    RULES.iter().find(|(_, holds)| !holds(step)).map(|(name, _)| *name)
}

/// Whether a reason is one that the table inhibits for.
pub(crate) fn inhibits(reason: Reason) -> bool {
    matches!(
        reason,
        Reason::ChannelsUnproved
            | Reason::Flashover
            | Reason::Induced
            | Reason::Live
            | Reason::LiveAc
            | Reason::LiveDc
            | Reason::LiveMixed
            | Reason::LivePulsed
            | Reason::LoadChanged
            | Reason::Peeked
            | Reason::Residual
            | Reason::Standing
            | Reason::StoredOrLive
            | Reason::SwapLeads
            | Reason::Unproven
    )
}
