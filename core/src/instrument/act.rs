//! What a change of state does.

use super::Instrument;
use crate::detect::prove::Purpose;
use crate::detect::store::StoreMeter;
use crate::detect::{Circuit, Gap, PathProof, ZeroMeter};
use crate::frame::{Frame, Function, Task};
use crate::interlock::{Lock, Reason, State};
use crate::judge::{Flags, Reading, Value};
use crate::measure::{Continuity, Decay};
use crate::unit::{Capacitance, Voltage};
use crate::wide::scaled;

/// A load larger than this leaves enough charge to be looked for at the end of a drive.
const WORTH_COUNTING: Capacitance = Capacitance::from_nanofarads(2);
/// A leak of at least so much takes less than a twentieth of what the discharge resistor takes.
const SMALL_LEAK: f32 = 2.0e6;
/// And takes less than a twentieth away in the 2 ms before the resistor is joined, where it needs at
/// least so long for two thirds: 50 ms, in ohms times picofarads.
const SLOW_LEAK: f32 = 50.0e9;

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
            State::TimedDrive { .. } => self.enter_timed(from),
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
            if matches!(self.function.task(), Task::Insulation | Task::Timed) {
                self.commit();
            }
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
        self.committed = None;
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

    /// A look with the source off belongs to the run: the clock goes on.
    fn enter_timed(&mut self, from: State) {
        if matches!(from, State::Peek { .. }) {
            return;
        }
        self.enter_ramp();
        if let Function::Timed(_, test) = self.function {
            self.timed.begin(test);
        }
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
    pub(super) fn arrive(&mut self, frame: &Frame<'_>) {
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
        if matches!(from, State::Peek { .. }) && matches!(self.function, Function::Timed(..)) {
            self.timed.distrust();
        }
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
