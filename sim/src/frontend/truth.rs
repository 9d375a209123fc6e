//! What really is, as no converter shows it.

use super::Bench;

/// What really is, at the end of the last step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Truth {
    /// Voltage between the terminals.
    pub terminal_volts: f64,
    /// What the source delivers, what it feeds its own dividers included; without sign.
    pub source_amps: f64,
    /// Current out of the positive terminal.
    pub lead_amps: f64,
    /// Energy that the discharge resistor took since the start.
    pub discharge_joules: f64,
    /// The discharge resistor is across the terminals.
    pub discharge_on: bool,
    /// The discharge switch stays closed by itself.
    pub discharge_stuck: bool,
    /// The codes repeat: nothing of the terminals gets through.
    pub blind: bool,
    /// The supply of the source is up.
    pub source_enabled: bool,
    /// Voltage at the output capacitor, before series resistor and relay.
    pub hv_volts: f64,
}

impl Bench {
    /// Gives what really is, at the end of the last sample.
    #[must_use]
    pub fn truth(&self) -> Truth {
        let probes = &self.handles.probes;
        Truth {
            terminal_volts: self.circuit.probe(probes.terminal),
            source_amps: libm::fabs(self.circuit.probe(probes.source)),
            lead_amps: self.circuit.probe(probes.lead),
            discharge_joules: self.joules,
            discharge_on: self.positions.discharge,
            discharge_stuck: self.wrong.discharge == Some(true),
            blind: self.wrong.repeats,
            source_enabled: self.positions.supply,
            hv_volts: self.circuit.probe(probes.hv),
        }
    }
}
