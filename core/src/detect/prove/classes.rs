//! Of which class the circuit is, from what each window of the proof saw.

use super::bias::{Answer, answer};
use super::pulses::Pulses;
use super::{Outcome, Phase, Prover, Purpose};
use crate::detect::circuit::Circuit;
use crate::detect::live::{alternating_peak, is_live};
use crate::hazard::STANDING_CURRENT;
use crate::interlock::Lock;
use crate::profile::{FrontEnd, Profile};
use crate::signal::Level;
use crate::unit::{Resistance, Voltage};
use crate::wide::scaled;

impl Prover {
    pub(super) fn leave_open(
        &mut self,
        level: &Level<Voltage>,
        last: Voltage,
        pulsed: bool,
        profile: &Profile,
    ) -> Option<Outcome> {
        self.note(level);
        let quiet = &profile.quiet;
        let moves = !level.ac.is_below(quiet.ac);
        let alternates = moves && self.rise.is_more_than_noise(&profile.front_end);
        // What came or went within the window would seem to collapse under the load.
        let steady = !self.weakest.is_below(level.rms.div(5).saturating_mul(2));
        if alternates && !steady && self.purpose == Purpose::Drive {
            return self.go(Phase::Open, profile);
        }
        if alternates {
            return self.go(Phase::Load, profile);
        }
        if moves && last.abs().is_below(quiet.dc) {
            // A small charge that has just died away on the dividers: nothing is known yet.
            return self.go(Phase::Open, profile);
        }
        if moves || !level.dc.abs().is_below(quiet.dc) {
            self.pulses = Pulses::starting_from(last);
            return self.go(Phase::Pulse { on: true }, profile);
        }
        // Quiet now, but not a moment ago.
        if pulsed {
            return Some(Outcome::Class(Circuit::LivePulsed));
        }
        if !alternating_peak(level).is_below(quiet.excursion) {
            return Some(Outcome::Class(Circuit::Unproven));
        }
        self.settled(Circuit::Dead, profile)
    }

    pub(super) fn leave_pulse(
        &mut self,
        level: &Level<Voltage>,
        on: bool,
        profile: &Profile,
    ) -> Option<Outcome> {
        if on {
            self.pulses.fell_to(level.dc);
            return self.go(Phase::Pulse { on: false }, profile);
        }
        self.pulses.came_back_to(level.dc);
        if !self.pulses.are_done() {
            return self.go(Phase::Pulse { on: true }, profile);
        }
        self.evidence.loaded = Some(self.pulses.loaded());
        self.evidence.source =
            source_resistance(self.evidence.dc, self.pulses.loaded(), &profile.front_end);
        let class = match self.pulses.class() {
            Circuit::LiveDc if self.may_stand(profile) => Circuit::Standing,
            class => class,
        };
        self.settled(class, profile)
    }

    pub(super) fn leave_load(
        &mut self,
        level: &Level<Voltage>,
        profile: &Profile,
    ) -> Option<Outcome> {
        self.evidence.loaded = Some(level.ac);
        let open = self.evidence.ac;
        // A light load takes pick-up down to nothing much: below 10 V and a quarter of what it was
        // is less than 0.1 mA.
        let collapsed = level.ac < Voltage::from_volts(10) && level.ac < open.div(4);
        let dc = self.evidence.dc.abs();
        let class = match (collapsed, dc < profile.quiet.dc) {
            (true, true) => Circuit::Induced,
            (_, true) if open < profile.trip.rms => Circuit::Unproven,
            (_, true) => Circuit::LiveAc,
            (_, false) => Circuit::LiveMixed,
        };
        self.settled(class, profile)
    }

    /// The same look in the drive topology, and the answer to the bias measured against it.
    pub(super) fn leave_topology(
        &mut self,
        level: &Level<Voltage>,
        pulsed: bool,
        profile: &Profile,
    ) -> Outcome {
        let [a, b] = &self.pair;
        let front = &profile.front_end;
        let [biased, biased2] = self.biased;
        let answers =
            [biased.saturating_sub(a.mean(&front.v)), b.mean(&front.v2).saturating_sub(biased2)];
        let before = self.evidence.dc;
        self.note(level);
        match answer(answers, front.bias) {
            Answer::Right => {}
            Answer::Broken if self.purpose == Purpose::Boot || quiet_enough(self.found) => {
                return Outcome::Broken(Lock::Reference);
            }
            // Beside what alternates, the answer of some milliseconds says nothing of the channels.
            Answer::Broken | Answer::None if !level.ac.is_below(profile.quiet.ac) => {
                return Outcome::Class(Circuit::Unproven);
            }
            Answer::Broken | Answer::None => return Outcome::Channels,
        }
        if self.purpose == Purpose::Boot {
            return Outcome::Class(self.found);
        }
        if pulsed {
            return Outcome::Class(Circuit::LivePulsed);
        }
        Outcome::Class(self.look_again(level, before, profile))
    }

    fn note(&mut self, level: &Level<Voltage>) {
        self.evidence.dc = level.dc;
        self.evidence.ac = level.ac;
        self.evidence.peak = alternating_peak(level);
    }

    fn look_again(&self, level: &Level<Voltage>, before: Voltage, profile: &Profile) -> Circuit {
        let quiet = &profile.quiet;
        let peak = alternating_peak(level);
        let moved = level.dc.saturating_sub(before).abs();
        let still = moved < Voltage::from_volts(2) && level.ac < quiet.ac;
        match self.found {
            Circuit::Dead
                if level.dc.abs() < quiet.dc && level.ac < quiet.ac && peak < quiet.excursion =>
            {
                Circuit::Dead
            }
            Circuit::Standing if still => Circuit::Standing,
            // Above 20 V peak in the drive topology the residual rule would trip on it.
            Circuit::Induced if peak < Voltage::from_volts(20) => Circuit::Induced,
            _ if is_live(level, profile) && level.ac < quiet.ac => Circuit::LiveDc,
            _ if is_live(level, profile) => Circuit::LiveAc,
            _ => Circuit::Unproven,
        }
    }

    fn may_stand(&self, profile: &Profile) -> bool {
        let dc = self.evidence.dc.abs();
        let weak = self.evidence.source.is_some_and(|r| {
            // i = v / R + v / R_in, in pA from uV and mohm.
            let through = |ohms: Resistance| {
                let milliohms = i64::try_from(ohms.as_milliohms()).unwrap_or(i64::MAX);
                scaled(i64::from(dc.as_microvolts()), 1_000_000_000, milliohms).unwrap_or(i64::MAX)
            };
            let most = STANDING_CURRENT.as_picoamps();
            through(r).saturating_add(through(profile.front_end.input)) <= most
        });
        weak && !profile.standing_max.is_below(dc) && Voltage::ZERO.is_below(profile.standing_max)
    }
}

const fn quiet_enough(class: Circuit) -> bool {
    matches!(class, Circuit::Dead | Circuit::Standing)
}

/// The resistance of a source that shows `open` on our input and `loaded` under the discharge
/// resistor: `R = R_in d / (loaded R_in / R_d - d)` with `d = open - loaded` (two loads on one linear
/// source, solved for its resistance). `None` where there is no answer: nothing is left.
fn source_resistance(open: Voltage, loaded: Voltage, front: &FrontEnd) -> Option<Resistance> {
    let sag = open.abs().saturating_sub(loaded.abs()).greatest(Voltage::ZERO);
    let (sag, loaded) = (i64::from(sag.as_microvolts()), i64::from(loaded.abs().as_microvolts()));
    let input = i64::try_from(front.input.as_milliohms()).unwrap_or(i64::MAX);
    let load = i64::try_from(front.discharge.as_milliohms()).unwrap_or(i64::MAX);
    let drawn = scaled(loaded, input, load)?;
    let left = drawn.saturating_sub(sag);
    if left <= 0 {
        return Some(front.input);
    }
    let milliohms = scaled(input, sag, left)?;
    Some(Resistance::from_milliohms(u64::try_from(milliohms).unwrap_or(u64::MAX)))
}
