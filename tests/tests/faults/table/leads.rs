//! The leads are not what they seem.

use super::Phase::{Discharge, Hold, Peek, Ramp};
use super::{BEFORE, CONTINUITY, INSULATION, Row, row};
use ohmwarden_tests::faults::Ends::{Harmless, Recovers, Stops, Unseen};

const FLUTTER: &str =
    "100 nF hold their voltage from one contact to the next; the reading is 5 % off";

pub(super) const ROWS: &[Row] = &[
    row(
        "lead_open *",
        INSULATION,
        Stops(&["undecided"]),
        "over the range is no pass where nothing shows that the leads reached the circuit",
    ),
    row("lead_open *", CONTINUITY, Stops(&["fail"]), "nothing conducts, which is a decided fail"),
    row(
        "lead_intermittent",
        INSULATION,
        Stops(&["prove:tripped"]),
        "each contact is a new load; three restarts",
    ),
    row(
        "lead_intermittent hertz=1",
        INSULATION,
        Stops(&["prove:tripped", "inhibited:stored_or_live"]),
        "the same, more slowly",
    ),
    row(
        "lead_intermittent hertz=1",
        CONTINUITY,
        Recovers(&["fail", "undecided"]),
        "what counts is what conducts at the end; half a second is enough for a reading",
    ),
    row(
        "lead_intermittent *",
        CONTINUITY,
        Stops(&["flag:low_current"]),
        "less than the promised current",
    ),
    row("lead_intermittent *", INSULATION, Recovers(&["flag:disturbed"]), FLUTTER),
    row("leads_swapped", BEFORE, Harmless, "a passive circuit has no direction"),
    row(
        "leads_swapped",
        &[Ramp, Hold, Peek],
        Recovers(&["prove:tripped"]),
        "the charge of the load comes back reversed: proved again, and let down",
    ),
    row(
        "leads_swapped",
        &[Discharge],
        Recovers(&["inhibited:stored_or_live"]),
        "the charge turns its sign in the middle of being let down",
    ),
    row("leads_swapped", CONTINUITY, Harmless, "a conductor has no direction"),
    row("lead_leaks *", CONTINUITY, Harmless, "10 kohm beside 1 ohm"),
    row(
        "lead_leaks ohms=10000",
        INSULATION,
        Stops(&["flag:source_limited", "prove:tripped", "flag:path_unproved"]),
        "the source cannot hold the set on 10 kohm",
    ),
    row(
        "lead_leaks",
        INSULATION,
        Unseen,
        "the leads are part of what is measured: the reading is lower, on the safe side",
    ),
    row(
        "fuse_blown",
        INSULATION,
        Stops(&["locked:source_dead"]),
        "the dividers hang before the fuse, so the voltmeter stays true; nothing can be driven",
    ),
    row("fuse_blown", CONTINUITY, Stops(&["fail"]), "nothing conducts"),
    row(
        "leads_shorted",
        INSULATION,
        Stops(&["flag:source_limited", "prove:tripped"]),
        "the source cannot hold any voltage on it, and is at its limit",
    ),
    row(
        "leads_shorted",
        CONTINUITY,
        Unseen,
        "leads that touch are a good conductor, and are read as one",
    ),
];
