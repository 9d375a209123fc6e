//! Rules about what is shown, heard and claimed.

use super::{Margins, Observed, Rule, Truth, millis, note, note_holds, volts};
use crate::interlock::State;
use crate::profile::Profile;
use crate::tone::Tone;

/// Samples in one slot of the watch's own voltmeter: 20 ms at the default rate.
const SLOT: u32 = 200;
/// A warning comes within so long, in milliseconds.
const SAY_MS: f32 = 300.0;
/// A warning stays for so long after the last evidence, less two slots of the watch's own
/// voltmeter: the one in which the voltage ended, and the one until the next is full.
const LATCH_MS: f32 = 960.0;

#[derive(Clone, Debug, Default)]
pub(super) struct SayRules {
    sum: f32,
    squares: f32,
    n: u32,
    dc: f32,
    ac: f32,
    unsaid_from: Option<u64>,
    warned: bool,
    above_from: Option<u64>,
    last_above: Option<u64>,
    unkept_from: Option<u64>,
}

impl SayRules {
    /// A reset forgets that a warning was on: it begins anew with what is there then.
    pub(super) const fn reset(&mut self) {
        self.warned = false;
        self.last_above = None;
    }

    pub(super) fn sample(&mut self, t: &Truth) {
        self.sum += t.terminal_volts;
        self.squares += t.terminal_volts * t.terminal_volts;
        self.n = self.n.saturating_add(1);
        if self.n >= SLOT {
            #[expect(clippy::cast_precision_loss, reason = "200")]
            let n = self.n as f32;
            self.dc = self.sum / n;
            self.ac = libm::sqrtf((self.squares / n - self.dc * self.dc).max(0.0));
            self.sum = 0.0;
            self.squares = 0.0;
            self.n = 0;
        }
    }

    pub(super) fn block(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        self.above_from = match (self.is_above(profile), self.above_from) {
            (true, from) => from.or(Some(t.at_us)),
            (false, _) => None,
        };
        self.watch_say(m, t, o, profile);
        self.watch_dead(m, t, o);
        self.watch_power(m, t, o, profile);
    }

    /// A tenth above the trip for sure: at the trip itself the channel's tolerance decides.
    fn is_above(&self, profile: &Profile) -> bool {
        let trip = &profile.trip;
        self.ac > 1.1 * volts(trip.rms) || self.dc.abs() > 1.1 * volts(trip.dc)
    }

    fn watch_say(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        if matches!(o.state, State::Boot) {
            self.unsaid_from = None;
            return;
        }
        let shown = o.volts.is_some_and(|volts| volts.abs() > 10.0);
        // Who cannot see says just that, and drives nothing.
        let owns_up = o.volts.is_none() && matches!(o.state, State::Locked { .. });
        let said = if t.blind {
            owns_up
        } else {
            (o.live || o.driving) && o.tone != Tone::Silent && shown
        };
        if self.is_above(profile) {
            if !t.blind {
                self.last_above = Some(t.at_us).filter(|_| t.outside_live);
            }
            let from = *self.unsaid_from.get_or_insert(t.at_us);
            let waited = millis(from, t.at_us);
            if said || waited > SAY_MS {
                note(m, Rule::SayLive, SAY_MS - waited, t.at_us);
            }
            if said {
                self.unsaid_from = Some(t.at_us);
            }
            self.warned = o.live;
            return;
        }
        self.unsaid_from = None;
        // The warning of voltage from outside stays for a second after the last evidence.
        if self.warned
            && !o.live
            && let Some(gone) = self.last_above.map(|at| millis(at, t.at_us))
        {
            note(m, Rule::SayLive, gone - LATCH_MS, t.at_us);
        }
        self.warned = o.live;
    }

    fn watch_dead(&mut self, m: &mut Margins, t: &Truth, o: &Observed) {
        if o.claims_dead {
            let proved = o.path_proved && o.since_proof.is_some() && !o.live;
            // A claim may stand for one block after the moment in which something arrived.
            let above = self.above_from.is_some_and(|from| t.at_us.saturating_sub(from) > 1_000);
            note_holds(m, Rule::NoFalseDead, proved && !above, t.at_us);
        }
    }

    fn watch_power(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        // What the instrument itself put there needs no time to be seen.
        let ours = o.state.drive().is_some() || matches!(o.state, State::Discharging { .. });
        let seen = !t.blind && !matches!(o.state, State::Boot);
        let needs = ours || self.is_above(profile) && seen;
        if !needs {
            self.unkept_from = None;
            return;
        }
        let from = *self.unkept_from.get_or_insert(t.at_us);
        let waited = millis(from, t.at_us);
        if o.keep_power {
            note(m, Rule::KeepPower, SAY_MS - waited, t.at_us);
            self.unkept_from = None;
        } else if ours || waited > SAY_MS {
            note(m, Rule::KeepPower, if ours { -waited } else { SAY_MS - waited }, t.at_us);
        }
    }
}
