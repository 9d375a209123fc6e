//! What would stand on the terminals without the instrument's own source: the truth about "live".
//!
//! The same circuit, with the dividers alone across it and every store empty at the start, runs
//! beside the real one. What it shows comes from sources, not from charges: of ours there are none,
//! and what a source has left behind is taken out when a switch opens.
//!
//! Where every source is a slow sine or direct, one step spans ten samples: the step is exact for
//! any length, and the level over 20 ms needs no more. A switch then takes effect up to one
//! millisecond early here, which the windows of the rules do not see.

use alloc::collections::BTreeMap;
use alloc::string::String;

use ohmwarden_core::profile::Profile;
use ohmwarden_core::unit::Voltage;

use super::WorldError;
use super::drivers::Drivers;
use crate::circuit::{Circuit, Diverged, Netlist, Node, Part as Element, PartId, Probe};
use crate::scenario::{Action, Event, Part, Scenario};

/// Samples in one slot: 20 ms at the default rate.
const SLOT: u32 = 200;
/// Samples in one step of a circuit in which nothing is faster than [`SLOW_HERTZ`].
const STRIDE: u32 = 10;
/// Below half of the 1 kHz at which such a circuit is looked at.
const SLOW_HERTZ: f64 = 450.0;
/// The instrument's dividers.
const INPUT_OHMS: f64 = 2.0e6;

/// The circuit without us.
#[derive(Clone, Debug)]
pub(super) struct Outside {
    circuit: Circuit,
    names: BTreeMap<String, PartId>,
    substeps: u32,
    /// Samples in one step.
    stride: u32,
    probe: Probe,
    sum: f64,
    squares: f64,
    n: u32,
    dc: f64,
    ac: f64,
    now: f64,
    only_pickup: bool,
}

impl Outside {
    /// `None` where the scenario has no source at all; `net` is its circuit with every store empty.
    pub(super) fn new(
        scenario: &Scenario,
        net: &Netlist,
        profile: &Profile,
    ) -> Result<Option<Self>, WorldError> {
        let is_source = |part: &Part| {
            matches!(
                part,
                Part::Sine { .. }
                    | Part::Dc { .. }
                    | Part::Pulse { .. }
                    | Part::Exponential { .. }
                    | Part::Glide { .. }
                    | Part::Recorded { .. }
                    | Part::Pickup { .. }
            )
        };
        let sources = || scenario.parts.iter().filter(|named| is_source(&named.part));
        if sources().next().is_none() {
            return Ok(None);
        }
        let mut net = net.clone();
        let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
        net.add("outside.input", Element::Resistor { a: pos, b: neg, ohms: INPUT_OHMS })?;
        net.add("outside.ground", Element::Resistor { a: neg, b: Node::GROUND, ohms: 1.0e12 })?;
        let probe = net.probe_voltage(pos, neg);
        let stride = if is_slow(scenario) { STRIDE } else { 1 };
        let rate = f64::from(scenario.rate) * f64::from(scenario.substeps);
        let step = f64::from(stride) / rate;
        let names: BTreeMap<String, PartId> = scenario
            .parts
            .iter()
            .filter_map(|named| Some((named.name.clone(), net.find_part(&named.name)?)))
            .collect();
        let circuit = net.build(step)?;
        let only_pickup =
            profile.induced && sources().all(|named| matches!(named.part, Part::Pickup { .. }));
        Ok(Some(Self {
            circuit,
            names,
            substeps: scenario.substeps,
            stride,
            probe,
            sum: 0.0,
            squares: 0.0,
            n: 0,
            dc: 0.0,
            ac: 0.0,
            now: 0.0,
            only_pickup,
        }))
    }

    pub(super) fn step(&mut self, drivers: &Drivers, sample: u64) -> Result<(), Diverged> {
        if self.stride > 1 && !(sample + 1).is_multiple_of(u64::from(self.stride)) {
            return Ok(());
        }
        drivers.drive(&mut self.circuit, sample);
        for _ in 0..self.substeps {
            self.circuit.step()?;
        }
        self.now = self.circuit.probe(self.probe);
        self.sum += self.now;
        self.squares += self.now * self.now;
        self.n += 1;
        if self.n * self.stride >= SLOT {
            let n = f64::from(self.n);
            self.dc = self.sum / n;
            self.ac = libm::sqrt((self.squares / n - self.dc * self.dc).max(0.0));
            self.sum = 0.0;
            self.squares = 0.0;
            self.n = 0;
        }
        Ok(())
    }

    /// Above the trip over the last slot, and not a standing voltage or a pick-up that the profile
    /// permits a drive on.
    pub(super) fn is_live(&self, profile: &Profile) -> bool {
        let volts = |v: Voltage| f64::from(v.as_microvolts()) / 1.0e6;
        let dc = libm::fabs(self.dc);
        let above = self.ac >= volts(profile.trip.rms) || dc >= volts(profile.trip.dc);
        let stands = dc <= volts(profile.standing_max) && self.ac < volts(profile.quiet.ac);
        above && !stands && !self.only_pickup
    }

    /// The direct part over the last slot.
    pub(super) const fn dc(&self) -> f64 {
        self.dc
    }

    /// The alternating part over the last slot, RMS.
    pub(super) const fn ac(&self) -> f64 {
        self.ac
    }

    pub(super) fn find_part(&self, name: &str) -> Option<PartId> {
        self.names.get(name).copied()
    }

    pub(super) fn set_switch(&mut self, part: PartId, closed: bool) {
        self.circuit.set_switch(part, closed);
        if !closed {
            self.circuit.empty();
        }
    }

    pub(super) const fn circuit_mut(&mut self) -> &mut Circuit {
        &mut self.circuit
    }
}

/// Whether no source is faster than [`SLOW_HERTZ`], its harmonics included, now or by an event.
fn is_slow(scenario: &Scenario) -> bool {
    let slow = |part: &Part| match part {
        Part::Sine { hertz, harmonics, .. } => {
            let order = harmonics.iter().map(|harmonic| harmonic.order).max().unwrap_or(1);
            *hertz * f64::from(order) <= SLOW_HERTZ
        }
        Part::Pickup { hertz, .. } => *hertz <= SLOW_HERTZ,
        Part::Pulse { .. }
        | Part::Exponential { .. }
        | Part::Glide { .. }
        | Part::Recorded { .. } => false,
        _ => true,
    };
    let stays = |event: &Event| match &event.action {
        Action::Set { values, .. } => values.iter().all(|(key, _)| key != "hertz"),
        _ => true,
    };
    scenario.substeps == 1
        && scenario.parts.iter().all(|named| slow(&named.part))
        && scenario.events.iter().all(stays)
}
