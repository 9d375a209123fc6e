//! The closed loop: circuit and front end, gate, core, operator, faults, watch, expectations.
//!
//! One sample after the other: the front end advances and gives codes, the gate answers, the lines
//! follow; after every block core steps and its commands take effect. The same scenario gives the
//! same trace to the bit, on every machine: [`Report::digest`] is a hash of every code, every
//! answer of the gate and every command.

use alloc::string::String;
use alloc::vec::Vec;

use ohmwarden_core::Instrument;
use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::commands::Commands;
use ohmwarden_core::frame::{BLOCK, Frame, Panel, Sample, Seen};
use ohmwarden_core::gate::Gate;
use ohmwarden_core::invariants::{GateSeen, Observed, Rule, Truth, Watch};
use ohmwarden_core::profile::Profile;
use ohmwarden_core::signal::SampleRate;

use crate::circuit::Diverged;
use crate::expect::{Fired, Monitor};
use crate::faults::Effect;
use crate::frontend::{Bench, Lines};
use crate::scenario::{Event, NamedPart};

mod absorption;
mod board;
mod build;
mod calibration;
mod digest;
mod drivers;
mod error;
mod faults;
mod happen;
mod meddle;
mod memory;
mod outside;
mod panel;
mod reached;
mod report;
mod signals;
mod wiring;

pub use board::StoreEvent;
pub use build::{Recording, Recordings};
pub use error::WorldError;
pub use meddle::Meddle;
pub use memory::Stored;
pub use reached::Reached;
pub use report::{Nobody, Observer, Report};
pub use signals::{SIGNALS, Snapshot};

use build::Told;
use digest::Digest;
use drivers::Drivers;
use memory::Memory;
use outside::Outside;

/// A running scenario.
#[derive(Clone, Debug)]
pub struct World {
    profile: &'static Profile,
    rate: SampleRate,
    parts: Vec<NamedPart>,
    bench: Bench,
    outside: Option<Outside>,
    drivers: Drivers,
    gate: Gate,
    instrument: Instrument,
    told: Told,
    calibration: Option<Calibration>,
    memory: Option<Memory>,
    watch: Watch,
    lines: Lines,
    panel: Panel,
    timeline: Vec<Event>,
    next_event: usize,
    fired: Vec<Fired>,
    labels: Vec<String>,
    monitors: Vec<Monitor>,
    block: [Sample; BLOCK],
    filled: usize,
    in_block: usize,
    overruns: u8,
    samples: u64,
    total: u64,
    faults: panel::Computing,
    injected: Vec<(&'static str, Effect)>,
    arrived: Option<ohmwarden_core::invariants::Arrival>,
    lead_open: bool,
    changed: bool,
    digest: Digest,
    reached: Reached,
    now: Snapshot,
    meddle: Option<Meddle>,
}

impl World {
    /// Runs to the end.
    ///
    /// # Errors
    /// The circuit found no operating point: an error of the run, never a pass.
    pub fn run(mut self, observer: &mut dyn Observer) -> Result<Report, Diverged> {
        while self.samples < self.total {
            self.step(observer)?;
        }
        Ok(self.finish())
    }

    /// Advances by one sample.
    ///
    /// # Errors
    /// As [`World::run`].
    pub fn step(&mut self, observer: &mut dyn Observer) -> Result<(), Diverged> {
        self.happen(observer);
        self.drivers.drive(self.bench.circuit_mut(), self.samples);
        let sample = self.bench.sample(&self.lines)?;
        if let Some(outside) = &mut self.outside {
            outside.step(&self.drivers, self.samples)?;
        }
        self.samples = self.samples.saturating_add(1);
        let runs = self.faults.interrupt_runs();
        if runs {
            self.lines.gate = self.gate.sample(sample);
        }
        self.meddle_lines();
        self.digest.sample(sample, self.lines.gate);
        self.look(sample.is_none(), !runs, observer);
        if !runs {
            // Nobody collects the sample, so no block comes to its end and the main loop waits.
            return Ok(());
        }
        self.collect(sample);
        self.in_block = self.in_block.saturating_add(1);
        if self.in_block == BLOCK {
            self.in_block = 0;
            self.block(observer);
        }
        Ok(())
    }

    fn collect(&mut self, sample: Option<Sample>) {
        match (sample, self.block.get_mut(self.filled)) {
            (Some(sample), Some(place)) => {
                *place = sample;
                self.filled = self.filled.saturating_add(1);
            }
            _ => self.overruns = self.overruns.saturating_add(1),
        }
    }

    /// What really is, for the watch and for the expectations.
    fn look(&mut self, missing: bool, gate_dead: bool, observer: &mut dyn Observer) {
        let bench = self.bench.truth();
        // Nothing from outside reaches the terminals through a lead that is off.
        let outside = self.outside.as_ref().filter(|_| !self.lead_open);
        let truth = Truth {
            at_us: self.at_us(),
            terminal_volts: bench.terminal_volts as f32,
            source_amps: bench.source_amps as f32,
            discharging: bench.discharge_on && !bench.discharge_stuck,
            outside_live: outside.is_some_and(|o| o.is_live(self.profile)),
            outside_volts: outside.map_or(0.0, Outside::dc) as f32,
            outside_ac: outside.map_or(0.0, Outside::ac) as f32,
            changed: self.changed,
            arrival: self.arrived.take().filter(|_| !self.lead_open),
            missing,
            gate_dead,
            blind: bench.blind,
            lead_open: self.lead_open,
        };
        let seen = GateSeen { out: self.lines.gate, status: self.gate.status() };
        self.watch.sample(&truth, &seen);
        self.now.physical(&truth, &bench, self.lines.gate, &self.panel);
        let t = self.seconds();
        for monitor in &mut self.monitors {
            monitor.step(t, &self.now, &self.fired);
        }
        self.fired.clear();
        observer.sample(&self.now);
    }

    /// The main loop: core steps, its commands take effect.
    fn block(&mut self, observer: &mut dyn Observer) {
        if self.faults.loop_stalls() {
            return;
        }
        let frame = Frame {
            samples: self.block.get(..self.filled).unwrap_or(&[]),
            panel: self.told_panel(),
            elapsed_us: self.faults.elapsed_us(self.at_us()),
            supply_mv: self.bench.supply_mv(),
            seen: Seen {
                drive_sense: Some(self.now.source_amps > 50.0e-6),
                gate: self.gate.status(),
                overruns: self.overruns,
            },
        };
        let mut commands = self.instrument.step(&frame);
        self.filled = 0;
        self.overruns = 0;
        let keys = self.faults.keys(self.panel);
        let mut observed = Observed::of(&self.instrument, &commands, keys);
        self.meddle_observed(&mut observed);
        let truth = self.now.truth();
        self.watch.block(&truth, &observed);
        self.changed = false;
        self.digest.commands(&commands);
        self.now.shown(&self.instrument, &commands);
        self.reached.note(&commands);
        if let Some(change) = commands.event() {
            observer.change(&self.now, change);
        }
        self.apply(&mut commands);
        self.remember(&commands, observer);
    }

    fn apply(&mut self, commands: &mut Commands) {
        self.gate.follow(commands.take_permit());
        self.lines.obey(commands);
        self.faults.keep(commands.kept());
        self.meddle_lines();
    }

    fn finish(self) -> Report {
        let rules = Rule::ALL.iter().map(|rule| (*rule, self.watch.margin(*rule))).collect();
        let expectations = self.monitors.into_iter().map(Monitor::finish).collect();
        let flash = self.memory.map(Memory::image);
        let mut digest = self.digest;
        if let Some(image) = &flash {
            digest.image(image);
        }
        Report {
            rules,
            expectations,
            digest: digest.value(),
            reached: self.reached,
            last: self.now,
            curve: self.instrument.curve().clone(),
            flash,
        }
    }

    /// Time since the start of the run, in seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.samples as f64 / f64::from(self.rate.as_per_second())
    }

    /// The instrument, for what it tells beside its commands.
    #[must_use]
    pub const fn instrument(&self) -> &Instrument {
        &self.instrument
    }

    /// The front end, for a bench that is watched live.
    #[must_use]
    pub const fn bench(&self) -> &Bench {
        &self.bench
    }

    fn at_us(&self) -> u64 {
        self.samples.saturating_mul(1_000_000) / u64::from(self.rate.as_per_second())
    }
}
