//! From what core commands to what the circuit's switches and inputs do, step by step.

use ohmwarden_core::gate::Polarity;

use super::wrong::SourceFault;
use super::{Bench, Lines};
use crate::scenario::Side;

/// Where every switch of the electronics stands.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Positions {
    pub(super) supply: bool,
    pub(super) regulator: bool,
    pub(super) output: bool,
    pub(super) continuity_gate: bool,
    pub(super) continuity_relay: bool,
    pub(super) freewheel: [bool; 2],
    pub(super) discharge: bool,
    pub(super) blown: bool,
    pub(super) leads: LeadPositions,
}

/// What is joined at the leads: the default is each lead on its own clip.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LeadPositions {
    pos_off: bool,
    neg_off: bool,
    pos_to_neg: bool,
    neg_to_pos: bool,
    short: bool,
}

/// What every input of the electronics stands at.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Levels {
    pub(super) set: f64,
    pub(super) limit: f64,
    pub(super) bias: f64,
    pub(super) continuity: f64,
}

impl Bench {
    /// Lets the commands of one step take effect.
    #[inline]
    pub(super) fn act(&mut self, lines: &Lines) {
        // Most steps change nothing: the same commands, and everything has arrived.
        if self.rests && *lines == self.obeyed && self.supply.rests() {
            return;
        }
        self.obey(lines);
        self.obeyed = *lines;
        self.rests = self.gate.rests()
            && self.discharge.rests()
            && self.output.rests()
            && self.continuity.rests()
            && !self.moves_by_itself();
    }

    /// Whether something changes without a command.
    fn moves_by_itself(&self) -> bool {
        let ripple = self.wrong.ripple.map_or(self.params.ripple_volts, |(volts, _)| volts);
        ripple > 0.0 || self.wrong.intermittent_hertz > 0.0
    }

    fn obey(&mut self, lines: &Lines) {
        let positions = self.positions(lines);
        let levels = self.levels(lines);
        if positions != self.positions {
            self.switch(positions);
        }
        if levels != self.levels {
            self.set(levels);
        }
    }

    fn positions(&mut self, lines: &Lines) -> Positions {
        let wrong = &self.wrong;
        let token = self.supply.step(lines.token);
        let battery = self.supply_mv() >= self.params.supply_drop_mv;
        let supply = wrong.supply.unwrap_or(token) && battery;
        let gate = self.gate.step(lines.gate.on);
        let on = match wrong.source {
            None => gate,
            Some(SourceFault::StuckOn(_)) => true,
            Some(SourceFault::Dead) => false,
        } && supply;
        let low = lines.continuity;
        let output = self.output.step(lines.relay) || wrong.relay_welded;
        let discharge = self.discharge.step(lines.discharge);
        Positions {
            supply,
            regulator: on && low.is_none(),
            output,
            continuity_gate: on && low.is_some(),
            continuity_relay: self.continuity.step(low.is_some()),
            freewheel: [low == Some(Polarity::Forward), low == Some(Polarity::Reversed)],
            discharge: wrong.discharge.unwrap_or(discharge),
            blown: wrong.fuse_blown,
            leads: self.lead_positions(),
        }
    }

    fn lead_positions(&self) -> LeadPositions {
        let wrong = &self.wrong;
        let lifted = wrong.intermittent_hertz > 0.0 && self.cycle(wrong.intermittent_hertz) >= 0.5;
        let pos = !self.is_open(Side::Pos) && !lifted;
        let neg = !self.is_open(Side::Neg);
        LeadPositions {
            pos_off: !pos || wrong.swapped,
            neg_off: !neg || wrong.swapped,
            pos_to_neg: pos && wrong.swapped,
            neg_to_pos: neg && wrong.swapped,
            short: wrong.short,
        }
    }

    fn levels(&mut self, lines: &Lines) -> Levels {
        let params = &self.params;
        let wrong = &self.wrong;
        if lines.gate.on {
            self.held_set = f64::from(lines.gate.set_point.as_microvolts()) * 1.0e-6;
        }
        let asked = match (wrong.source, wrong.no_ramp) {
            (Some(SourceFault::StuckOn(volts)), _) | (_, Some(volts)) => volts,
            _ => self.held_set.max(0.0),
        };
        let (ripple, hertz) = wrong.ripple.unwrap_or((params.ripple_volts, params.ripple_hertz));
        let swing = if ripple > 0.0 {
            ripple * libm::sin(core::f64::consts::TAU * self.cycle(hertz))
        } else {
            0.0
        };
        let sign = if self.held_set < 0.0 { -1.0 } else { 1.0 };
        Levels {
            set: asked * wrong.set_factor + swing,
            limit: params.limit_amps * wrong.limit_factor,
            bias: if lines.bias { params.bias_amps } else { 0.0 },
            continuity: sign * params.continuity_volts,
        }
    }

    /// Gives how far a cycle of this frequency has gone since its last start, 0 to 1.
    fn cycle(&self, hertz: f64) -> f64 {
        let cycles = self.steps as f64 * self.step_seconds * hertz;
        cycles - libm::floor(cycles)
    }

    #[cold]
    fn switch(&mut self, to: Positions) {
        let handles = &self.handles;
        let leads = &handles.leads;
        let is = &to.leads;
        for (part, closed) in [
            (handles.regulator, to.regulator),
            (handles.output_relay, to.output),
            (handles.continuity_gate, to.continuity_gate),
            (handles.continuity_relay, to.continuity_relay),
            (handles.freewheel[0], to.freewheel[0]),
            (handles.freewheel[1], to.freewheel[1]),
            (handles.discharge, to.discharge),
            (handles.fuse, !to.blown),
            (leads.pos, !is.pos_off),
            (leads.neg, !is.neg_off),
            (leads.pos_to_neg, is.pos_to_neg),
            (leads.neg_to_pos, is.neg_to_pos),
            (leads.short, is.short),
        ] {
            self.circuit.set_switch(part, closed);
        }
        self.positions = to;
    }

    fn set(&mut self, to: Levels) {
        let handles = &self.handles;
        self.circuit.set_input(handles.set, to.set);
        self.circuit.set_input(handles.limit, to.limit);
        self.circuit.set_input(handles.bias, to.bias);
        self.circuit.set_input(handles.continuity_volts, to.continuity);
        self.levels = to;
    }
}
