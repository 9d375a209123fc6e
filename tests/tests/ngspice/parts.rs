//! Parts that several cases use.

use ohmwarden_sim::circuit::{Harmonic, Node, Part, Wave};

pub(crate) fn resistor(a: Node, b: Node, ohms: f64) -> Part {
    Part::Resistor { a, b, ohms }
}

pub(crate) fn capacitor(a: Node, b: Node, farads: f64, volts: f64) -> Part {
    Part::Capacitor { a, b, farads, volts }
}

pub(crate) fn mains(pos: Node, volts_rms: f64, ohms: f64, harmonics: Vec<Harmonic>) -> Part {
    let wave = Wave::Sine { volts_rms, hertz: 50.0, phase_deg: 0.0, harmonics };
    Part::Source { pos, neg: Node::GROUND, ohms, wave }
}

pub(crate) fn crest(volts_rms: f64) -> f64 {
    volts_rms * 2.0_f64.sqrt()
}

pub(crate) fn contact(a: Node, b: Node, closed: bool) -> Part {
    Part::Switch { a, b, on_ohms: 0.1, off_ohms: 1e9, closed }
}

pub(crate) const SPICE_SWITCH: &str = ".model contact SW(vt=0.5 vh=0 ron=0.1 roff=1e9)\n";

pub(crate) fn diode(anode: Node, cathode: Node) -> Part {
    Part::Diode { anode, cathode, volts: 0.7, on_ohms: 0.2, off_ohms: 1e9 }
}

/// The same diode as a current source of the same straight pieces.
pub(crate) fn spice_diode(name: &str, anode: &str, cathode: &str) -> String {
    format!(
        "B{name} {anode} {cathode} I = V({anode},{cathode}) > 0.7 ? \
         V({anode},{cathode})/0.2 - 0.7*(1/0.2 - 1e-9) : V({anode},{cathode})*1e-9\n"
    )
}
