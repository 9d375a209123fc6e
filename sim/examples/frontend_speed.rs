//! Prints how long one sample of the default electronics takes, converters and noise included.

use std::error::Error;
use std::hint::black_box;
use std::time::Instant;

use ohmwarden_core::gate::GateOut;
use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::circuit::{Netlist, Part};
use ohmwarden_sim::frontend::{Bench, FrontEndParams, Lines};

/// Many short batches, of which the best counts: the machine may be busy with other things.
const BATCHES: u32 = 300;
const SAMPLES: u32 = 10_000;

fn main() -> Result<(), Box<dyn Error>> {
    let mut net = Netlist::new();
    let (a, b) = (net.node("lead.pos"), net.node("lead.neg"));
    net.add("insulation", Part::Resistor { a, b, ohms: 1.0e6 })?;
    net.add("cable", Part::Capacitor { a, b, farads: 1.0e-6, volts: 0.0 })?;
    let mut bench = Bench::new(net, &FrontEndParams::default(), 10_000, 1, 1)?;
    let set_point = Voltage::from_volts(500);
    let mut lines =
        Lines { gate: GateOut { on: true, set_point }, relay: true, ..Lines::default() };
    let states = bench.circuit_mut().states();
    for name in ["ramp and hold", "hold"] {
        let mut best = f64::INFINITY;
        for _ in 0..BATCHES {
            let start = Instant::now();
            for n in 0..SAMPLES {
                lines.token ^= n % 10 == 0;
                black_box(bench.sample(&lines)?);
            }
            best = best.min(start.elapsed().as_nanos() as f64 / f64::from(SAMPLES));
        }
        let volts = bench.truth().terminal_volts;
        println!("{name}: {states} states, {best:.1} ns a sample, {volts:.2} V at the terminals");
    }
    let start = Instant::now();
    for _ in 0..100_000 {
        black_box(bench.clone());
    }
    println!("fork: {:.0} ns", start.elapsed().as_nanos() as f64 / 100_000.0);
    Ok(())
}
