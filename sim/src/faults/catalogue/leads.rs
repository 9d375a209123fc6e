//! Faults of the leads and of their fuse.

use super::{Entry, number};
use crate::faults::effect::{Effect, LeadFault};
use crate::scenario::{FaultCall, FaultSpec, Key, Side};

/// Faults of the leads.
pub(super) const LEADS: &[Entry] = &[
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
];

/// The lead of a call.
fn side(call: &FaultCall) -> Side {
    if call.word("side") == Some("neg") { Side::Neg } else { Side::Pos }
}
