//! The only road to the source: the per-sample trip, the set-point ramp, permits and epochs.
//!
//! The interrupt alone runs [`Gate::sample`] and alone switches the source, on what it answers. The
//! main loop can only let it [`Gate::follow`] with a [`Permit`], which it cannot make itself, which is
//! consumed by use, and which is void once the gate has closed for any reason: a command decided
//! before a trip can never switch the source on after it.
//!
//! The trip asks one question of every sample: could our own source and a passive load have made
//! it? If not, the source goes off and the reason is found later, with the source off. A false
//! alarm costs one fresh proof; a late one can cost a life.
//!
//! Units here: volts in steps of 1/64 V, currents in converter codes, time in samples. Atomic loads
//! and stores only, each word but one written by one side alone, so that it works on a Cortex-M0
//! without a critical section. Derivation of the constants: [`rules`]. Exercised by `tests/tests/gate/` and
//! by the latency table in `tests/tests/trip.rs`.
#![deny(clippy::float_arithmetic)]

use core::sync::atomic::{
    AtomicI32, AtomicU32, Ordering::Acquire, Ordering::Relaxed, Ordering::Release,
};

use crate::frame::Sample;
use crate::profile::Profile;
use crate::signal::SampleRate;
use crate::unit::{Current, Voltage};

mod permit;
pub mod rules;

pub use permit::{Kind, Permit, Polarity};
pub use rules::Cause;

use rules::Constants;

/// What the interrupt puts on its pins after each sample.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[must_use]
pub struct GateOut {
    /// Whether the source may deliver.
    pub on: bool,
    /// What the source is to regulate the terminals to; negative for reversed continuity.
    pub set_point: Voltage,
}

/// What the gate last did, for the main loop.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct GateStatus {
    /// Moves on whenever the source goes off. A permit of an older epoch is void.
    pub epoch: u32,
    /// Whether the source may deliver now.
    pub on: bool,
    /// Why the source last went off, with the voltage and current seen then.
    pub closed: Option<Closing>,
    /// What the source regulates to now.
    pub set_point: Voltage,
}

/// One closing of the gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Closing {
    /// The rule or event that closed it.
    pub cause: Cause,
    /// The terminal voltage at that sample.
    pub v: Voltage,
    /// The source current at that sample, by the coarse channel.
    pub i: Current,
}

/// The gate. One instance stands between the interrupt and the main loop.
#[derive(Debug)]
pub struct Gate {
    constants: Constants,
    // Written by the main loop alone.
    granted: AtomicU32,
    /// Where high voltage climbs to; negative for continuity.
    set: AtomicI32,
    start: AtomicI32,
    /// By how much the limits are widened; at first what no permit says.
    widen: AtomicI32,
    // The limits of this permit, worked out once a permit and not once a sample.
    least: AtomicI32,
    span: AtomicU32,
    above: AtomicI32,
    /// Samples until the gate closes by itself. The one word that both sides write: the main loop
    /// winds it up, the interrupt counts it down, and a write that were lost would cost one sample.
    left: AtomicI32,
    // Written by the interrupt alone.
    epoch: AtomicU32,
    /// The epoch while the source may deliver, else a value that no permit has.
    running: AtomicU32,
    vc: AtomicI32,
    baseline: AtomicI32,
    v_max: AtomicI32,
    history: AtomicU32,
    closing: AtomicU32,
    codes: AtomicU32,
}

/// `set` for continuity with positive current, and with reversed current.
const FORWARD: i32 = -1;
const REVERSED: i32 = -2;
/// What keeps `running` apart from every epoch that could be granted.
const NOT: u32 = 1 << 31;
/// History of "nothing held" with no sample missing.
const CLEAN: u32 = 0;
/// All rules hold: what a saturated or missing sample counts as.
const ALL: u32 = 0x1f;
/// Set in the history when the last sample was missing.
const MISSED: u32 = 1 << 31;

impl Gate {
    /// Makes a closed gate; constants per millisecond become constants per sample here.
    #[must_use]
    pub const fn new(profile: &'static Profile, rate: SampleRate) -> Self {
        Self {
            constants: Constants::new(profile, rate),
            granted: AtomicU32::new(u32::MAX),
            set: AtomicI32::new(0),
            start: AtomicI32::new(0),
            widen: AtomicI32::new(i32::MIN),
            least: AtomicI32::new(0),
            span: AtomicU32::new(0),
            above: AtomicI32::new(0),
            left: AtomicI32::new(0),
            epoch: AtomicU32::new(0),
            running: AtomicU32::new(NOT),
            vc: AtomicI32::new(0),
            baseline: AtomicI32::new(0),
            v_max: AtomicI32::new(0),
            history: AtomicU32::new(CLEAN),
            closing: AtomicU32::new(0),
            codes: AtomicU32::new(0),
        }
    }

    /// Takes one sample (`None`: missing or stale) and answers what the source may do until the next.
    ///
    /// For the interrupt alone. Two missing samples in a row close the gate. What an ordinary sample
    /// of a drive needs stands here and in `high`; all else is kept out of the way.
    #[inline]
    pub fn sample(&self, sample: Option<Sample>) -> GateOut {
        if self.granted.load(Acquire) != self.running.load(Relaxed) && !self.turns_on(sample) {
            return GateOut::default();
        }
        let left = self.left.load(Relaxed).wrapping_sub(1);
        self.left.store(left, Relaxed);
        if left < 0 {
            return self.close(Cause::LoopLate, sample);
        }
        let set = self.set.load(Relaxed);
        match sample {
            Some(Sample { v, i_gate, .. }) if set >= 0 => self.high(v, i_gate, set, sample),
            _ => self.other(sample, set),
        }
    }

    /// Does what the main loop decided in one block: arms the gate with a permit, and without one
    /// takes back the permission.
    pub fn follow(&self, permit: Option<Permit>) {
        match permit {
            Some(permit) => self.arm(permit),
            None => self.disarm(),
        }
    }

    /// Arms the gate, or keeps it armed, until 4 ms from now. Ignored if the gate has closed since
    /// the permit was minted.
    pub fn arm(&self, permit: Permit) {
        if permit.epoch != self.epoch.load(Acquire) {
            return;
        }
        let (set, widen) = match permit.kind {
            Kind::Insulation { widen } => {
                (rules::sixty_fourths(permit.set).max(0), rules::sixty_fourths(widen))
            }
            Kind::Continuity { polarity: Polarity::Forward } => (FORWARD, 0),
            Kind::Continuity { polarity: Polarity::Reversed } => (REVERSED, 0),
        };
        if (self.set.load(Relaxed), self.widen.load(Relaxed)) != (set, widen) {
            self.limit(set, widen);
        }
        self.start.store(rules::sixty_fourths(permit.v_start), Relaxed);
        self.left.store(self.constants.dead_man, Relaxed);
        self.granted.store(permit.epoch, Release);
    }

    /// Works the limits of a permit out, which stay as they are from one arming to the next.
    #[inline(never)]
    fn limit(&self, set: i32, widen: i32) {
        let k = &self.constants;
        let limits = if set >= 0 { k.high(set, widen) } else { k.continuity() };
        self.set.store(set, Relaxed);
        self.widen.store(widen, Relaxed);
        self.least.store(limits.least, Relaxed);
        self.span.store(limits.span, Relaxed);
        self.above.store(limits.above, Relaxed);
    }

    /// Takes the permission back; the source goes off at the next sample.
    pub fn disarm(&self) {
        self.granted.store(self.epoch.load(Acquire).wrapping_sub(1), Release);
    }

    /// Reports what the gate last did.
    #[must_use]
    pub fn status(&self) -> GateStatus {
        // The words of a closing are written before the epoch moves on, so one unchanged epoch
        // brackets one closing; the interrupt can move it at most once in between.
        let mut epoch = self.epoch.load(Acquire);
        let mut closed = self.last_closing();
        let again = self.epoch.load(Acquire);
        if again != epoch {
            epoch = again;
            closed = self.last_closing();
        }
        GateStatus {
            epoch,
            on: self.running.load(Relaxed) == epoch,
            closed,
            set_point: rules::volts(self.vc.load(Relaxed)),
        }
    }

    fn last_closing(&self) -> Option<Closing> {
        let cause = Cause::from_word(self.closing.load(Relaxed))?;
        let [v0, v1, i0, i1] = self.codes.load(Relaxed).to_le_bytes();
        let v = i16::from_le_bytes([v0, v1]);
        let i = i32::from(i16::from_le_bytes([i0, i1]));
        Some(Closing {
            cause,
            v: rules::volts(self.constants.volts_of(v)),
            i: self.constants.current_of(i),
        })
    }

    /// Where what is granted and what runs differ: opens, closes, or stays closed. Answers whether
    /// the source may deliver.
    #[cold]
    #[inline(never)]
    fn turns_on(&self, sample: Option<Sample>) -> bool {
        let epoch = self.epoch.load(Relaxed);
        if self.granted.load(Acquire) == epoch {
            if sample.is_some() {
                self.open(epoch);
                return true;
            }
            // A drive does not begin blind, nor later on a permit that has grown old meanwhile.
            let _ = self.close(Cause::SamplesMissing, None);
            return false;
        }
        if self.running.load(Relaxed) == epoch {
            let _ = self.close(Cause::Disarmed, sample);
        }
        false
    }

    /// The first sample of a drive: everything starts from where the terminals stand.
    fn open(&self, epoch: u32) {
        let start = self.start.load(Relaxed);
        self.vc.store(start, Relaxed);
        self.baseline.store(start, Relaxed);
        self.v_max.store(start, Relaxed);
        self.history.store(CLEAN, Relaxed);
        self.running.store(epoch, Relaxed);
    }

    #[cold]
    #[inline(never)]
    fn close(&self, cause: Cause, sample: Option<Sample>) -> GateOut {
        let Sample { v, i_gate: i, .. } = sample.unwrap_or_default();
        let [v0, v1] = v.to_le_bytes();
        let [i0, i1] = i.to_le_bytes();
        self.codes.store(u32::from_le_bytes([v0, v1, i0, i1]), Relaxed);
        self.closing.store(cause.word(), Relaxed);
        let epoch = self.epoch.load(Relaxed).wrapping_add(1);
        self.running.store(epoch ^ NOT, Relaxed);
        self.vc.store(0, Relaxed);
        self.epoch.store(epoch, Release);
        GateOut::default()
    }

    /// One sample of a drive with high voltage; `sample` goes on to what is seldom needed.
    #[inline]
    fn high(&self, code: i16, i: i16, set: i32, sample: Option<Sample>) -> GateOut {
        let k = &self.constants;
        let v = k.volts_of(code);
        let vc = self.vc.load(Relaxed);
        let residual = v.wrapping_sub(self.baseline.load(Relaxed));

        // The set point leads the terminals by a bounded step, so that after a collapse it climbs
        // again from where the load is.
        let (raised, up) = if vc < set {
            (vc.wrapping_add(k.ramp).min(set), k.up_fast)
        } else {
            (set, if i > k.flowing { k.up_fast } else { k.up_slow })
        };
        let raised = raised.min(v.wrapping_add(rules::LEAD));
        self.vc.store(raised, Relaxed);
        // Not `clamp`, which panics where its bounds are the wrong way round.
        let step = residual.min(up).max(k.down);
        self.baseline.store(v.wrapping_sub(residual).wrapping_add(step), Relaxed);

        if i > k.pushing {
            let highest = self.v_max.load(Relaxed).wrapping_sub(k.leak).max(v);
            self.v_max.store(highest, Relaxed);
            if k.falls(v, highest) {
                return self.unusual(sample, vc, residual);
            }
        } else {
            self.v_max.store(v, Relaxed);
        }
        if self.is_outside(v)
            || v > vc.wrapping_add(self.above.load(Relaxed))
            || k.leaves(residual)
            || self.history.load(Relaxed) != CLEAN
        {
            return self.unusual(sample, vc, residual);
        }
        GateOut { on: true, set_point: rules::set_point(raised) }
    }

    /// A sample under which a rule holds, or one soon after such a sample. `vc` is the set point
    /// that it was taken under.
    #[cold]
    #[inline(never)]
    fn unusual(&self, sample: Option<Sample>, vc: i32, residual: i32) -> GateOut {
        let k = &self.constants;
        let code = sample.map_or(0, |s| s.v);
        let v = k.volts_of(code);
        let held = if k.saturated(code) {
            ALL
        } else {
            let bounds = self.is_outside(v);
            let above = v > vc.wrapping_add(self.above.load(Relaxed));
            let falls = k.falls(v, self.v_max.load(Relaxed));
            rules::mask(bounds, above, falls, k.leaves(residual))
        };
        // No set point is negative; where the terminals are that far down, their lead is not.
        let raised = self.vc.load(Relaxed).max(0);
        self.vc.store(raised, Relaxed);
        self.judged(held, GateOut { on: true, set_point: rules::set_point(raised) }, sample)
    }

    /// Whether `v` lies below the least or above the greatest of this permit.
    #[inline]
    fn is_outside(&self, v: i32) -> bool {
        // Both sides in one comparison: what is below wraps to above the span.
        v.wrapping_sub(self.least.load(Relaxed)).cast_unsigned() > self.span.load(Relaxed)
    }

    /// Three samples in a row under one rule: off.
    fn judged(&self, held: u32, on: GateOut, sample: Option<Sample>) -> GateOut {
        let history = self.history.load(Relaxed);
        let third = held & history & (history >> 8);
        if third != 0 {
            return self.close(Cause::from_rule(third), sample);
        }
        self.history.store(((history & ALL) << 8) | held, Relaxed);
        on
    }

    /// A missing sample, or one of a continuity drive.
    #[inline(never)]
    fn other(&self, sample: Option<Sample>, set: i32) -> GateOut {
        let k = &self.constants;
        let set_point = match set {
            FORWARD => k.open_volts,
            REVERSED => Voltage::ZERO.saturating_sub(k.open_volts),
            _ => rules::set_point(self.vc.load(Relaxed)),
        };
        let on = GateOut { on: true, set_point };
        let Some(Sample { v: code, i_gate, .. }) = sample else { return self.missing(on) };
        let raw = k.volts_of(code);
        let (v, i) = if set == REVERSED {
            (raw.wrapping_neg(), i_gate.saturating_neg())
        } else {
            (raw, i_gate)
        };
        let held = if k.saturated(code) {
            ALL
        } else {
            let least = self.least.load(Relaxed);
            let back = if i32::from(i) < i32::from(k.pushing).wrapping_neg() {
                rules::PUSHES_BACK
            } else {
                0
            };
            rules::mask(v < least, v >= least && self.is_outside(v), false, false) | back
        };
        if held == 0 && self.history.load(Relaxed) == CLEAN {
            return on;
        }
        self.judged(held, on, sample)
    }

    /// Counts as a sample under every rule; the second in a row closes the gate.
    fn missing(&self, on: GateOut) -> GateOut {
        let history = self.history.load(Relaxed);
        if history & MISSED != 0 || history & (history >> 8) & ALL != 0 {
            return self.close(Cause::SamplesMissing, None);
        }
        self.history.store(((history & ALL) << 8) | ALL | MISSED, Relaxed);
        on
    }
}

impl Clone for Gate {
    /// Copies the whole state, permission included. For worlds that fork to ask "what if": one
    /// source has one gate.
    fn clone(&self) -> Self {
        let u = |a: &AtomicU32| AtomicU32::new(a.load(Relaxed));
        let i = |a: &AtomicI32| AtomicI32::new(a.load(Relaxed));
        Self {
            constants: self.constants,
            granted: u(&self.granted),
            set: i(&self.set),
            start: i(&self.start),
            widen: i(&self.widen),
            least: i(&self.least),
            span: u(&self.span),
            above: i(&self.above),
            left: i(&self.left),
            epoch: u(&self.epoch),
            running: u(&self.running),
            vc: i(&self.vc),
            baseline: i(&self.baseline),
            v_max: i(&self.v_max),
            history: u(&self.history),
            closing: u(&self.closing),
            codes: u(&self.codes),
        }
    }
}
