//! What the load stores, told after its discharge; and what the leads show by themselves.

use super::Instrument;
use crate::detect::Circuit;
use crate::frame::{Frame, Task};
use crate::interlock::{Press, Reason, State};
use crate::judge::{Flags, Reading, Value};
use crate::kept::OpenLeads;
use crate::measure::{Decay, Stored, without_leads};
use crate::unit::{Capacitance, Current};

use super::keys::Said;

/// Blocks after the resistor was ordered on in which it may not be on yet, seen from the entry.
const RESISTOR_ON: u32 = 3;
/// So much must be left of leads that touch nothing, in ohms.
const OPEN_OHMS: f32 = 100.0e6;
/// And they store no more than this: two leads of 2 m are 200 to 400 pF (common practice).
const LEADS_STORE: Capacitance = Capacitance::from_nanofarads(1);
/// How long after a test the leads may still be taken for those of the test.
const RIGHT_AFTER: u32 = 60_000;

impl Instrument {
    /// Follows the decay under the discharge resistor.
    pub(super) fn watch_decay(&mut self, frame: &Frame<'_>, on: bool) {
        if on && self.timing.in_state >= RESISTOR_ON {
            self.decay.step(frame.samples);
        } else if !self.decay.is_done() {
            self.decay = Decay::NEW;
        }
    }

    /// The store that was let down just now, leads included; no reading where it was not ours alone.
    pub(super) fn stored(&self) -> Reading {
        if !self.is_ours_alone() {
            return Reading::NONE;
        }
        self.let_down().reading(&self.profile.front_end, self.rate)
    }

    /// Whether what was let down last is what was put in, and nothing else.
    pub(super) fn is_ours_alone(&self) -> bool {
        self.balances && !self.is_standing()
    }

    /// What the last drive and its discharge tell of the store.
    pub(super) fn let_down(&self) -> Stored {
        let leak = match self.pending.value {
            Value::Number(r) => Some(r),
            Value::Above(_) | Value::Below(_) | Value::None => None,
        };
        let charge = self.store.capacitance().map(|c| (c, self.store.is_refined()));
        Stored { charge, decay: self.decay, leak }
    }

    /// What of it is the circuit's, to be shown.
    pub(super) fn capacitance(&self) -> Reading {
        if self.says_live() { Reading::NONE } else { self.without_leads() }
    }

    /// What of it is the circuit's.
    pub(super) fn without_leads(&self) -> Reading {
        match self.kept.open_leads {
            Some(leads) => without_leads(self.stored, leads.capacitance),
            None => self.stored,
        }
    }

    /// What of the current is the leads', which is known at the voltage that it was learned at only.
    pub(super) fn lead_leakage(&self) -> Current {
        let set = self.set_voltage();
        self.kept
            .open_leads
            .filter(|leads| leads.set == set)
            .map_or(Current::ZERO, |leads| leads.leakage)
    }

    /// The null key at rest, the selector on insulation: what the last test found is the leads' own,
    /// if it can be.
    pub(super) fn null_of_leads(&mut self, frame: &Frame<'_>, said: &Said) -> Option<Reason> {
        let function = frame.panel.function;
        let asked = said.press == Press::Null
            && matches!(self.state, State::Rest)
            && function.task() == Task::Insulation;
        if !asked {
            return None;
        }
        let leads = self.open_leads().filter(|leads| leads.set == function.test_voltage());
        if leads.is_none() {
            return Some(Reason::NullRefused);
        }
        self.kept.open_leads = leads;
        Some(Reason::NullStored)
    }

    /// What the last test found, where leads in the air could show it.
    fn open_leads(&self) -> Option<OpenLeads> {
        let fresh = self.timing.in_state < RIGHT_AFTER && self.told == Some(Circuit::Dead);
        let open = match self.pending.value {
            Value::Number(r) | Value::Above(r) => OPEN_OHMS <= r,
            Value::Below(_) | Value::None => false,
        };
        let sound = !self.pending.flags.without(Flags::PATH_UNPROVED).any(Flags::SPOILING)
            && !self.stored.flags.any(Flags::SPOILING);
        let Value::Number(farads) = self.stored.value else { return None };
        let capacitance = picofarads(farads)?;
        if !(fresh && open && sound) || LEADS_STORE < capacitance {
            return None;
        }
        let (_, i) = self.insulation.point();
        let set = self.function.test_voltage();
        Some(OpenLeads { set, leakage: i.greatest(Current::ZERO), capacitance })
    }
}

/// Whole picofarads, up to what a capacitance can hold.
pub(super) fn picofarads(farads: f32) -> Option<Capacitance> {
    let pf = libm::roundf(farads * 1.0e12);
    if !(0.0..4.294e9).contains(&pf) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "inside the range just checked"
    )]
    let pf = pf as u32;
    Some(Capacitance::from_picofarads(pf))
}
