//! What a change of state does, and what is measured in a state.

use super::Instrument;
use super::observe::moved;
use crate::detect::prove::Purpose;
use crate::detect::store::StoreMeter;
use crate::detect::{Circuit, Gap, PathProof, ZeroMeter, coarse_current};
use crate::frame::{Frame, Function, Task};
use crate::interlock::{Lock, Reason, State};
use crate::judge::{Flags, Limit, Reading, Unit, Value};
use crate::measure::{AtRest, Continuity, Decay};
use crate::signal::Sums;
use crate::unit::{Capacitance, Current, Resistance, Voltage};
use crate::wide::scaled;

/// A load larger than this leaves enough charge to be looked for at the end of a drive.
const WORTH_COUNTING: Capacitance = Capacitance::from_nanofarads(2);
/// A leak of at least so much takes less than a twentieth of what the discharge resistor takes.
const SMALL_LEAK: f32 = 2.0e6;
/// And takes less than a twentieth away in the 2 ms before the resistor is joined, where it needs at
/// least so long for two thirds: 50 ms, in ohms times picofarads.
const SLOW_LEAK: f32 = 50.0e9;

/// Codes of the measuring shunt at and beyond its span.
const SHUNT_END: i16 = 32_000;
/// Blocks after a look in which the voltage may come back where it was.
const BACK_WITHIN: u32 = 1_000;

impl Instrument {
    /// Leaves one state and enters another.
    pub(super) fn change(&mut self, to: State, frame: &Frame<'_>) {
        let from = self.state;
        self.leave(from, to);
        self.state = to;
        self.timing.enter();
        self.enter(from, frame);
    }

    fn leave(&mut self, from: State, to: State) {
        if matches!(from, State::Prove { .. } | State::Boot) {
            self.prover.stop();
        }
        if matches!(from, State::Inhibited { .. }) && !matches!(to, State::Inhibited { .. }) {
            self.asks_tell = false;
            self.prover.stop();
        }
        // A drive that ends without its own settling leaves its reading flagged.
        if from.drive().is_some() && matches!(to, State::Prove { .. } | State::Inhibited { .. }) {
            let flag = if self.breakdown { Flags::BREAKDOWN } else { Flags::ABORTED };
            self.pending = self.pending.flagged(flag);
        }
    }

    fn enter(&mut self, from: State, frame: &Frame<'_>) {
        // What was seen through a relay or beside our own source says nothing from now on.
        let clean = matches!(
            from,
            State::Boot
                | State::Rest
                | State::RestLow
                | State::Inhibited { .. }
                | State::Settle { .. }
        );
        if self.is_quiet_state() && !clean {
            self.live.restart();
        }
        match self.state {
            State::Boot => {}
            State::Rest => self.enter_rest(from),
            State::RestLow => self.end_press(),
            State::Prove { restarts } => self.enter_prove(restarts, frame),
            State::Ramp { .. } => self.enter_ramp(),
            State::TimedDrive { .. } => {
                self.enter_ramp();
                if let Function::Timed(_, test) = self.function {
                    self.timed.begin(test);
                }
            }
            State::Drive { .. } => self.enter_drive(from, frame),
            State::Peek { .. } => {
                self.peek_from = self.block.v;
                self.insulation.interrupt();
            }
            State::ContRun | State::Nulling => self.enter_continuity(),
            State::Unwind => self.commit_continuity(),
            State::Discharging { .. } => self.enter_discharging(from),
            State::Settle { .. } => self.end_discharge(),
            State::Inhibited { .. } => self.enter_inhibited(from),
            State::Locked { why } => self.enter_locked(why),
        }
    }

    fn end_press(&mut self) {
        self.nulling = false;
        self.tripped_at = None;
        self.breakdown = false;
    }

    #[inline(never)]
    fn enter_rest(&mut self, from: State) {
        if matches!(from, State::Settle { .. }) {
            self.recovers = true;
            self.kept.unfinished = false;
            self.commit();
        }
        if matches!(from, State::Unwind) && !self.nulling {
            self.commit();
        }
        self.end_press();
        if matches!(from, State::Boot) {
            self.kept.unfinished = false;
            self.kept.lock = None;
        }
    }

    /// The reading counts from here: the circuit behaved as a passive one to the end.
    fn commit(&mut self) {
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
        self.judged = self.limit.map(|criterion| criterion.judge(self.pending));
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
    fn standing_flags(&self) -> Flags {
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

    fn enter_prove(&mut self, restarts: u8, frame: &Frame<'_>) {
        self.prover.start(Purpose::Drive, self.profile);
        self.zero_meter = ZeroMeter::NEW;
        // The coarse range of a ramp takes some milliseconds to settle, and all charge is counted.
        self.insulation.reset(self.rate);
        if restarts > 0 {
            return;
        }
        // Entry of a proof clears the last verdict and whatever it was of.
        if frame.panel.function != self.function {
            self.path = PathProof::NONE;
        }
        self.function = frame.panel.function;
        self.nulling = frame.panel.null;
        self.judged = None;
        self.refused = None;
        self.pending = Reading::NONE;
        self.stored = Reading::NONE;
        self.proved = None;
        self.keys.begin(self.function.task() == Task::Timed);
        self.timing.in_drive = 0;
    }

    fn enter_ramp(&mut self) {
        self.store = StoreMeter::EMPTY;
        self.insulation.reset(self.rate);
        // A lead may have come off since the last drive; each one brings its own evidence.
        self.path = PathProof::NONE;
        self.limited = false;
        self.timing.in_drive = 0;
        self.timing.since_peek = 0;
        self.timing.ramp_due = self.ramp_due();
        self.peek_from = Voltage::ZERO;
        self.kept.unfinished = true;
    }

    fn enter_drive(&mut self, from: State, frame: &Frame<'_>) {
        self.timing.since_peek = 0;
        if matches!(from, State::Peek { .. }) {
            self.prove_path_by_charge();
        } else {
            self.limited = self.block.v < self.function.test_voltage().div(100).saturating_mul(95);
            self.arrive(frame);
        }
    }

    /// The voltage stands: what went in so far is the store, and evidence for the path.
    fn arrive(&mut self, frame: &Frame<'_>) {
        // Not by the gate's coarse channel: what one code of it leaks in a ramp is 100 pF.
        let (_, i) = self.shunt_current(frame);
        self.store.plateau(self.block.v, i.saturating_sub(self.zero.offset));
        self.prove_path_by_charge();
    }

    const fn prove_path_by_charge(&mut self) {
        if let Some(c) = self.store.capacitance() {
            self.path.charged(c);
        }
    }

    fn enter_continuity(&mut self) {
        let promised = match self.function {
            Function::Continuity(current) => Some(current),
            _ => None,
        };
        self.continuity = Continuity::new(self.rate, promised);
        self.gap = Gap::NEW;
    }

    fn commit_continuity(&mut self) {
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

    fn enter_discharging(&mut self, from: State) {
        self.charge_out = 0;
        self.progress = crate::detect::discharge::Progress::NONE;
        let known = from.drive().is_some() || matches!(from, State::Peek { .. });
        let store = self
            .store
            .capacitance()
            .filter(|_| known)
            .map(|c| c.saturating_add(self.profile.front_end.output));
        self.discharge.start(self.block.v, self.target(), store, self.profile);
        if known {
            self.peek_from = self.block.v;
        }
        self.balances = known;
        self.decay = Decay::NEW;
        let cut_short = matches!(from, State::TimedDrive { .. }) && self.reason != Reason::TimeUp;
        if cut_short || matches!(self.reason, Reason::TooCapacitive | Reason::Low) {
            self.pending = self.pending.flagged(Flags::ABORTED);
        }
    }

    /// What came back through the discharge resistor and the dividers, in pC.
    pub(super) fn charge_back(&self) -> i64 {
        let front = &self.profile.front_end;
        // mV ms / kohm = nC: 1000 pC.
        let through = |kilohms: u64| {
            let kilohms = i64::try_from(kilohms).unwrap_or(0);
            scaled(self.charge_out, 1_000, kilohms).unwrap_or(0)
        };
        through(front.discharge.as_kilohms()).saturating_add(through(front.input.as_kilohms()))
    }

    fn end_discharge(&mut self) {
        if self.balances {
            self.stored = self.stored();
        }
        self.check_charge();
    }

    /// Less than 60 % of what was put in comes back: the load is not the one that was charged, so
    /// its path evidence is lost.
    ///
    /// Where there is no reading the leak is not known, and nothing depends on the path but a claim
    /// that the circuit is dead: then the charge alone decides.
    #[expect(clippy::cast_precision_loss, reason = "a capacitance, compared")]
    fn check_charge(&mut self) {
        let Some(c) = self.store.capacitance().filter(|c| WORTH_COUNTING < *c) else { return };
        let holds = match self.pending.value {
            Value::Number(r) => SMALL_LEAK < r && SLOW_LEAK < r * c.as_picofarads() as f32,
            Value::Above(_) | Value::None => true,
            Value::Below(_) => false,
        };
        if !holds {
            return;
        }
        let out = self.charge_back();
        // pF * mV = 1e-3 pC.
        let whole = c.saturating_add(self.profile.front_end.output).as_picofarads();
        let at = i64::from(self.peek_from.as_millivolts());
        let put_in = scaled(i64::from(whole), at, 1_000).unwrap_or(0);
        if out < (put_in / 10).saturating_mul(6) {
            self.path = PathProof::NONE;
        }
    }

    /// What inhibits is told once: every look under load costs the discharge resistor energy.
    fn enter_inhibited(&mut self, from: State) {
        if matches!(from, State::Settle { .. }) {
            self.pending = self.pending.flagged(self.standing_flags());
        }
        self.end_press();
        self.recovers = false;
        self.path = PathProof::NONE;
        if !matches!(from, State::Prove { .. } | State::Inhibited { .. }) {
            self.asks_tell = true;
            self.told = None;
        }
    }

    fn enter_locked(&mut self, why: Lock) {
        self.end_press();
        self.unwinds = matches!(why, Lock::StoredInductive);
        self.raise(why);
    }

    /// Feeds the measurement that belongs to the state.
    pub(super) fn measure(&mut self, frame: &Frame<'_>) {
        if self.state.drive().is_some() && self.currents.is_due() {
            self.compare_currents(frame);
        }
        match self.state {
            State::Ramp { .. } => {
                let (_, i) = self.shunt_current(frame);
                self.ramp_block(i);
            }
            State::Drive { .. } | State::TimedDrive { .. } => self.drive_block(frame),
            State::ContRun | State::Nulling => self.continuity_block(frame),
            _ => {}
        }
    }

    #[inline(never)]
    fn compare_currents(&mut self, frame: &Frame<'_>) {
        let (codes, shunt) = self.shunt_current(frame);
        let (least, greatest) = codes.extremes();
        // At its end the shunt says only that there is more: the range follows, and it is flagged.
        if SHUNT_END <= greatest || least <= SHUNT_END.wrapping_neg() {
            return;
        }
        let coarse = coarse_current(frame.samples, &self.profile.front_end);
        if self.currents.compare(shunt, coarse, &self.profile.front_end) {
            self.raise(Lock::Channels);
        }
    }

    /// The codes of the measuring shunt, summed up, and the current that they stand for.
    fn shunt_current(&self, frame: &Frame<'_>) -> (Sums, Current) {
        let codes = Sums::of_block(frame.samples.iter().map(|s| s.i));
        let i = self.block.current(&codes);
        (codes, i)
    }

    fn ramp_block(&mut self, shown: Current) {
        let i = shown.saturating_sub(self.zero.offset);
        let start = self.v_start();
        let set = self.function.test_voltage();
        self.store.step((self.block.v, i), set, start, self.profile);
    }

    fn drive_block(&mut self, frame: &Frame<'_>) {
        let (codes, i) = self.shunt_current(frame);
        let set = self.set_voltage();
        if matches!(self.state, State::TimedDrive { .. }) {
            self.ramp_block(i);
            let _ = self.timed.step(self.block.v, set);
            if self.timing.at_voltage == super::inputs::RAMP_DONE {
                self.arrive(frame);
            }
        } else {
            self.store.hold(i.saturating_sub(self.zero.offset));
        }
        let standing =
            self.proved.filter(|p| p.class == Circuit::Standing).map_or(Voltage::ZERO, |p| p.dc);
        let leads = self.lead_leakage();
        let rest = AtRest { standing, zero: self.zero, leads };
        let store = self.store.capacitance();
        // After a look with the source off the voltage climbs again: that is no reading.
        if self.timing.at_voltage < super::inputs::RAMP_DONE && !self.limited || self.climbs_back()
        {
            self.insulation.interrupt();
            return;
        }
        let adjusted = self.calibration.on(self.today, &self.profile.front_end);
        if self.insulation.step((&self.block, &codes), set, &rest, store, &adjusted) {
            self.pending = self.insulation.reading();
            let (v, i) = self.insulation.point();
            self.store.settle(v, i);
            self.path.conducted(i.saturating_sub(leads));
            self.take_point(v);
        }
    }

    /// Keeps the reading where a point of a timed test is due.
    fn take_point(&mut self, v: Voltage) {
        if matches!(self.state, State::TimedDrive { .. }) {
            let times = &self.profile.times;
            self.timed.take(&self.pending, v, self.insulation.shunt(), times);
            if self.timed.holds_range(times) {
                self.insulation.hold_range();
            }
        }
    }

    /// Whether the voltage is not yet back where it was before the last look.
    fn climbs_back(&self) -> bool {
        let doubt = self.peek_from.div(200).greatest(Voltage::from_volts(1));
        self.timing.in_state < BACK_WITHIN
            && self.block.v.is_below(self.peek_from.saturating_sub(doubt))
    }

    fn continuity_block(&mut self, frame: &Frame<'_>) {
        if self.gap.is_open() {
            let shunt = self.continuity.shunt();
            if let Some(flows) = self.gap.step(frame.samples, shunt, self.profile) {
                self.continuity.turn_round(flows);
            }
            return;
        }
        let null =
            self.kept.null.filter(|_| !self.nulling && self.function != Function::Resistance);
        let adjusted = self.calibration.on(self.today, &self.profile.front_end);
        let ended = self.continuity.step(frame.samples, null, self.profile, &adjusted);
        if ended.turn {
            self.gap.begin();
        }
        if ended.reading {
            self.pending = self.continuity.reading();
            if matches!(self.pending.value, Value::Number(r) if r < 100.0) {
                self.path.looped();
            }
        }
    }

    /// Where a ramp starts: at the standing voltage that was proved, else at nothing.
    pub(super) fn v_start(&self) -> Voltage {
        match self.state {
            State::Drive { .. } | State::TimedDrive { .. } => self.block.v.greatest(Voltage::ZERO),
            _ => self
                .proved
                .filter(|p| p.class == Circuit::Standing)
                .map_or(Voltage::ZERO, |p| p.dc.greatest(Voltage::ZERO)),
        }
    }
}

/// Whether the source of a standing voltage lies across the insulation without hiding it: ten times
/// the limit, so that it takes at most a tenth from a circuit at the limit.
#[expect(clippy::cast_precision_loss, reason = "a resistance of two digits, compared")]
fn outweighs(source: Resistance, limit: f32) -> bool {
    source.as_milliohms() as f32 / 1.0e3 > 10.0 * limit
}
