//! Faults of the sensors: dividers, shunt, reference, converter, and what couples into them.

use super::{Entry, number};
use crate::faults::effect::{Channel, Effect, Sensor};
use crate::scenario::{FaultCall, FaultSpec, Key};

/// Faults of the sensors.
pub(super) const SENSORS: &[Entry] = &[
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
];

/// The channel of a call.
fn channel(call: &FaultCall) -> Channel {
    let word = call.word("channel").unwrap_or("v");
    let known = Channel::WORDS.iter().position(|known| *known == word);
    known.and_then(|at| Channel::ALL.get(at).copied()).unwrap_or(Channel::V)
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
