//! Arcs: struck by a voltage, held by a current.

use super::{Outcome, STEP, capacitor, close, resistor, run, source};
use crate::circuit::{Netlist, Node, Part, Wave};

/// Strikes at 400 V, burns at 20 V, and goes out below 50 mA.
fn arc(a: Node, on_ohms: f64) -> Part {
    let (strike_volts, arc_volts, hold_amps) = (400.0, 20.0, 0.05);
    Part::Arc { a, b: Node::GROUND, strike_volts, arc_volts, on_ohms, hold_amps }
}

#[test]
fn an_arc_strikes_latches_and_goes_out() -> Outcome {
    let mut net = Netlist::new();
    let feed = net.node("feed");
    let drive = net.input("drive", 380.0);
    net.add("source", source(feed, 1000.0, Wave::Input(drive)))?;
    let arc = net.add("arc", arc(feed, 10.0))?;
    let amps = net.probe_current(arc);
    let mut circuit = net.build(STEP)?;
    for (drive_volts, burns) in [
        (399.0, false),
        (401.0, true),
        (100.0, true),
        (72.0, true),
        (70.0, false),
        (300.0, false),
        (-405.0, true),
        (-100.0, true),
        (100.0, false),
    ] {
        circuit.set_input(drive, drive_volts);
        circuit.step()?;
        let side = if drive_volts < 0.0 { -1.0 } else { 1.0 };
        let wanted = if burns { (drive_volts - side * 20.0) / 1010.0 } else { 0.0 };
        close(circuit.probe(amps), wanted, 1e-10);
    }
    Ok(())
}

// The source can give 1 mA, the arc needs 50 mA: it may not hang, and it may not burn.
#[test]
fn an_arc_that_nothing_can_feed_stays_open_and_the_step_ends() -> Outcome {
    let mut net = Netlist::new();
    let feed = net.node("feed");
    net.add("source", source(feed, 1e6, Wave::Dc(1000.0)))?;
    let arc = net.add("arc", arc(feed, 10.0))?;
    let amps = net.probe_current(arc);
    let mut circuit = net.build(STEP)?;
    run(&mut circuit, 100)?;
    close(circuit.probe(amps), 0.0, 1e-10);
    Ok(())
}

// A relaxation oscillator: from E through R to the strike voltage takes
// R C ln((E - low) / (E - strike)); the discharge through 10 ohm takes about a microsecond.
#[test]
fn an_arc_across_a_capacitor_strikes_again_and_again() -> Outcome {
    let mut net = Netlist::new();
    let (feed, top) = (net.node("feed"), net.node("top"));
    net.add("source", source(feed, 1e5, Wave::Dc(1000.0)))?;
    net.add("lead", resistor(feed, top, 1e5))?;
    net.add("c", capacitor(top, Node::GROUND, 10e-9, 0.0))?;
    net.add("arc", arc(top, 100.0))?;
    let volts = net.probe_voltage(top, Node::GROUND);
    let mut circuit = net.build(10e-6)?;
    let (mut strikes, mut before, mut highest, mut falling) = (0, 0.0, 0.0_f64, false);
    for _ in 0..10_000 {
        circuit.step()?;
        let now = circuit.probe(volts);
        strikes += u32::from(now < before && !falling);
        falling = now < before;
        highest = highest.max(now);
        before = now;
    }
    // Goes out at 20 V + 0.05 A * 100 ohm = 25 V; burning lasts tau ln(380 / 5) = 4.3 us.
    let period = 2e-3 * libm::log(975.0 / 600.0) + 1e-6 * libm::log(380.0 / 5.0);
    let wanted = 1.0 + (0.1 - 2e-3 * libm::log(1000.0 / 600.0)) / period;
    assert!(highest < 400.0 && highest > 395.0);
    close(f64::from(strikes), wanted, 1.0);
    Ok(())
}
