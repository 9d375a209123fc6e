//! Counts instructions: the emulator's clock moves by one fixed step an instruction.
//!
//! Run with `-icount shift=6` an instruction lasts 64 ns. The timer of this board counts at 25 MHz,
//! so an instruction is 1.6 ticks, and a mean over many calls is right to a small part of one. The
//! counts repeat to the last digit; the wall time of a run does not enter.

use core::hint::black_box;

use cortex_m::peripheral::SYST;
use cortex_m::peripheral::syst::SystClkSource;

/// Ticks in ten instructions.
const TICKS_IN_TEN: u64 = 16;
/// Calls by which the cost of counting itself is told.
const IDLE_CALLS: u32 = 1_000;

/// The timer, and what a call costs that does nothing.
#[derive(Clone)]
pub struct Counter {
    idle: Tally,
}

/// Ticks and calls of one kind of work.
#[derive(Clone, Copy)]
pub struct Tally {
    ticks: u64,
    calls: u32,
    most: u32,
}

impl Tally {
    /// Nothing counted.
    pub const NONE: Self = Self { ticks: 0, calls: 0, most: 0 };

    /// Adds one call that lasted from one reading of the timer to another.
    pub fn add(&mut self, from: u32, to: u32) {
        // It counts down, in 24 bits.
        let ticks = from.wrapping_sub(to) & 0x00ff_ffff;
        self.ticks += u64::from(ticks);
        self.calls += 1;
        self.most = self.most.max(ticks);
    }

    /// Adds all of another.
    pub fn merge(&mut self, other: &Self) {
        self.ticks += other.ticks;
        self.calls += other.calls;
        self.most = self.most.max(other.most);
    }

    /// How many calls there were.
    pub fn calls(&self) -> u32 {
        self.calls
    }

    /// Hundredths of an instruction in a mean call.
    fn mean(&self) -> u32 {
        (self.ticks * 1_000).checked_div(u64::from(self.calls) * TICKS_IN_TEN).unwrap_or(0) as u32
    }
}

impl Counter {
    /// Starts the timer and tells what counting costs.
    pub fn new(mut timer: SYST) -> Self {
        timer.set_clock_source(SystClkSource::Core);
        timer.set_reload(0x00ff_ffff);
        timer.clear_current();
        timer.enable_counter();
        Self { idle: Tally::NONE }
    }

    /// Tells what counting itself costs, by calls of the same shape that do nothing.
    pub fn calibrate<R>(&mut self, mut nothing: impl FnMut() -> R) {
        let mut idle = Tally::NONE;
        for _ in 0..IDLE_CALLS {
            self.count(&mut idle, &mut nothing);
        }
        self.idle = idle;
    }

    /// What the timer reads.
    #[inline(always)]
    pub fn now(&self) -> u32 {
        SYST::get_current()
    }

    /// Runs `call` and adds what it took.
    #[inline(never)]
    pub fn count<R>(&self, tally: &mut Tally, call: impl FnOnce() -> R) -> R {
        let from = self.now();
        let answer = apart(call);
        tally.add(from, self.now());
        answer
    }

    /// Hundredths of an instruction in a mean call, counting left out.
    pub fn mean(&self, tally: &Tally) -> u32 {
        tally.mean().saturating_sub(self.idle.mean())
    }

    /// Whole instructions in the longest call, counting left out, to one or two.
    pub fn most(&self, tally: &Tally) -> u32 {
        (tally.most * 10 / TICKS_IN_TEN as u32).saturating_sub(self.idle.mean() / 100)
    }
}

#[inline(never)]
fn apart<R>(call: impl FnOnce() -> R) -> R {
    black_box(call())
}
