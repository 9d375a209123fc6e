//! The closed loop that the tables run: front end, gate and core, forked at every arrival.
//!
//! Nothing here is a model of the trip. [`Rig::start`] presses the key of a real instrument on a
//! passive load, waits for its real proof and its real permit, and from then on gate and core run
//! as they do on a board: the gate on every sample, core on every block of ten, arming or disarming
//! the gate with what it commands.

use ohmwarden_core::Instrument;
use ohmwarden_core::commands::Commands;
use ohmwarden_core::frame::{BLOCK, Frame, Function, Key, Panel, Sample, Seen};
use ohmwarden_core::gate::{Gate, GateStatus};
use ohmwarden_core::interlock::{Reason, State};
use ohmwarden_core::judge::Flags;
use ohmwarden_core::profile::{GENERAL, Profile};
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::circuit::{NetError, Netlist, Part};
use ohmwarden_sim::frontend::{Bench, FrontEndParams, Lines, Truth};

use super::Broken;

/// The noise that the profile allows on a voltage channel, ripple of the source included.
pub const PROFILE_NOISE_VOLTS: f64 = 0.75;
/// Samples a second of every table.
pub const RATE: u32 = 10_000;
/// Blocks of 1 ms that the self-test and then a fresh press may take before the run is broken.
const PATIENCE: u32 = 3_000;
/// Blocks before the key goes down: the self-test is over and the key was seen up.
const BEFORE_PRESS: u32 = 600;

/// What hangs on the leads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Insulation resistance; infinite where there is none.
    pub ohms: f64,
    /// Capacitance.
    pub farads: f64,
}

impl Load {
    fn put(&self, net: &mut Netlist) -> Result<(), NetError> {
        let (a, b) = (net.node("lead.pos"), net.node("lead.neg"));
        if self.ohms.is_finite() {
            net.add("load.ohms", Part::Resistor { a, b, ohms: self.ohms })?;
        }
        if self.farads > 0.0 {
            net.add("load.farads", Part::Capacitor { a, b, farads: self.farads, volts: 0.0 })?;
        }
        Ok(())
    }
}

/// One set-up: what is driven into what, and how noisy it is.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The numbers that core runs on.
    pub profile: &'static Profile,
    /// What is measured.
    pub function: Function,
    /// What hangs on the leads.
    pub load: Load,
    /// The electronics.
    pub params: FrontEndParams,
    /// Seed of the noise.
    pub seed: u64,
}

impl Setup {
    /// Takes the default front end at the profile's noise, with `series_ohms` of protection.
    #[must_use]
    pub fn new(set: Voltage, load: Load, series_ohms: f64) -> Self {
        let params = FrontEndParams {
            series_ohms,
            noise_volts: PROFILE_NOISE_VOLTS,
            ..FrontEndParams::default()
        };
        Self { profile: &GENERAL, function: Function::Insulation(set), load, params, seed: 1 }
    }
}

/// A running instrument on its load. A clone is a fork.
#[derive(Clone, Debug)]
pub struct Rig {
    /// The electronics and the circuit.
    pub bench: Bench,
    /// The gate.
    pub gate: Gate,
    /// The decisions.
    pub instrument: Instrument,
    lines: Lines,
    panel: Panel,
    block: [Sample; BLOCK],
    in_block: usize,
    samples: u64,
    deaf: Option<[Sample; BLOCK]>,
    disturbed: bool,
    reason: Reason,
}

impl Rig {
    /// Presses the key on `setup` with what `outside` adds to the netlist, and runs until the gate
    /// has let the source on.
    ///
    /// # Errors
    /// The circuit cannot be solved, or the instrument refuses to drive a passive load.
    pub fn start(
        setup: &Setup,
        outside: impl FnOnce(&mut Netlist) -> Result<(), NetError>,
    ) -> Result<Self, Broken> {
        let mut net = Netlist::new();
        setup.load.put(&mut net)?;
        outside(&mut net)?;
        let rate = SampleRate::from_per_second(RATE);
        let mut rig = Self {
            bench: Bench::new(net, &setup.params, RATE, 1, setup.seed)?,
            gate: Gate::new(setup.profile, rate),
            instrument: Instrument::new(setup.profile, rate),
            lines: Lines::default(),
            panel: Panel::idle(setup.function),
            block: [Sample::default(); BLOCK],
            in_block: 0,
            samples: 0,
            deaf: None,
            disturbed: false,
            reason: Reason::Ready,
        };
        for block in 0..PATIENCE {
            if block == BEFORE_PRESS {
                rig.panel.test = Key::DOWN;
            }
            rig.run_block()?;
            if rig.lines.gate.on {
                return Ok(rig);
            }
        }
        Err(Broken::NeverDrives(rig.instrument.state()))
    }

    /// Advances by one sample.
    ///
    /// # Errors
    /// The circuit found no operating point.
    #[inline]
    pub fn step(&mut self) -> Result<(), Broken> {
        let sample = self.bench.sample(&self.lines)?;
        self.samples = self.samples.wrapping_add(1);
        self.lines.gate = self.gate.sample(sample);
        if let Some(place) = self.block.get_mut(self.in_block) {
            *place = sample.unwrap_or_default();
        }
        self.in_block += 1;
        if self.in_block == BLOCK {
            self.in_block = 0;
            self.decide();
        }
        Ok(())
    }

    /// Advances by one block.
    ///
    /// # Errors
    /// The circuit found no operating point.
    pub fn run_block(&mut self) -> Result<(), Broken> {
        for _ in 0..BLOCK {
            self.step()?;
        }
        Ok(())
    }

    /// Makes core see the last block for ever: it goes on arming, so that the gate stands alone.
    pub const fn deafen(&mut self) {
        self.deaf = Some(self.block);
    }

    fn decide(&mut self) {
        let frame = Frame {
            samples: self.deaf.as_ref().unwrap_or(&self.block),
            panel: self.panel,
            elapsed_us: (self.samples * 1_000_000 / u64::from(RATE)) as u32,
            supply_mv: self.bench.supply_mv(),
            seen: Seen {
                drive_sense: Some(self.bench.truth().source_amps > super::OFF_AMPS),
                gate: self.gate.status(),
                overruns: 0,
            },
        };
        let mut commands = self.instrument.step(&frame);
        self.apply(&mut commands);
    }

    fn apply(&mut self, commands: &mut Commands) {
        self.gate.follow(commands.take_permit());
        self.lines.obey(commands);
        self.reason = commands.view().reason;
        self.disturbed = commands.view().main.flags.any(Flags::DISTURBED);
    }

    /// Whether the gate lets the source on.
    #[must_use]
    pub const fn is_on(&self) -> bool {
        self.lines.gate.on
    }

    /// Whether the reading on view is flagged as disturbed.
    #[must_use]
    pub const fn is_disturbed(&self) -> bool {
        self.disturbed
    }

    /// What the instrument is doing.
    #[must_use]
    pub const fn state(&self) -> State {
        self.instrument.state()
    }

    /// Why it is where it is.
    #[must_use]
    pub const fn reason(&self) -> Reason {
        self.reason
    }

    /// What the gate last did.
    #[must_use]
    pub fn status(&self) -> GateStatus {
        self.gate.status()
    }

    /// What really is.
    #[must_use]
    pub fn truth(&self) -> Truth {
        self.bench.truth()
    }
}
