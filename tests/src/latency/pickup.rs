//! Pick-up from a neighbouring conductor: a little is lived with and told, more is dropped.
//!
//! While the source pushes harder than the pick-up pulls, its regulator holds the terminals still
//! and only the current shows what goes on; where the pick-up is the stronger, the one-sided source
//! cannot hold it down and the terminals swing.

use ohmwarden_core::gate::Cause;
use ohmwarden_core::interlock::State;
use ohmwarden_sim::circuit::{InputId, NetError, Netlist, Part, PartId, Wave};
use ohmwarden_sim::frontend::Bench;
use rayon::prelude::*;

use super::Broken;
use super::arrival::{Ended, follow};
use super::grid::Series;
use super::rig::{Load, RATE, Rig};

/// The neighbour: 230 V mains.
const CONDUCTOR_VOLTS: f64 = 230.0;
/// Milliseconds in which the pick-up grows to its full height.
const GROWS_MS: u32 = 100;
/// Milliseconds that it then stays: until just before the first look with the source off, which
/// sees the pick-up bare.
const STAYS_MS: u32 = 1_600;
/// Milliseconds of hold before anything comes.
const HOLD_MS: u32 = 200;
/// Milliseconds in which a drive must be in hold.
const PATIENCE_MS: u32 = 5_000;
/// Milliseconds between two moments at which the conductor joins.
const JOINS_EVERY_MS: u32 = 10;
/// Phases at each.
const PHASES: u32 = 24;

/// A conductor that couples into the leads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coupling {
    /// Capacitance to the positive lead.
    pub farads: f64,
    /// Frequency on the conductor.
    pub hz: f64,
    /// Test voltage.
    pub set: i32,
    /// The load.
    pub load: Load,
}

/// What a growing pick-up did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grown {
    /// The coupling.
    pub coupling: Coupling,
    /// The rule that closed the gate, if one did.
    pub tripped: Option<Cause>,
    /// Milliseconds from the first volt to the flag on the reading; `None`: never.
    pub flagged_ms: Option<u32>,
    /// Greatest departure of the terminals from where they were held.
    pub swing: f64,
}

/// The slowest drop of a conductor that joins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joined {
    /// The coupling.
    pub coupling: Coupling,
    /// Phase at which it joined.
    pub phase_deg: f64,
    /// Milliseconds after the source went on.
    pub at_ms: u32,
    /// How it ended.
    pub ended: Ended,
}

#[derive(Clone, Copy, Debug)]
struct Conductor {
    switch: PartId,
    volts: InputId,
}

impl Conductor {
    /// Adds it, on the leads from the start if `joined`.
    fn put(net: &mut Netlist, farads: f64, joined: bool) -> Result<Self, NetError> {
        let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
        let (live, tray) = (net.node("live"), net.node("tray"));
        let volts = net.input_ramped("conductor.volts", 0.0);
        let wave = Wave::Input(volts);
        net.add("conductor", Part::Source { pos: live, neg, ohms: 1.0, wave })?;
        net.add("coupling", Part::Capacitor { a: live, b: tray, farads, volts: 0.0 })?;
        let (on_ohms, off_ohms) = (10.0, 1.0e12);
        let joint = Part::Switch { a: tray, b: pos, on_ohms, off_ohms, closed: joined };
        Ok(Self { switch: net.add("joint", joint)?, volts })
    }
}

impl Coupling {
    fn start(&self, joined: bool) -> Result<(Rig, Conductor), Broken> {
        let setup = Series::Behind(1.0e3).setup(self.set, self.load);
        let mut conductor = None;
        let rig = Rig::start(&setup, |net| {
            conductor = Some(Conductor::put(net, self.farads, joined)?);
            Ok(())
        })?;
        conductor.map(|conductor| (rig, conductor)).ok_or(Broken::NothingDone)
    }

    fn volts(&self, seconds: f64, phase_deg: f64) -> f64 {
        let cycles = seconds * self.hz + phase_deg / 360.0;
        CONDUCTOR_VOLTS * core::f64::consts::SQRT_2 * libm::sin(core::f64::consts::TAU * cycles)
    }

    /// Lets the pick-up grow in hold.
    ///
    /// # Errors
    /// A run that is broken.
    pub fn grow(&self) -> Result<Grown, Broken> {
        let (mut rig, conductor) = self.start(true)?;
        for _ in 0..PATIENCE_MS {
            if matches!(rig.state(), State::Drive { .. }) {
                break;
            }
            rig.run_block()?;
        }
        for _ in 0..HOLD_MS {
            rig.run_block()?;
        }
        let held = rig.truth().terminal_volts;
        let mut grown = Grown { coupling: *self, tripped: None, flagged_ms: None, swing: 0.0 };
        for n in 1..=(GROWS_MS + STAYS_MS) * RATE / 1_000 {
            let seconds = f64::from(n) / f64::from(RATE);
            let grown_to = (seconds * 1.0e3 / f64::from(GROWS_MS)).min(1.0);
            let volts = grown_to * self.volts(seconds, 0.0);
            rig.bench.circuit_mut().set_input(conductor.volts, volts);
            rig.step()?;
            if !rig.is_on() {
                grown.tripped = rig.status().closed.map(|closing| closing.cause);
                break;
            }
            grown.swing = grown.swing.max((rig.truth().terminal_volts - held).abs());
            if grown.flagged_ms.is_none() && rig.is_disturbed() {
                grown.flagged_ms = Some(n * 1_000 / RATE);
            }
        }
        Ok(grown)
    }

    /// Joins the conductor at many moments of the ramp and in hold, and gives the slowest drop.
    ///
    /// # Errors
    /// A run that is broken.
    pub fn join(&self) -> Result<Joined, Broken> {
        let (mut rig, conductor) = self.start(false)?;
        let ended = Ended { samples: Some(0), cause: None };
        let mut slowest = Joined { coupling: *self, phase_deg: 0.0, at_ms: 0, ended };
        let last = self.set.unsigned_abs() + HOLD_MS;
        for at_ms in 0..last {
            if at_ms % JOINS_EVERY_MS == 0 && rig.is_on() {
                for n in 0..PHASES {
                    let phase_deg = f64::from(n) * 360.0 / f64::from(PHASES);
                    let ended = self.joins(&mut rig, conductor, phase_deg)?;
                    if slowest.ended.milliseconds() < ended.milliseconds() {
                        slowest = Joined { phase_deg, at_ms, ended, ..slowest };
                    }
                }
            }
            rig.run_block()?;
        }
        Ok(slowest)
    }

    fn joins(&self, rig: &mut Rig, conductor: Conductor, phase_deg: f64) -> Result<Ended, Broken> {
        let mut fork = rig.clone();
        fork.bench.circuit_mut().set_switch(conductor.switch, true);
        let mut seconds = 0.0;
        let ended = follow(&mut fork, |bench: &mut Bench| {
            seconds += 1.0 / f64::from(RATE);
            bench.circuit_mut().set_input(conductor.volts, self.volts(seconds, phase_deg));
        })?;
        rig.bench.circuit_mut().learn_from(fork.bench.circuit());
        Ok(ended)
    }
}

/// Lists one capacitance at every set voltage, on every load, at each frequency.
#[must_use]
pub fn couplings(farads: f64, loads: &[Load], frequencies: &[f64]) -> Vec<Coupling> {
    let mut all = Vec::new();
    for set in [50, 100, 250, 500, 1_000] {
        for &load in loads {
            all.extend(frequencies.iter().map(|&hz| Coupling { farads, hz, set, load }));
        }
    }
    all
}

/// Runs [`Coupling::grow`] on all of these.
///
/// # Errors
/// The first run that is broken.
pub fn grow(all: &[Coupling]) -> Result<Vec<Grown>, Broken> {
    all.par_iter().map(Coupling::grow).collect()
}

/// Runs [`Coupling::join`] on all of these and gives the slowest.
///
/// # Errors
/// The first run that is broken.
pub fn join(all: &[Coupling]) -> Result<Vec<Joined>, Broken> {
    all.par_iter().map(Coupling::join).collect()
}

/// What a joining conductor may take: while it pulls the terminals down the source holds them up
/// and nothing shows, at most for half a cycle; then it lifts them above the set point.
#[must_use]
pub fn joins_within(hz: f64) -> f64 {
    500.0 / hz + 2.0
}

/// The loads on which a pick-up must be told: the source reaches its set voltage, and what ripple
/// may drive through the load is less than the pick-up.
pub const TOLD_LOADS: [Load; 5] = [
    Load { ohms: f64::INFINITY, farads: 0.0 },
    Load { ohms: 1.0e7, farads: 0.0 },
    Load { ohms: 1.0e6, farads: 0.0 },
    Load { ohms: f64::INFINITY, farads: 1.0e-9 },
    Load { ohms: f64::INFINITY, farads: 10.0e-9 },
];

/// Loads on which it need only not trip.
pub const OTHER_LOADS: [Load; 4] = [
    Load { ohms: f64::INFINITY, farads: 100.0e-9 },
    Load { ohms: f64::INFINITY, farads: 1.0e-6 },
    Load { ohms: 1.0e5, farads: 0.0 },
    Load { ohms: 5.0e3, farads: 0.0 },
];

/// Loads that draw less than 10 nF can deliver, and on which they leave 50 V and more with the
/// source off.
pub const LIGHT_LOADS: [Load; 4] = [
    Load { ohms: f64::INFINITY, farads: 0.0 },
    Load { ohms: 1.0e6, farads: 0.0 },
    Load { ohms: f64::INFINITY, farads: 1.0e-9 },
    Load { ohms: f64::INFINITY, farads: 10.0e-9 },
];

/// Loads that draw more: the source never stops pushing and holds the terminals all along.
pub const HEAVY_LOADS: [Load; 2] =
    [Load { ohms: 2.0e5, farads: 0.0 }, Load { ohms: 1.0e5, farads: 0.0 }];
