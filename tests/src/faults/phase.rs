//! The phases of a measurement in which a fault may begin, and the run of each.

use ohmwarden_core::commands::Event as Change;
use ohmwarden_core::interlock::State;
use ohmwarden_sim::scenario::{Action, Bound, Function, LimitOf, LimitSpec, Part, Scenario};
use ohmwarden_sim::world::{Observer, Snapshot, World};

use crate::scene::{LEADS, at, held, insulation, load, mains, part, scene, sort};

/// The two presses of a run of an insulation test, from and to.
pub const PRESSES: [(f64, f64); 2] = [(0.6, 5.0), (6.5, 10.9)];
/// Length of such a run, seconds.
const SECONDS: f64 = 12.4;
/// How long after the fault the mains joins.
const LATER: f64 = 0.2;

/// When the fault begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// With power-up.
    Boot,
    /// At rest, 0.1 s before the first press.
    Rest,
    /// In the proof, before the bias.
    Proof,
    /// Half-way up.
    Ramp,
    /// At voltage.
    Hold,
    /// While the source is off for a look.
    Peek,
    /// While the charge is let down.
    Discharge,
    /// While continuity current flows.
    Continuity,
    /// At rest, and 230 V joins 0.2 s later.
    RestThenMains,
    /// At voltage, and 230 V joins 0.2 s later.
    HoldThenMains,
}

/// When the sound instrument enters the states of a measurement, seconds.
#[derive(Clone, Copy, Debug)]
pub struct Moments {
    prove: f64,
    ramp: f64,
    peek: f64,
    discharge: f64,
}

impl Phase {
    /// All of them, in the order of a run.
    pub const ALL: [Self; 10] = [
        Self::Boot,
        Self::Rest,
        Self::Proof,
        Self::Ramp,
        Self::Hold,
        Self::Peek,
        Self::Discharge,
        Self::Continuity,
        Self::RestThenMains,
        Self::HoldThenMains,
    ];

    /// Its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Boot => "boot",
            Self::Rest => "rest",
            Self::Proof => "proof",
            Self::Ramp => "ramp",
            Self::Hold => "hold",
            Self::Peek => "peek",
            Self::Discharge => "discharge",
            Self::Continuity => "continuity",
            Self::RestThenMains => "rest, then mains",
            Self::HoldThenMains => "hold, then mains",
        }
    }

    /// When the fault begins, seconds.
    #[must_use]
    pub fn begins(self, moments: &Moments) -> f64 {
        match self {
            Self::Boot => 0.0,
            Self::Rest | Self::RestThenMains => 0.5,
            Self::Proof => moments.prove + 0.1,
            Self::Ramp => moments.ramp + 0.125,
            Self::Hold | Self::HoldThenMains => 2.0,
            Self::Peek => moments.peek + 0.004,
            Self::Discharge => moments.discharge + 0.01,
            Self::Continuity => 1.6,
        }
    }

    /// The run of the sound instrument: two measurements, the second of which tells what is left.
    #[must_use]
    pub fn sound(self, moments: &Moments) -> Scenario {
        let arrives = self.begins(moments) + LATER;
        match self {
            Self::Continuity => continuity(),
            Self::RestThenMains => {
                let mut scenario = joined(arrives);
                scenario.events.extend(held(1.5, 2.5));
                scenario.seconds = 4.0;
                scenario
            }
            Self::HoldThenMains => {
                let mut scenario = joined(arrives);
                scenario.events.extend(held(PRESSES[0].0, PRESSES[0].1));
                sort(&mut scenario);
                scenario.seconds = 6.5;
                scenario
            }
            _ => measurement(),
        }
    }

    /// Whether mains joins in this phase.
    #[must_use]
    pub const fn is_live(self) -> bool {
        matches!(self, Self::RestThenMains | Self::HoldThenMains)
    }
}

impl Moments {
    /// Asks a run of the sound instrument.
    ///
    /// # Panics
    /// The sound instrument does not pass through a measurement.
    #[must_use]
    pub fn learn() -> Self {
        let mut entered = Entered::default();
        let world = World::new(&measurement(), &()).expect("a circuit that can be solved");
        world.run(&mut entered).expect("a consistent circuit");
        let first = |wanted: fn(&State) -> bool| {
            let found = entered.0.iter().find(|(_, state)| wanted(state));
            found.expect("every state of a measurement is entered").0
        };
        Self {
            prove: first(|state| matches!(state, State::Prove { .. })),
            ramp: first(|state| matches!(state, State::Ramp { .. })),
            peek: first(|state| matches!(state, State::Peek { .. })),
            discharge: first(|state| matches!(state, State::Discharging { .. })),
        }
    }
}

#[derive(Default)]
struct Entered(Vec<(f64, State)>);

impl Observer for Entered {
    fn change(&mut self, now: &Snapshot, change: &Change) {
        self.0.push((now.seconds, change.to));
    }
}

/// A cable of 20 Mohm and 100 nF at 500 V, with a limit that it meets.
fn measurement() -> Scenario {
    let mut scenario = scene(SECONDS, insulation(500.0));
    scenario.parts = load(20.0e6, 100.0e-9);
    scenario.events = PRESSES.iter().flat_map(|(from, to)| held(*from, *to)).collect();
    scenario.limit = Some(limit(Bound::AtLeast(1.0e6)));
    scenario
}

/// The same cable, and 230 V that joins it.
fn joined(s: f64) -> Scenario {
    let mut scenario = measurement();
    scenario.parts.extend(mains(230.0, 50.0, 0.5, false));
    scenario.events = vec![at(s, Action::Close("joins".into()))];
    scenario
}

/// A conductor of 1 ohm, looked at twice, with a limit that it meets.
fn continuity() -> Scenario {
    let mut scenario = scene(SECONDS, Function::Continuity { amps: 0.2 });
    scenario.parts = vec![part("bar", LEADS, Part::Resistor { ohms: 1.0 })];
    scenario.events = PRESSES.iter().flat_map(|(from, to)| held(*from, *to)).collect();
    scenario.limit = Some(limit(Bound::AtMost(5.0)));
    scenario
}

const fn limit(bound: Bound) -> LimitSpec {
    LimitSpec { bound, of: LimitOf::Ohms, guarded: true, named: None }
}
