//! Every value of everything that the interlock looks at, and honest selections of them.
//!
//! The functions that number the variants match without a wildcard, and [`Input`] is taken apart
//! without one: a variant or a field that is added stops this file from compiling, and a list that
//! forgot one fails [`every_list_holds_every_variant_once`].

use core::ops::ControlFlow;

use ohmwarden_core::detect::Circuit;
use ohmwarden_core::frame::Task;
use ohmwarden_core::interlock::{
    Asked, Input, Lock, Press, Proof, Reason, State, Store, Then, Trip,
};

const PRESSES: [Press; 3] = [Press::None, Press::Test, Press::Null];
const ASKED: [Asked; 4] = [Asked::Yes, Asked::Released, Asked::AnyKey, Asked::Changed];
const TASKS: [Task; 4] = [Task::Watch, Task::Continuity, Task::Insulation, Task::Timed];
const TRIPS: [Trip; 4] = [Trip::None, Trip::Load, Trip::Breakdown, Trip::Own];
const STORES: [Store; 3] = [Store::Fits, Store::Flat, Store::TooMuch];
const BOTH: [bool; 2] = [false, true];

fn number_press(x: Press) -> usize {
    match x {
        Press::None => 0,
        Press::Test => 1,
        Press::Null => 2,
    }
}

fn number_asked(x: Asked) -> usize {
    match x {
        Asked::Yes => 0,
        Asked::Released => 1,
        Asked::AnyKey => 2,
        Asked::Changed => 3,
    }
}

fn number_task(x: Task) -> usize {
    match x {
        Task::Watch => 0,
        Task::Continuity => 1,
        Task::Insulation => 2,
        Task::Timed => 3,
    }
}

fn number_trip(x: Trip) -> usize {
    match x {
        Trip::None => 0,
        Trip::Load => 1,
        Trip::Breakdown => 2,
        Trip::Own => 3,
    }
}

fn number_store(x: Store) -> usize {
    match x {
        Store::Fits => 0,
        Store::Flat => 1,
        Store::TooMuch => 2,
    }
}

fn number_proof(x: Proof) -> usize {
    match x {
        Proof::Pending => 0,
        Proof::Channels => 1,
        Proof::Permitted => 2,
        Proof::Reversed => 3,
        Proof::Refused(circuit) => 4 + circuit.index(),
    }
}

fn number_lock(x: Lock) -> usize {
    match x {
        Lock::Channels => 0,
        Lock::Clock => 1,
        Lock::Converter => 2,
        Lock::Discharge => 3,
        Lock::DriveStuck => 4,
        Lock::OverVoltage => 5,
        Lock::Reference => 6,
        Lock::SourceDead => 7,
        Lock::StoredInductive => 8,
    }
}

fn proofs(circuits: &[Circuit]) -> Vec<Proof> {
    let plain = [Proof::Pending, Proof::Channels, Proof::Permitted, Proof::Reversed];
    plain.into_iter().chain(circuits.iter().map(|&c| Proof::Refused(c))).collect()
}

/// What is combined with what.
#[derive(Clone, Debug)]
pub(crate) struct Selection {
    pub(crate) press: Vec<Press>,
    pub(crate) asked: Vec<Asked>,
    pub(crate) task: Vec<Task>,
    pub(crate) live: Vec<bool>,
    pub(crate) proof: Vec<Proof>,
    pub(crate) trip: Vec<Trip>,
    pub(crate) fault: Vec<Option<Lock>>,
    pub(crate) supply_low: Vec<bool>,
    pub(crate) store: Vec<Store>,
    pub(crate) stiff: Vec<bool>,
    pub(crate) charged: Vec<bool>,
}

impl Selection {
    /// Everything.
    pub(crate) fn full() -> Self {
        Self {
            press: PRESSES.to_vec(),
            asked: ASKED.to_vec(),
            task: TASKS.to_vec(),
            live: BOTH.to_vec(),
            proof: proofs(&Circuit::ALL),
            trip: TRIPS.to_vec(),
            fault: core::iter::once(None).chain(Lock::ALL.map(Some)).collect(),
            supply_low: BOTH.to_vec(),
            store: STORES.to_vec(),
            stiff: BOTH.to_vec(),
            charged: BOTH.to_vec(),
        }
    }

    /// One fault of a sensor and one of an actuator stand for all, and of the classes that refuse
    /// one of each outcome; everything else in full.
    pub(crate) fn reduced() -> Self {
        Self {
            proof: proofs(&[Circuit::Dead, Circuit::Charged, Circuit::LiveAc]),
            fault: vec![None, Some(Lock::Channels), Some(Lock::Discharge)],
            ..Self::full()
        }
    }

    /// The cause is gone: nothing is broken, live, charged, pressed or asked for.
    pub(crate) fn calm() -> Self {
        Self {
            press: vec![Press::None],
            asked: vec![Asked::Released],
            live: vec![false],
            proof: proofs(&[Circuit::Dead]),
            trip: vec![Trip::None],
            fault: vec![None],
            supply_low: vec![false],
            stiff: vec![false],
            charged: vec![false],
            ..Self::full()
        }
    }

    /// How many inputs that makes.
    pub(crate) fn len(&self) -> u64 {
        let lengths = [
            self.press.len(),
            self.asked.len(),
            self.task.len(),
            self.live.len(),
            self.proof.len(),
            self.trip.len(),
            self.fault.len(),
            self.supply_low.len(),
            self.store.len(),
            self.stiff.len(),
            self.charged.len(),
        ];
        // `null`, `due` and `ready` are always taken both ways.
        lengths.iter().map(|&n| n as u64).product::<u64>() * 8
    }

    /// Hands each input to `meet` until it has seen enough.
    pub(crate) fn each(&self, mut meet: impl FnMut(Input) -> ControlFlow<()>) -> ControlFlow<()> {
        for &press in &self.press {
            for &asked in &self.asked {
                for &task in &self.task {
                    for &proof in &self.proof {
                        let start = Input { press, asked, task, proof, ..Input::QUIET };
                        self.each_event(start, &mut meet)?;
                    }
                }
            }
        }
        ControlFlow::Continue(())
    }

    fn each_event(
        &self,
        start: Input,
        meet: &mut impl FnMut(Input) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        for &trip in &self.trip {
            for &fault in &self.fault {
                for &store in &self.store {
                    for &supply_low in &self.supply_low {
                        let start = Input { trip, fault, store, supply_low, ..start };
                        self.each_flag(start, meet)?;
                    }
                }
            }
        }
        ControlFlow::Continue(())
    }

    fn each_flag(
        &self,
        start: Input,
        meet: &mut impl FnMut(Input) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        for &live in &self.live {
            for &stiff in &self.stiff {
                for &charged in &self.charged {
                    for bits in 0..8_u8 {
                        let (null, due, ready) = (bits & 1 != 0, bits & 2 != 0, bits & 4 != 0);
                        meet(Input { live, stiff, charged, null, due, ready, ..start })?;
                    }
                }
            }
        }
        ControlFlow::Continue(())
    }
}

/// Every state, with the given counts of absorption, locks and reasons as payloads.
pub(crate) fn states(absorbs: &[u8], locks: &[Lock], reasons: &[Reason]) -> Vec<State> {
    let mut all = vec![State::Boot, State::Rest, State::RestLow];
    for restarts in 0..=3 {
        all.extend([
            State::Prove { restarts },
            State::Ramp { restarts },
            State::Drive { restarts },
            State::Peek { restarts },
            State::TimedDrive { restarts },
        ]);
    }
    all.extend([State::ContRun, State::Nulling, State::Unwind]);
    for &absorb in absorbs {
        all.push(State::Settle { absorb });
        all.push(State::Discharging { absorb, then: Then::Settle });
        let lock = |&why: &Lock| State::Discharging { absorb, then: Then::Lock(why) };
        all.extend(locks.iter().map(lock));
    }
    all.extend(reasons.iter().map(|&why| State::Inhibited { why }));
    all.extend(locks.iter().map(|&why| State::Locked { why }));
    all
}

/// Every state that can be written down.
pub(crate) fn all_states() -> Vec<State> {
    let absorbs: Vec<u8> = (0..=10).collect();
    let reasons: Vec<Reason> =
        Reason::ALL.into_iter().chain(Lock::ALL.map(Reason::Locked)).collect();
    states(&absorbs, &Lock::ALL, &reasons)
}

/// As [`all_states`] with the ends of the counts and one of each kind of payload.
pub(crate) fn reduced_states() -> Vec<State> {
    let reasons = [Reason::Live, Reason::Charged, Reason::Locked(Lock::Channels)];
    states(&[0, 1, 9, 10], &[Lock::Channels, Lock::Discharge], &reasons)
}

#[test]
fn every_list_holds_every_variant_once() {
    fn numbers<T: Copy>(list: &[T], number: impl Fn(T) -> usize) {
        let found: Vec<usize> = list.iter().map(|&x| number(x)).collect();
        assert_eq!(found, (0..list.len()).collect::<Vec<_>>());
    }
    numbers(&PRESSES, number_press);
    numbers(&ASKED, number_asked);
    numbers(&TASKS, number_task);
    numbers(&TRIPS, number_trip);
    numbers(&STORES, number_store);
    numbers(&Lock::ALL, number_lock);
    numbers(&proofs(&Circuit::ALL), number_proof);
    let mut words: Vec<usize> = all_states().iter().map(|state| state.index()).collect();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words, (0..State::WORDS.len()).collect::<Vec<_>>());
}

#[test]
fn every_field_of_the_input_is_varied() {
    // Taken apart without `..`: a field that is added must be added to the loops as well.
    let Input {
        press: _,
        asked: _,
        task: _,
        null: _,
        live: _,
        proof: _,
        trip: _,
        fault: _,
        supply_low: _,
        store: _,
        due: _,
        ready: _,
        stiff: _,
        charged: _,
    } = Input::QUIET;
    let mut met = 0_u64;
    let whole = Selection { proof: vec![Proof::Pending], fault: vec![None], ..Selection::full() };
    let mut different = std::collections::HashSet::new();
    let flow = whole.each(|input| {
        met += 1;
        different.insert(input);
        ControlFlow::Continue(())
    });
    assert!(flow.is_continue());
    assert_eq!((met, different.len() as u64), (whole.len(), whole.len()));
}
