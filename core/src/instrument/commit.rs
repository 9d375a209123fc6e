//! A reading counts from here: what still flags it, and its verdict.

use super::Instrument;
use super::observe::moved;
use crate::detect::Circuit;
use crate::frame::Function;
use crate::interlock::Reason;
use crate::judge::{Flags, Limit, Unit, Value};
use crate::unit::{Current, Resistance};
use crate::wide::scaled;

impl Instrument {
    /// The reading counts from here: the circuit behaved as a passive one to the end. Once: what is
    /// let down later, because absorption brought it back, was measured before.
    pub(super) fn commit(&mut self) {
        if self.committed.is_some() {
            return;
        }
        let timed = matches!(self.function, Function::Timed(..));
        if self.pending.value == Value::None && !timed {
            return;
        }
        if timed {
            self.prove_path_by_return();
        }
        let unproved = Flags::NONE.with_if(Flags::PATH_UNPROVED, !self.path.is_proved());
        let flags = unproved.with(self.standing_flags());
        self.pending = self.pending.flagged(flags);
        if timed {
            self.conclude_timed(flags);
        }
        self.judge_committed();
    }

    /// What still comes back a minute into a discharge comes through the leads.
    fn prove_path_by_return(&mut self) {
        if let Some(left) = self.timed.left_volts(&self.profile.front_end) {
            let ohms = i64::try_from(self.profile.front_end.discharge.as_ohms()).unwrap_or(0);
            let picoamps = scaled(i64::from(left.as_microvolts()), 1_000_000, ohms).unwrap_or(0);
            self.path.conducted(Current::from_picoamps(picoamps));
        }
    }

    /// Puts what a timed test tells in place of its last resistance, or says why it tells nothing.
    fn conclude_timed(&mut self, flags: Flags) {
        let adjusted = self.calibration.on(self.today, &self.profile.front_end);
        match self.timed.conclude(self.pending, self.stored, &self.profile.times, &adjusted) {
            Ok(told) => self.pending = told.flagged(flags),
            Err(why) => self.refused = Some(why),
        }
    }

    /// What a standing voltage does to a reading, seen once it stands there again by itself.
    pub(super) fn standing_flags(&self) -> Flags {
        let Some(p) = self.proved.filter(|p| p.class == Circuit::Standing) else {
            return Flags::NONE;
        };
        let beside = match (self.limit.filter(|c| c.of == Unit::Ohm).map(|c| c.limit), p.source) {
            (Some(Limit::AtLeast(limit)), Some(source)) => !outweighs(source, limit),
            (Some(Limit::AtLeast(_)), None) => true,
            (Some(Limit::AtMost(_)) | None, _) => false,
        };
        Flags::NONE
            .with_if(Flags::STANDING_MOVED, moved(self.block.v, p.dc))
            .with_if(Flags::SOURCE_BESIDE, beside)
    }

    pub(super) fn commit_continuity(&mut self) {
        if self.nulling && self.reason == Reason::NullStored {
            self.kept.null = self.continuity.settled_null();
            self.kept.null_day = self.today;
        }
        if !self.nulling {
            // Nobody knows what the last turn of current met.
            let cut = matches!(self.reason, Reason::Tripped | Reason::Low | Reason::Locked(_));
            let flag = Flags::NONE.with_if(Flags::ABORTED, cut);
            self.pending = self.continuity.reading().flagged(flag);
        }
    }
}

/// Whether the source of a standing voltage lies across the insulation without hiding it: ten times
/// the limit, so that it takes at most a tenth from a circuit at the limit.
#[expect(clippy::cast_precision_loss, reason = "a resistance of two digits, compared")]
fn outweighs(source: Resistance, limit: f32) -> bool {
    source.as_milliohms() as f32 / 1.0e3 > 10.0 * limit
}
