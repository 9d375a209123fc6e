//! Can the samples be believed? Stuck, missing, disagreeing and late ones are told here.

use crate::frame::{BLOCK, Frame};
use crate::interlock::Lock;
use crate::profile::Profile;
use crate::signal::{SampleRate, Sums};
use crate::unit::{Duration, Voltage};

use super::Block;

/// Identical codes for so long mean that a channel stands still: a real one has noise. Where both do,
/// it is the converter; one alone disagrees with the other, whatever it shows.
const FROZEN_BLOCKS: u16 = 100;
/// A little later, so that two that stopped together are not taken for one.
const FROZEN_ALONE: u16 = 110;
/// The two channels are compared over so long; per sample would be wrong under time skew.
const COMPARE: Duration = Duration::from_millis(20);
/// So many windows in a row must disagree.
const COMPARE_TIMES: u8 = 3;
/// The clocks are compared over so many samples: 0.5 s at the default rate.
const CLOCK: Duration = Duration::from_millis(500);
/// The largest difference of the two clocks, per mille: two crystals are far better, an oscillator
/// of a microcontroller is within 1 % (common practice).
const CLOCK_PER_MILLE: i64 = 20;

/// Watches the channels and the clocks.
#[derive(Clone, Copy, Debug)]
pub struct Health {
    frozen: [u16; 2],
    pair: [Sums; 2],
    pair_samples: u32,
    apart: u8,
    clock_samples: u32,
    counted: u32,
    /// Lost, of those counted, although the main loop was on time.
    lost: u32,
    clock_from: u32,
    clock_known: bool,
    rate: SampleRate,
    fault: Option<Lock>,
}

impl Health {
    /// Knows nothing yet.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self {
            frozen: [0; 2],
            pair: [Sums::EMPTY; 2],
            pair_samples: rate.samples_in(COMPARE),
            apart: 0,
            clock_samples: rate.samples_in(CLOCK),
            counted: 0,
            lost: 0,
            clock_from: 0,
            clock_known: false,
            rate,
            fault: None,
        }
    }

    /// What is broken, if anything; it stays until a power cycle.
    #[must_use]
    pub const fn fault(&self) -> Option<Lock> {
        self.fault
    }

    /// Takes one block. `biased` says that the proving bias is or was just on, which moves the two
    /// channels apart on purpose.
    pub fn step(&mut self, frame: &Frame<'_>, block: &Block, biased: bool, profile: &Profile) {
        self.watch_codes(block);
        self.watch_pair(block, biased, profile);
        self.watch_clock(frame);
    }

    fn watch_codes(&mut self, block: &Block) {
        if block.frozen == [false; 2] && block.samples > 0 {
            // As good as always.
            self.frozen = [0; 2];
            return;
        }
        for (count, frozen) in self.frozen.iter_mut().zip(block.frozen) {
            let still = frozen || block.samples == 0;
            *count = if still { count.saturating_add(1) } else { 0 };
        }
        let [first, second] = self.frozen;
        if self.is_blind() {
            self.raise(Lock::Converter);
        } else if first.max(second) >= FROZEN_ALONE {
            self.raise(Lock::Channels);
        }
    }

    /// Whether neither voltage channel tells anything now: codes repeat, or none come.
    #[must_use]
    pub const fn is_blind(&self) -> bool {
        let [first, second] = self.frozen;
        first >= FROZEN_BLOCKS && second >= FROZEN_BLOCKS
    }

    fn watch_pair(&mut self, block: &Block, biased: bool, profile: &Profile) {
        let [a, b] = &mut self.pair;
        if biased {
            *a = Sums::EMPTY;
            *b = Sums::EMPTY;
            return;
        }
        let [v, v2] = &block.sums;
        a.merge_means(v);
        b.merge_means(v2);
        if a.samples() < self.pair_samples {
            return;
        }
        let first = a.level::<Voltage>(&profile.front_end.v);
        let second = b.level::<Voltage>(&profile.front_end.v2);
        let apart = disagree(first.dc, second.dc, first.rms, profile)
            || disagree(first.ac, second.ac, first.rms, profile);
        self.pair = [Sums::EMPTY; 2];
        self.apart = if apart { self.apart.saturating_add(1) } else { 0 };
        if self.apart >= COMPARE_TIMES {
            self.raise(Lock::Channels);
        }
    }

    fn watch_clock(&mut self, frame: &Frame<'_>) {
        if !self.clock_known {
            self.clock_known = true;
            self.clock_from = frame.elapsed_us;
            self.counted = 0;
            self.lost = 0;
            return;
        }
        let arrived = u32::try_from(frame.samples.len()).unwrap_or(u32::MAX);
        // Samples that a late main loop lost were taken nevertheless.
        let lost = u32::from(frame.seen.overruns);
        let taken = arrived.saturating_add(lost);
        self.counted = self.counted.saturating_add(taken);
        // More than a block, and it is the main loop that is late.
        let most = BLOCK.saturating_sub(frame.samples.len());
        if usize::from(frame.seen.overruns) <= most {
            self.lost = self.lost.saturating_add(lost);
        }
        if self.counted < self.clock_samples {
            return;
        }
        let by_samples = i64::from(self.rate.time_of(self.counted).as_micros());
        let by_clock = i64::from(frame.elapsed_us.wrapping_sub(self.clock_from));
        let apart = by_samples.saturating_sub(by_clock).saturating_abs();
        let without = i64::from(self.rate.time_of(self.lost).as_micros());
        let most = by_clock.saturating_mul(CLOCK_PER_MILLE);
        if apart.max(without).saturating_mul(1_000) > most {
            self.raise(Lock::Clock);
        }
        self.lost = 0;
        self.clock_from = frame.elapsed_us;
        self.counted = 0;
    }

    const fn raise(&mut self, fault: Lock) {
        if self.fault.is_none() {
            self.fault = Some(fault);
        }
    }
}

/// Further apart than the tolerance of a channel allows, and a fixed 1 V more (domain of the pair:
/// 3 % and 3 V with the default front end).
fn disagree(a: Voltage, b: Voltage, of: Voltage, profile: &Profile) -> bool {
    let by = profile.tolerance();
    let share = of.div(1_000).saturating_mul(i32::from(by.per_mille));
    let most = share.saturating_add(by.fixed).saturating_add(Voltage::from_volts(1));
    most.is_below(a.saturating_sub(b).abs())
}
