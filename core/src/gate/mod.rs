//! The only road to the source: the per-sample trip, the set-point ramp, permits and epochs.
//!
//! The interrupt alone runs [`Gate::sample`] and alone switches the source, on what it answers. The
//! main loop can only [`Gate::arm`] it with a [`Permit`], which it cannot make itself, which is
//! consumed by use, and which is void once the gate has closed for any reason: a command decided
//! before a trip can never switch the source on after it.
//!
//! The trip asks one question of every sample: could our own source and a passive load have made
//! it? If not, the source goes off and the reason is found later, with the source off. A false
//! alarm costs one fresh proof; a late one can cost a life.
//!
//! Units here: volts in steps of 1/64 V, currents in converter codes, time in samples. Atomic loads
//! and stores only, each word written by one side alone, so that it works on a Cortex-M0 without a
//! critical section. Derivation of the constants: [`rules`]. Exercised by `tests/tests/gate.rs` and
//! by the latency table in `tests/tests/latency.rs`.
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
#[must_use]
pub struct GateOut {
    /// Whether the source may deliver.
    pub on: bool,
    /// What the source is to regulate the terminals to; negative for reversed continuity.
    pub set_point: Voltage,
}

/// What the gate last did, for the main loop.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
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
    arms: AtomicU32,
    set: AtomicI32,
    start: AtomicI32,
    kind: AtomicI32,
    // Written by the interrupt alone.
    epoch: AtomicU32,
    on: AtomicU32,
    seen_arms: AtomicU32,
    countdown: AtomicU32,
    vc: AtomicI32,
    baseline: AtomicI32,
    v_max: AtomicI32,
    history: AtomicU32,
    closing: AtomicU32,
    codes: AtomicU32,
}

/// `kind` for continuity with positive current; reversed is its negative; insulation is the widening.
const FORWARD: i32 = i32::MAX;
const REVERSED: i32 = i32::MIN;
/// History of "nothing held" with no sample missing.
const CLEAN: u32 = 0;
/// All rules hold: what a saturated or missing sample counts as.
const ALL: u32 = 0x0f;
/// Set in the history when the last sample was missing.
const MISSED: u32 = 1 << 31;

impl Gate {
    /// Makes a closed gate; constants per millisecond become constants per sample here.
    #[must_use]
    pub const fn new(profile: &'static Profile, rate: SampleRate) -> Self {
        Self {
            constants: Constants::new(profile, rate),
            granted: AtomicU32::new(u32::MAX),
            arms: AtomicU32::new(0),
            set: AtomicI32::new(0),
            start: AtomicI32::new(0),
            kind: AtomicI32::new(0),
            epoch: AtomicU32::new(0),
            on: AtomicU32::new(0),
            seen_arms: AtomicU32::new(0),
            countdown: AtomicU32::new(0),
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
    /// For the interrupt alone. Two missing samples in a row close the gate.
    #[inline]
    pub fn sample(&self, sample: Option<Sample>) -> GateOut {
        let epoch = self.epoch.load(Relaxed);
        let on = self.on.load(Relaxed) != 0;
        if self.granted.load(Acquire) != epoch {
            if on {
                self.close(epoch, Cause::Disarmed, sample);
            }
            return GateOut::default();
        }
        if !on {
            self.open();
        }
        if !self.kept_alive() {
            self.close(epoch, Cause::LoopLate, sample);
            return GateOut::default();
        }
        let kind = self.kind.load(Relaxed);
        let judged = match sample {
            None => self.missing(),
            Some(s) if kind == FORWARD || kind == REVERSED => self.continuity(s, kind == REVERSED),
            Some(s) => self.insulation(s, kind),
        };
        match judged {
            None => GateOut { on: true, set_point: self.set_point(kind) },
            Some(cause) => {
                self.close(epoch, cause, sample);
                GateOut::default()
            }
        }
    }

    /// Arms the gate, or keeps it armed, until 4 ms from now. Ignored if the gate has closed since
    /// the permit was minted.
    pub fn arm(&self, permit: Permit) {
        if permit.epoch != self.epoch.load(Acquire) {
            return;
        }
        self.set.store(rules::sixty_fourths(permit.set), Relaxed);
        self.start.store(rules::sixty_fourths(permit.v_start), Relaxed);
        self.kind.store(
            match permit.kind {
                Kind::Insulation { widen } => rules::sixty_fourths(widen),
                Kind::Continuity { polarity: Polarity::Forward } => FORWARD,
                Kind::Continuity { polarity: Polarity::Reversed } => REVERSED,
            },
            Relaxed,
        );
        self.arms.store(self.arms.load(Relaxed).wrapping_add(1), Relaxed);
        self.granted.store(permit.epoch, Release);
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
            on: self.on.load(Relaxed) != 0,
            closed,
            set_point: rules::volts(self.vc.load(Relaxed)),
        }
    }

    fn last_closing(&self) -> Option<Closing> {
        let cause = Cause::from_word(self.closing.load(Relaxed))?;
        let [v0, v1, i0, i1] = self.codes.load(Relaxed).to_le_bytes();
        let v = i32::from(i16::from_le_bytes([v0, v1]));
        let i = i32::from(i16::from_le_bytes([i0, i1]));
        Some(Closing {
            cause,
            v: rules::volts(self.constants.volts_of(v)),
            i: self.constants.current_of(i),
        })
    }

    /// The first sample of a drive: everything starts from where the terminals stand.
    fn open(&self) {
        let start = self.start.load(Relaxed);
        self.vc.store(start, Relaxed);
        self.baseline.store(start, Relaxed);
        self.v_max.store(start, Relaxed);
        self.history.store(CLEAN, Relaxed);
        self.countdown.store(self.constants.dead_man, Relaxed);
        self.on.store(1, Relaxed);
    }

    fn close(&self, epoch: u32, cause: Cause, sample: Option<Sample>) {
        let s = sample.unwrap_or_default();
        let [v0, v1] = s.v.to_le_bytes();
        let [i0, i1] = s.i_gate.to_le_bytes();
        self.codes.store(u32::from_le_bytes([v0, v1, i0, i1]), Relaxed);
        self.closing.store(cause.word(), Relaxed);
        self.on.store(0, Relaxed);
        self.vc.store(0, Relaxed);
        self.epoch.store(epoch.wrapping_add(1), Release);
    }

    /// Counts down from the last arming; false once the main loop is late.
    fn kept_alive(&self) -> bool {
        let arms = self.arms.load(Relaxed);
        if arms != self.seen_arms.load(Relaxed) {
            self.seen_arms.store(arms, Relaxed);
            self.countdown.store(self.constants.dead_man, Relaxed);
            return true;
        }
        let left = self.countdown.load(Relaxed);
        self.countdown.store(left.wrapping_sub(1), Relaxed);
        left != 0
    }

    fn set_point(&self, kind: i32) -> Voltage {
        match kind {
            FORWARD => self.constants.open_volts,
            REVERSED => Voltage::ZERO.saturating_sub(self.constants.open_volts),
            _ => rules::volts(self.vc.load(Relaxed)),
        }
    }

    fn missing(&self) -> Option<Cause> {
        let history = self.history.load(Relaxed);
        if history & MISSED != 0 {
            return Some(Cause::SamplesMissing);
        }
        self.judge(ALL).map_or_else(
            || {
                self.history.store(self.history.load(Relaxed) | MISSED, Relaxed);
                None
            },
            |_| Some(Cause::SamplesMissing),
        )
    }

    /// Three samples in a row under one rule: off.
    #[inline]
    fn judge(&self, held: u32) -> Option<Cause> {
        let history = self.history.load(Relaxed);
        let third = held & history & (history >> 8);
        if third != 0 {
            return Some(Cause::from_rule(third));
        }
        self.history.store(((history & ALL) << 8) | held, Relaxed);
        None
    }

    fn continuity(&self, s: Sample, reversed: bool) -> Option<Cause> {
        let k = &self.constants;
        let raw = k.volts_of(i32::from(s.v));
        let v = if reversed { raw.wrapping_neg() } else { raw };
        let reverse = v < k.continuity_reverse;
        let over = v > k.continuity_over;
        self.judge(if k.saturated(s.v) { ALL } else { rules::mask(reverse, over, false, false) })
    }

    #[inline]
    fn insulation(&self, s: Sample, widen: i32) -> Option<Cause> {
        let k = &self.constants;
        let v = k.volts_of(i32::from(s.v));
        let set = self.set.load(Relaxed);
        let pushing = s.i_gate > k.pushing;
        let vc = self.vc.load(Relaxed);

        let baseline = self.baseline.load(Relaxed);
        let residual = v.wrapping_sub(baseline);
        let up = if vc < set || s.i_gate > k.flowing { k.up_fast } else { k.up_slow };
        // Not `clamp`, which panics where its bounds are the wrong way round.
        let step = residual.min(up).max(k.down.wrapping_neg());
        self.baseline.store(baseline.wrapping_add(step), Relaxed);

        let leaked = self.v_max.load(Relaxed).wrapping_sub(k.leak);
        let v_max = if pushing && leaked > v { leaked } else { v };
        self.v_max.store(v_max, Relaxed);

        // The set point leads the terminals by a bounded step, so that after a collapse it climbs
        // again from where the load is.
        let raised = vc.wrapping_add(k.ramp).min(set).min(v.wrapping_add(k.lead)).max(0);
        self.vc.store(raised, Relaxed);

        let held = if k.saturated(s.v) {
            ALL
        } else {
            let over = k.over(set).wrapping_add(widen);
            rules::mask(
                v < k.reverse.wrapping_sub(widen) || v > over,
                v > vc.wrapping_add(k.above).wrapping_add(widen),
                pushing && v < v_max.wrapping_sub(k.fall),
                residual > k.residual || residual < k.residual.wrapping_neg(),
            )
        };
        self.judge(held)
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
            arms: u(&self.arms),
            set: i(&self.set),
            start: i(&self.start),
            kind: i(&self.kind),
            epoch: u(&self.epoch),
            on: u(&self.on),
            seen_arms: u(&self.seen_arms),
            countdown: u(&self.countdown),
            vc: i(&self.vc),
            baseline: i(&self.baseline),
            v_max: i(&self.v_max),
            history: u(&self.history),
            closing: u(&self.closing),
            codes: u(&self.codes),
        }
    }
}
