//! Faults of what drives: source, supply, regulator, discharge, relays.

use super::{Entry, number};
use crate::faults::effect::{Actuator, Effect};
use crate::scenario::{FaultSpec, Key};

/// Faults of what drives.
pub(super) const ACTUATORS: &[Entry] = &[
    Entry {
        id: "F19",
        spec: FaultSpec {
            name: "source_stuck_on",
            params: &[Key::number("volts", 0.0, 1_500.0).or(500.0)],
            sentence: "The source delivers whatever the gate says.",
        },
        expected: "The second path cuts it; locked, and remembered, once it delivers 50 uA.",
        make: |call| Effect::Actuator(Actuator::SourceStuckOn { volts: number(call, "volts") }),
    },
    Entry {
        id: "F20",
        spec: FaultSpec {
            name: "source_dead",
            params: &[],
            sentence: "The source never delivers.",
        },
        expected: "No ramp: a fault within 0.3 s.",
        make: |_| Effect::Actuator(Actuator::SourceDead),
    },
    Entry {
        id: "F21",
        spec: FaultSpec {
            name: "regulator_high",
            params: &[Key::number("factor", 0.1, 3.0).or(1.5)],
            sentence: "The regulator aims too high.",
        },
        expected: "Off within three samples and locked: the output left its set.",
        make: |call| Effect::Actuator(Actuator::SetPoint { factor: number(call, "factor") }),
    },
    Entry {
        id: "F22",
        spec: FaultSpec {
            name: "source_soft",
            params: &[Key::number("factor", 0.01, 2.0).or(0.5)],
            sentence: "The source gives only part of its current.",
        },
        expected: "The reading is flagged as limited by the source.",
        make: |call| Effect::Actuator(Actuator::Limit { factor: number(call, "factor") }),
    },
    Entry {
        id: "F23",
        spec: FaultSpec {
            name: "ramp_lost",
            params: &[Key::number("volts", 0.0, 1_500.0).or(500.0)],
            sentence: "The set point stands at once instead of ramping.",
        },
        expected: "Off: the terminals are above what is asked.",
        make: |call| Effect::Actuator(Actuator::NoRamp { volts: number(call, "volts") }),
    },
    Entry {
        id: "F24",
        spec: FaultSpec {
            name: "discharge_open",
            params: &[],
            sentence: "The discharge switch never closes.",
        },
        expected: "Locked or inhibited: the fall follows the dividers; volts stay on the view.",
        make: |_| Effect::Actuator(Actuator::DischargeOpen),
    },
    Entry {
        id: "F25",
        spec: FaultSpec {
            name: "discharge_closed",
            params: &[],
            sentence: "The discharge switch never opens.",
        },
        expected: "The ramp stops short; below that the reading is too low, never too good. On live \
                   terminals only its rating helps: no command can open it.",
        make: |_| Effect::Actuator(Actuator::DischargeClosed),
    },
    Entry {
        id: "F26",
        spec: FaultSpec {
            name: "discharge_resistor",
            params: &[Key::number("factor", 0.1, 100.0).or(3.0)],
            sentence: "The discharge resistor has drifted.",
        },
        expected: "Inhibited: the fall does not fit the store, where that is more than a few cables.",
        make: |call| {
            Effect::Actuator(Actuator::DischargeResistor { factor: number(call, "factor") })
        },
    },
    Entry {
        id: "F27, F29",
        spec: FaultSpec {
            name: "relay_slow",
            params: &[
                Key::number("travel_s", 0.0, 1.0).or(0.05),
                Key::number("bounce_s", 0.0, 0.1).or(0.005),
            ],
            sentence: "The relays travel slowly and bounce.",
        },
        expected: "No flapping of states, nothing taken for live.",
        make: |call| {
            Effect::Actuator(Actuator::RelayTimes {
                travel_s: number(call, "travel_s"),
                bounce_s: number(call, "bounce_s"),
            })
        },
    },
    Entry {
        id: "F28",
        spec: FaultSpec {
            name: "relay_welded",
            params: &[],
            sentence: "The output relay does not open.",
        },
        expected: "Nothing: the relay never breaks a drive, and 5 nF that stay joined look like a lead.",
        make: |_| Effect::Actuator(Actuator::RelayWelded),
    },
    Entry {
        id: "F31",
        spec: FaultSpec {
            name: "source_ripple",
            params: &[
                Key::number("volts", 0.0, 500.0).or(50.0),
                Key::number("hertz", 1.0, 4_000.0).or(100.0),
            ],
            sentence: "The source ripples.",
        },
        expected: "The reading is flagged; trips are bounded by three.",
        make: |call| {
            Effect::Actuator(Actuator::Ripple {
                volts: number(call, "volts"),
                hertz: number(call, "hertz"),
            })
        },
    },
    Entry {
        id: "",
        spec: FaultSpec {
            name: "supply_stuck_on",
            params: &[],
            sentence: "The supply of the source stays up without its token.",
        },
        expected: "Nothing: the first path still works, and the second is known only once it is needed.",
        make: |_| Effect::Actuator(Actuator::SupplyStuckOn),
    },
    Entry {
        id: "",
        spec: FaultSpec {
            name: "supply_dead",
            params: &[],
            sentence: "The supply of the source never comes up.",
        },
        expected: "No ramp: a fault within 0.3 s.",
        make: |_| Effect::Actuator(Actuator::SupplyDead),
    },
];
