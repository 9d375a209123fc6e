//! The same codes again: from the same seed, in a fork, and where a step is cut short.

use ohmwarden_core::unit::Voltage;

use super::{Outcome, RATE, Rig, load, mains};
use crate::circuit::Netlist;
use crate::faults::{Effect, LeadFault};
use crate::frontend::{Bench, FrontEndParams, Lines};
use crate::scenario::{below, stream};

#[test]
fn the_same_seed_gives_the_same_codes_and_a_fork_goes_on_alike() -> Outcome {
    let mut one = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    let mut other = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    one.run(10)?;
    other.run(10)?;
    let mut fork = one.bench.clone();
    for _ in 0..1000 {
        let sample = one.bench.sample(&one.lines)?;
        assert_eq!(sample, other.bench.sample(&other.lines)?);
        assert_eq!(sample, fork.sample(&one.lines)?);
    }
    let mut net = Netlist::new();
    let (pos, neg) = (net.node("lead.pos"), net.node("lead.neg"));
    mains(230.0, 10.0)(&mut net, pos, neg)?;
    let mut third = Bench::new(net, &FrontEndParams::default(), RATE, 1, 8)?;
    let lines = Lines::default();
    let mut fresh = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?.bench;
    let differ =
        (0..100).filter(|_| third.sample(&lines).ok() != fresh.sample(&lines).ok()).count();
    assert!(differ > 50);
    Ok(())
}

#[test]
fn a_step_that_is_cut_short_because_nothing_moves_changes_nothing() -> Outcome {
    let params = FrontEndParams { relay_bounce_s: 1.0e-3, ..FrontEndParams::default() };
    let mut short = Rig::new(&params, load(1.0e6, 10.0e-9))?;
    let mut rng = stream(3, "lines");
    let mut lines = Lines::default();
    let mut whole = short.bench.clone();
    for n in 0..60_000_u32 {
        lines.token ^= n.is_multiple_of(10) && n % 5_000 < 4_000;
        // Pauses of all lengths, some longer than anything takes to arrive.
        if below(&mut rng, 300) == 0 {
            match below(&mut rng, 5) {
                0 => lines.gate.on ^= true,
                1 => lines.discharge ^= true,
                2 => lines.relay ^= true,
                3 => lines.bias ^= true,
                _ => lines.gate.set_point = Voltage::from_volts(below(&mut rng, 500) as i32),
            }
        }
        match n {
            20_000 => [&mut short.bench, &mut whole].map(|b| b.set_supply_mv(3_000)),
            25_000 => [&mut short.bench, &mut whole].map(|b| b.set_supply_mv(6_000)),
            40_000 => [&mut short.bench, &mut whole]
                .map(|b| b.apply(&Effect::Lead(LeadFault::Intermittent { hertz: 20.0 }))),
            _ => [(); 2],
        };
        whole.rests = false;
        assert_eq!(short.bench.sample(&lines)?, whole.sample(&lines)?, "at sample {n}");
        assert_eq!(short.bench.positions, whole.positions, "at sample {n}");
    }
    Ok(())
}
