//! From a scenario to a world: parts to a netlist, panel, profile, monitors.

use alloc::string::{String, ToString};
use alloc::vec::Vec;

use ohmwarden_core::Instrument;
use ohmwarden_core::frame::{BLOCK, Function as Selected, Key, Panel, Sample};
use ohmwarden_core::gate::Gate;
use ohmwarden_core::invariants::Watch;
use ohmwarden_core::judge::Limit;
use ohmwarden_core::profile::{GENERAL, LOW_VOLTAGE, Profile, TELECOM, WET};
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Voltage};

use super::drivers::{Driver, Drivers, Shape};
use super::outside::Outside;
use super::panel::Computing;
use super::{Digest, Reached, Snapshot, World, WorldError};
use crate::circuit::{Harmonic as Partial, NetError, Netlist, Part as Element, Wave};
use crate::expect::Monitor;
use crate::frontend::{Bench, FrontEndParams, Lines};
use crate::scenario::{Bound, Function, NamedPart, Part, ProfileName, Scenario, Start, Timed};

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

/// Branches that an absorption is made of, one a decade of time from 0.1 s.
const ABSORPTION_BRANCHES: u32 = 5;

impl World {
    /// Builds the world of one case of a scenario (its sweep is not looked at).
    ///
    /// # Errors
    /// A circuit that cannot be solved, or a recording that cannot be had.
    pub fn new(scenario: &Scenario, recordings: &dyn Recordings) -> Result<Self, WorldError> {
        let profile = profile(scenario.profile);
        let rate = SampleRate::from_per_second(scenario.rate);
        let (net, drivers) = netlist(scenario, recordings)?;
        let params = front_end(&scenario.start);
        let outside = Outside::new(scenario, &net, profile)?;
        let bench = Bench::new(net, &params, scenario.rate, scenario.substeps, scenario.seed)?;
        let limit = scenario.limit.map(|spec| match spec.bound {
            Bound::AtLeast(ohms) => Limit::AtLeast(ohms as f32),
            Bound::AtMost(ohms) => Limit::AtMost(ohms as f32),
        });
        let labels: Vec<String> = scenario.labels().iter().map(ToString::to_string).collect();
        let mut instrument = Instrument::new(profile, rate);
        instrument.set_limit(limit);
        let mut world = Self {
            profile,
            rate,
            parts: scenario.parts.clone(),
            bench,
            outside,
            drivers: drivers.at(rate),
            gate: Gate::new(profile, rate),
            instrument,
            limit,
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
            digest: Digest::EMPTY,
            reached: Reached::default(),
            now: Snapshot::default(),
            meddle: None,
        };
        if let Some(volts) = scenario.start.battery_volts {
            world.bench.set_supply_mv((volts * 1.0e3) as u16);
        }
        Ok(world)
    }

    /// Starts core anew, as after a reset of the processor: only what was kept survives.
    pub(super) fn reset(&mut self) {
        let kept = self.faults.kept();
        self.instrument = Instrument::new(self.profile, self.rate);
        self.instrument.set_limit(self.limit);
        self.instrument.wake(kept);
        self.gate = Gate::new(self.profile, self.rate);
        self.lines = Lines::default();
        self.filled = 0;
        self.overruns = 0;
        self.watch.reset();
    }
}

fn profile(name: ProfileName) -> &'static Profile {
    match name {
        ProfileName::General => &GENERAL,
        ProfileName::LowVoltage => &LOW_VOLTAGE,
        ProfileName::Telecom => &TELECOM,
        ProfileName::Wet => &WET,
    }
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
        Function::Insulation { volts: v, timed: Timed::No } => Selected::Insulation(volts(v)),
        Function::Insulation { volts: v, .. } => Selected::Timed(volts(v)),
    }
}

/// The user's circuit, with what drives its sources from outside.
fn netlist(
    scenario: &Scenario,
    recordings: &dyn Recordings,
) -> Result<(Netlist, Drivers), WorldError> {
    let mut net = Netlist::new();
    let mut drivers = Drivers::default();
    for part in &scenario.parts {
        add(&mut net, &mut drivers, part, recordings)?;
    }
    Ok((net, drivers))
}

fn add(
    net: &mut Netlist,
    drivers: &mut Drivers,
    named: &NamedPart,
    recordings: &dyn Recordings,
) -> Result<(), WorldError> {
    let [first, second] = &named.across;
    let (a, b) = (net.node(first), net.node(second));
    let name = named.name.as_str();
    let element = match &named.part {
        Part::Resistor { ohms } => Element::Resistor { a, b, ohms: *ohms },
        Part::Capacitor { farads, volts } => {
            Element::Capacitor { a, b, farads: *farads, volts: *volts }
        }
        Part::Inductor { henries, amps } => {
            Element::Inductor { a, b, henries: *henries, amps: *amps }
        }
        Part::Sine { volts_rms, hertz, phase_deg, ohms, harmonics } => Element::Source {
            pos: a,
            neg: b,
            ohms: *ohms,
            wave: Wave::Sine {
                volts_rms: *volts_rms,
                hertz: *hertz,
                phase_deg: *phase_deg,
                harmonics: harmonics
                    .iter()
                    .map(|h| Partial {
                        order: h.order,
                        fraction: h.fraction,
                        phase_deg: h.phase_deg,
                    })
                    .collect(),
            },
        },
        Part::Switch { closed, on_ohms, off_ohms } => {
            Element::Switch { a, b, on_ohms: *on_ohms, off_ohms: *off_ohms, closed: *closed }
        }
        Part::Diode { volts } => {
            Element::Diode { anode: a, cathode: b, volts: *volts, on_ohms: 0.05, off_ohms: 1.0e9 }
        }
        Part::Clamp { volts, ohms } => Element::Clamp { a, b, volts: *volts, on_ohms: *ohms },
        Part::Arc { strike_volts, arc_volts, ohms, hold_amps } => Element::Arc {
            a,
            b,
            strike_volts: *strike_volts,
            arc_volts: *arc_volts,
            on_ohms: *ohms,
            hold_amps: *hold_amps,
        },
        Part::CurrentLimit { amps, ohms } => {
            Element::CurrentLimit { a, b, on_ohms: *ohms, amps: *amps }
        }
        Part::Pickup { farads, volts_rms, hertz, phase_deg } => {
            let live = net.node(&alloc::format!("{name}.conductor"));
            net.add(
                &alloc::format!("{name}.coupling"),
                Element::Capacitor { a: live, b: a, farads: *farads, volts: 0.0 },
            )?;
            Element::Source {
                pos: live,
                neg: b,
                ohms: 1.0,
                wave: Wave::Sine {
                    volts_rms: *volts_rms,
                    hertz: *hertz,
                    phase_deg: *phase_deg,
                    harmonics: Vec::new(),
                },
            }
        }
        Part::Insulation { ohms, farads, absorption, absorption_n } => {
            absorb(net, name, (a, b), *farads, *absorption, *absorption_n)?;
            net.add(
                &alloc::format!("{name}.cap"),
                Element::Capacitor { a, b, farads: *farads, volts: 0.0 },
            )?;
            Element::Resistor { a, b, ohms: *ohms }
        }
        driven => {
            let (ohms, shape) = shape(driven, recordings)?;
            let input = net.input_ramped(&alloc::format!("{name}.volts"), shape.at(0.0));
            drivers.0.push(Driver { name: name.to_string(), input, shape });
            Element::Source { pos: a, neg: b, ohms, wave: Wave::Input(input) }
        }
    };
    net.add(name, element)?;
    Ok(())
}

/// Absorption as series R-C branches, a decade of time apart: their currents add up to about
/// `t^-n`. The capacitances follow `tau^(1 - n)`, so that each branch alone dies away where the
/// next takes over, and together hold `absorption` of the geometric charge.
fn absorb(
    net: &mut Netlist,
    name: &str,
    (a, b): (crate::circuit::Node, crate::circuit::Node),
    farads: f64,
    absorption: f64,
    n: f64,
) -> Result<(), NetError> {
    if absorption <= 0.0 {
        return Ok(());
    }
    let weight = |k: u32| libm::pow(libm::pow(10.0, f64::from(k)), 1.0 - n);
    let whole: f64 = (0..ABSORPTION_BRANCHES).map(weight).sum();
    for k in 0..ABSORPTION_BRANCHES {
        let part = farads * absorption * weight(k) / whole;
        let tau = 0.1 * libm::pow(10.0, f64::from(k));
        let inner = net.node(&alloc::format!("{name}.absorb{k}"));
        net.add(
            &alloc::format!("{name}.absorb{k}.ohms"),
            Element::Resistor { a, b: inner, ohms: tau / part },
        )?;
        net.add(
            &alloc::format!("{name}.absorb{k}.cap"),
            Element::Capacitor { a: inner, b, farads: part, volts: 0.0 },
        )?;
    }
    Ok(())
}

/// What drives a source from outside, and the source's resistance.
fn shape(part: &Part, recordings: &dyn Recordings) -> Result<(f64, Shape), WorldError> {
    Ok(match part {
        Part::Dc { volts, ohms } => (*ohms, Shape::Steady(*volts)),
        Part::Pulse { volts, width_s, period_s, delay_s, ohms } => (
            *ohms,
            Shape::Pulse { volts: *volts, width: *width_s, period: *period_s, delay: *delay_s },
        ),
        Part::Exponential { volts, tau_s, ohms } => {
            (*ohms, Shape::Exponential { volts: *volts, tau: *tau_s })
        }
        Part::Glide { volts_rms, from_hertz, to_hertz, seconds, ohms } => (
            *ohms,
            Shape::Glide {
                volts_rms: *volts_rms,
                from: *from_hertz,
                to: *to_hertz,
                seconds: *seconds,
            },
        ),
        Part::Recorded { file, column, scale, repeat, ohms } => {
            let recording = recordings.find(file, column).map_err(WorldError::Recording)?;
            (*ohms, Shape::recorded(recording, *scale, *repeat))
        }
        // Every other kind was made into an element before.
        _ => (1.0, Shape::Steady(0.0)),
    })
}
