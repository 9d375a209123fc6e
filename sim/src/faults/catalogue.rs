//! The catalogue: each fault with its parameters, one sentence for a reader, and what is expected.
//!
//! The numbers are those of the project's own list of faults. Ranges and defaults are its own choice.

use super::effect::{
    Actuator, Channel, Clock, Effect, LeadFault, Loop, Memory, PanelFault, Sensor, SupplyFault,
};
use crate::scenario::{FaultCall, FaultSpec, Key, Side};

/// One fault of the catalogue.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// Its numbers in the project's list of faults; empty for one beside it.
    pub id: &'static str,
    /// Its name, parameters and sentence.
    pub spec: FaultSpec,
    /// What a sound instrument does about it.
    pub expected: &'static str,
    /// Makes its effect.
    pub(super) make: fn(&FaultCall) -> Effect,
}

/// Every fault that can be injected.
pub const CATALOGUE: &[Entry] = &[
    Entry {
        id: "F01, F02",
        spec: FaultSpec {
            name: "sensor_stuck",
            params: &[
                Key::word("channel", &Channel::WORDS, Some("v")),
                Key::number("code", -32_000.0, 32_000.0).or(0.0),
            ],
            sentence: "A channel gives one code whatever is there.",
        },
        expected: "No drive: the channels disagree, or the proving bias does not answer.",
        make: |call| {
            Effect::Sensor(Sensor::Stuck {
                channel: channel(call),
                code: number(call, "code") as i16,
            })
        },
    },
    Entry {
        id: "F03, F06",
        spec: FaultSpec {
            name: "sensor_gain",
            params: &[
                Key::word("channel", &Channel::WORDS, Some("v")),
                Key::number("factor", 0.0, 3.0).or(0.8),
            ],
            sentence: "A channel reads too much or too little.",
        },
        expected: "No drive: the two voltage channels disagree over a window.",
        make: |call| {
            Effect::Sensor(Sensor::Gain { channel: channel(call), factor: number(call, "factor") })
        },
    },
    Entry {
        id: "F04, F09",
        spec: FaultSpec {
            name: "reference_wrong",
            params: &[Key::number("factor", 0.1, 3.0).or(0.8)],
            sentence: "The reference of the converter is off, so that every channel is wrong alike.",
        },
        expected: "Locked: the proving bias has a reference of its own.",
        make: |call| Effect::Sensor(Sensor::Reference { factor: number(call, "factor") }),
    },
    Entry {
        id: "F05",
        spec: FaultSpec {
            name: "divider_open",
            params: &[Key::word("channel", &["v", "v2"], Some("v"))],
            sentence: "The upper resistor of a divider is open.",
        },
        expected: "Unproven: the proving bias gives a wrong answer.",
        make: |call| Effect::Sensor(Sensor::DividerOpen { channel: channel(call) }),
    },
    Entry {
        id: "F07",
        spec: FaultSpec {
            name: "sensor_noise",
            params: &[
                Key::word("channel", &Channel::WORDS, Some("v")),
                Key::number("rms", 0.0, 1_000.0).or(10.0),
            ],
            sentence: "A channel is noisy, in its own unit.",
        },
        expected: "Unproven, not a storm of live warnings.",
        make: |call| {
            Effect::Sensor(Sensor::Noise { channel: channel(call), rms: number(call, "rms") })
        },
    },
    Entry {
        id: "F08",
        spec: FaultSpec {
            name: "sensor_saturated",
            params: &[Key::word("channel", &Channel::WORDS, Some("v"))],
            sentence: "A channel stands at its upper rail.",
        },
        expected: "Off: a saturated code counts as a rule that holds.",
        make: |call| {
            Effect::Sensor(Sensor::Stuck { channel: channel(call), code: rail(channel(call)) })
        },
    },
    Entry {
        id: "F10",
        spec: FaultSpec {
            name: "multiplexer_stuck",
            params: &[],
            sentence: "The second voltage channel shows the first.",
        },
        expected: "Locked or unproven: the proving bias moves the two apart.",
        make: |_| Effect::Sensor(Sensor::CopiesFirst),
    },
    Entry {
        id: "F11, F12",
        spec: FaultSpec {
            name: "shunt_dead",
            params: &[],
            sentence: "The measuring shunt reads no current.",
        },
        expected: "No pass: the voltage was reached without the charge that it takes.",
        make: |_| Effect::Sensor(Sensor::Stuck { channel: Channel::I, code: 0 }),
    },
    Entry {
        id: "F13",
        spec: FaultSpec {
            name: "range_stuck",
            params: &[Key::number("range", 0.0, 5.0).or(4.0)],
            sentence: "The current range does not change; 0 is the finest.",
        },
        expected: "No pass: neighbouring ranges do not agree.",
        make: |call| Effect::Sensor(Sensor::RangeStuck { range: number(call, "range") as usize }),
    },
    Entry {
        id: "F14",
        spec: FaultSpec {
            name: "current_offset",
            params: &[Key::number("amps", -1.0e-3, 1.0e-3).or(5.0e-9)],
            sentence: "The ranged current has an offset.",
        },
        expected: "A reading that is off by as much; nothing tells it yet.",
        make: |call| {
            Effect::Sensor(Sensor::Offset { channel: Channel::I, amount: number(call, "amps") })
        },
    },
    Entry {
        id: "F15",
        spec: FaultSpec {
            name: "filter_open",
            params: &[],
            sentence: "The anti-alias capacitors are open.",
        },
        expected: "The reading is flagged disturbed where a carrier folds down.",
        make: |_| Effect::Sensor(Sensor::NoFilter),
    },
    Entry {
        id: "F17",
        spec: FaultSpec {
            name: "samples_repeat",
            params: &[],
            sentence: "The converter repeats its last sample.",
        },
        expected: "Off: a channel without noise is stuck.",
        make: |_| Effect::Sensor(Sensor::Repeats),
    },
    Entry {
        id: "F18",
        spec: FaultSpec {
            name: "samples_lost",
            params: &[Key::number("every", 2.0, 100_000.0).or(20.0)],
            sentence: "One sample in so many is lost.",
        },
        expected: "Off: the samples of a block are counted.",
        make: |call| Effect::Sensor(Sensor::Drops { every: number(call, "every") as u32 }),
    },
    Entry {
        id: "F61",
        spec: FaultSpec {
            name: "spike",
            params: &[
                Key::number("volts", -3_000.0, 3_000.0).or(300.0),
                Key::number("samples", 1.0, 1_000.0).or(1.0),
            ],
            sentence: "A burst from outside couples into the first divider, once.",
        },
        expected: "No live warning that stays.",
        make: |call| {
            Effect::Sensor(Sensor::Spike {
                volts: number(call, "volts"),
                samples: number(call, "samples") as u32,
            })
        },
    },
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
    Entry {
        id: "F32, F33",
        spec: FaultSpec {
            name: "lead_open",
            params: &[Key::word("side", &Side::WORDS, Some("pos"))],
            sentence: "A lead comes off or breaks.",
        },
        expected: "No pass: the leads are not proved.",
        make: |call| Effect::Lead(LeadFault::Open(side(call))),
    },
    Entry {
        id: "F34",
        spec: FaultSpec {
            name: "lead_intermittent",
            params: &[Key::number("hertz", 0.1, 1_000.0).or(20.0)],
            sentence: "The positive lead makes and breaks.",
        },
        expected: "At most three restarts.",
        make: |call| Effect::Lead(LeadFault::Intermittent { hertz: number(call, "hertz") }),
    },
    Entry {
        id: "F35",
        spec: FaultSpec {
            name: "leads_swapped",
            params: &[],
            sentence: "The leads are changed over.",
        },
        expected: "The sign is shown, the result is the same.",
        make: |_| Effect::Lead(LeadFault::Swapped),
    },
    Entry {
        id: "F36",
        spec: FaultSpec {
            name: "lead_leaks",
            params: &[Key::number("ohms", 1.0e3, 1.0e13).or(1.0e8)],
            sentence: "The leads leak into each other.",
        },
        expected: "A lower reading, or a null of the leakage.",
        make: |call| Effect::Lead(LeadFault::Leak { ohms: number(call, "ohms") }),
    },
    Entry {
        id: "F37",
        spec: FaultSpec { name: "fuse_blown", params: &[], sentence: "The fuse is blown." },
        expected: "The voltmeter stays true; continuity is not proved.",
        make: |_| Effect::Lead(LeadFault::FuseBlown),
    },
    Entry {
        id: "F39",
        spec: FaultSpec {
            name: "leads_shorted",
            params: &[],
            sentence: "The leads touch each other.",
        },
        expected: "A bound from above, limited by the source; not live.",
        make: |_| Effect::Lead(LeadFault::Short),
    },
    Entry {
        id: "F42, F43",
        spec: FaultSpec {
            name: "battery_sags",
            params: &[Key::number("millivolts", 0.0, 9_000.0).or(3_500.0)],
            sentence: "The battery sags.",
        },
        expected: "Off with its reason; the discharge runs on what is left.",
        make: |call| {
            Effect::Supply(SupplyFault::Sags { millivolts: number(call, "millivolts") as u16 })
        },
    },
    Entry {
        id: "F47",
        spec: FaultSpec {
            name: "key_welded",
            params: &[],
            sentence: "The test key is welded down.",
        },
        expected: "No start without a fresh press.",
        make: |_| Effect::Panel(PanelFault::TestWelded),
    },
    Entry {
        id: "F48",
        spec: FaultSpec {
            name: "key_contradicts",
            params: &[],
            sentence: "Both contacts of the test key say the same.",
        },
        expected: "Panel fault, off.",
        make: |_| Effect::Panel(PanelFault::TestContradicts),
    },
    Entry {
        id: "F49",
        spec: FaultSpec {
            name: "selector_between",
            params: &[],
            sentence: "The selector stands between two positions.",
        },
        expected: "No drive.",
        make: |_| Effect::Panel(PanelFault::Between),
    },
    Entry {
        id: "F53",
        spec: FaultSpec {
            name: "loop_stalls",
            params: &[Key::number("blocks", 1.0, 10_000.0).or(30.0)],
            sentence: "The main loop stands still for so many milliseconds.",
        },
        expected: "The gate opens by itself within 4 ms.",
        make: |call| Effect::Loop(Loop::Stalls { blocks: number(call, "blocks") as u32 }),
    },
    Entry {
        id: "F53",
        spec: FaultSpec {
            name: "interrupt_stops",
            params: &[Key::number("samples", 1.0, 1_000_000.0).or(500.0)],
            sentence: "The sampling interrupt does not run for so many samples.",
        },
        expected: "The supply of the source drops within 20 ms.",
        make: |call| Effect::Loop(Loop::InterruptStops { samples: number(call, "samples") as u32 }),
    },
    Entry {
        id: "F16, F54",
        spec: FaultSpec {
            name: "clock_rate",
            params: &[Key::number("factor", 0.1, 10.0).or(0.5)],
            sentence: "The clock that the sampling is checked by runs at another rate.",
        },
        expected: "Off: the two clocks disagree.",
        make: |call| Effect::Clock(Clock::Rate { factor: number(call, "factor") }),
    },
    Entry {
        id: "F44, F59",
        spec: FaultSpec {
            name: "memory_lost",
            params: &[],
            sentence: "What was kept across a reset is lost.",
        },
        expected: "The lead null is absent, never wrong.",
        make: |_| Effect::Memory(Memory::Forgets),
    },
];

/// A number of a call; its default stands in the call already.
fn number(call: &FaultCall, key: &str) -> f64 {
    call.number(key).unwrap_or(0.0)
}

/// The channel of a call.
fn channel(call: &FaultCall) -> Channel {
    let word = call.word("channel").unwrap_or("v");
    let known = Channel::WORDS.iter().position(|known| *known == word);
    known.and_then(|at| Channel::ALL.get(at).copied()).unwrap_or(Channel::V)
}

/// The lead of a call.
fn side(call: &FaultCall) -> Side {
    if call.word("side") == Some("neg") { Side::Neg } else { Side::Pos }
}

/// The code at which a channel stands when it is driven beyond its range.
const fn rail(channel: Channel) -> i16 {
    match channel {
        Channel::V | Channel::V2 => 2_000,
        Channel::I => 32_767,
        Channel::IGate => 2_047,
        Channel::Low => 32_000,
    }
}
