//! What goes wrong, and ends again: leads, sensors, actuators, the fuse.

use ohmwarden_core::gate::GateOut;

use super::{Outcome, Rig, close, load, mains};
use crate::circuit::{Netlist, Part, Wave};
use crate::faults::{Actuator, Channel, Effect, LeadFault, Sensor};
use crate::frontend::FrontEndParams;
use crate::scenario::{Lead, Side};

#[test]
fn leads_open_swap_short_and_change() -> Outcome {
    let standing = |net: &mut Netlist, pos, neg| {
        net.add("feed", Part::Source { pos, neg, ohms: 10.0, wave: Wave::Dc(100.0) }).map(|_| ())
    };
    let mut rig = Rig::new(&FrontEndParams::default(), standing)?;
    for (lead, volts) in [
        (None, 100.0),
        (Some(Lead::Swap(true)), -100.0),
        (Some(Lead::Open(Side::Pos)), 0.0),
        (Some(Lead::Join(Side::Pos)), -100.0),
        (Some(Lead::Swap(false)), 100.0),
        (Some(Lead::Open(Side::Neg)), 0.0),
        (Some(Lead::Join(Side::Neg)), 100.0),
        (Some(Lead::Ohms(10.0)), 100.0),
        (Some(Lead::Short(true)), 9.1),
        (Some(Lead::Short(false)), 100.0),
    ] {
        lead.iter().for_each(|lead| rig.bench.lead(lead));
        rig.run(10)?;
        let found = rig.truth().terminal_volts;
        if matches!(lead, Some(Lead::Short(true))) {
            // The leads touch at their clips: 0.05 ohm across 10 ohm.
            close(found, 0.5, 0.01);
        } else {
            close(found, volts, 0.1);
        }
    }
    Ok(())
}

#[test]
fn faults_of_the_electronics_do_what_they_say_and_end() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 0.0))?;
    rig.ramp(500, 50)?;
    let gain = Effect::Sensor(Sensor::Gain { channel: Channel::V2, factor: 0.8 });
    rig.bench.apply(&gain);
    close(rig.mean(Channel::V2, 10)?, 400.0, 1.0);
    close(rig.mean(Channel::V, 10)?, 500.0, 1.0);
    rig.bench.clear(&gain);
    close(rig.mean(Channel::V2, 10)?, 500.0, 1.0);
    let open = Effect::Sensor(Sensor::DividerOpen { channel: Channel::V });
    rig.bench.apply(&open);
    rig.run(5)?;
    close(rig.mean(Channel::V, 10)?, 0.0, 1.0);
    rig.bench.clear(&open);
    let high = Effect::Actuator(Actuator::SetPoint { factor: 1.5 });
    rig.bench.apply(&high);
    rig.run(50)?;
    close(rig.truth().terminal_volts, 750.0, 2.0);
    rig.bench.clear(&high);
    let stuck = Effect::Actuator(Actuator::SourceStuckOn { volts: 300.0 });
    rig.bench.apply(&stuck);
    rig.lines.gate = GateOut::default();
    rig.run(50)?;
    close(rig.truth().terminal_volts, 300.0, 1.0);
    // R_d across a source that is stuck on: the plateau of 1.8 mA in 100 kohm beside 1 Mohm.
    rig.lines.discharge = true;
    rig.run(50)?;
    close(rig.truth().terminal_volts, 1.8e-3 / (1.0 / 100.0e3 + 1.0e-6), 1.0);
    rig.token_runs = false;
    rig.run(60)?;
    close(rig.truth().terminal_volts, 0.0, 0.1);
    rig.bench.clear(&stuck);
    let weak = Effect::Actuator(Actuator::DischargeResistor { factor: 3.0 });
    rig.bench.apply(&weak);
    close(rig.bench.discharge_ohms(), 300.0e3, 1.0);
    rig.bench.clear(&weak);
    let lost = Effect::Sensor(Sensor::Drops { every: 4 });
    rig.bench.apply(&lost);
    let mut missing = 0;
    for _ in 0..100 {
        missing += u32::from(rig.bench.sample(&rig.lines)?.is_none());
    }
    assert_eq!(missing, 25);
    Ok(())
}

#[test]
fn a_blown_fuse_leaves_the_voltmeter_true_and_stops_every_drive() -> Outcome {
    let mut rig = Rig::new(&FrontEndParams::default(), load(1.0e6, 0.0))?;
    rig.bench.apply(&Effect::Lead(LeadFault::FuseBlown));
    rig.ramp(500, 50)?;
    close(rig.truth().terminal_volts, 0.0, 0.01);
    assert!(rig.truth().hv_volts > 490.0);
    let mut rig = Rig::new(&FrontEndParams::default(), mains(230.0, 10.0))?;
    rig.bench.apply(&Effect::Lead(LeadFault::FuseBlown));
    rig.run(40)?;
    close(rig.rms(100)?, 230.0, 0.2);
    Ok(())
}
