//! A script of keys and loads round core, the same in every image.
//!
//! It leads core through proof, ramp, drive, looks, discharge, continuity with a null, a live
//! arrival at rest and one in a drive, so that what is measured has met every kind of work.

use ohmwarden_core::frame::{Frame, Function, Key, Panel, Sample, Seen, TimedTest};
use ohmwarden_core::gate::{Gate, GateOut, GateStatus};
use ohmwarden_core::interlock::State;
use ohmwarden_core::judge::{Criterion, Limit};
use ohmwarden_core::kept::Kept;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Resistance, Voltage};
use ohmwarden_core::{Commands, Instrument};

use crate::stand::{Orders, Stand};

/// Runs core's two entries; an image measures here what it is about.
pub trait Machine {
    /// Hands a sample to the gate, as the interrupt does.
    fn sample(&mut self, gate: &Gate, sample: Option<Sample>, state: State) -> GateOut;
    /// Hands a frame to the instrument, as the main loop does.
    fn step(&mut self, instrument: &mut Instrument, frame: &Frame<'_>) -> Commands;
    /// Asks the gate for its status, as the main loop does before a step.
    fn status(&mut self, gate: &Gate, state: State) -> GateStatus;
    /// Arms or disarms the gate, as the main loop does after a step.
    fn arm(&mut self, gate: &Gate, commands: &mut Commands, state: State);
    /// Draws the view.
    fn show(&mut self, commands: &Commands);
}

/// One stretch of the script.
struct Part {
    millis: u32,
    function: Function,
    test: bool,
    null: bool,
    outside: i64,
}

const fn part(millis: u32, function: Function, test: bool) -> Part {
    Part { millis, function, test, null: false, outside: 0 }
}

const HIGH: Function = Function::Insulation(Voltage::from_volts(500));
const TIMED: Function = Function::Timed(Voltage::from_volts(1_000), TimedTest::Plain);
const LOW: Function = Function::Continuity(Current::from_milliamps(200));

static SCRIPT: [Part; 17] = [
    part(1_200, HIGH, false),
    part(6_000, HIGH, true),
    part(2_500, HIGH, false),
    Part { millis: 2_500, function: LOW, test: false, null: true, outside: 0 },
    part(300, LOW, false),
    part(2_500, LOW, true),
    part(500, LOW, false),
    part(1_500, Function::Resistance, true),
    part(500, Function::Resistance, false),
    part(100, TIMED, true),
    part(2_500, TIMED, false),
    part(100, TIMED, true),
    part(2_500, TIMED, false),
    Part { millis: 1_000, function: Function::Volts, test: false, null: false, outside: 325 },
    part(3_000, HIGH, false),
    part(1_000, HIGH, true),
    // 230 V come in the drive that the part before began.
    Part { millis: 2_000, function: HIGH, test: true, null: false, outside: 325 },
];

/// An instrument, its gate, and the load that both are joined to.
pub struct Bench {
    /// The instrument.
    pub instrument: Instrument,
    stand: Stand,
    orders: Orders,
    out: GateOut,
    block: [Sample; 10],
    elapsed_us: u32,
    /// Which states were met, one bit each.
    pub met: u32,
}

impl Bench {
    /// An instrument that has just been switched on, with 10 Mohm and 100 nF on its leads.
    pub const fn new() -> Self {
        Self {
            instrument: Instrument::new(&GENERAL, SampleRate::DEFAULT),
            stand: Stand::new(10_000, 100_000),
            orders: Orders::SAFE,
            out: GateOut { on: false, set_point: Voltage::ZERO },
            block: [Sample { v: 0, v2: 0, i: 0, i_gate: 0, low: 0 }; 10],
            elapsed_us: 0,
            met: 0,
        }
    }

    /// Plays the script.
    pub fn play(&mut self, gate: &Gate, machine: &mut impl Machine) {
        let null = Some(Resistance::from_milliohms(120));
        self.instrument.wake(Kept { null, unfinished: true, ..Kept::NOTHING });
        self.instrument.set_limit(Some(Criterion::ohms(Limit::AtLeast(1.0e6))));
        for part in &SCRIPT {
            self.stand.outside = part.outside;
            for _ in 0..part.millis {
                self.block(part, gate, machine);
            }
        }
    }

    fn block(&mut self, part: &Part, gate: &Gate, machine: &mut impl Machine) {
        let state = self.instrument.state();
        for place in &mut self.block {
            *place = self.stand.sample(self.out, &self.orders);
            self.out = machine.sample(gate, Some(*place), state);
        }
        self.elapsed_us = self.elapsed_us.wrapping_add(1_000);
        let panel =
            Panel { test: Key::new(part.test), null: part.null, ..Panel::idle(part.function) };
        let seen = Seen { drive_sense: None, gate: machine.status(gate, state), overruns: 0 };
        let frame = Frame {
            samples: &self.block,
            panel,
            elapsed_us: self.elapsed_us,
            supply_mv: 6_000,
            seen,
        };
        let mut commands = machine.step(&mut self.instrument, &frame);
        self.orders = Orders::of(&commands);
        machine.arm(gate, &mut commands, state);
        machine.show(&commands);
        self.met |= 1 << self.instrument.state().index();
    }
}

impl Default for Bench {
    fn default() -> Self {
        Self::new()
    }
}
