//! Every decision of core in one image: that it links shows that none can panic.
//!
//! The script runs it, so that the stack it takes is a measured one: the deepest step, and beside
//! it the deepest interrupt, each painted on its own, because in a product one may meet the other.
#![no_std]
#![no_main]

use core::hint::black_box;
use core::sync::atomic::{AtomicBool, AtomicI16, AtomicI32, Ordering::Relaxed};

use cortex_m::peripheral::SCB;
use cortex_m_rt::{entry, exception};
use ohmwarden_core::frame::{Frame, Sample};
use ohmwarden_core::gate::{Gate, GateOut};
use ohmwarden_core::interlock::State;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::Voltage;
use ohmwarden_core::{Commands, Instrument};
use ohmwarden_firmware::bench::{Bench, Machine};
use ohmwarden_firmware::{report, stack};

static GATE: Gate = Gate::new(&GENERAL, SampleRate::DEFAULT);

/// What stands for the converter and for the pins of the source.
static CODES: [AtomicI16; 5] = [const { AtomicI16::new(0) }; 5];
static MISSING: AtomicBool = AtomicBool::new(false);
static ON: AtomicBool = AtomicBool::new(false);
static SET_POINT: AtomicI32 = AtomicI32::new(0);

/// The interrupt of every sample.
#[exception]
fn SysTick() {
    let [v, v2, i, i_gate, low] = CODES.each_ref().map(|code| code.load(Relaxed));
    let sample = Sample { v, v2, i, i_gate, low };
    let out = GATE.sample((!MISSING.load(Relaxed)).then_some(sample));
    ON.store(out.on, Relaxed);
    SET_POINT.store(out.set_point.as_microvolts(), Relaxed);
}

#[derive(Default)]
struct Deepest {
    interrupt: u32,
    step: u32,
    show: u32,
}

impl Machine for Deepest {
    fn sample(&mut self, sample: Option<Sample>, _: State) -> GateOut {
        let s = sample.unwrap_or_default();
        for (place, code) in CODES.iter().zip([s.v, s.v2, s.i, s.i_gate, s.low]) {
            place.store(code, Relaxed);
        }
        MISSING.store(sample.is_none(), Relaxed);
        let ((), depth) = stack::depth(|| {
            SCB::set_pendst();
            cortex_m::asm::dsb();
            cortex_m::asm::isb();
        });
        self.interrupt = self.interrupt.max(depth);
        GateOut {
            on: ON.load(Relaxed),
            set_point: Voltage::from_microvolts(SET_POINT.load(Relaxed)),
        }
    }

    fn step(&mut self, instrument: &mut Instrument, frame: &Frame<'_>) -> Commands {
        let (commands, depth) = stack::depth(|| instrument.step(frame));
        self.step = self.step.max(depth);
        commands
    }

    fn show(&mut self, commands: &Commands) {
        let (_, depth) = stack::depth(|| {
            let view = commands.view();
            let says = view.says().len();
            black_box((view.main_text(), view.bar(), says, commands.tone().pattern_ms()))
        });
        self.show = self.show.max(depth);
    }
}

#[entry]
fn main() -> ! {
    static mut BENCH: Bench = Bench::new();
    let mut deepest = Deepest::default();
    BENCH.play(&GATE, &mut deepest);
    report::line(b"instrument_bytes", size_of::<Instrument>() as u32);
    report::line(b"gate_bytes", size_of::<Gate>() as u32);
    report::line(b"commands_bytes", size_of::<Commands>() as u32);
    report::line(b"stack_step", deepest.step);
    report::line(b"stack_interrupt", deepest.interrupt);
    report::line(b"stack_show", deepest.show);
    report::line(b"states_met", BENCH.met);
    report::end(true)
}
