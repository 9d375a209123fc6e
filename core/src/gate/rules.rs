//! The trip's constants and why they are what they are.
//!
//! They rest on the discipline of the source, which the gate itself imposes or the board must:
//! the set point climbs at most 2 V/ms and never leads the terminals by more than 40 V; the source
//! is one-sided (it cannot pull down or reverse), delivers at most the profile's current, and does
//! not exceed the set point by more than 5 %.
//!
//! Under that discipline a passive load cannot do what these rules look for:
//!
//! | rule | a sample that our source and a passive load cannot make |
//! | --- | --- |
//! | reversal, over-voltage | below -12 V, or above 1.05 set + 25 V or 1.25 set + 3 V |
//! | above the set point | 12 V above what we ask for: current would flow into us |
//! | falls while pushed | 10 V below the recent highest while we push more than 0.4 mA |
//! | residual | 14 V from a baseline that follows no faster than our own ramp could move it |
//!
//! A continuity drive has rules of its own: more than 5 V above what it can make or 5 V the wrong way,
//! and current that is pushed back into it. The last is for a source behind some ohms, which our
//! own low voltage would hold down for ever: no voltage would show it.
//!
//! Each must hold for three samples in a row; the dead bands are wider than 0.75 V rms of noise and
//! ripple by far more than three standard deviations. The worst latencies, printed by the latency
//! table, and the absence of false trips on passive loads, printed by the passive table, are the
//! evidence for the numbers (worked out on a simulated front end; `common practice` has no figure).

use crate::profile::Profile;
use crate::signal::SampleRate;
use crate::unit::{Current, Duration, Voltage};

/// Why the gate last closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Cause {
    /// The main loop took the permission back.
    Disarmed,
    /// The main loop did not renew the permission in time.
    LoopLate,
    /// Two samples in a row were missing.
    SamplesMissing,
    /// The terminals reversed, or went above what this source can make.
    OutOfBounds,
    /// The terminals stood above the set point.
    AboveSetPoint,
    /// The terminals fell while the source pushed.
    FallsWhilePushed,
    /// The terminals left the slow baseline.
    Residual,
    /// Current was pushed back into a continuity drive.
    PushesBack,
}

impl Cause {
    /// Whether a rule of the trip closed the gate, not the main loop.
    #[must_use]
    pub const fn is_trip(self) -> bool {
        !matches!(self, Self::Disarmed | Self::LoopLate)
    }

    pub(super) const fn word(self) -> u32 {
        match self {
            Self::Disarmed => 1,
            Self::LoopLate => 2,
            Self::SamplesMissing => 3,
            Self::OutOfBounds => 4,
            Self::AboveSetPoint => 5,
            Self::FallsWhilePushed => 6,
            Self::Residual => 7,
            Self::PushesBack => 8,
        }
    }

    pub(super) const fn from_word(word: u32) -> Option<Self> {
        Some(match word {
            1 => Self::Disarmed,
            2 => Self::LoopLate,
            3 => Self::SamplesMissing,
            4 => Self::OutOfBounds,
            5 => Self::AboveSetPoint,
            6 => Self::FallsWhilePushed,
            7 => Self::Residual,
            8 => Self::PushesBack,
            _ => return None,
        })
    }

    /// The first rule of a mask that [`mask`] made.
    pub(super) const fn from_rule(mask: u32) -> Self {
        if mask & 1 != 0 {
            Self::OutOfBounds
        } else if mask & 2 != 0 {
            Self::AboveSetPoint
        } else if mask & 4 != 0 {
            Self::FallsWhilePushed
        } else if mask & PUSHES_BACK == 0 {
            Self::Residual
        } else {
            Self::PushesBack
        }
    }
}

/// In a mask: current is pushed back into a continuity drive.
pub(super) const PUSHES_BACK: u32 = 1 << 4;

/// Packs which rules hold for one sample.
#[inline]
pub(super) const fn mask(bounds: bool, above: bool, falls: bool, residual: bool) -> u32 {
    (bounds as u32) | (above as u32) << 1 | (falls as u32) << 2 | (residual as u32) << 3
}

/// Volts in steps of 1/64 V, rounded to nearest. What comes out converts back without overflow.
pub(super) const fn sixty_fourths(v: Voltage) -> i32 {
    let half = if v.as_microvolts() < 0 { -STEP / 2 } else { STEP / 2 };
    v.as_microvolts().saturating_add(half).wrapping_div(STEP)
}

/// One step of 1/64 V in microvolts, exactly.
const STEP: i32 = 15_625;

/// The quantity that so many steps of 1/64 V are, held at the bounds.
pub(super) const fn volts(steps: i32) -> Voltage {
    Voltage::from_microvolts(steps.saturating_mul(STEP))
}

/// As [`volts`] for what [`sixty_fourths`] bounds, without the test for what cannot be.
#[inline]
pub(super) const fn set_point(steps: i32) -> Voltage {
    Voltage::from_microvolts(steps.wrapping_mul(STEP))
}

/// `a / b` rounded to nearest, held at the bounds of `i32`.
const fn per(a: i64, b: i64) -> i32 {
    let half = if a < 0 { (b / 2).saturating_neg() } else { b / 2 };
    let q = match a.saturating_add(half).checked_div(b) {
        Some(q) => q,
        None => 0,
    };
    if q > i32::MAX as i64 {
        i32::MAX
    } else if q < i32::MIN as i64 {
        i32::MIN
    } else {
        #[allow(clippy::cast_possible_truncation, reason = "bounded by the two lines above")]
        let narrow = q as i32;
        narrow
    }
}

/// A code threshold for a current: the greatest code that does not exceed it.
const fn code(i: Current, lsb: Current) -> i16 {
    let q = match i.as_picoamps().checked_div(lsb.as_picoamps()) {
        Some(q) => q,
        None => i64::MAX,
    };
    if q > i16::MAX as i64 {
        i16::MAX
    } else {
        #[allow(
            clippy::cast_possible_truncation,
            reason = "bounded by the line above; a limit is positive"
        )]
        let narrow = q as i16;
        narrow
    }
}

/// What the terminals may not leave under one permit, in steps of 1/64 V.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    pub(super) least: i32,
    /// The greatest, from the least.
    pub(super) span: u32,
    /// How far above the set point.
    pub(super) above: i32,
}

impl Limits {
    const fn new(least: i32, greatest: i32, above: i32) -> Self {
        Self { least, span: greatest.wrapping_sub(least).cast_unsigned(), above }
    }
}

/// Everything that the trip compares with, in steps of 1/64 V, codes and samples.
///
/// In the order in which a sample meets them, so that a processor can load them in pairs.
#[derive(Clone, Copy, Debug)]
#[repr(C)]
pub(super) struct Constants {
    /// 1/64 V per code, times 1024.
    gain: i32,
    /// What code 0 amounts to, in the same fraction.
    zero: i32,
    pub(super) up_fast: i32,
    pub(super) up_slow: i32,
    /// Negative: how far the baseline may follow downwards.
    pub(super) down: i32,
    pub(super) ramp: i32,
    /// Twice the residual, which a compiler that knew it would compare with at greater length.
    band: u32,
    pub(super) leak: i32,
    pub(super) flowing: i16,
    pub(super) pushing: i16,
    clip: i16,
    continuity_over: i32,
    i_lsb: Current,
    pub(super) open_volts: Voltage,
    /// Samples that may pass after an arming.
    pub(super) dead_man: i32,
}

const V: i64 = 64;

/// How far the set point leads the terminals at the most.
pub(super) const LEAD: i32 = 40 * 64;
/// How far from the baseline no passive load goes.
const RESIDUAL: i32 = 14 * 64;
/// How far below their recent highest no passive load lets the terminals fall under push.
const FALL: i32 = 10 * 64;
/// The lowest that the terminals may stand, in high voltage and in continuity.
const REVERSE: i32 = -12 * 64;
const CONTINUITY_REVERSE: i32 = -5 * 64;
/// How far above the set point the terminals may stand.
const ABOVE: i32 = 12 * 64;

impl Constants {
    pub(super) const fn new(profile: &Profile, rate: SampleRate) -> Self {
        let per_second = rate.as_per_second() as i64;
        let front = &profile.front_end;
        let gain = per((front.v.gain_q24() >> 14).saturating_mul(V), 1_000_000);
        Self {
            gain,
            zero: front.v.zero_code().wrapping_mul(gain).wrapping_neg(),
            // Per second, so that any sample rate gives the same volts per millisecond.
            up_fast: per(3_000 * V, per_second),
            up_slow: per(500 * V, per_second),
            down: per(-300 * V, per_second),
            // Truncated: the ramp may be slower than 2 V/ms, never faster.
            #[allow(clippy::cast_possible_truncation, reason = "at most 2000 * 64")]
            ramp: match (2_000 * V).checked_div(per_second) {
                Some(r) => r as i32,
                None => 0,
            },
            band: RESIDUAL.cast_unsigned().wrapping_mul(2),
            leak: per(300 * V, per_second),
            flowing: code(Current::from_microamps(100), front.gate_step()),
            pushing: code(Current::from_microamps(400), front.gate_step()),
            clip: front.clip,
            continuity_over: sixty_fourths(front.open_volts).saturating_add(5 * 64),
            i_lsb: front.gate_step(),
            open_volts: front.open_volts,
            dead_man: rate.samples_in(Duration::from_millis(4)).saturating_add(1).cast_signed(),
        }
    }

    #[inline]
    pub(super) const fn volts_of(&self, code: i16) -> i32 {
        (code as i32).wrapping_mul(self.gain).wrapping_add(self.zero) >> 10
    }

    /// Whether the terminals left the baseline by more than a passive load could.
    #[inline]
    pub(super) const fn leaves(&self, residual: i32) -> bool {
        // Both sides in one comparison: what is below the band wraps to above it.
        residual.wrapping_add(RESIDUAL).cast_unsigned() > self.band
    }

    /// Whether the terminals stand below their recent highest.
    #[inline]
    pub(super) const fn falls(&self, v: i32, highest: i32) -> bool {
        v < highest.wrapping_sub(FALL)
    }

    /// The limits of high voltage at `set`. A saturated code lies outside them, so that one
    /// comparison finds both.
    pub(super) const fn high(&self, set: i32, widen: i32) -> Limits {
        let (a, b) = (self.volts_of(self.clip), self.volts_of(self.clip.wrapping_neg()));
        let (low, high) = if a < b { (a, b) } else { (b, a) };
        let least = REVERSE.wrapping_sub(widen);
        let greatest = self.over(set).wrapping_add(widen);
        let least = if least > low { least } else { low.wrapping_add(1) };
        let greatest = if greatest < high { greatest } else { high.wrapping_sub(1) };
        // Never below the lead, so that the set point is negative only where this limit is passed.
        let floor = LEAD.wrapping_neg();
        Limits::new(if least > floor { least } else { floor }, greatest, ABOVE.wrapping_add(widen))
    }

    /// The limits of continuity, in the direction of the current.
    pub(super) const fn continuity(&self) -> Limits {
        Limits::new(CONTINUITY_REVERSE, self.continuity_over, 0)
    }

    pub(super) const fn current_of(&self, code: i32) -> Current {
        self.i_lsb.saturating_mul(code as i64)
    }

    #[inline]
    pub(super) const fn saturated(&self, code: i16) -> bool {
        // As words: the negative of a half word would be narrowed first.
        let (code, clip) = (code as i32, self.clip as i32);
        code >= clip || code <= clip.wrapping_neg()
    }

    /// What the terminals may not exceed by our own current: the lower of 1.05 set + 25 V, which
    /// the source cannot reach, and 1.25 set + 3 V, which it must not (1.25 is commonly cited from
    /// IEC 61557-2 for the open-circuit voltage; from memory).
    const fn over(&self, set: i32) -> i32 {
        let far = set.wrapping_add(set.wrapping_mul(51) >> 10).wrapping_add(25 * 64);
        let near = set.wrapping_add(set >> 2).wrapping_add(3 * 64);
        if far < near { far } else { near }
    }
}
