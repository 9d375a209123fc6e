//! What core costs: instructions a sample in every state, and stack, over the script of the bench.
//!
//! Two runs of the same script. The first counts; the second paints, each call on its own: the
//! deepest step and beside it the deepest interrupt, because in a product one may meet the other.
//! Lines are `name value`; instructions are in hundredths unless the name says `most`.
#![no_std]
#![no_main]

use core::hint::black_box;

use cortex_m_rt::entry;
use ohmwarden_core::frame::{Frame, Sample};
use ohmwarden_core::gate::{Gate, GateOut, GateStatus};
use ohmwarden_core::interlock::State;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::{Commands, Instrument};
use ohmwarden_firmware::bench::{Bench, Machine};
use ohmwarden_firmware::count::{Counter, Tally};
use ohmwarden_firmware::{report, stack};

const STATES: usize = State::WORDS.len();
/// Calls of a state below which a mean says nothing.
const ENOUGH: u32 = 5;

/// Called through a pointer, so that the compiler cannot fit the call to what is called.
type Sampler = fn(&Gate, Option<Sample>) -> GateOut;

/// Counts the instructions of each call, by state.
struct Counted {
    by_gate: Counter,
    by_step: Counter,
    gate: [Tally; STATES],
    arm: [Tally; STATES],
    step: [Tally; STATES],
}

impl Machine for Counted {
    fn sample(&mut self, gate: &Gate, sample: Option<Sample>, state: State) -> GateOut {
        let mut lost = Tally::NONE;
        let tally = self.gate.get_mut(state.index()).unwrap_or(&mut lost);
        let call = black_box(Gate::sample as Sampler);
        self.by_gate.count(tally, || call(gate, sample))
    }

    fn step(&mut self, instrument: &mut Instrument, frame: &Frame<'_>) -> Commands {
        let mut lost = Tally::NONE;
        let tally = self.step.get_mut(instrument.state().index()).unwrap_or(&mut lost);
        // Not by a call of `count`: to hand so much through it is work that is not core's.
        let from = self.by_step.now();
        let commands = instrument.step(frame);
        tally.add(from, self.by_step.now());
        commands
    }

    fn status(&mut self, gate: &Gate, state: State) -> GateStatus {
        let mut lost = Tally::NONE;
        let tally = self.arm.get_mut(state.index()).unwrap_or(&mut lost);
        self.by_step.count(tally, || gate.status())
    }

    fn arm(&mut self, gate: &Gate, commands: &mut Commands, state: State) {
        let mut lost = Tally::NONE;
        let tally = self.arm.get_mut(state.index()).unwrap_or(&mut lost);
        self.by_step.count(tally, || gate.follow(commands.take_permit()));
    }

    fn show(&mut self, _: &Commands) {}
}

impl Counted {
    fn report(&self) {
        let mut steps = Tally::NONE;
        let mut worst = 0;
        let parts = self.gate.iter().zip(&self.arm).zip(&self.step);
        for (word, ((gate, arm), step)) in State::WORDS.iter().zip(parts) {
            steps.merge(step);
            if step.calls() < ENOUGH {
                continue;
            }
            let (by_gate, by_step) = (self.by_gate.mean(gate), self.by_step.mean(step) / 10);
            // Two calls a block, each counted.
            let by_arm = self.by_step.mean(arm) / 5;
            worst = worst.max(by_gate + by_arm + by_step);
            report::pair(b"gate_", word.as_bytes(), by_gate);
            report::pair(b"arm_", word.as_bytes(), by_arm);
            report::pair(b"step_", word.as_bytes(), by_step);
        }
        report::line(b"most_step_of_a_block", self.by_step.most(&steps));
        report::line(b"all_worst_state", worst);
    }
}

/// Measures how deep each call goes.
#[derive(Default)]
struct Deepest {
    gate: u32,
    step: u32,
    show: u32,
}

impl Machine for Deepest {
    fn sample(&mut self, gate: &Gate, sample: Option<Sample>, _: State) -> GateOut {
        let (out, depth) = stack::depth(|| gate.sample(sample));
        self.gate = self.gate.max(depth);
        out
    }

    fn step(&mut self, instrument: &mut Instrument, frame: &Frame<'_>) -> Commands {
        let (commands, depth) = stack::depth(|| instrument.step(frame));
        self.step = self.step.max(depth);
        commands
    }

    fn status(&mut self, gate: &Gate, _: State) -> GateStatus {
        gate.status()
    }

    fn arm(&mut self, gate: &Gate, commands: &mut Commands, _: State) {
        gate.follow(commands.take_permit());
    }

    fn show(&mut self, commands: &Commands) {
        let view = commands.view();
        let (_, depth) = stack::depth(|| black_box((view.main_text(), view.bar())));
        self.show = self.show.max(depth);
    }
}

/// As a gate that does nothing: what it takes to hand a sample over is not the gate's.
fn no_gate(_: &Gate, _: Option<Sample>) -> GateOut {
    GateOut::default()
}

#[entry]
fn main() -> ! {
    static COUNTED_GATE: Gate = Gate::new(&GENERAL, SampleRate::DEFAULT);
    static PAINTED_GATE: Gate = Gate::new(&GENERAL, SampleRate::DEFAULT);
    static mut COUNTED: Bench = Bench::new();
    static mut PAINTED: Bench = Bench::new();
    let Some(peripherals) = cortex_m::Peripherals::take() else { report::end(false) };
    let mut by_gate = Counter::new(peripherals.SYST);
    let mut by_step = by_gate.clone();
    let none = Some(Sample::default());
    let nothing = black_box(no_gate as Sampler);
    by_gate.calibrate(|| nothing(&COUNTED_GATE, none));
    by_step.calibrate(|| ());
    let mut counted = Counted {
        by_gate,
        by_step,
        gate: [Tally::NONE; STATES],
        arm: [Tally::NONE; STATES],
        step: [Tally::NONE; STATES],
    };
    COUNTED.play(&COUNTED_GATE, &mut counted);
    counted.report();
    let mut deepest = Deepest::default();
    PAINTED.play(&PAINTED_GATE, &mut deepest);
    report::line(b"instrument_bytes", size_of::<Instrument>() as u32);
    report::line(b"gate_bytes", size_of::<Gate>() as u32);
    report::line(b"commands_bytes", size_of::<Commands>() as u32);
    report::line(b"stack_step", deepest.step);
    report::line(b"stack_gate", deepest.gate);
    report::line(b"stack_show", deepest.show);
    report::line(b"states_met", PAINTED.met);
    report::end(COUNTED.met == PAINTED.met)
}
