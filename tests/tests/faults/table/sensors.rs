//! What is measured is not what is read.

use super::Phase::{Boot, Continuity, Discharge, Hold, Peek, Proof, Ramp, Rest};
use super::{BEFORE, CONTINUITY, DRY, INSULATION, Row, row};
use ohmwarden_tests::faults::Ends::{Harmless, NextPress, NotCaughtYet, Recovers, Stops};

const APART: &[&str] = &["locked:channels", "inhibited:channels_unproved"];
const APART_OR_HIGH: &[&str] = &["locked:channels", "locked:over_voltage"];
const UNPROVED: &[&str] = &["inhibited:channels_unproved"];
const CURRENTS: &[&str] = &["locked:channels"];
const BOTH_CURRENTS: &str = "the gate's channel and the shunt see the same current";
const ZERO: &str =
    "the zero was learned before it: what comes in a drive looks like a leak until the next proof";
const OWN_RANGE: &str = "continuity reads by the low range, and the dividers see some 0.2 V";

pub(super) const ROWS: &[Row] = &[
    row("sensor_stuck", DRY, Stops(APART), "one channel stands still, and the other does not"),
    row("sensor_stuck code=667", DRY, Stops(APART_OR_HIGH), "500 V on one channel alone"),
    row("sensor_stuck channel=v2", DRY, Stops(APART), "the same on the second channel"),
    row("sensor_stuck channel=v2 code=667", DRY, Stops(APART), "500 V on the second alone"),
    row("sensor_stuck channel=i code=1000", INSULATION, Stops(CURRENTS), BOTH_CURRENTS),
    row("sensor_stuck channel=i code=1000", CONTINUITY, Stops(CURRENTS), BOTH_CURRENTS),
    row("sensor_stuck channel=i_gate", DRY, Stops(CURRENTS), BOTH_CURRENTS),
    row("sensor_stuck channel=low", INSULATION, Harmless, "the low range is not used"),
    row(
        "sensor_stuck channel=low",
        CONTINUITY,
        Stops(&["flag:clipped"]),
        "a voltage without noise is none; it would read as no resistance at all",
    ),
    row("sensor_gain", INSULATION, Stops(APART), "a fifth too little on one channel"),
    row("sensor_gain", CONTINUITY, NextPress(UNPROVED), OWN_RANGE),
    row(
        "sensor_gain factor=1.06",
        INSULATION,
        Stops(APART_OR_HIGH),
        "6 % are within the proof's tolerance, and beyond what the output or the pair may show",
    ),
    row("sensor_gain factor=1.06", CONTINUITY, Harmless, OWN_RANGE),
    row(
        "sensor_gain channel=v2 factor=0.9",
        INSULATION,
        Stops(&["locked:channels"]),
        "a tenth is beyond what the pair may differ by, once there is voltage",
    ),
    row("sensor_gain channel=v2 factor=0.9", CONTINUITY, Harmless, OWN_RANGE),
    row(
        "sensor_gain channel=i factor=0.8",
        &[Peek],
        Recovers(&["flag:unsettled"]),
        "a step of the current in the middle; with the next press it is not caught yet, see below",
    ),
    row(
        "sensor_gain channel=i factor=0.8",
        INSULATION,
        NotCaughtYet,
        "the charge of the ramp by both currents could be compared; the reading is a quarter too high",
    ),
    row(
        "sensor_gain channel=i factor=0.8",
        CONTINUITY,
        Stops(&["flag:low_current"]),
        "less than the promised current",
    ),
    row(
        "sensor_gain channel=i_gate factor=0.1",
        CONTINUITY,
        Harmless,
        "200 mA are beyond its end, and a tenth of them too",
    ),
    row("sensor_gain channel=i_gate factor=0.1", DRY, Stops(CURRENTS), BOTH_CURRENTS),
    row(
        "reference_wrong *",
        INSULATION,
        Stops(&["locked:reference", "locked:over_voltage"]),
        "the proving bias has a reference of its own, and the source one of its own",
    ),
    row(
        "reference_wrong *",
        CONTINUITY,
        NextPress(&["locked:reference"]),
        "the proof before the next drive finds it; all that is read now is off alike",
    ),
    row("divider_open *", INSULATION, Stops(APART), "an open divider reads nothing"),
    row("divider_open *", CONTINUITY, NextPress(UNPROVED), OWN_RANGE),
    row(
        "sensor_noise channel=i rms=0.001",
        INSULATION,
        Stops(&["nothing"]),
        "a current that does not settle makes no reading",
    ),
    row("sensor_noise channel=i rms=0.001", CONTINUITY, Harmless, "1 mA of noise on 200 mA"),
    row(
        "sensor_noise *",
        DRY,
        Stops(APART_OR_HIGH),
        "noise is on one channel alone; beside our own voltage it may look too high first",
    ),
    row("sensor_saturated", DRY, Stops(APART_OR_HIGH), "one channel at its end, not the other"),
    row(
        "sensor_saturated channel=v2",
        DRY,
        Stops(&["locked:channels"]),
        "the second at its end, not the first",
    ),
    row(
        "sensor_saturated channel=i",
        DRY,
        Stops(&["inhibited:channels_unproved", "flag:clipped", "unwind:live"]),
        "a current at its end in the coarsest range, or a zero that no shunt has",
    ),
    row("sensor_saturated channel=i_gate", INSULATION, Stops(CURRENTS), BOTH_CURRENTS),
    row(
        "sensor_saturated channel=i_gate",
        CONTINUITY,
        Stops(&["locked:stored_inductive"]),
        "the current never seems to die away",
    ),
    row("sensor_saturated channel=low", INSULATION, Harmless, "the low range is not used"),
    row(
        "sensor_saturated channel=low",
        CONTINUITY,
        Stops(&["flag:asymmetric", "flag:clipped", "unwind:live"]),
        "the same voltage for both directions of current",
    ),
    row("multiplexer_stuck", BEFORE, Stops(UNPROVED), "the bias moves the two channels apart"),
    row(
        "multiplexer_stuck",
        &[Ramp, Hold, Peek, Discharge, Continuity],
        NextPress(UNPROVED),
        "until the next proof two equal channels look sound, and the one that is left is",
    ),
    row("shunt_dead", INSULATION, Stops(CURRENTS), BOTH_CURRENTS),
    row("shunt_dead", CONTINUITY, Stops(CURRENTS), BOTH_CURRENTS),
    row("range_stuck", INSULATION, Stops(CURRENTS), BOTH_CURRENTS),
    row(
        "range_stuck range=0",
        INSULATION,
        Stops(&["flag:clipped"]),
        "the finest range is at its end",
    ),
    row("range_stuck *", CONTINUITY, Stops(&["flag:clipped"]), "200 mA are beyond its end"),
    row("current_offset", DRY, Harmless, "5 nA are 0.02 % of the current"),
    row("current_offset *", CONTINUITY, Harmless, "both directions of current cancel it"),
    row(
        "current_offset amps=0.0001",
        INSULATION,
        Stops(APART),
        "a zero that no shunt has; later the gate's channel and the shunt differ",
    ),
    row(
        "current_offset *",
        &[Boot, Rest, Proof, Discharge],
        Harmless,
        "the zero of the shunt is learned in the proof and taken off",
    ),
    row("current_offset *", INSULATION, NotCaughtYet, ZERO),
    row("filter_open", DRY, Harmless, "without a carrier there is nothing to fold down"),
    row("samples_repeat", DRY, Stops(&["locked:converter"]), "codes without noise"),
    row("samples_lost every=1000", DRY, Harmless, "one in a thousand is no share of anything"),
    row("samples_lost *", DRY, Stops(&["locked:clock"]), "they are counted"),
    row(
        "spike",
        &[Ramp, Hold, Peek, Discharge],
        Harmless,
        "one sample: the gate waits for three, and a mean hardly moves",
    ),
    row(
        "spike",
        DRY,
        Recovers(&["inhibited:live"]),
        "one sample above the peak limit inhibits for a second; it may have been real",
    ),
    row(
        "spike *",
        DRY,
        Recovers(&[
            "inhibited:live",
            "prove:tripped",
            "unwind:tripped",
            "flag:path_unproved",
            "inhibited:stored_or_live",
        ]),
        "20 ms at the end of the range are proved again, and gone",
    ),
];
