//! Faults of panel, computing, clock and memory: what reaches core is not what was sent.

use ohmwarden_core::frame::{Function, Key, Panel};
use ohmwarden_core::kept::Kept;

/// The state of all such faults.
#[derive(Clone, Debug)]
pub(super) struct Computing {
    /// The main loop does not run until this sample.
    pub(super) stalled_blocks: u32,
    /// The interrupt does not run for so many samples.
    pub(super) interrupt_off: u32,
    /// The independent clock runs at this share of its rate.
    pub(super) clock: f64,
    /// The test key's closing contact is welded.
    pub(super) welded: bool,
    /// The test key's two contacts say the same.
    pub(super) contradicts: bool,
    /// The selector stands between two positions.
    pub(super) between: bool,
    /// What is kept across a reset is lost.
    pub(super) forgets: bool,
    kept: Kept,
    clock_from: (u64, f64),
}

impl Computing {
    pub(super) const NONE: Self = Self {
        stalled_blocks: 0,
        interrupt_off: 0,
        clock: 1.0,
        welded: false,
        contradicts: false,
        between: false,
        forgets: false,
        kept: Kept::NOTHING,
        clock_from: (0, 0.0),
    };

    /// Whether the interrupt runs at this sample.
    pub(super) const fn interrupt_runs(&mut self) -> bool {
        let runs = self.interrupt_off == 0;
        self.interrupt_off = self.interrupt_off.saturating_sub(1);
        runs
    }

    /// Whether the main loop misses this block.
    pub(super) const fn loop_stalls(&mut self) -> bool {
        let stalls = self.stalled_blocks > 0;
        self.stalled_blocks = self.stalled_blocks.saturating_sub(1);
        stalls
    }

    /// The keys as they stand: one that is welded is down, whoever lets it go.
    pub(super) const fn keys(&self, panel: Panel) -> Panel {
        let test = if self.welded { Key::DOWN } else { panel.test };
        Panel { test, ..panel }
    }

    /// What core sees of the panel.
    pub(super) const fn panel(&self, panel: Panel) -> Panel {
        let mut seen = self.keys(panel);
        if self.contradicts {
            seen.test = Key { pressed: true, rest: true };
        }
        if self.between {
            seen.function = Function::Between;
        }
        seen
    }

    /// The independent clock.
    pub(super) fn elapsed_us(&self, at_us: u64) -> u32 {
        let (from, base) = self.clock_from;
        let now = base + (at_us.saturating_sub(from)) as f64 * self.clock;
        // Wraps as a 32-bit counter does.
        (now as u64 & u64::from(u32::MAX)) as u32
    }

    /// The independent clock runs at another rate from now on.
    pub(super) fn set_clock(&mut self, at_us: u64, rate: f64) {
        let (from, base) = self.clock_from;
        let now = base + (at_us.saturating_sub(from)) as f64 * self.clock;
        self.clock_from = (at_us, now);
        self.clock = rate;
    }

    /// Core asks that this be kept.
    pub(super) const fn keep(&mut self, kept: Kept) {
        self.kept = kept;
    }

    /// What core asked to keep last.
    pub(super) const fn kept(&self) -> Kept {
        self.kept
    }
}
