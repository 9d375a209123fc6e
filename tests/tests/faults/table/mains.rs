//! 230 V arrives 0.2 s after the fault.

use super::Phase::RestThenMains;
use super::{MAINS, Row, goes_on, row};
use ohmwarden_tests::faults::Ends::{NotThere, Stops, Warns};

pub(super) const ROWS: &[Row] = &[
    row("lead_open *", MAINS, NotThere, "it does not reach the terminals"),
    row("leads_shorted", MAINS, NotThere, "the leads short it, and a fuse would blow"),
    goes_on(
        "samples_repeat",
        &[RestThenMains],
        Stops(&["locked:converter"]),
        "without codes nothing is known, and the view shows no number and says so",
    ),
    row("*", MAINS, Warns, "no fault of the instrument may hide what is there"),
];
