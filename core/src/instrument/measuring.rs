//! What is measured in a state: each block of a drive, into the measurement that belongs to it.

use super::Instrument;
use super::inputs::RAMP_DONE;
use crate::detect::{Circuit, coarse_current};
use crate::frame::{Frame, Function};
use crate::interlock::{Lock, State};
use crate::judge::Value;
use crate::measure::AtRest;
use crate::signal::Sums;
use crate::unit::{Current, Voltage};

/// Codes of the measuring shunt at and beyond its span.
const SHUNT_END: i16 = 32_000;
/// Blocks after a look in which the voltage may come back where it was.
const BACK_WITHIN: u32 = 1_000;

impl Instrument {
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
            // The clock of a timed test goes on while the source is off for a look.
            State::Peek { .. } => self.timed.step(self.block.v, self.set_voltage()),
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
    pub(super) fn shunt_current(&self, frame: &Frame<'_>) -> (Sums, Current) {
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
            self.timed.step(self.block.v, set);
        }
        self.count_charge(frame, i);
        let standing =
            self.proved.filter(|p| p.class == Circuit::Standing).map_or(Voltage::ZERO, |p| p.dc);
        let leads = self.lead_leakage();
        let rest = AtRest { standing, zero: self.zero, leads };
        let store = self.store.capacitance();
        // After a look with the source off the voltage climbs again: that is no reading.
        if self.timing.at_voltage < RAMP_DONE && !self.limited || self.climbs_back() {
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

    /// The first climb of a timed run tells the store, as the ramp before a held drive does.
    fn count_charge(&mut self, frame: &Frame<'_>, i: Current) {
        let climbs = matches!(self.state, State::TimedDrive { .. }) && !self.timed.is_up();
        if !climbs {
            self.store.hold(i.saturating_sub(self.zero.offset));
            return;
        }
        self.ramp_block(i);
        if self.timing.at_voltage >= RAMP_DONE {
            self.arrive(frame);
            self.timed.arrive();
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
}
