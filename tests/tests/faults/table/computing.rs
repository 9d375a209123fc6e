//! Energy, panel, computing, clock and memory.

use super::Phase::{Boot, Continuity, Discharge, Hold, Peek, Proof, Ramp, Rest};
use super::{CONTINUITY, DRY, INSULATION, Row, goes_on, row};
use ohmwarden_tests::faults::Ends::{Harmless, NextPress, Recovers, Stops};

const CLOCK: &[&str] = &["locked:clock"];
const SHORT: &str = "a pause in which nothing is driven, or shorter than the gate waits";

pub(super) const ROWS: &[Row] = &[
    row("battery_sags *", DRY, Stops(&["rest_low:low"]), "the drive ends, the charge is let down"),
    row("key_welded", &[Boot], Stops(&["rest:button_held"]), "down since power-up starts nothing"),
    row("key_welded", &[Discharge], Stops(&["nothing"]), "it was never up, so it starts nothing"),
    goes_on(
        "key_welded",
        DRY,
        Stops(&["nothing"]),
        "welded and held are the same; the drive ends after the longest time of one press",
    ),
    row("key_contradicts", INSULATION, Stops(&["rest:panel"]), "two contacts that say the same"),
    row(
        "key_contradicts",
        CONTINUITY,
        NextPress(&["rest:panel"]),
        "it counts as let go; what was read before it stands",
    ),
    row("selector_between", INSULATION, Stops(&["rest:no_function"]), "no function, no drive"),
    row(
        "selector_between",
        CONTINUITY,
        NextPress(&["rest:no_function"]),
        "it counts as let go; what was read before it stands",
    ),
    row("loop_stalls", &[Boot, Rest, Proof, Discharge], Harmless, SHORT),
    row(
        "loop_stalls",
        &[Ramp, Hold, Peek],
        Recovers(&["prove:tripped"]),
        "the gate closed by itself after 4 ms; all is proved again",
    ),
    row("loop_stalls", &[Continuity], Recovers(&["unwind:tripped"]), "the gate closed by itself"),
    row(
        "loop_stalls blocks=3",
        &[Peek],
        Recovers(&["prove:tripped"]),
        "the gap became too long to be one drive: all is proved again",
    ),
    row("loop_stalls blocks=3", DRY, Harmless, SHORT),
    row(
        "loop_stalls *",
        &[Boot],
        Recovers(&["rest:button_held"]),
        "the press came while nobody looked",
    ),
    row("loop_stalls *", DRY, Stops(CLOCK), "more was lost than can be counted"),
    row("interrupt_stops", &[Boot], Harmless, SHORT),
    row("interrupt_stops", DRY, Stops(CLOCK), "50 ms are a tenth of what the clocks compare"),
    row(
        "interrupt_stops samples=30",
        &[Peek],
        Recovers(&["prove:tripped"]),
        "the gap became too long to be one drive: all is proved again",
    ),
    row("interrupt_stops samples=30", DRY, Harmless, SHORT),
    row(
        "interrupt_stops *",
        &[Boot],
        Recovers(&["rest:button_held"]),
        "the press came while nobody looked",
    ),
    row("interrupt_stops *", DRY, Stops(CLOCK), "the samples of two seconds are not there"),
    row("clock_rate factor=1.01", DRY, Harmless, "two clocks may be 2 % apart"),
    row("clock_rate *", DRY, Stops(CLOCK), "two clocks that are further apart"),
    row("memory_lost", DRY, Harmless, "nothing is read from it but after a reset"),
];
