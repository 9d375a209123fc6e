//! Rules about taking the charge out again, and about what may be left.

use super::{Margins, OFF_AMPS, Observed, Rule, Truth, millis, note, note_holds, volts};
use crate::interlock::State;
use crate::profile::Profile;

/// The longest that a stored charge may take to be let down, in seconds.
const LET_DOWN_S: f32 = 10.0;
/// The discharge resistor may stay on a voltage that does not decay for so long, in milliseconds:
/// two windows of 100 ms of the instrument, the first of which may hold the end of a real fall, and
/// the two half cycles within which this watch can tell since when.
const STIFF_MS: f32 = 200.0 + 2.0 * HALF_CYCLE_MS;
/// Half a cycle of the slowest supply, 15 Hz, in milliseconds.
const HALF_CYCLE_MS: f32 = 34.0;
/// What counts as a decay: 20 uF under 100 kohm fall by 6 % in that time, a source by nothing.
const DECAYS: f32 = 0.98;
/// So far above the safe level the channel's offset may hide it, in volts.
const UNSEEN: f32 = 2.0;
/// A returning voltage is let down within so long, in milliseconds.
const RETURN_MS: f32 = 500.0;

#[derive(Clone, Debug, Default)]
pub(super) struct LetDownRules {
    taken: f32,
    last_us: u64,
    on_from: Option<(u64, f32)>,
    crest: f32,
    crest_from: u64,
    drive_ended: Option<u64>,
    drove: bool,
    /// Since when, and the most since.
    above: Option<(u64, f32)>,
    state: Option<State>,
}

impl LetDownRules {
    pub(super) fn sample(&mut self, m: &mut Margins, t: &Truth, profile: &Profile) {
        let v = t.terminal_volts;
        let seconds = millis(self.last_us, t.at_us) / 1.0e3;
        self.last_us = t.at_us;
        // The account: what the resistor takes, less what it gives off at 0.5 W.
        self.taken = (self.taken - 0.5 * seconds).max(0.0);
        if !t.discharging {
            self.on_from = None;
            return;
        }
        self.taken += v * v / ohms(profile) * seconds;
        note(m, Rule::NeverDischargeTheMains, rating(profile) - self.taken, t.at_us);
        self.watch_stiff(m, t);
    }

    /// Held on a voltage that does not decay: a fall of 2 % starts the time anew. It is the crest
    /// over half a cycle that must fall; alternating voltage is small twice in every cycle.
    fn watch_stiff(&mut self, m: &mut Margins, t: &Truth) {
        let v = t.terminal_volts.abs();
        if self.on_from.is_none() {
            self.on_from = Some((t.at_us, f32::INFINITY));
            self.crest = v;
            self.crest_from = t.at_us;
        }
        self.crest = self.crest.max(v);
        if millis(self.crest_from, t.at_us) < HALF_CYCLE_MS {
            return;
        }
        let (from, start) = self.on_from.unwrap_or((t.at_us, f32::INFINITY));
        let first = start == f32::INFINITY;
        if first || self.crest < DECAYS * start || self.crest < 25.0 {
            let from = if first { from } else { self.crest_from };
            self.on_from = Some((from, self.crest));
        } else {
            note_holds(m, Rule::NeverDischargeTheMains, millis(from, t.at_us) < STIFF_MS, t.at_us);
        }
        self.crest = v;
        self.crest_from = t.at_us;
    }

    pub(super) fn block(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        let v = t.terminal_volts.abs();
        let driving = OFF_AMPS < t.source_amps && o.state.drive().is_some();
        if driving {
            self.drove = true;
            self.drive_ended = None;
        } else if self.drove && self.drive_ended.is_none() {
            self.drive_ended = Some(t.at_us);
        }
        self.watch_store(m, t, v, profile);
        let entered_rest = matches!(o.state, State::Rest)
            && !matches!(self.state, Some(State::Rest | State::RestLow))
            && self.drove;
        let outside = t.outside_volts.abs();
        let stands = (v - outside).abs() <= 2.0 + 0.05 * outside;
        if entered_rest && !t.outside_live && !stands || entered_rest && outside < 10.0 {
            // The crest of what alternates from outside is no charge.
            let most = volts(profile.safe) + 1.0 + 1.5 * t.outside_ac;
            note(m, Rule::DischargeBeforeRest, most - v, t.at_us);
        }
        if entered_rest {
            self.drove = false;
            self.drive_ended = None;
        }
        self.watch_return(m, t, o, v, profile);
        self.state = Some(o.state);
    }

    fn watch_store(&mut self, m: &mut Margins, t: &Truth, v: f32, profile: &Profile) {
        let Some(ended) = self.drive_ended else { return };
        let took = millis(ended, t.at_us) / 1.0e3;
        if t.outside_live {
            self.drive_ended = None;
            self.drove = false;
        } else if v < volts(profile.safe) {
            note(m, Rule::BoundedStore, LET_DOWN_S - took, t.at_us);
            self.drive_ended = None;
        } else if took > LET_DOWN_S {
            note(m, Rule::BoundedStore, LET_DOWN_S - took, t.at_us);
        }
    }

    /// At rest, what comes back is let down again or called live.
    fn watch_return(
        &mut self,
        m: &mut Margins,
        t: &Truth,
        o: &Observed,
        v: f32,
        profile: &Profile,
    ) {
        let resting = matches!(o.state, State::Rest | State::RestLow | State::Settle { .. });
        // What stands there without us is not what we left.
        let outside = t.outside_volts.abs();
        let moved = (v - outside).abs() > 2.0 + 0.05 * outside;
        let above =
            resting && !t.outside_live && !t.discharging && volts(profile.safe) < v && moved;
        if !above {
            // Let down again before the voltage had even reached the safe level.
            if self.above.is_none()
                && matches!(o.state, State::Discharging { .. })
                && matches!(self.state, Some(State::Rest | State::RestLow | State::Settle { .. }))
            {
                note(m, Rule::RestStaysSafe, RETURN_MS, t.at_us);
            }
            if let Some((from, most)) = self.above.take() {
                let waited = millis(from, t.at_us);
                if waited < RETURN_MS || volts(profile.safe) + UNSEEN < most {
                    note(m, Rule::RestStaysSafe, RETURN_MS - waited, t.at_us);
                }
            }
            return;
        }
        let (from, most) = self.above.unwrap_or((t.at_us, v));
        let most = most.max(v);
        self.above = Some((from, most));
        let seen = volts(profile.safe) + UNSEEN < most;
        if seen && millis(from, t.at_us) > RETURN_MS && !o.live {
            note(m, Rule::RestStaysSafe, RETURN_MS - millis(from, t.at_us), t.at_us);
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "a resistance of the front end, four digits")]
fn ohms(profile: &Profile) -> f32 {
    profile.front_end.discharge.as_ohms() as f32
}

#[expect(clippy::cast_precision_loss, reason = "a rating of the front end, four digits")]
fn rating(profile: &Profile) -> f32 {
    // The account of the instrument closes at the rating; what flows in one more block is allowed.
    profile.front_end.discharge_energy.as_microjoules() as f32 / 1.0e6 + 0.1
}
