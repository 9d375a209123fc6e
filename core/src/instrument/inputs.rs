//! Numbers become the interlock's booleans here, and nowhere else.

use super::observe::near;
use super::{Ended, Instrument, Observed, Said, Timing};
use crate::detect::prove::Outcome;
use crate::detect::{Circuit, coarse_current};
use crate::frame::{Frame, Function, Task};
use crate::gate::Cause;
use crate::interlock::{Asked, Input, Press, Proof, State, Store, Then, Trip};
use crate::unit::{Charge, Current, Voltage};
use crate::wide::scaled;

/// Blocks of the self-test after which it counts as failed.
const BOOT_DUE: u32 = 800;
/// Blocks of a proof after which it counts as failed.
const PROVE_DUE: u32 = 2_000;
/// Blocks at voltage before a ramp counts as done.
pub(super) const RAMP_DONE: u16 = 50;
/// Blocks of a drive between two looks with the source off.
const PEEK_EVERY: u16 = 2_000;
/// Blocks of a look: off, 5 ms of discharge, off.
const PEEK_DONE: u32 = 9;
/// Four standard deviations of a block mean at 0.75 V rms of noise, in microvolts.
const PEEK_DOUBT: i64 = 1_000_000;
/// The longest gap in a drive.
const PEEK_DUE: u32 = 10;
/// Blocks of the unwinding of a current after which it counts as failed.
const UNWIND_DUE: u32 = 2_000;
/// Blocks without current and voltage before it counts as unwound.
const UNWOUND: u16 = 20;
/// Blocks of watching after a discharge.
const SETTLE_DUE: u32 = 1_000;
/// Blocks that a null may take.
const NULL_DUE: u32 = 5_000;
/// Blocks of quiet before an inhibit ends.
const CAUSE_GONE: u16 = 1_000;
/// Blocks of low supply before it counts.
const SUPPLY_LOW: u16 = 10;
/// What the charge balance allows for beside what it knows.
const SPARE: Charge = Charge::from_microcoulombs(20);
/// Blocks of good supply before it counts again.
const SUPPLY_GOOD: u16 = 1_000;

impl Instrument {
    pub(super) fn input(
        &mut self,
        frame: &Frame<'_>,
        said: &Said,
        seen: Observed,
        ended: Ended,
    ) -> Input {
        self.count(frame, said);
        let task = frame.panel.function.task();
        Input {
            press: self.permitted_press(frame.panel.function, said.press),
            asked: said.asked,
            task: if self.state.drive().is_some() { self.function.task() } else { task },
            null: self.nulling,
            live: self.is_live(),
            proof: ended
                .map_or(Proof::Pending, |outcome| self.proof(outcome, frame.panel.function)),
            trip: self.trip(seen),
            fault: self.fault,
            supply_low: self.timing.supply_low >= SUPPLY_LOW,
            store: self.store_input(),
            due: self.due(),
            ready: self.ready(said, ended),
            stiff: self.stiff(),
            charged: self.charged(ended),
        }
    }

    fn permitted_press(&self, function: Function, press: Press) -> Press {
        if press != Press::None && self.allowed(function) { press } else { Press::None }
    }

    /// Counts on what the present state waits for; entering a state starts these counts anew.
    fn count(&mut self, frame: &Frame<'_>, said: &Said) {
        match self.state {
            State::Ramp { .. } | State::Drive { .. } | State::TimedDrive { .. } => {
                let set = self.set_voltage();
                let reached = !self.block.v.is_below(set.div(100).saturating_mul(95));
                self.timing.at_voltage = Timing::count(self.timing.at_voltage, reached);
            }
            State::Inhibited { .. } => {
                let quiet = !self.live.is_live() && !self.prover.is_running() && !self.asks_tell
                    || self.stands_as_proved();
                self.timing.quiet = Timing::count(self.timing.quiet, quiet && said.up);
            }
            State::Unwind => self.count_unwound(frame),
            State::Locked { .. } if self.unwinds => {
                self.count_unwound(frame);
                self.unwinds = self.timing.unwound < UNWOUND && !self.live.forbids();
            }
            _ => {}
        }
    }

    fn count_unwound(&mut self, frame: &Frame<'_>) {
        let i = coarse_current(frame.samples, &self.profile.front_end);
        let gone = i.abs().is_below(Current::from_milliamps(1))
            && self.block.v.abs().is_below(Voltage::from_volts(5))
            && !frame.seen.gate.on;
        self.timing.unwound = Timing::count(self.timing.unwound, gone);
    }

    fn is_live(&self) -> bool {
        let low = matches!(self.state, State::ContRun | State::Nulling | State::Unwind);
        if low && self.gap.is_driven() {
            return true;
        }
        self.is_quiet_state() && self.live.forbids() && !self.stands_as_proved()
    }

    /// Which proof permits this function.
    fn proof(&self, outcome: Outcome, function: Function) -> Proof {
        let class = match outcome {
            Outcome::Channels | Outcome::Broken(_) => return Proof::Channels,
            Outcome::Class(class) => class,
        };
        let high = matches!(function.task(), Task::Insulation | Task::Timed);
        let set = Self::first_set(function);
        let e = &self.evidence;
        match (class, self.proved.is_some()) {
            (Circuit::Dead, _) => Proof::Permitted,
            (Circuit::Standing, true) if high && e.dc < Voltage::ZERO => Proof::Reversed,
            (Circuit::Standing, true) if high && e.dc < set => Proof::Permitted,
            // Three times the peak: below that the trip, widened by it, could not see enough.
            (Circuit::Induced, true) if high && !set.is_below(e.peak.saturating_mul(3)) => {
                Proof::Permitted
            }
            (class, _) => Proof::Refused(class),
        }
    }

    fn trip(&mut self, seen: Observed) -> Trip {
        let Some(closing) = seen.closing else { return Trip::None };
        let above = matches!(closing.cause, Cause::OutOfBounds | Cause::AboveSetPoint);
        // Current leaving us while the voltage stands above what we asked for: our own source. What
        // arrives from outside pushes current into us.
        let ours = above && Voltage::ZERO < closing.v && Current::from_microamps(50) < closing.i;
        if ours {
            return Trip::Own;
        }
        if closing.cause == Cause::LoopLate || closing.cause == Cause::SamplesMissing {
            return Trip::Load;
        }
        // The same voltage again and again is the circuit breaking down, not somebody touching it.
        let v = closing.v.abs();
        let again = self.tripped_at.is_some_and(|before| {
            before.saturating_sub(v).abs() < before.div(8).saturating_add(Voltage::from_volts(10))
        });
        self.tripped_at = Some(v);
        self.breakdown = again;
        if again { Trip::Breakdown } else { Trip::Load }
    }

    fn store_input(&self) -> Store {
        if self.store.is_too_much() {
            Store::TooMuch
        } else if self.store.is_flat(self.block.v) {
            Store::Flat
        } else {
            Store::Fits
        }
    }

    fn due(&self) -> bool {
        let t = &self.timing;
        match self.state {
            State::Boot => t.in_state > BOOT_DUE,
            State::Prove { .. } => t.in_state > PROVE_DUE,
            State::Ramp { .. } => t.in_state > t.ramp_due,
            State::Drive { .. } => t.in_drive > self.profile.press_max.as_millis(),
            State::Peek { .. } => t.in_state > PEEK_DUE,
            State::TimedDrive { .. } => self.timed.is_over(&self.profile.times),
            State::ContRun => t.in_state > self.profile.press_max.as_millis(),
            State::Nulling => false,
            State::Unwind => t.in_state > UNWIND_DUE,
            State::Discharging { .. } => self.progress.late && !self.progress.done,
            State::Settle { .. } => t.in_state >= SETTLE_DUE,
            State::Rest | State::RestLow | State::Inhibited { .. } | State::Locked { .. } => false,
        }
    }

    /// `C_max V / I + 1 s`: later, it is too large a store or a source at its limit.
    pub(super) fn ramp_due(&self) -> u32 {
        let front = &self.profile.front_end;
        // pF * V / uA = us.
        let us = scaled(
            i64::from(self.profile.c_max.as_picofarads()),
            i64::from(self.function.test_voltage().as_volts()),
            front.i_max.as_microamps(),
        )
        .unwrap_or(0);
        u32::try_from(us / 1_000).unwrap_or(u32::MAX).saturating_add(1_000)
    }

    fn ready(&self, said: &Said, ended: Ended) -> bool {
        let t = &self.timing;
        match self.state {
            State::Boot => matches!(ended, Some(Outcome::Class(_))),
            State::Rest | State::Settle { .. } | State::Locked { .. } | State::Prove { .. } => {
                false
            }
            State::RestLow => t.supply_good >= SUPPLY_GOOD,
            State::Ramp { .. } => t.at_voltage >= RAMP_DONE,
            State::Drive { .. } => t.since_peek >= PEEK_EVERY && !self.is_standing(),
            State::Peek { .. } => t.in_state >= PEEK_DONE,
            State::TimedDrive { .. } => self.timed.looks() && !self.is_standing(),
            State::ContRun => false,
            State::Nulling => {
                self.continuity.settled_null().is_some_and(|r| r <= self.profile.null_max)
            }
            State::Unwind => t.unwound >= UNWOUND,
            State::Discharging { .. } => self.progress.done && !self.awaits(said),
            State::Inhibited { .. } => t.quiet >= CAUSE_GONE && said.up,
        }
    }

    /// Whether the discharge goes on although the voltage is gone, to tell what comes back. Only the
    /// one that ended the test, and only while nothing else is asked for.
    const fn awaits(&self, said: &Said) -> bool {
        let ended_it = matches!(self.state, State::Discharging { absorb: 0, then: Then::Settle });
        ended_it && self.reabsorbs && matches!(said.asked, Asked::Yes)
    }

    pub(super) fn is_standing(&self) -> bool {
        self.proved.is_some_and(|p| p.class == Circuit::Standing)
    }

    fn stiff(&self) -> bool {
        match self.state {
            State::Peek { .. } => self.timing.in_state == PEEK_DONE && !self.sagged(),
            State::TimedDrive { .. } => self.timed.is_lost(self.timing.ramp_due),
            State::Discharging { .. } => {
                self.progress.stiff || self.energy.is_spent(self.profile) || self.is_overdrawn()
            }
            State::Settle { .. } => self.settles_wrongly(),
            State::Nulling => {
                self.timing.in_state > NULL_DUE
                    || self.continuity.settled_null().is_some_and(|r| self.profile.null_max < r)
            }
            _ => false,
        }
    }

    /// Whether the voltage fell, during the look, by at least half of what our own store would.
    ///
    /// The expected fall is taken as `x / (1 + x)` of the voltage, with `x` the time over
    /// `R_d C`: a lower bound of `1 - exp(-x)`.
    fn sagged(&self) -> bool {
        let front = &self.profile.front_end;
        let store =
            self.store.capacitance().map_or(front.output, |c| c.saturating_add(front.output));
        let from = i64::from(self.peek_from.abs().as_microvolts());
        let over = front.discharge_micros(store).saturating_add(5_000);
        let expected = scaled(from, 5_000, over).unwrap_or(0);
        let seen = self.peek_from.abs().saturating_sub(self.block.v.abs());
        // Below the safe level nothing hazardous stands there. Where half of what is expected is within
        // the noise of two block means, nothing can be told, and the release has to find it.
        let least = (expected / 2).saturating_sub(PEEK_DOUBT);
        self.peek_from.abs().is_below(self.profile.safe) || i64::from(seen.as_microvolts()) >= least
    }

    /// The charge balance: a passive circuit returns at most what we put in. A quarter more, what
    /// the output capacitor holds and 20 uC are allowed for. A line with a feed of its own is left
    /// out; what was charged before we came has no balance.
    fn is_overdrawn(&self) -> bool {
        if !self.balances || self.is_standing() {
            return false;
        }
        let front = &self.profile.front_end;
        let put_in = self.store.charge().as_picocoulombs().max(0);
        // pF * mV = 1e-3 pC.
        let at = i64::from(self.peek_from.abs().as_millivolts());
        let output = scaled(i64::from(front.output.as_picofarads()), at, 1_000).unwrap_or(0);
        let most = put_in
            .saturating_add(put_in / 4)
            .saturating_add(output)
            .saturating_add(SPARE.as_picocoulombs());
        most < self.charge_back()
    }

    /// In `Settle`: back too fast for absorption, or, on a line, not back where it was.
    fn settles_wrongly(&self) -> bool {
        match self.proved {
            Some(p) if p.class == Circuit::Standing => {
                self.timing.in_state >= SETTLE_DUE && !near(self.block.v, p.dc)
            }
            // 50 V/s is 20 times what 15 % of 500 V over some seconds is.
            _ => {
                let slope = i32::try_from(self.timing.in_state / 20).unwrap_or(i32::MAX);
                let most = self
                    .profile
                    .safe
                    .saturating_add(Voltage::from_volts(slope))
                    .saturating_add(Voltage::from_volts(5));
                most < self.block.v.abs()
            }
        }
    }

    fn charged(&self, ended: Ended) -> bool {
        match self.state {
            State::Boot => ended == Some(Outcome::Class(Circuit::Charged)),
            State::Settle { .. } if self.is_standing() => false,
            State::Settle { .. } | State::Unwind => self.target() < self.block.v.abs(),
            // After a drive only: what stands there otherwise is not ours to let down unasked.
            State::Rest | State::RestLow => {
                // Over the whole window: what just arrived still shows as alternating there.
                self.recovers
                    && !self.stands_as_proved()
                    && self.target() < self.live.level().dc.abs()
                    && self.live.level().ac < self.profile.quiet.ac
            }
            _ => false,
        }
    }
}
