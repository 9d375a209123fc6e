//! From a scenario to a world: parts to a netlist, panel, profile, monitors.

use alloc::string::{String, ToString};
use alloc::vec::Vec;

use ohmwarden_core::Instrument;
use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::correct::Surroundings;
use ohmwarden_core::date::Date;
use ohmwarden_core::frame::{BLOCK, Function as Selected, Key, Panel, Sample};
use ohmwarden_core::gate::Gate;
use ohmwarden_core::invariants::Watch;
use ohmwarden_core::judge::{Criterion, Limit, Origin, Rule};
use ohmwarden_core::limits::Entry;
use ohmwarden_core::profile::Profile;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Voltage};

use super::calibration;
use super::memory::Memory;
use super::outside::Outside;
use super::panel::Computing;
use super::wiring::netlist;
use super::{Digest, Reached, Snapshot, World, WorldError};
use crate::expect::Monitor;
use crate::frontend::{Bench, FrontEndParams, Lines};
use crate::scenario::{Bound, Function, LimitSpec, Part, Scenario, Start};

/// A recorded waveform.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// Samples per second.
    pub rate: f64,
    /// The samples, in the recording's own unit.
    pub samples: Vec<f64>,
}

/// Finds recordings; files are the host's affair.
pub trait Recordings {
    /// The channel `column` of `file`.
    ///
    /// # Errors
    /// Why it cannot be had, in words that name the file.
    fn find(&self, file: &str, column: &str) -> Result<Recording, String>;
}

/// No recordings at all.
impl Recordings for () {
    fn find(&self, file: &str, _: &str) -> Result<Recording, String> {
        Err(alloc::format!("{file}: no recordings are at hand here"))
    }
}

impl World {
    /// Builds the world of one case of a scenario (its sweep is not looked at).
    ///
    /// # Errors
    /// A circuit that cannot be solved, or a recording that cannot be had.
    pub fn new(scenario: &Scenario, recordings: &dyn Recordings) -> Result<Self, WorldError> {
        let profile = scenario.profile.profile();
        let rate = SampleRate::from_per_second(scenario.rate);
        let (net, drivers) = netlist(scenario, recordings)?;
        let (empty, _) = netlist(&emptied(scenario), recordings)?;
        let params = front_end(&scenario.start);
        let outside = Outside::new(scenario, &empty, profile)?;
        let bench = Bench::new(net, &params, scenario.rate, scenario.substeps, scenario.seed)?;
        let labels: Vec<String> = scenario.labels().iter().map(ToString::to_string).collect();
        let (calibration, today) = calibration::of(scenario.start.calibration);
        let made = |spec| Memory::new(spec, scenario.seed, calibration.as_ref());
        let memory = scenario.start.store.map(made);
        let told = Told {
            limit: scenario.limit.as_ref().map(criterion),
            surroundings: scenario.start.surroundings,
            today,
        };
        let mut world = Self {
            profile,
            rate,
            parts: scenario.parts.clone(),
            bench,
            outside,
            drivers: drivers.at(rate),
            gate: Gate::new(profile, rate),
            instrument: told.instrument(profile, rate, calibration),
            told,
            calibration,
            memory,
            watch: Watch::new(profile),
            lines: Lines::default(),
            panel: panel(&scenario.start),
            timeline: scenario.timeline(),
            next_event: 0,
            fired: Vec::new(),
            monitors: scenario.expects.iter().map(|e| Monitor::new(e, &labels)).collect(),
            labels,
            block: [Sample::default(); BLOCK],
            filled: 0,
            in_block: 0,
            overruns: 0,
            samples: 0,
            total: libm::round(scenario.seconds * f64::from(scenario.rate)) as u64,
            faults: Computing::NONE,
            injected: Vec::new(),
            arrived: None,
            lead_open: false,
            changed: false,
            digest: Digest::new(),
            reached: Reached::default(),
            now: Snapshot::default(),
            meddle: None,
        };
        world.now.store = world.memory.as_ref().map(Memory::stored);
        if let Some(volts) = scenario.start.battery_volts {
            world.bench.set_supply_mv((volts * 1.0e3) as u16);
        }
        Ok(world)
    }

    /// Starts core anew, as after a reset of the processor: only what was kept survives.
    pub(super) fn reset(&mut self) {
        let (kept, calibration) = self.found();
        self.instrument = self.told.instrument(self.profile, self.rate, calibration);
        self.instrument.wake(kept);
        self.gate = Gate::new(self.profile, self.rate);
        self.lines = Lines::default();
        self.filled = 0;
        self.overruns = 0;
        self.watch.reset();
    }
}

/// What the board tells the instrument at every start.
#[derive(Clone, Copy, Debug)]
pub(super) struct Told {
    limit: Option<Criterion>,
    surroundings: Surroundings,
    pub(super) today: Date,
}

impl Told {
    fn instrument(
        &self,
        profile: &'static Profile,
        rate: SampleRate,
        calibration: Option<Calibration>,
    ) -> Instrument {
        let mut instrument = Instrument::new(profile, rate);
        instrument.set_limit(self.limit);
        instrument.set_surroundings(self.surroundings);
        instrument.set_calibration(calibration);
        instrument.set_today(Some(self.today));
        instrument
    }
}

/// The same circuit with no charge anywhere.
fn emptied(scenario: &Scenario) -> Scenario {
    let mut empty = scenario.clone();
    for named in &mut empty.parts {
        if matches!(named.part, Part::Capacitor { .. }) {
            named.set("volts", 0.0);
        }
    }
    empty
}

fn front_end(start: &Start) -> FrontEndParams {
    let default = FrontEndParams::default();
    FrontEndParams { lead_ohms: start.lead_ohms.unwrap_or(default.lead_ohms), ..default }
}

fn panel(start: &Start) -> Panel {
    Panel {
        function: selected(start.function),
        test: Key::new(start.test_held),
        null: start.null_held,
        hold: start.hold_held,
    }
}

/// What readings are judged against, in core's types.
fn criterion(spec: &LimitSpec) -> Criterion {
    Criterion {
        limit: match spec.bound {
            Bound::AtLeast(number) => Limit::AtLeast(number as f32),
            Bound::AtMost(number) => Limit::AtMost(number as f32),
        },
        of: spec.of.unit(),
        rule: if spec.guarded { Rule::Guarded } else { Rule::Simple },
        origin: spec.named.map_or(Origin::OWN, Entry::origin),
    }
}

/// The selector, in core's types.
pub(super) fn selected(function: Function) -> Selected {
    let volts = |v: f64| Voltage::from_microvolts(libm::round(v * 1.0e6) as i32);
    match function {
        Function::Off => Selected::Off,
        Function::Volts => Selected::Volts,
        Function::Resistance => Selected::Resistance,
        Function::Continuity { amps } => {
            Selected::Continuity(Current::from_microamps(libm::round(amps * 1.0e6) as i64))
        }
        Function::Insulation { volts: v, timed: None } => Selected::Insulation(volts(v)),
        Function::Insulation { volts: v, timed: Some(test) } => Selected::Timed(volts(v), test),
    }
}
