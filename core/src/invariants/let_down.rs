//! Rules about taking the charge out again, and about what may be left.

use super::{Margins, OFF_AMPS, Observed, Rule, Truth, millis, note, note_holds, volts};
use crate::interlock::State;
use crate::profile::Profile;

/// The longest that a stored charge may take to be let down, in seconds.
const LET_DOWN_S: f32 = 10.0;
/// The discharge resistor may stay on a voltage that does not decay for so long, in milliseconds:
/// three pulses of a proof, or one window of the watch over a discharge and the block after it.
const STIFF_MS: f32 = 130.0;
/// What counts as a decay: 20 uF under 100 kohm fall by 6 % in that time, a source by nothing.
const DECAYS: f32 = 0.98;
/// A returning voltage is let down within so long, in milliseconds.
const RETURN_MS: f32 = 500.0;

#[derive(Clone, Debug, Default)]
pub(super) struct LetDownRules {
    taken: f32,
    last_us: u64,
    on_from: Option<(u64, f32)>,
    drive_ended: Option<u64>,
    drove: bool,
    above_from: Option<u64>,
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

    /// Held on a voltage that does not decay: a fall of 2 % starts the time anew.
    fn watch_stiff(&mut self, m: &mut Margins, t: &Truth) {
        let v = t.terminal_volts.abs();
        let (from, start) = *self.on_from.get_or_insert((t.at_us, v));
        if v < DECAYS * start || v < 25.0 {
            self.on_from = Some((t.at_us, v));
        } else if millis(from, t.at_us) > STIFF_MS {
            note_holds(m, Rule::NeverDischargeTheMains, false, t.at_us);
        }
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
            note(m, Rule::DischargeBeforeRest, volts(profile.safe) + 1.0 - v, t.at_us);
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
        let rested =
            matches!(self.state, Some(State::Rest | State::RestLow | State::Settle { .. }));
        if rested && matches!(o.state, State::Discharging { .. }) {
            let stood = self.above_from.map_or(0.0, |from| millis(from, t.at_us));
            note(m, Rule::RestStaysSafe, RETURN_MS - stood, t.at_us);
        }
        let ours = resting && !t.outside_live && !t.discharging && moved;
        let safe = volts(profile.safe);
        if !ours || v < safe {
            self.above_from = None;
            return;
        }
        // At the level itself the channel's own tolerance decides; a volt above it must be seen.
        if v < safe + 1.0 {
            self.above_from = None;
        } else if self.above_from.is_none() {
            self.above_from = Some(t.at_us);
        }
        let stood = self.above_from.map_or(0.0, |from| millis(from, t.at_us));
        if !o.live || stood == 0.0 {
            note(m, Rule::RestStaysSafe, RETURN_MS - stood, t.at_us);
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
