//! Rules about the source: when it may come on, and when it must be off.

use super::{
    Arrival, GateSeen, Margins, OFF_AMPS, Observed, Rule, Truth, millis, note, note_holds, promise,
    volts,
};
use crate::frame::{Function, Task};
use crate::interlock::State;
use crate::measure::timed;
use crate::profile::Profile;
use crate::unit::Voltage;

/// A gap in a drive that is still one drive, in microseconds.
const GAP_US: u64 = 10_500;
/// A contact must stand for so long before it is a press, in milliseconds.
const BOUNCE_MS: f32 = 30.0;
/// And open for so long before it is let go.
const LET_GO_MS: f32 = 6.0;
/// The gate opens by itself 4 ms after it was last armed; a block and the sample that shows it.
const LOOP_MS: f32 = 5.5;
/// The supply of the source drops 20 ms after the interrupt stops, within 5 ms of travel; a block.
const TOKEN_MS: f32 = 26.0;
/// What an outage of the interrupt leaves running is off so soon after it, in milliseconds.
const AGAIN_MS: f32 = 3.0;

#[derive(Clone, Debug, Default)]
pub(super) struct DriveRules {
    on_since: Option<u64>,
    off_since: u64,
    drive_from: Option<u64>,
    was_on: bool,
    proof_at: Option<u64>,
    minted: Option<u32>,
    arrival: Option<(u64, Arrival)>,
    last_discharge: Option<u64>,
    released_at: Option<u64>,
    free_from: Option<u64>,
    up_from: Option<u64>,
    down_from: Option<u64>,
    up_for_ms: f32,
    was_down: bool,
    held: bool,
    stop_at: Option<u64>,
    was_hold: bool,
    missing: u8,
    block_at: Option<u64>,
    dead_from: Option<u64>,
    again_at: Option<u64>,
    over: u8,
    live_since: Option<u64>,
    reset: bool,
    task: Option<Task>,
    set: f32,
}

impl DriveRules {
    pub(super) fn reset(&mut self) {
        let keep = self.clone();
        *self =
            Self { was_on: keep.was_on, off_since: keep.off_since, reset: true, ..Self::default() };
    }

    pub(super) fn sample(&mut self, m: &mut Margins, t: &Truth, g: &GateSeen) {
        let on = g.out.on;
        // After a reset the gate is new and nothing is granted.
        if core::mem::take(&mut self.reset) {
            note_holds(m, Rule::FailToOff, !on, t.at_us);
        }
        if on && !self.was_on {
            self.turned_on(m, t, g);
        }
        if !on && self.was_on {
            self.off_since = t.at_us;
            self.on_since = None;
        }
        self.was_on = on;
        self.watch_arrival(m, t);
        self.watch_missing(m, t, on);
        self.watch_interrupt(m, t, on);
        self.watch_output(m, t, on);
        if t.discharging {
            // The first sample of a discharge tells the gap after the source.
            let first = self.last_discharge.is_none_or(|at| t.at_us.saturating_sub(at) > 1_000);
            if on {
                note(m, Rule::NeverBoth, -1.0, t.at_us);
            } else if first && self.drive_from.is_some() {
                note(m, Rule::NeverBoth, millis(self.off_since, t.at_us) - 1.0, t.at_us);
            }
            self.last_discharge = Some(t.at_us);
        }
    }

    /// The source came on: was it allowed to?
    fn turned_on(&mut self, m: &mut Margins, t: &Truth, g: &GateSeen) {
        let new_drive =
            t.at_us.saturating_sub(self.off_since) > GAP_US || self.drive_from.is_none();
        self.on_since = Some(t.at_us);
        note_holds(m, Rule::EpochNeverReused, self.minted == Some(g.status.epoch), t.at_us);
        if let Some(at) = self.last_discharge {
            note(m, Rule::NeverBoth, millis(at, t.at_us) - 1.0, t.at_us);
        }
        if !new_drive {
            return;
        }
        self.drive_from = Some(t.at_us);
        let margin = self.proof_at.map_or(f32::NEG_INFINITY, |at| 20.0 - millis(at, t.at_us));
        note(
            m,
            Rule::NoDriveWhenLive,
            if t.outside_live { f32::NEG_INFINITY } else { margin },
            t.at_us,
        );
        note(m, Rule::FreshPress, self.up_for_ms - 100.0, t.at_us);
    }

    /// From an arrival until the source is off, and ever after until a new permit.
    fn watch_arrival(&mut self, m: &mut Margins, t: &Truth) {
        if let Some(arrival) = t.arrival.filter(|_| self.was_on) {
            self.arrival = Some((t.at_us, arrival));
        }
        let Some((from, arrival)) = self.arrival else { return };
        let Some(promised) = promise(&arrival) else {
            self.arrival = None;
            return;
        };
        let took = millis(from, t.at_us);
        #[expect(clippy::cast_precision_loss, reason = "some milliseconds")]
        let promised = promised.as_micros() as f32 / 1.0e3;
        // A gate that nobody runs keeps its answer; then it is the current alone that tells.
        let off = t.source_amps < OFF_AMPS && (!self.was_on || t.gate_dead);
        // A source that never goes off must not wait for ever to be judged.
        if off || promised < took {
            note(m, Rule::DropOnLive, promised - took, t.at_us);
        }
        if off {
            self.arrival = None;
        }
    }

    fn watch_missing(&mut self, m: &mut Margins, t: &Truth, on: bool) {
        self.missing = if t.missing { self.missing.saturating_add(1) } else { 0 };
        if self.missing >= 2 {
            note_holds(m, Rule::FailToOff, !on, t.at_us);
        }
    }

    /// Without the main loop the gate opens by itself; without the interrupt the supply drops, and
    /// what the gate still stood at goes off when the interrupt comes back.
    fn watch_interrupt(&mut self, m: &mut Margins, t: &Truth, on: bool) {
        if t.gate_dead {
            let from = *self.dead_from.get_or_insert(t.at_us);
            if millis(from, t.at_us) > TOKEN_MS {
                note_holds(m, Rule::FailToOff, t.source_amps < OFF_AMPS, t.at_us);
            }
            return;
        }
        if let Some(from) = self.dead_from.take() {
            self.again_at = Some(t.at_us).filter(|_| t.at_us.saturating_sub(from) > GAP_US);
            self.block_at = None;
        }
        if let Some(at) = self.again_at.filter(|at| millis(*at, t.at_us) > AGAIN_MS) {
            note_holds(m, Rule::FailToOff, !on || self.proof_at > Some(at), t.at_us);
            self.again_at = None;
        }
        if self.block_at.is_some_and(|at| millis(at, t.at_us) > LOOP_MS) {
            note_holds(m, Rule::FailToOff, !on, t.at_us);
        }
    }

    /// By our own current: what arrives from outside is another rule's.
    fn watch_output(&mut self, m: &mut Margins, t: &Truth, on: bool) {
        if !on || self.task == Some(Task::Continuity) || self.set <= 0.0 {
            self.over = 0;
            return;
        }
        let most = 1.25 * self.set + 3.0;
        let margin = most - t.terminal_volts;
        let ours = OFF_AMPS < t.source_amps && !t.outside_live;
        self.over = if ours && margin < 0.0 { self.over.saturating_add(1) } else { 0 };
        // Three samples to see it, two for the actuator.
        if self.over == 0 && ours || self.over > 5 {
            note(m, Rule::OutputWithinSet, margin, t.at_us);
        }
    }

    pub(super) fn block(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        self.block_at = Some(t.at_us);
        if o.since_proof == Some(0) {
            self.proof_at = Some(t.at_us);
        }
        if o.minted.is_some() {
            self.minted = o.minted;
        }
        self.task = Some(o.function.task());
        // A step asks for less than the whole; nothing excuses a drive from the limit altogether.
        let whole = o.function.test_voltage();
        let asked = if Voltage::ZERO < o.set { o.set.least(whole) } else { whole };
        self.set = volts(asked);
        self.watch_keys(m, t, o);
        self.watch_override(m, t, o);
        self.watch_length(m, t, o, profile);
    }

    fn watch_keys(&mut self, m: &mut Margins, t: &Truth, o: &Observed) {
        let down = o.panel.test.pressed || o.panel.null;
        if down && !self.was_down {
            // A contact that was closed for less than the debouncing was no press.
            let bounced = self.down_from.is_some_and(|from| {
                self.released_at.is_some_and(|to| millis(from, to) < BOUNCE_MS)
            });
            let before = self.up_from.filter(|_| bounced);
            self.up_from = before.or(self.released_at);
            self.up_for_ms = self.up_from.map_or(0.0, |from| millis(from, t.at_us));
            self.down_from = Some(t.at_us);
        }
        if !down && (self.was_down || self.released_at.is_none()) {
            self.released_at = Some(t.at_us);
            self.free_from = Some(t.at_us);
        }
        let hold = o.panel.hold && !self.was_hold;
        let key = down != self.was_down && down == self.held || hold && self.held;
        if key && self.was_on {
            self.stop_at = Some(t.at_us);
        }
        self.was_down = down;
        // A key counts as down until its release is debounced.
        let still = self.released_at.is_some_and(|at| millis(at, t.at_us) < LET_GO_MS);
        self.watch_held(t, o, hold && (down || still));
        self.watch_stop(m, t, down);
    }

    /// A timed drive goes on without the key, and one that was asked to while it was down. A look
    /// with the source off and a restart after a trip belong to the drive.
    fn watch_held(&mut self, t: &Truth, o: &Observed, asked: bool) {
        let goes_on = o.state.drive().is_some()
            || matches!(o.state, State::Peek { .. } | State::Prove { .. });
        self.was_hold = o.panel.hold;
        let timed = matches!(o.function, Function::Timed(..));
        let held = (self.held || asked || timed) && goes_on;
        if self.held && !held && !self.was_down {
            // What ended it counts as the release; the key was let go long before.
            self.free_from = Some(t.at_us);
        }
        self.held = held;
    }

    fn watch_stop(&mut self, m: &mut Margins, t: &Truth, down: bool) {
        let free = !self.held && !down;
        let stop = if free { self.free_from } else { self.stop_at };
        let Some(stop) = stop else { return };
        let waited = millis(stop, t.at_us);
        if self.was_on {
            if waited > 20.0 {
                note(m, Rule::ReleaseStops, 20.0 - waited, t.at_us);
            }
        } else if let Some(stop) = self.stop_at.take()
            && stop < self.off_since
        {
            note(m, Rule::ReleaseStops, 20.0 - millis(stop, self.off_since), t.at_us);
        }
    }

    /// Two blocks after the view says live, or in a state without a drive, the gate is shut.
    fn watch_override(&mut self, m: &mut Margins, t: &Truth, o: &Observed) {
        let forbidden = o.live || o.state.drive().is_none();
        self.live_since = match (forbidden, self.live_since) {
            (false, _) => None,
            (true, since) => since.or(Some(t.at_us)),
        };
        let locked = matches!(o.state, State::Locked { .. });
        if self.live_since.is_some_and(|since| t.at_us.saturating_sub(since) >= 2_000) {
            if o.panel.test.pressed || o.panel.null {
                note_holds(m, Rule::ButtonsCannotOverride, !self.was_on, t.at_us);
            }
            if locked {
                note_holds(m, Rule::FailToOff, !self.was_on, t.at_us);
            }
        }
    }

    fn watch_length(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        if !self.was_on {
            if t.at_us.saturating_sub(self.off_since) > GAP_US {
                self.drive_from = None;
            }
            return;
        }
        let Some(from) = self.drive_from else { return };
        let most = match o.function {
            Function::Timed(_, test) => {
                timed::length(test, &profile.times).as_millis().saturating_add(10_000)
            }
            _ if self.held => profile.held_max.as_millis(),
            _ => profile.press_max.as_millis(),
        };
        #[expect(clippy::cast_precision_loss, reason = "some minutes")]
        let most = most as f32 / 1.0e3 + 0.1;
        note(m, Rule::BoundedDrive, most - millis(from, t.at_us) / 1.0e3, t.at_us);
    }
}
