//! Every decision of core in one image and nothing else: how large it is, and that none can panic.
//!
//! It is what a board's firmware would be with its drivers left out: an interrupt that hands each
//! sample to the gate, a main loop that hands each block to the instrument. Inputs are read through
//! `black_box`: nothing writes them here, and a compiler that knew would leave half of core out.
//! It is linked and weighed, not run.
#![no_std]
#![no_main]

use core::hint::black_box;
use core::sync::atomic::{
    AtomicBool, AtomicI16, AtomicI32, AtomicU8, AtomicU32, Ordering::Relaxed,
};

use cortex_m_rt::{entry, exception};
use ohmwarden_core::block::wire;
use ohmwarden_core::correct::{Bring, PAIRS, PairKind, Rule, Surroundings, Warmth};
use ohmwarden_core::frame::{BLOCK, Frame, Function, Key, Panel, Sample, Seen, TimedTest};
use ohmwarden_core::gate::Gate;
use ohmwarden_core::judge::{Criterion, Limit};
use ohmwarden_core::kept::Kept;
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::record::Record;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Temperature, Voltage};
use ohmwarden_core::{Commands, Instrument};
use ohmwarden_firmware as _;

static GATE: Gate = Gate::new(&GENERAL, SampleRate::DEFAULT);

/// What stands for the converter, and for the pins of the source.
static CODES: [AtomicI16; 5 * BLOCK] = [const { AtomicI16::new(0) }; 5 * BLOCK];
static MISSING: AtomicBool = AtomicBool::new(false);
static ON: AtomicBool = AtomicBool::new(false);
static SET_POINT: AtomicI32 = AtomicI32::new(0);
/// What stands for the panel, the clock and the supply.
static PANEL: AtomicU32 = AtomicU32::new(0);
static CLOCK: AtomicU32 = AtomicU32::new(0);

/// The gate, of which the compiler is not to know with which profile it was made.
fn gate() -> &'static Gate {
    black_box(&GATE)
}

fn sample(codes: &[AtomicI16]) -> Sample {
    let [v, v2, i, i_gate, low] = codes else { return Sample::default() };
    Sample {
        v: v.load(Relaxed),
        v2: v2.load(Relaxed),
        i: i.load(Relaxed),
        i_gate: i_gate.load(Relaxed),
        low: low.load(Relaxed),
    }
}

/// The interrupt of every sample.
#[exception]
fn SysTick() {
    let newest = black_box(&CODES).chunks_exact(5).next().map(sample);
    let out = gate().sample(newest.filter(|_| !is_set(&MISSING)));
    ON.store(out.on, Relaxed);
    SET_POINT.store(out.set_point.as_microvolts(), Relaxed);
}

fn is_set(flag: &AtomicBool) -> bool {
    black_box(flag).load(Relaxed)
}

/// What was kept, from the flash; a new instrument where that is damaged.
fn kept() -> Kept {
    flash()
        .get(..Kept::LENGTH)
        .map_or(Kept::NOTHING, |bytes| Kept::from_bytes(bytes).unwrap_or(Kept::NOTHING))
}

fn panel() -> Panel {
    let word = black_box(&PANEL).load(Relaxed);
    let set = Voltage::from_volts((word >> 16) as i32);
    let function = match word & 7 {
        0 => Function::Off,
        1 => Function::Volts,
        2 => Function::Insulation(set),
        3 => Function::Timed(set, TimedTest::Plain),
        4 => Function::Resistance,
        5 => Function::Continuity(Current::from_milliamps(i64::from(word >> 16))),
        _ => Function::Between,
    };
    Panel {
        function,
        test: Key { pressed: word & 8 != 0, rest: word & 16 != 0 },
        null: word & 32 != 0,
        hold: word & 64 != 0,
    }
}

static KINDS: [PairKind<'static>; PAIRS.len()] = PAIRS;

/// What stands for the flash: what was kept is read from it and written to it.
static FLASH: [AtomicU8; Record::LENGTH] = [const { AtomicU8::new(0) }; Record::LENGTH];

fn flash() -> [u8; Record::LENGTH] {
    let mut bytes = [0; Record::LENGTH];
    for (byte, place) in bytes.iter_mut().zip(black_box(&FLASH)) {
        *byte = place.load(Relaxed);
    }
    bytes
}

/// Takes what comes over the wire.
fn receive(bytes: &[u8]) {
    let mut receiver = wire::Receiver::<{ wire::longest(Record::LENGTH) }>::new();
    for byte in black_box(bytes) {
        receiver.take(*byte, |found| {
            black_box(found.map(|block| block.serial).ok());
        });
    }
}

/// What is known round the circuit.
fn surroundings() -> Surroundings {
    let celsius = black_box(&PANEL).load(Relaxed) as i32;
    let to = Temperature::from_celsius(20);
    Surroundings {
        warmth: Warmth {
            temperature: Some(Temperature::from_celsius(celsius)),
            doubt: Temperature::from_celsius(1),
            dew_point: None,
        },
        bring: Rule::ALL.get(celsius as usize).map(|rule| Bring { rule: *rule, to }),
        pair: KINDS.get(celsius as usize),
    }
}

/// Makes the record of a committed reading, reads one back, sends one over the wire.
fn keep(instrument: &Instrument, commands: &Commands) {
    let serial = Record::from_bytes(&flash()).map_or(0, |record| record.serial());
    let Some(Ok(record)) = instrument.record(serial) else { return };
    let bytes = record.to_bytes();
    for (byte, place) in bytes.iter().zip(black_box(&FLASH)) {
        place.store(*byte, Relaxed);
    }
    let mut frame = [0; wire::longest(Record::LENGTH)];
    black_box(wire::frame(&bytes, &mut frame));
    receive(&frame);
    black_box(commands.kept().to_bytes(serial));
}

/// Hands everything that came out to where pins and display would be.
fn apply(instrument: &Instrument, commands: &mut Commands) {
    gate().follow(commands.take_permit());
    let view = *commands.view();
    let words = (view.state.index(), view.says().len(), commands.tone().pattern_ms());
    if commands.event().is_some() {
        keep(instrument, commands);
    }
    black_box((view.main_text(), view.bar(), view.judged.map(|judged| judged.verdict()), words));
    black_box(commands);
}

#[entry]
fn main() -> ! {
    static mut INSTRUMENT: Instrument = Instrument::new(&GENERAL, SampleRate::DEFAULT);
    #[cfg(feature = "_reachable_panic")]
    assert!(black_box(&CLOCK).load(Relaxed) < 5, "a canary of the link check");
    let instrument = black_box(INSTRUMENT);
    instrument.wake(kept());
    instrument.set_surroundings(surroundings());
    instrument.set_limit(is_set(&MISSING).then_some(Criterion::ohms(Limit::AtLeast(1.0e6))));
    loop {
        let mut samples = [Sample::default(); BLOCK];
        for (place, codes) in samples.iter_mut().zip(black_box(&CODES).chunks_exact(5)) {
            *place = sample(codes);
        }
        let clock = black_box(&CLOCK).load(Relaxed);
        let frame = Frame {
            samples: &samples,
            panel: panel(),
            elapsed_us: clock,
            supply_mv: clock as u16,
            seen: Seen { drive_sense: Some(clock & 1 == 0), gate: gate().status(), overruns: 0 },
        };
        let mut commands = instrument.step(&frame);
        apply(instrument, &mut commands);
    }
}
