//! Pick-up from a neighbouring conductor: a little is lived with, more is an arrival.

use ohmwarden_core::gate::Cause;
use ohmwarden_core::interlock::State;
use ohmwarden_sim::circuit::{InputId, NetError, Netlist, Part, PartId, Wave};

use super::Broken;
use super::arrival::{Ended, follow};
use super::grid::Series;
use super::rig::{Load, RATE, Rig};

/// The neighbour: 230 V mains.
const CONDUCTOR_VOLTS: f64 = 230.0;
/// Milliseconds in which the pick-up grows to its full height.
const GROWS_MS: u32 = 100;
/// Milliseconds that it then stays.
const STAYS_MS: u32 = 3_000;
/// Milliseconds of hold before anything comes.
const HOLD_MS: u32 = 200;
/// Milliseconds in which a drive must be in hold.
const PATIENCE_MS: u32 = 5_000;

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
    /// State at the end.
    pub state: State,
    /// Milliseconds from the first volt to the flag on the reading; `None`: never.
    pub flagged_ms: Option<u32>,
    /// Greatest departure of the terminals from the set voltage.
    pub swing: f64,
}

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
        let switch = net.add(
            "joint",
            Part::Switch { a: tray, b: pos, on_ohms: 10.0, off_ohms: 1.0e12, closed: joined },
        )?;
        Ok(Self { switch, volts })
    }
}

impl Coupling {
    fn start(&self, joined: bool) -> Result<(Rig, Conductor), Broken> {
        let setup = Series::Behind(1.0e3).setup(self.set, self.load);
        let mut conductor = None;
        let mut rig = Rig::start(&setup, |net| {
            conductor = Some(Conductor::put(net, self.farads, joined)?);
            Ok(())
        })?;
        for _ in 0..PATIENCE_MS {
            if matches!(rig.state(), State::Drive { .. }) {
                break;
            }
            rig.run_block()?;
        }
        for _ in 0..HOLD_MS {
            rig.run_block()?;
        }
        let conductor = conductor.ok_or(Broken::NeverDrives(rig.state()))?;
        if rig.is_on() { Ok((rig, conductor)) } else { Err(Broken::NeverDrives(rig.state())) }
    }

    fn volts(&self, seconds: f64, phase_deg: f64) -> f64 {
        let cycles = seconds * self.hz + phase_deg / 360.0;
        CONDUCTOR_VOLTS * std::f64::consts::SQRT_2 * libm::sin(std::f64::consts::TAU * cycles)
    }

    /// Lets the pick-up grow in hold.
    ///
    /// # Errors
    /// A run that is broken.
    pub fn grow(&self) -> Result<Grown, Broken> {
        let (mut rig, conductor) = self.start(true)?;
        let mut grown = Grown {
            coupling: *self,
            tripped: None,
            state: rig.state(),
            flagged_ms: None,
            swing: 0.0,
        };
        for n in 1..=(GROWS_MS + STAYS_MS) * RATE / 1_000 {
            let seconds = f64::from(n) / f64::from(RATE);
            let grown_to = (seconds * 1.0e3 / f64::from(GROWS_MS)).min(1.0);
            let volts = grown_to * self.volts(seconds, 0.0);
            rig.bench.circuit_mut().set_input(conductor.volts, volts);
            rig.step()?;
            let away = (rig.truth().terminal_volts - f64::from(self.set)).abs();
            if matches!(rig.state(), State::Drive { .. }) {
                grown.swing = grown.swing.max(away);
            }
            if grown.flagged_ms.is_none() && rig.is_disturbed() {
                grown.flagged_ms = Some(n * 1_000 / RATE);
            }
            let cause = rig.status().closed.map(|closing| closing.cause);
            if let Some(cause) = cause.filter(|cause| cause.is_trip()) {
                grown.tripped = Some(cause);
                break;
            }
        }
        grown.state = rig.state();
        Ok(grown)
    }

    /// Joins the conductor at `phases` phases in hold and gives the slowest end.
    ///
    /// # Errors
    /// A run that is broken.
    pub fn join(&self, phases: u32) -> Result<(f64, Ended), Broken> {
        let (rig, conductor) = self.start(false)?;
        let mut slowest = (0.0, Ended { samples: Some(0), cause: None });
        for n in 0..phases {
            let phase_deg = f64::from(n) * 360.0 / f64::from(phases);
            let mut fork = rig.clone();
            fork.bench.circuit_mut().set_switch(conductor.switch, true);
            let mut seconds = 0.0;
            let ended = follow(&mut fork, |bench| {
                seconds += 1.0 / f64::from(RATE);
                bench.circuit_mut().set_input(conductor.volts, self.volts(seconds, phase_deg));
            })?;
            if ended.milliseconds() > slowest.1.milliseconds() {
                slowest = (phase_deg, ended);
            }
        }
        Ok(slowest)
    }
}

/// Lists the couplings of a table: one capacitance, every set voltage, two frequencies.
#[must_use]
pub fn couplings(farads: f64, loads: &[Load]) -> Vec<Coupling> {
    let mut all = Vec::new();
    for set in [50, 100, 250, 500, 1_000] {
        for &load in loads {
            for hz in [50.0, 60.0] {
                all.push(Coupling { farads, hz, set, load });
            }
        }
    }
    all
}
