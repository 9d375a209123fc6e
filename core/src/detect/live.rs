//! Are the terminals live now? Runs in every state in which nothing of our own is on them.
//!
//! Six slots of 20 ms on each channel make a window of 120 ms: two cycles of 16 2/3 Hz, six of
//! 50 Hz. Either channel may say live by its level; a single pulse must be on both, so that a spike
//! coupled into one channel does not. A warning stays for 1 s after the last evidence, 3 s after a
//! pulse, because zero-voltage-switched loads and fences look quiet in between.

use super::Block;
use crate::profile::Profile;
use crate::signal::{Level, SampleRate, Sums};
use crate::unit::{Duration, Voltage};
use crate::wide::scaled;

/// Slots in the window.
const SLOTS: usize = 6;
/// Length of a slot.
const SLOT: Duration = Duration::from_millis(20);
/// Far beyond noise and ripple of the front end.
const BEYOND_NOISE: Voltage = Voltage::from_volts(12);
/// How long a warning stays, in blocks of 1 ms.
const LATCH: u16 = 1_000;
/// How long it stays after a pulse.
const LATCH_PULSE: u16 = 3_000;

/// Watches for voltage from outside.
#[derive(Clone, Copy, Debug)]
pub struct Live {
    slots: [[Sums; 2]; SLOTS],
    now: [Sums; 2],
    at: usize,
    filled: usize,
    slot_samples: u32,
    latched: u16,
    pulsed: u16,
    explained: bool,
    level: Level<Voltage>,
}

impl Live {
    /// Knows nothing yet.
    #[must_use]
    pub const fn new(rate: SampleRate) -> Self {
        Self {
            slots: [[Sums::EMPTY; 2]; SLOTS],
            now: [Sums::EMPTY; 2],
            at: 0,
            filled: 0,
            slot_samples: rate.samples_in(SLOT),
            latched: 0,
            pulsed: 0,
            explained: false,
            level: Level {
                dc: Voltage::ZERO,
                ac: Voltage::ZERO,
                rms: Voltage::ZERO,
                peak: Voltage::ZERO,
                min: Voltage::ZERO,
                max: Voltage::ZERO,
                hz: None,
                clipped: 0,
                samples: 0,
            },
        }
    }

    /// Forgets the window, not the warning: after a relay or our own source changed what is seen.
    pub fn restart(&mut self) {
        self.at = 0;
        self.filled = 0;
        self.now = [Sums::EMPTY; 2];
        self.level = Level::default();
    }

    /// What stood there was proved to be a charge, not a source: it forbids nothing any more. The
    /// warning itself stays for its time.
    pub const fn explain(&mut self) {
        self.explained = true;
    }

    /// Whether the warning stands for something that was not explained since.
    #[must_use]
    pub const fn forbids(&self) -> bool {
        self.latched > 0 && !self.explained
    }

    /// Takes one block of about 1 ms. Answers whether the terminals are live, latched.
    ///
    /// `ours` says that a charge of our own may still be there. It is no sign of anything, so then
    /// only what a passive circuit cannot do counts: a voltage that does not decay, that rises, or
    /// that turns its sign.
    pub fn step(&mut self, block: &Block, ours: bool, profile: &Profile) -> bool {
        self.wait();
        if block.pulses > 0 && !ours {
            self.pulsed = LATCH_PULSE;
            self.explained = false;
            self.latched = LATCH_PULSE;
        }
        let [a, b] = &mut self.now;
        let [v, v2] = &block.sums;
        a.merge(v);
        b.merge(v2);
        if a.samples() >= self.slot_samples {
            self.close_slot(ours, profile);
        }
        self.latched > 0
    }

    /// Lets a block pass in which what stands on the terminals says nothing; the warning runs out.
    pub const fn wait(&mut self) {
        self.latched = self.latched.saturating_sub(1);
        self.pulsed = self.pulsed.saturating_sub(1);
    }

    /// Whether the terminals are live, latched.
    #[must_use]
    pub const fn is_live(&self) -> bool {
        self.latched > 0
    }

    /// Whether a pulse was seen lately.
    #[must_use]
    pub const fn is_pulsed(&self) -> bool {
        self.pulsed > 0
    }

    /// The level over the window so far, by the channel that reads more.
    pub const fn level(&self) -> Level<Voltage> {
        self.level
    }

    fn close_slot(&mut self, ours: bool, profile: &Profile) {
        let quiet = ours && !self.acts(profile);
        if let Some(slot) = self.slots.get_mut(self.at) {
            *slot = core::mem::replace(&mut self.now, [Sums::EMPTY; 2]);
        }
        self.at = if self.at.wrapping_add(1) >= SLOTS { 0 } else { self.at.wrapping_add(1) };
        self.filled = self.filled.saturating_add(1).min(SLOTS);
        let first = self.window(0).level(&profile.front_end.v);
        let second = self.window(1).level(&profile.front_end.v2);
        self.level = if first.rms < second.rms { second } else { first };
        // One slot alone may hold half a cycle of a slow supply; the RMS of a part of a cycle says
        // little, so the level speaks once two slots are there. Pulses speak at once, above.
        if self.filled >= 2 && is_live(&self.level, profile) && !quiet {
            self.latched = self.latched.max(LATCH);
            self.explained = false;
        }
    }

    /// Whether the slot that ends does what a passive circuit with a charge cannot: 60 ms later it
    /// has fallen by less than 0.3 % (5 uF on 2 Mohm fall by 0.6 %) and is no noise, it stands 12 V
    /// above what was, or 12 V beyond zero on the other side. Asked of the channel that reads more now: the other
    /// may be dead.
    fn acts(&self, profile: &Profile) -> bool {
        let front = &profile.front_end;
        let [first, second] = &self.now;
        let [first, second] = [first.level::<Voltage>(&front.v), second.level(&front.v2)];
        let by_second = first.rms < second.rms;
        let now = if by_second { second } else { first };
        let back = |slots: usize| -> Option<Voltage> {
            let at = self.at.wrapping_add(SLOTS).wrapping_sub(slots) % SLOTS;
            let [first, second] = self.slots.get(at).filter(|_| self.filled >= slots)?;
            Some(if by_second { second.mean(&front.v2) } else { first.mean(&front.v) })
        };
        let turns = |sign: i32| {
            let least = if sign > 0 { now.min } else { Voltage::ZERO.saturating_sub(now.max) };
            least < BEYOND_NOISE.saturating_mul(-1)
        };
        let both = turns(1) && turns(-1);
        let Some(before) = back(1) else { return both };
        let sign = if before < Voltage::ZERO { -1 } else { 1 };
        let rises = before.abs().saturating_add(BEYOND_NOISE) < now.dc.saturating_mul(sign);
        let stays = back(3).is_some_and(|old| {
            let kept = old.abs().saturating_sub(old.abs().div(1_000).saturating_mul(3));
            BEYOND_NOISE.greatest(kept) < now.dc.saturating_mul(sign)
        });
        both || rises || turns(sign) || stays
    }

    fn window(&self, channel: usize) -> Sums {
        let mut whole = Sums::EMPTY;
        for slot in self.slots.iter().take(self.filled) {
            if let Some(sums) = slot.get(channel) {
                whole.merge(sums);
            }
        }
        whole
    }
}

/// Whether a level stands above the trip: alternating, direct, peak, or a mixture that together is
/// too much although neither part is.
#[must_use]
pub fn is_live(level: &Level<Voltage>, profile: &Profile) -> bool {
    let trip = &profile.trip;
    let dc = level.dc.abs();
    let peak = alternating_peak(level);
    !level.ac.is_below(trip.rms)
        || !dc.is_below(trip.dc)
        || !peak.is_below(trip.peak)
        || parts(dc, trip.dc).saturating_add(parts(peak.saturating_sub(NOISE), trip.peak)) >= WHOLE
}

/// Peak of noise and ripple, which the mixed rule must not add to a direct voltage: 0.75 V rms, at
/// most six standard deviations in a window (own front end).
const NOISE: Voltage = Voltage::from_millivolts(4_500);
/// One, in parts.
const WHOLE: i64 = 1_000;

fn parts(v: Voltage, of: Voltage) -> i64 {
    let v = v.greatest(Voltage::ZERO);
    scaled(i64::from(v.as_microvolts()), WHOLE, i64::from(of.as_microvolts())).unwrap_or(WHOLE)
}

/// The largest excursion from the direct part.
#[must_use]
pub fn alternating_peak(level: &Level<Voltage>) -> Voltage {
    level.max.saturating_sub(level.dc).greatest(level.dc.saturating_sub(level.min))
}
