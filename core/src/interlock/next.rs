//! The table: what follows each state under each input.

use super::reason::Reason;
use super::{Asked, DriveLevel, Input, Lock, Press, Proof, State, Store, Then, Trip};
use crate::detect::Circuit;
use crate::frame::Task;

/// What the interlock decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[must_use]
pub struct Next {
    /// The state from now on.
    pub state: State,
    /// Why, where something changed or was refused.
    pub reason: Option<Reason>,
    /// What may be driven in it.
    pub drive: Option<DriveLevel>,
}

/// The most trips in one press that are followed by another proof.
const RESTARTS: u8 = 3;
/// How often a returning voltage is let down before the discharge is simply held.
const ABSORBS: u8 = 10;

/// Decides what follows `state` under `input`. Pure and total.
///
/// ```
/// use ohmwarden_core::interlock::{next, Input, State};
/// let quiet = next(State::Rest, Input::QUIET);
/// assert_eq!((quiet.state, quiet.drive), (State::Rest, None));
/// let live = next(State::Rest, Input { live: true, ..Input::QUIET });
/// assert!(matches!(live.state, State::Inhibited { .. }));
/// ```
pub const fn next(state: State, input: Input) -> Next {
    match state {
        State::Boot => boot(input),
        State::Rest => rest(input),
        State::RestLow => rest_low(input),
        State::Prove { restarts } => prove(input, restarts),
        State::Ramp { restarts } => ramp(input, restarts),
        State::Drive { restarts } => drive(input, restarts),
        State::Peek { restarts } => peek(input, restarts),
        State::TimedDrive { restarts } => timed(input, restarts),
        State::ContRun => continuity(input, State::ContRun),
        State::Nulling => continuity(input, State::Nulling),
        State::Unwind => unwind(input),
        State::Discharging { absorb, then } => discharging(input, absorb, then),
        State::Settle { absorb } => settle(input, absorb),
        State::Inhibited { why } => inhibited(input, why),
        State::Locked { why } => stay(State::Locked { why }),
    }
}

const fn stay(state: State) -> Next {
    Next { state, reason: None, drive: state.drive() }
}

const fn go(state: State, reason: Reason) -> Next {
    Next { state, reason: Some(reason), drive: state.drive() }
}

const fn lock(why: Lock) -> Next {
    go(State::Locked { why }, Reason::Locked(why))
}

const fn inhibit(why: Reason) -> Next {
    go(State::Inhibited { why }, why)
}

const fn let_down(reason: Reason) -> Next {
    go(State::Discharging { absorb: 0, then: Then::Settle }, reason)
}

const fn let_down_and_lock(why: Lock) -> Next {
    go(State::Discharging { absorb: 0, then: Then::Lock(why) }, Reason::Locked(why))
}

const fn boot(i: Input) -> Next {
    match i {
        Input { fault: Some(why), .. } => lock(why),
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { charged: true, .. } => let_down(Reason::Interrupted),
        Input { proof: Proof::Channels, .. } => inhibit(Reason::ChannelsUnproved),
        Input { ready: true, .. } => go(State::Rest, Reason::Ready),
        Input { due: true, .. } => inhibit(Reason::Unproven),
        _ => stay(State::Boot),
    }
}

const fn rest(i: Input) -> Next {
    match i {
        Input { fault: Some(why), .. } => lock(why),
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { charged: true, .. } => let_down(Reason::Charged),
        Input { supply_low: true, .. } => go(State::RestLow, Reason::Low),
        Input { press: Press::Null, task: Task::Continuity, .. } => begin(),
        Input { press: Press::Test, task: Task::Watch, .. } => go(State::Rest, Reason::NoFunction),
        Input { press: Press::Test, .. } => begin(),
        _ => stay(State::Rest),
    }
}

const fn begin() -> Next {
    go(State::Prove { restarts: 0 }, Reason::Proving)
}

const fn rest_low(i: Input) -> Next {
    match i {
        Input { fault: Some(why), .. } => lock(why),
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { charged: true, .. } => let_down(Reason::Charged),
        Input { ready: true, supply_low: false, .. } => go(State::Rest, Reason::Ready),
        _ => stay(State::RestLow),
    }
}

/// Nothing is on in a proof, so every way out of it but one ends without a drive.
///
/// After a trip the charge of the drive may still be there: whoever lets go then has it let down.
const fn prove(i: Input, restarts: u8) -> Next {
    if restarts > 0 {
        match i {
            Input { asked: Asked::Released, .. } => return let_down(Reason::Released),
            Input { asked: Asked::AnyKey, .. } => return let_down(Reason::AnyKey),
            Input { asked: Asked::Changed, .. } => return let_down(Reason::FunctionChanged),
            Input { fault: Some(why), .. } => return let_down_and_lock(why),
            Input { supply_low: true, .. } => return let_down(Reason::Low),
            Input { proof: Proof::Permitted, task: Task::Watch, .. } => {
                return let_down(Reason::NoFunction);
            }
            _ => {}
        }
    }
    match i {
        Input { asked: Asked::Released, .. } => go(State::Rest, Reason::Released),
        Input { asked: Asked::AnyKey, .. } => go(State::Rest, Reason::AnyKey),
        Input { asked: Asked::Changed, .. } => go(State::Rest, Reason::FunctionChanged),
        Input { fault: Some(why), .. } => lock(why),
        Input { supply_low: true, .. } => go(State::RestLow, Reason::Low),
        Input { proof: Proof::Permitted, .. } => permitted(i, restarts),
        Input { proof: Proof::Channels, .. } => inhibit(Reason::ChannelsUnproved),
        Input { proof: Proof::Reversed, .. } => inhibit(Reason::SwapLeads),
        Input { proof: Proof::Refused(circuit), .. } => refused(circuit),
        Input { proof: Proof::Pending, due: true, .. } => inhibit(Reason::Unproven),
        Input { proof: Proof::Pending, due: false, .. } => stay(State::Prove { restarts }),
    }
}

/// The only rows from which a drive begins. A live indication that arrives with the proof itself
/// wins over it.
const fn permitted(i: Input, restarts: u8) -> Next {
    match i {
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { task: Task::Insulation, .. } => stay(State::Ramp { restarts }),
        Input { task: Task::Timed, .. } => stay(State::TimedDrive { restarts }),
        Input { task: Task::Continuity, null: false, .. } => stay(State::ContRun),
        Input { task: Task::Continuity, null: true, .. } => stay(State::Nulling),
        Input { task: Task::Watch, .. } => go(State::Rest, Reason::NoFunction),
    }
}

const fn refused(circuit: Circuit) -> Next {
    match circuit {
        Circuit::Charged => let_down(Reason::Charged),
        Circuit::Dead | Circuit::Unproven => inhibit(Reason::Residual),
        Circuit::Standing => inhibit(Reason::Standing),
        Circuit::Induced => inhibit(Reason::Induced),
        Circuit::LiveAc => inhibit(Reason::LiveAc),
        Circuit::LiveDc => inhibit(Reason::LiveDc),
        Circuit::LiveMixed => inhibit(Reason::LiveMixed),
        Circuit::LivePulsed => inhibit(Reason::LivePulsed),
        Circuit::StoredOrLive => inhibit(Reason::StoredOrLive),
    }
}

/// What ends every high-voltage drive alike, or `None` where nothing does.
const fn ends_high(i: Input, restarts: u8) -> Option<Next> {
    Some(match i {
        Input { trip: Trip::Own, .. } => let_down_and_lock(Lock::OverVoltage),
        Input { trip: Trip::Load | Trip::Breakdown, .. } if restarts < RESTARTS => {
            go(State::Prove { restarts: restarts.saturating_add(1) }, Reason::Tripped)
        }
        Input { trip: Trip::Load, .. } => inhibit(Reason::LoadChanged),
        Input { trip: Trip::Breakdown, .. } => inhibit(Reason::Flashover),
        // The gate looks for what arrives; should anything else know of it, that counts as well.
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { asked: Asked::Released, .. } => let_down(Reason::Released),
        Input { asked: Asked::AnyKey, .. } => let_down(Reason::AnyKey),
        Input { fault: Some(why), .. } => let_down_and_lock(why),
        Input { asked: Asked::Changed, .. } => let_down(Reason::FunctionChanged),
        Input { supply_low: true, .. } => let_down(Reason::Low),
        Input { store: Store::TooMuch, .. } => let_down(Reason::TooCapacitive),
        _ => return None,
    })
}

const fn ramp(i: Input, restarts: u8) -> Next {
    if let Some(end) = ends_high(i, restarts) {
        return end;
    }
    match i {
        Input { ready: true, .. } => stay(State::Drive { restarts }),
        Input { due: true, store: Store::Flat, .. } => stay(State::Drive { restarts }),
        Input { due: true, .. } => let_down(Reason::TooCapacitive),
        _ => stay(State::Ramp { restarts }),
    }
}

const fn drive(i: Input, restarts: u8) -> Next {
    if let Some(end) = ends_high(i, restarts) {
        return end;
    }
    match i {
        Input { due: true, .. } => let_down(Reason::TimeUp),
        Input { ready: true, .. } => stay(State::Peek { restarts }),
        _ => stay(State::Drive { restarts }),
    }
}

const fn peek(i: Input, restarts: u8) -> Next {
    if let Some(end) = ends_high(i, restarts) {
        return end;
    }
    match i {
        Input { stiff: true, .. } => inhibit(Reason::Peeked),
        // A look that took too long is no gap in a drive any more, whatever it found.
        Input { due: true, .. } => let_down(Reason::Unproven),
        Input { ready: true, task: Task::Timed, .. } => stay(State::TimedDrive { restarts }),
        Input { ready: true, .. } => stay(State::Drive { restarts }),
        _ => stay(State::Peek { restarts }),
    }
}

const fn timed(i: Input, restarts: u8) -> Next {
    if let Some(end) = ends_high(i, restarts) {
        return end;
    }
    match i {
        Input { due: true, .. } => let_down(Reason::TimeUp),
        Input { stiff: true, .. } => let_down(Reason::VoltageLost),
        Input { ready: true, .. } => stay(State::Peek { restarts }),
        _ => stay(State::TimedDrive { restarts }),
    }
}

/// Continuity and nulling: everything that ends them goes through the unwinding of the current.
const fn continuity(i: Input, state: State) -> Next {
    match i {
        Input { trip: Trip::None, asked: Asked::Yes, fault: None, supply_low: false, .. } => {
            match i {
                // What joined is held down by our own source, but it is there.
                Input { live: true, .. } => go(State::Unwind, Reason::Live),
                Input { due: true, .. } => go(State::Unwind, Reason::TimeUp),
                Input { ready: true, .. } => go(State::Unwind, Reason::NullStored),
                Input { stiff: true, .. } => go(State::Unwind, Reason::NullRefused),
                _ => stay(state),
            }
        }
        Input { trip: Trip::Load | Trip::Breakdown | Trip::Own, .. } => {
            go(State::Unwind, Reason::Tripped)
        }
        Input { asked: Asked::Released, .. } => go(State::Unwind, Reason::Released),
        Input { asked: Asked::AnyKey, .. } => go(State::Unwind, Reason::AnyKey),
        Input { fault: Some(why), .. } => go(State::Unwind, Reason::Locked(why)),
        Input { asked: Asked::Changed, .. } => go(State::Unwind, Reason::FunctionChanged),
        Input { supply_low: true, .. } => go(State::Unwind, Reason::Low),
    }
}

/// What is outside outweighs the current that is left: the path opens. A kick of the coil is no
/// such thing, because the freewheel holds it below every trip level.
const fn unwind(i: Input) -> Next {
    match i {
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { ready: true, fault: Some(why), .. } => lock(why),
        Input { ready: true, charged: true, .. } => let_down(Reason::Charged),
        Input { ready: true, .. } => stay(State::Rest),
        Input { due: true, .. } => lock(Lock::StoredInductive),
        _ => stay(State::Unwind),
    }
}

const fn discharging(i: Input, absorb: u8, then: Then) -> Next {
    match (i, then) {
        (Input { fault: Some(why @ Lock::Discharge), .. }, _) => return lock(why),
        // The charge is let down first: locked terminals may be touched as well.
        (Input { fault: Some(why), .. }, Then::Settle) => return let_down_and_lock(why),
        _ => {}
    }
    match i {
        Input { stiff: true, .. } => match then {
            Then::Settle => inhibit(Reason::StoredOrLive),
            Then::Lock(why) => lock(why),
        },
        Input { ready: true, .. } => match then {
            Then::Settle => stay(State::Settle { absorb }),
            Then::Lock(why) => lock(why),
        },
        Input { due: true, .. } => lock(Lock::Discharge),
        _ => stay(State::Discharging { absorb, then }),
    }
}

const fn settle(i: Input, absorb: u8) -> Next {
    match i {
        Input { fault: Some(why), .. } => lock(why),
        Input { live: true, .. } => inhibit(Reason::Live),
        Input { stiff: true, .. } => inhibit(Reason::StoredOrLive),
        Input { charged: true, .. } if absorb < ABSORBS => go(
            State::Discharging { absorb: absorb.saturating_add(1), then: Then::Settle },
            Reason::Absorbing,
        ),
        Input { charged: true, .. } => {
            go(State::Discharging { absorb: ABSORBS, then: Then::Settle }, Reason::Absorbing)
        }
        Input { due: true, .. } => stay(State::Rest),
        _ => stay(State::Settle { absorb }),
    }
}

const fn inhibited(i: Input, why: Reason) -> Next {
    match i {
        Input { fault: Some(why), .. } => lock(why),
        Input { proof: Proof::Refused(Circuit::Charged), .. } => let_down(Reason::Charged),
        Input { proof: Proof::Refused(Circuit::Dead | Circuit::Unproven), .. } => {
            rest_when_ready(i, why)
        }
        Input { proof: Proof::Refused(circuit), .. } => refused(circuit),
        _ => rest_when_ready(i, why),
    }
}

const fn rest_when_ready(i: Input, why: Reason) -> Next {
    match i {
        Input { ready: true, live: false, .. } => go(State::Rest, Reason::Ready),
        _ => stay(State::Inhibited { why }),
    }
}
