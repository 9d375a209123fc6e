//! What one block shows: channels, terminals, gate, supply.

use super::{Ended, Instrument, Observed, Proved, Timing};
use crate::detect::live::alternating_peak;
use crate::detect::prove::{Outcome, Purpose};
use crate::detect::{Block, Circuit, coarse_current};
use crate::frame::{Frame, Function};
use crate::gate::{Cause, Closing};
use crate::interlock::{Lock, State};
use crate::unit::Voltage;

/// Blocks that the source may still deliver after it was switched off.
const STUCK: u16 = 5;
/// Blocks of the test of a source that was found stuck before the power cut.
const RETEST: u32 = 60;
/// Blocks without current although the set point stands above the terminals: the source is dead.
const DEAD: u16 = 200;
/// The set point stands above the terminals by so much; less than its bounded lead.
const BEHIND: Voltage = Voltage::from_volts(20);
/// A main loop that comes round later than this, in microseconds, has missed what the terminals did
/// meanwhile: the gate's own dead man is 4 ms.
const LATE_US: u32 = 5_000;
/// In a look with the source off no block may be missed: it would make the gap of up to 10 ms, which
/// still is the same drive, longer than that.
const LATE_IN_LOOK_US: u32 = 1_500;
/// Blocks that a line may take to return to its standing voltage after a discharge.
const RETURNS: u32 = 150;

impl Instrument {
    pub(super) fn observe(&mut self, frame: &Frame<'_>) -> Observed {
        self.timing.step();
        self.path.step();
        let front = &self.profile.front_end;
        // Beside our own voltage nobody asks for pulses.
        let pulse = if self.is_quiet_state() { self.pulse } else { i16::MAX };
        self.block = Block::of(frame.samples, front, self.shunt(), pulse, &mut self.last);
        let biased = self.prover.is_biased();
        self.health.step(frame, &self.block, biased, self.profile);
        self.watch_terminals(frame);
        self.watch_supply(frame.supply_mv);
        self.watch_discharge(frame);
        let looks = matches!(self.state, State::Peek { .. });
        let most = if looks { LATE_IN_LOOK_US } else { LATE_US };
        let late = self.timing.since_frame(frame.elapsed_us) > most;
        let closing = self.watch_gate(frame, late);
        self.watch_stuck(frame);
        Observed { closing }
    }

    /// Whether nothing of our own is on the terminals, so that what is there is from outside.
    pub(super) const fn is_quiet_state(&self) -> bool {
        match self.state {
            State::Boot
            | State::Rest
            | State::RestLow
            | State::Prove { .. }
            | State::ContRun
            | State::Nulling
            | State::Unwind
            | State::Settle { .. }
            | State::Inhibited { .. }
            | State::Locked { .. } => true,
            State::Ramp { .. }
            | State::Drive { .. }
            | State::Peek { .. }
            | State::TimedDrive { .. }
            | State::Discharging { .. } => false,
        }
    }

    fn watch_terminals(&mut self, frame: &Frame<'_>) {
        let [sums, _] = &self.block.sums;
        if let Some(hz) = self.meter.add_sums(sums, frame.samples.iter().map(|s| s.v)) {
            self.evidence.hz = hz;
        }
        // What the proof does to the terminals is not their own voltage, nor is a line on its way
        // back to where it stood.
        let returns = matches!(self.state, State::Settle { .. })
            && self.is_standing()
            && self.timing.in_state < RETURNS;
        if self.prover.disturbs() || returns {
            self.live.restart();
        } else if self.is_quiet_state() {
            let ours = self.kept.unfinished;
            self.live.step(&self.block, ours, self.profile);
        } else {
            self.live.wait();
        }
    }

    /// Whether the warning of voltage from outside is given: it stays for its time also while a
    /// charge is let down.
    pub(super) const fn says_live(&self) -> bool {
        let open = self.is_quiet_state() || matches!(self.state, State::Discharging { .. });
        open && self.live.is_live()
    }

    fn watch_supply(&mut self, millivolts: u16) {
        let least = self.profile.supply_min_mv;
        let t = &mut self.timing;
        t.supply_low = Timing::count(t.supply_low, millivolts < least);
        t.supply_good = Timing::count(t.supply_good, millivolts >= least.saturating_add(200));
    }

    fn watch_discharge(&mut self, frame: &Frame<'_>) {
        let on = self.discharge_on();
        self.energy.step(&self.block, on, self.profile);
        if matches!(self.state, State::Discharging { .. }) {
            // Charge through the discharge resistor and the dividers, in mV ms, by the integral:
            // exact for any shape. It starts with the gate closing, before the resistor is joined.
            // Once it is done, what is left is noise, and the sum of its magnitudes means nothing.
            if !self.progress.done {
                self.charge_out =
                    self.charge_out.saturating_add(i64::from(self.block.v.abs().as_millivolts()));
            }
            let timed = matches!(self.function, Function::Timed(..));
            self.reabsorbs = timed
                && self.timed.step_discharge(
                    frame.samples,
                    self.timing.in_state,
                    &self.profile.times,
                );
            self.watch_decay(frame, on);
            if on {
                self.progress = self.discharge.step(&self.block, self.profile);
            }
        }
    }

    /// Learns from the gate whether it closed by itself. Where nobody ran it, because the interrupt
    /// stood still with the main loop, it could not; then the drive ends here.
    fn watch_gate(&mut self, frame: &Frame<'_>, late: bool) -> Option<Closing> {
        let gate = frame.seen.gate;
        let moved = gate.epoch != self.epoch;
        self.epoch = gate.epoch;
        let closing = gate.closed.filter(|c| moved && c.cause != Cause::Disarmed);
        let unseen = || Closing {
            cause: Cause::LoopLate,
            v: self.block.v,
            i: coarse_current(frame.samples, &self.profile.front_end),
        };
        let drives = self.expects_drive || matches!(self.state, State::Peek { .. });
        closing.or_else(|| late.then(unseen)).filter(|_| drives)
    }

    /// A source that delivers although it is off is broken, whatever else goes on.
    fn watch_stuck(&mut self, frame: &Frame<'_>) {
        let stuck = frame.seen.drive_sense == Some(true) && !frame.seen.gate.on;
        self.stuck = Timing::count(self.stuck, stuck);
        // With the output relay open a stuck source only charges its own capacitor: one block.
        let most = if self.retests_source() { 1 } else { STUCK };
        if self.stuck >= most || self.progress.plateau {
            self.raise(Lock::DriveStuck);
        }
        self.watch_dead_source(frame);
        if self.progress.path_dead {
            self.raise(Lock::Discharge);
        }
        if let Some(fault) = self.health.fault() {
            self.raise(fault);
        }
    }

    /// Whether the source's supply is on while booting, to see whether a stuck source still is.
    pub(super) const fn retests_source(&self) -> bool {
        self.retest && matches!(self.state, State::Boot) && self.timing.in_state < RETEST
    }

    /// A ramp in which the set point runs away from the terminals while no current flows.
    fn watch_dead_source(&mut self, frame: &Frame<'_>) {
        let set_point = frame.seen.gate.set_point;
        let behind = self.block.v.saturating_add(BEHIND).is_below(set_point);
        let dead = matches!(self.state, State::Ramp { .. } | State::TimedDrive { .. })
            && frame.seen.drive_sense == Some(false)
            && frame.seen.gate.on
            && behind;
        self.dead_for = Timing::count(self.dead_for, dead);
        if self.dead_for >= DEAD {
            self.raise(Lock::SourceDead);
        }
    }

    pub(super) const fn raise(&mut self, fault: Lock) {
        if self.fault.is_none() {
            self.fault = Some(fault);
        }
        if fault.is_remembered() {
            self.kept.lock = Some(fault);
        }
    }

    /// Lets the proof run and takes its outcome.
    pub(super) fn prove(&mut self, frame: &Frame<'_>) -> Ended {
        if matches!(self.state, State::Boot)
            && !self.prover.is_running()
            && self.timing.in_state == 1
        {
            self.prover.start(Purpose::Boot, self.profile);
        }
        if self.asks_tell && !self.prover.is_running() {
            self.asks_tell = false;
            self.prover.start(Purpose::Tell, self.profile);
        }
        if self.prover.is_in_topology() {
            self.zero_meter.step(frame.samples, &self.block);
        }
        let ended = self.prover.step(&self.block, self.live.is_pulsed(), self.profile)?;
        let hz = self.evidence.hz;
        self.evidence = self.prover.evidence();
        self.evidence.hz = hz;
        if let Outcome::Class(class) = ended {
            self.told = Some(class);
            self.timing.since_told = 0;
            // What does not discharge as a charge does was not put there by us.
            if matches!(class, Circuit::Charged) {
                self.live.explain();
            } else {
                self.kept.unfinished = false;
            }
            let e = &self.evidence;
            self.proved =
                Some(Proved { class, dc: e.dc, peak: e.peak, source: e.source }).filter(|_| {
                    let permitted = match class {
                        Circuit::Dead => true,
                        Circuit::Standing => Voltage::ZERO.is_below(self.profile.standing_max),
                        Circuit::Induced => self.profile.induced,
                        _ => false,
                    };
                    permitted && !Voltage::MAX.is_below(e.dc)
                });
            if self.proved.is_some() {
                self.timing.since_proof = 0;
            }
            if matches!(self.state, State::Prove { .. }) && self.proved.is_some() {
                self.zero = self.zero_meter.zero(self.is_standing(), &self.profile.front_end);
                // Continuity has a zero of its own: its two directions.
                let high = self.function.test_voltage() != Voltage::ZERO;
                if high && !self.zero.is_sound() {
                    return Some(Outcome::Channels);
                }
            }
        }
        if let Outcome::Broken(fault) = ended {
            self.raise(fault);
        }
        Some(ended)
    }

    /// Whether what stands on the terminals is the voltage that was proved and is permitted.
    pub(super) fn stands_as_proved(&self) -> bool {
        let Some(proved) = self.proved else { return false };
        let level = self.live.level();
        match proved.class {
            Circuit::Standing => {
                near(level.dc, proved.dc) && level.ac.is_below(self.profile.quiet.ac)
            }
            Circuit::Induced => {
                let peak = alternating_peak(&level);
                peak.is_below(proved.peak.saturating_add(proved.peak.div(4)))
            }
            _ => false,
        }
    }

    /// The level that a discharge must reach, and at which rest may begin.
    pub(super) fn target(&self) -> Voltage {
        match self.proved {
            Some(Proved { class: Circuit::Standing, dc, .. }) => {
                dc.abs().saturating_add(band(dc)).greatest(self.profile.safe)
            }
            _ => self.profile.safe,
        }
    }

    pub(super) const fn discharge_on(&self) -> bool {
        let by_state = match self.state {
            State::Discharging { .. } => self.timing.in_state >= 2,
            State::Peek { .. } => self.timing.in_state >= 2 && self.timing.in_state < 7,
            _ => self.prover.asks_discharge(),
        };
        by_state && !self.energy.is_spent(self.profile)
    }
}

/// 2 V and 5 %: what a standing voltage may move by.
fn band(dc: Voltage) -> Voltage {
    dc.abs().div(20).saturating_add(Voltage::from_volts(2))
}

/// Whether a standing voltage is not the same any more: by more than 2 V, or by more than 5 %.
pub(super) fn moved(v: Voltage, proved: Voltage) -> bool {
    let most = proved.abs().div(20).least(Voltage::from_volts(2));
    most.is_below(v.saturating_sub(proved).abs())
}

/// Within the band.
pub(super) fn near(v: Voltage, proved: Voltage) -> bool {
    !band(proved).is_below(v.saturating_sub(proved).abs())
}

/// The code of twice a peak, at the bound where that is beyond the converter.
pub(super) const fn pulse_code(peak: Voltage, gain_q24: i64) -> i16 {
    let microvolts = (peak.as_microvolts() as i64).saturating_mul(2);
    match microvolts.checked_div(gain_q24 >> 24) {
        #[expect(clippy::cast_possible_truncation, reason = "the range is in the pattern")]
        Some(code @ -0x8000..=0x7fff) => code as i16,
        _ => i16::MAX,
    }
}
