//! From the parts of a scenario to a netlist, with what drives its sources from outside.

use alloc::format;
use alloc::string::ToString;

use super::WorldError;
use super::absorption;
use super::build::Recordings;
use super::drivers::{Driver, Drivers, Shape};
use crate::circuit::{Harmonic as Partial, Netlist, Node, Part as Element, Wave};
use crate::scenario::{Harmonic, NamedPart, Part, Scenario};

/// The user's circuit, with what drives its sources from outside.
pub(super) fn netlist(
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
        Part::Sine { volts_rms, hertz, phase_deg, ohms, harmonics } => {
            let wave = sine((*volts_rms, *hertz, *phase_deg), harmonics);
            Element::Source { pos: a, neg: b, ohms: *ohms, wave }
        }
        Part::Pickup { farads, volts_rms, hertz, phase_deg } => {
            let live = net.node(&format!("{name}.conductor"));
            let coupling = Element::Capacitor { a: live, b: a, farads: *farads, volts: 0.0 };
            net.add(&format!("{name}.coupling"), coupling)?;
            let wave = sine((*volts_rms, *hertz, *phase_deg), &[]);
            Element::Source { pos: live, neg: b, ohms: 1.0, wave }
        }
        Part::Insulation { ohms, farads, absorption: share, absorption_n } => {
            absorption::add(net, name, (a, b), (*farads, *share, *absorption_n))?;
            let geometric = Element::Capacitor { a, b, farads: *farads, volts: 0.0 };
            net.add(&format!("{name}.cap"), geometric)?;
            Element::Resistor { a, b, ohms: *ohms }
        }
        part => match passive(part, a, b) {
            Some(element) => element,
            None => {
                let (ohms, shape) = shape(part, recordings)?;
                let input = net.input_ramped(&format!("{name}.volts"), shape.at(0.0));
                drivers.0.push(Driver { name: name.to_string(), input, shape });
                Element::Source { pos: a, neg: b, ohms, wave: Wave::Input(input) }
            }
        },
    };
    net.add(name, element)?;
    Ok(())
}

fn sine((volts_rms, hertz, phase_deg): (f64, f64, f64), harmonics: &[Harmonic]) -> Wave {
    let partial =
        |h: &Harmonic| Partial { order: h.order, fraction: h.fraction, phase_deg: h.phase_deg };
    let harmonics = harmonics.iter().map(partial).collect();
    Wave::Sine { volts_rms, hertz, phase_deg, harmonics }
}

/// What drives nothing and is one element.
fn passive(part: &Part, a: Node, b: Node) -> Option<Element> {
    Some(match *part {
        Part::Resistor { ohms } => Element::Resistor { a, b, ohms },
        Part::Capacitor { farads, volts } => Element::Capacitor { a, b, farads, volts },
        Part::Inductor { henries, amps } => Element::Inductor { a, b, henries, amps },
        Part::Switch { closed, on_ohms, off_ohms } => {
            Element::Switch { a, b, on_ohms, off_ohms, closed }
        }
        Part::Diode { volts } => {
            Element::Diode { anode: a, cathode: b, volts, on_ohms: 0.05, off_ohms: 1.0e9 }
        }
        Part::Clamp { volts, ohms } => Element::Clamp { a, b, volts, on_ohms: ohms },
        Part::Arc { strike_volts, arc_volts, ohms, hold_amps } => {
            Element::Arc { a, b, strike_volts, arc_volts, on_ohms: ohms, hold_amps }
        }
        Part::CurrentLimit { amps, ohms } => Element::CurrentLimit { a, b, on_ohms: ohms, amps },
        _ => return None,
    })
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
