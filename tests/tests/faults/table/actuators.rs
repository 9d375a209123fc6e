//! What acts does not do what it is told.

use super::Phase::{Boot, Discharge, Hold, Peek, Proof, Ramp, Rest};
use super::{CONTINUITY, DRY, INSULATION, Row, row};
use ohmwarden_tests::faults::Ends::{Harmless, NextPress, Stops, Unseen};

const OWN_SOURCE: &str = "continuity has a regulator of its own";
const TRIPS: &[&str] = &["prove:tripped", "locked:over_voltage"];

pub(super) const ROWS: &[Row] = &[
    row(
        "source_stuck_on volts=60",
        INSULATION,
        Stops(&["prove:tripped"]),
        "60 V on 20 Mohm take less than the 50 uA that are sensed: it falls away from what is asked for, is proved again, and goes with its supply",
    ),
    row(
        "source_stuck_on *",
        DRY,
        Stops(&["locked:drive_stuck", "locked:over_voltage"]),
        "current although it is off, or more than was asked for; the supply is cut",
    ),
    row("source_dead", INSULATION, Stops(&["locked:source_dead"]), "no current and no ramp"),
    row("source_dead", CONTINUITY, Stops(&["fail", "undecided"]), "no current: nothing conducts"),
    row("supply_dead", INSULATION, Stops(&["locked:source_dead"]), "no current and no ramp"),
    row("supply_dead", CONTINUITY, Stops(&["fail", "undecided"]), "no current: nothing conducts"),
    row("regulator_high *", CONTINUITY, Harmless, OWN_SOURCE),
    row(
        "regulator_high factor=0.5",
        INSULATION,
        Stops(&["flag:source_limited", "prove:tripped"]),
        "the set is not reached: the source seems to be at its limit",
    ),
    row(
        "regulator_high *",
        INSULATION,
        Stops(&["locked:over_voltage"]),
        "our own current holds it above what was asked for",
    ),
    row("source_soft", DRY, Harmless, "the load takes far less than half of the current"),
    row("source_soft *", CONTINUITY, Harmless, OWN_SOURCE),
    row(
        "source_soft *",
        INSULATION,
        Stops(&["flag:source_limited", "nothing", "prove:tripped"]),
        "the voltage stays below the set: a reading at the limit of the source, or none",
    ),
    row("ramp_lost *", CONTINUITY, Harmless, OWN_SOURCE),
    row("ramp_lost *", INSULATION, Stops(TRIPS), "the terminals are above what is asked for"),
    row("discharge_open", CONTINUITY, Harmless, "nothing is stored"),
    row(
        "discharge_open",
        INSULATION,
        Stops(&["locked:discharge", "inhibited:peeked", "inhibited:stored_or_live"]),
        "it does not fall as it should; 100 nF let themselves down by the dividers in 0.6 s",
    ),
    row("discharge_closed", CONTINUITY, Harmless, "100 kohm beside 1 ohm"),
    row(
        "discharge_closed",
        &[Ramp, Hold, Peek],
        Stops(&["prove:tripped"]),
        "the voltage falls while the source pushes",
    ),
    row(
        "discharge_closed",
        &[Boot, Rest, Proof, Discharge],
        Stops(&["flag:source_limited"]),
        "the ramp stops at some 180 V: the source is at its limit",
    ),
    row("discharge_resistor *", CONTINUITY, Harmless, "nothing is stored"),
    row(
        "discharge_resistor",
        INSULATION,
        Unseen,
        "100 nF are let down in 90 ms instead of 30: the charge that seems too much is within what leaked away in the hold and the 20 uC allowed for",
    ),
    row(
        "discharge_resistor factor=0.3",
        INSULATION,
        Stops(&["flag:path_unproved"]),
        "less charge seems to come back than was put in",
    ),
    row(
        "discharge_resistor *",
        INSULATION,
        Stops(&["locked:discharge", "inhibited:peeked", "inhibited:stored_or_live"]),
        "the dividers discharge as fast as the resistor does",
    ),
    row("relay_slow", DRY, Harmless, "50 ms are over before the ramp asks for anything"),
    row("relay_slow *", CONTINUITY, Harmless, "the current flows later, and is waited for"),
    row(
        "relay_slow *",
        &[Boot, Rest, Proof, Peek, Discharge],
        Stops(&["locked:source_dead"]),
        "the ramp meets an open relay",
    ),
    row(
        "relay_slow *",
        &[Ramp, Hold],
        NextPress(&["locked:source_dead"]),
        "the relay does not move in the running drive",
    ),
    row(
        "relay_welded",
        DRY,
        Unseen,
        "it never breaks a drive, the gate does; with the source off it only leaves 5 nF joined, which nothing here can tell from a lead",
    ),
    row("source_ripple *", CONTINUITY, Harmless, OWN_SOURCE),
    row(
        "source_ripple volts=5",
        INSULATION,
        Stops(&["flag:disturbed"]),
        "alternating voltage on the test voltage",
    ),
    row("source_ripple *", INSULATION, Stops(TRIPS), "no passive load does that; three restarts"),
    row(
        "supply_stuck_on",
        DRY,
        Unseen,
        "the second path has to be tried to be known, and that takes a drive without it; the first path still works",
    ),
];
