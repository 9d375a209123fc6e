//! Rules about numbers and verdicts.

use super::{Margins, Observed, Rule, Truth, millis, note, note_holds};
use crate::interlock::State;
use crate::judge::{Flags, Verdict};
use crate::profile::Profile;
use crate::unit::Resistance;

/// Alternating voltage, RMS, up to which an input counts as constant: the front end's own noise
/// and ripple.
const RIPPLE: f32 = 0.75;
/// The most range changes in one drive: one a range, and one.
const CHANGES: u8 = 7;

/// A lead that is off for so long leaves nothing in a reading of what was joined before, in
/// milliseconds: a window of 0.5 s and a little.
const WINDOW_MS: f32 = 600.0;

/// A line whose standing voltage was proved is back where it stood within so many volts and so large
/// a part; it may be live by its voltage all the while.
const BACK_VOLTS: f32 = 2.0;
const BACK: f32 = 0.05;

#[derive(Clone, Debug, Default)]
pub(super) struct ReadingRules {
    verdict: Option<Verdict>,
    lead_off_from: Option<u64>,
    /// A lead was off for longer than a reading takes when the drive ended.
    blind: bool,
    passive: bool,
    live_since_drive: bool,
    /// What stood on the terminals in the last proof.
    stood: f32,
    null: Option<Resistance>,
    null_known: bool,
    nulled_live: bool,
    shunt: u8,
    changes: u8,
    nulling: bool,
}

impl ReadingRules {
    pub(super) fn block(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        self.watch_commit(m, t, o);
        self.watch_null(m, t, o, profile);
        self.watch_range(m, t, o);
    }

    fn watch_commit(&mut self, m: &mut Margins, t: &Truth, o: &Observed) {
        match o.state {
            State::Ramp { .. } | State::Drive { .. } | State::TimedDrive { .. } => {
                self.passive = false;
                self.live_since_drive = false;
                // What still stands from an earlier measurement is claimed anew.
                self.verdict = None;
            }
            State::ContRun => {
                self.live_since_drive = false;
                self.verdict = None;
            }
            State::Settle { .. } | State::Unwind => self.passive = true,
            State::Prove { .. } => self.stood = t.terminal_volts,
            _ => {}
        }
        if o.state.drive().is_some() {
            let from = *self.lead_off_from.get_or_insert(t.at_us);
            self.blind = t.lead_open && millis(from, t.at_us) > WINDOW_MS;
            self.lead_off_from = self.lead_off_from.filter(|_| t.lead_open);
        }
        self.live_since_drive |= o.live;
        let verdict = o.verdict.map(|(verdict, _)| verdict);
        if let Some((now, flags)) = o.verdict.filter(|_| verdict != self.verdict) {
            let passes = now == Verdict::Pass;
            let apart = (t.terminal_volts - self.stood).abs();
            let as_before = if flags.any(Flags::STANDING) {
                apart <= BACK_VOLTS + BACK * self.stood.abs()
            } else {
                !self.live_since_drive
            };
            note_holds(m, Rule::PassiveBeforeCommit, !passes || self.passive && as_before, t.at_us);
            let spoiled = flags.any(Flags::SPOILING) || self.blind;
            note_holds(m, Rule::HonestReading, !(passes && spoiled), t.at_us);
        }
        self.verdict = verdict;
    }

    #[expect(clippy::cast_precision_loss, reason = "a few ohms in milliohms")]
    fn watch_null(&mut self, m: &mut Margins, t: &Truth, o: &Observed, profile: &Profile) {
        let nulling = matches!(o.state, State::Nulling);
        self.nulled_live = (self.nulled_live || o.live) && (nulling || self.nulling);
        let changed = self.null_known && o.null != self.null;
        if let Some(null) = o.null.filter(|_| changed) {
            let most = profile.null_max.as_milliohms() as f32 / 1.0e3;
            let margin = most - null.as_milliohms() as f32 / 1.0e3;
            let learned = self.nulling && !self.nulled_live;
            note(m, Rule::NullIsSane, if learned { margin } else { f32::NEG_INFINITY }, t.at_us);
        }
        self.null = o.null;
        self.null_known = true;
        self.nulling = nulling;
    }

    fn watch_range(&mut self, m: &mut Margins, t: &Truth, o: &Observed) {
        let measuring = matches!(o.state, State::Drive { .. } | State::ContRun);
        // Only a constant input, with ripple inside the front end's figure, must not make it hunt.
        if t.changed || RIPPLE < t.outside_ac {
            self.changes = 0;
            self.shunt = o.shunt;
        }
        if measuring {
            self.changes = self.changes.saturating_add(u8::from(o.shunt != self.shunt));
            note(m, Rule::NoHunting, f32::from(CHANGES) - f32::from(self.changes), t.at_us);
        } else if !matches!(o.state, State::Peek { .. }) {
            self.changes = 0;
        }
        self.shunt = o.shunt;
    }
}
