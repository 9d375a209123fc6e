//! What really is, and what the instrument did: the two sides that the watch compares.

use super::Arrival;
use crate::commands::{Commands, Discharge};
use crate::frame::{Function, Panel};
use crate::gate::{GateOut, GateStatus};
use crate::interlock::State;
use crate::judge::{Flags, Verdict};
use crate::tone::Tone;
use crate::unit::{Resistance, Voltage};

/// What really is at one sample; only a simulated world can tell. SI units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Truth {
    /// Time since power-up, in microseconds.
    pub at_us: u64,
    /// Voltage between the terminals.
    pub terminal_volts: f32,
    /// What the source delivers, its own dividers included.
    pub source_amps: f32,
    /// The discharge resistor is across the terminals because it was asked for. A switch that stays
    /// closed by itself is another matter: nothing can open it, only its rating helps.
    pub discharging: bool,
    /// Whether a source in the circuit, not a charge, would hold the terminals above the trip now.
    pub outside_live: bool,
    /// What sources in the circuit alone would hold the terminals at, over the last 20 ms.
    pub outside_volts: f32,
    /// The alternating part of it.
    pub outside_ac: f32,
    /// The circuit was changed since the last block: a switch, a source, a lead, a fault.
    pub changed: bool,
    /// Something from outside joined the terminals at this sample.
    pub arrival: Option<Arrival>,
    /// The sample did not reach the gate.
    pub missing: bool,
    /// The interrupt that runs the gate did not run at this sample.
    pub gate_dead: bool,
    /// The converter stands still: no sample tells anything of the terminals.
    pub blind: bool,
    /// A lead is off, so nothing is known of the circuit.
    pub lead_open: bool,
}

/// What the instrument did in one block.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Observed {
    /// Its state.
    pub state: State,
    /// The keys.
    pub panel: Panel,
    /// The function of the drive.
    pub function: Function,
    /// The voltage that it asks the source for: that of the function, or of a step up to it.
    pub set: Voltage,
    /// Voltage on the view, in volts; `None` where it says that nothing is known.
    pub volts: Option<f32>,
    /// The view says live.
    pub live: bool,
    /// The view says that our own voltage is there.
    pub driving: bool,
    /// The view claims dead.
    pub claims_dead: bool,
    /// Channel and path are proved.
    pub path_proved: bool,
    /// The verdict on view, with the flags of its reading.
    pub verdict: Option<(Verdict, Flags)>,
    /// What is heard.
    pub tone: Tone,
    /// Power-off is refused.
    pub keep_power: bool,
    /// The discharge command.
    pub discharge: bool,
    /// A permit came with this block, minted in this epoch.
    pub minted: Option<u32>,
    /// The lead null.
    pub null: Option<Resistance>,
    /// The measuring range.
    pub shunt: u8,
    /// Blocks since a proof ended that permits a drive; `None` before the first.
    pub since_proof: Option<u32>,
}

impl Observed {
    /// What commands and state show of one block.
    #[must_use]
    pub fn of(instrument: &crate::Instrument, commands: &Commands, panel: Panel) -> Self {
        let view = commands.view();
        #[expect(clippy::cast_precision_loss, reason = "compared with a tolerance of volts")]
        let volts = view.volts.map(|volts| volts.as_millivolts() as f32 / 1.0e3);
        Self {
            state: instrument.state(),
            panel,
            function: instrument.function(),
            set: instrument.set_voltage(),
            volts,
            live: view.live,
            driving: view.driving,
            claims_dead: view.claims_dead,
            path_proved: instrument.path().is_proved(),
            verdict: view.judged.map(|j| (j.verdict(), j.reading().flags)),
            tone: commands.tone(),
            keep_power: commands.keep_power(),
            discharge: commands.discharge() == Discharge::Closed,
            minted: commands.permit_epoch(),
            null: commands.kept().null,
            shunt: commands.shunt().index(),
            since_proof: instrument.blocks_since_proof(),
        }
    }
}

/// What the gate did at one sample.
#[derive(Clone, Copy, Debug, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct GateSeen {
    /// What it answered.
    pub out: GateOut,
    /// Its status after that.
    pub status: GateStatus,
}
