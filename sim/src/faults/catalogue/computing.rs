//! Faults of battery, panel, processor, clock and memory.

use super::{Entry, number};
use crate::faults::effect::{Clock, Effect, Loop, Memory, PanelFault, SupplyFault};
use crate::scenario::{FaultSpec, Key};

/// Faults of battery, panel, processor, clock and memory.
pub(super) const COMPUTING: &[Entry] = &[
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
