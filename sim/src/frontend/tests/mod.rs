//! The electronics against hand calculation.

extern crate std;

use std::boxed::Box;

use ohmwarden_core::frame::Sample;
use ohmwarden_core::gate::GateOut;
use ohmwarden_core::unit::Voltage;

use super::{Bench, FrontEndParams, Lines, Truth};
use crate::circuit::{Diverged, NetError, Netlist, Node, Part, Wave};
use crate::faults::Channel;

mod drive;
mod faults;
mod reading;
mod repeat;

type Outcome = Result<(), Box<dyn core::error::Error>>;

const RATE: u32 = 10_000;

/// A bench driven without core: lines that a test sets, a token that changes every millisecond.
struct Rig {
    bench: Bench,
    lines: Lines,
    token_runs: bool,
    sample: Sample,
}

impl Rig {
    fn new(
        params: &FrontEndParams,
        fill: impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError>,
    ) -> Result<Self, NetError> {
        let mut net = Netlist::new();
        let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
        fill(&mut net, pos, neg)?;
        let bench = Bench::new(net, params, RATE, 1, 7)?;
        Ok(Self { bench, lines: Lines::default(), token_runs: true, sample: Sample::default() })
    }

    fn run(&mut self, milliseconds: u32) -> Result<(), Diverged> {
        for _ in 0..milliseconds {
            self.lines.token ^= self.token_runs;
            for _ in 0..RATE / 1000 {
                self.sample = self.bench.sample(&self.lines)?.unwrap_or_default();
            }
        }
        Ok(())
    }

    fn drive(&mut self, volts: i32) {
        let set_point = Voltage::from_volts(volts);
        self.lines.gate = GateOut { on: true, set_point };
        self.lines.relay = true;
    }

    /// Ramps at 2 V/ms and holds.
    fn ramp(&mut self, volts: i32, hold_ms: u32) -> Result<(), Diverged> {
        for at in (0..=volts).step_by(2) {
            self.drive(at);
            self.run(1)?;
        }
        self.run(hold_ms)
    }

    /// The mean of so many milliseconds of one channel, in its own unit.
    fn mean(&mut self, channel: Channel, milliseconds: u32) -> Result<f64, Diverged> {
        let mut sum = 0.0;
        for _ in 0..milliseconds {
            self.lines.token ^= self.token_runs;
            for _ in 0..RATE / 1000 {
                let s = self.bench.sample(&self.lines)?.unwrap_or_default();
                let codes = [s.v, s.v2, s.i, s.i_gate, s.low];
                sum += f64::from(codes[channel.index()]) * self.bench.units[channel.index()];
            }
        }
        Ok(sum / f64::from(milliseconds * RATE / 1000))
    }

    /// The RMS of so many milliseconds of the first divider, in volts.
    fn rms(&mut self, milliseconds: u32) -> Result<f64, Diverged> {
        let mut sum = 0.0;
        for _ in 0..milliseconds * RATE / 1000 {
            let s = self.bench.sample(&self.lines)?.unwrap_or_default();
            let volts = f64::from(s.v) * self.bench.units[0];
            sum += volts * volts;
        }
        Ok(libm::sqrt(sum / f64::from(milliseconds * RATE / 1000)))
    }

    fn truth(&self) -> Truth {
        self.bench.truth()
    }
}

fn close(found: f64, wanted: f64, within: f64) {
    assert!(
        libm::fabs(found - wanted) <= within,
        "found {found:e}, wanted {wanted:e} +- {within:e}"
    );
}

fn load(ohms: f64, farads: f64) -> impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError> {
    move |net, a, b| {
        net.add("r", Part::Resistor { a, b, ohms })?;
        if farads > 0.0 {
            net.add("c", Part::Capacitor { a, b, farads, volts: 0.0 })?;
        }
        Ok(())
    }
}

fn mains(
    volts_rms: f64,
    ohms: f64,
) -> impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError> {
    move |net, pos, neg| {
        let wave = Wave::Sine { volts_rms, hertz: 50.0, phase_deg: 0.0, harmonics: [].into() };
        net.add("mains", Part::Source { pos, neg, ohms, wave }).map(|_| ())
    }
}

fn pick_up(farads: f64) -> impl FnOnce(&mut Netlist, Node, Node) -> Result<(), NetError> {
    move |net, pos, neg| {
        let live = net.node("live");
        mains(230.0, 1.0)(net, live, neg)?;
        net.add("tray", Part::Capacitor { a: live, b: pos, farads, volts: 0.0 }).map(|_| ())
    }
}
