//! What becomes of a committed reading: corrected, judged, placed along a pair, made into a record.

use super::Instrument;
use super::stored::picofarads;
use crate::block::Damage;
use crate::correct::{Corrected, Located, NoCorrection, NoDistance, PairKind};
use crate::date::Date;
use crate::frame::{Function, Task};
use crate::judge::{Origin, Reading, Unit, Value};
use crate::measure::{Curve, float_ohms};
use crate::record::{About, Correction, Finding, LeadNull, Record};
use crate::unit::Resistance;

/// What was known when the last reading was committed, whatever is set after it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Committed {
    day: Option<Date>,
    origin: Origin,
    corrected: Option<Result<Corrected, NoCorrection>>,
}

impl Instrument {
    /// Makes the record of the last committed reading from all that is known of it: what was set,
    /// the verdict and where its limit comes from, the raw reading of a corrected one, the lead null
    /// that was taken off, what the circuit stores, the points of a timed test.
    ///
    /// `None` until a reading was committed, and again from the next press of the test key on. A
    /// reading is committed as the instrument comes to rest:
    ///
    /// ```
    /// use ohmwarden_core::record::Record;
    /// use ohmwarden_core::{Commands, Instrument};
    ///
    /// /// After every step: the bytes to be kept, if this step ended a measurement.
    /// fn to_keep(
    ///     instrument: &Instrument,
    ///     commands: &Commands,
    ///     serial: u32,
    /// ) -> Option<[u8; Record::LENGTH]> {
    ///     let record = if commands.committed() { instrument.record(serial) } else { None };
    ///     Some(record?.ok()?.to_bytes())
    /// }
    ///
    /// # use ohmwarden_core::{frame::{Frame, Function, Panel, Sample, Seen}, profile::GENERAL};
    /// # let samples = [Sample::default(); 10];
    /// let mut instrument = Instrument::new(&GENERAL, ohmwarden_core::signal::SampleRate::DEFAULT);
    /// # let frame = Frame {
    /// #     samples: &samples,
    /// #     panel: Panel::idle(Function::Volts),
    /// #     elapsed_us: 1_000,
    /// #     supply_mv: 6_000,
    /// #     seen: Seen::default(),
    /// # };
    /// let commands = instrument.step(&frame);
    /// assert_eq!(to_keep(&instrument, &commands, 1), None, "nothing was measured yet");
    /// ```
    ///
    /// # Errors
    /// What no record can hold, as [`Record::of`] says.
    #[must_use]
    pub fn record(&self, serial: u32) -> Option<Result<Record, Damage>> {
        let committed = self.committed?;
        let corrected = committed.corrected.and_then(Result::ok);
        let reading = corrected.map_or(self.pending, |it| it.reading);
        // A limit of another quantity judged no reading at all: what was read is kept, unjudged.
        let finding = match self.judged.filter(|judged| judged.reading().unit == reading.unit) {
            Some(judged) => Finding::Judged(judged, committed.origin),
            None => Finding::Unjudged(reading),
        };
        let nulled = matches!(self.function, Function::Continuity(_));
        let timed = matches!(self.function, Function::Timed(..));
        let about = About {
            day: committed.day,
            function: self.function,
            second: self.beside(),
            profile: self.profile.id,
            null: LeadNull::in_use(&self.kept, committed.day).filter(|_| nulled),
            correction: corrected.as_ref().map(Correction::of),
            capacitance: self.without_leads().value.amount().and_then(picofarads),
            curve: if timed { self.curve().clone() } else { Curve::new() },
        };
        Some(Record::of(serial, finding, about))
    }

    /// Judges the committed reading where its limit holds. What cannot be brought there is not
    /// judged at all: the verdict would be one on another reading.
    pub(super) fn judge_committed(&mut self) {
        let of_conductor = matches!(self.function.task(), Task::Continuity);
        let corrected = self.surroundings.corrected(self.pending, of_conductor);
        let there = match corrected {
            None => Some(self.pending),
            Some(told) => told.ok().map(|it| it.reading),
        };
        self.judged = self.limit.zip(there).map(|(criterion, reading)| criterion.judge(reading));
        let origin = self.limit.map_or(Origin::OWN, |criterion| criterion.origin);
        self.committed = Some(Committed { day: self.today, origin, corrected });
    }

    /// The committed reading at the temperature that it is to be brought to, where that is asked for,
    /// or why it cannot be; none while the terminals are live.
    #[must_use]
    pub fn corrected(&self) -> Option<Result<Corrected, NoCorrection>> {
        self.committed.filter(|_| !self.says_live())?.corrected
    }

    /// How far away the open end or the short of the pair is that the leads are on, or why that
    /// cannot be said; none without a pair, before a reading was committed, and while the terminals
    /// are live.
    #[must_use]
    pub fn distance(&self) -> Option<Result<Located, NoDistance>> {
        let pair = self.surroundings.pair?;
        if self.committed.is_none() || self.says_live() {
            return None;
        }
        match self.function.task() {
            Task::Insulation | Task::Timed => Some(self.to_open(pair)),
            Task::Continuity => {
                Some(pair.to_short(self.around_loop(), self.surroundings.warmth.temperature))
            }
            Task::Watch => None,
        }
    }

    fn to_open(&self, pair: &PairKind<'_>) -> Result<Located, NoDistance> {
        if self.is_ours_alone() && self.let_down().leaks_away(&self.profile.front_end, self.rate) {
            return Err(NoDistance::Leaks);
        }
        let insulation = match (self.pending.unit, self.pending.value) {
            (Unit::Ohm, Value::Number(r) | Value::Above(r)) => Some(whole_ohms(r)),
            // How far below is not known: it may leak as much as any.
            (Unit::Ohm, Value::Below(_)) => Some(Resistance::ZERO),
            _ => None,
        };
        pair.to_open(self.without_leads(), Reading::NONE, insulation)
    }

    /// The loop without the leads; a measurement of resistance leaves them in.
    fn around_loop(&self) -> Reading {
        let leads = self.kept.null.filter(|_| self.function == Function::Resistance);
        match (leads, self.pending.value) {
            (Some(leads), Value::Number(r)) => {
                Reading { value: Value::Number(r - float_ohms(leads)), ..self.pending }
            }
            _ => self.pending,
        }
    }
}

/// Whole ohms, held at nothing.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held at the bounds")]
fn whole_ohms(ohms: f32) -> Resistance {
    Resistance::from_ohms(ohms as u64)
}
