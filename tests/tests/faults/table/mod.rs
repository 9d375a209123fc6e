//! The table: for each fault and phase, what an instrument may do about it, and why.
//!
//! The first row that fits counts. `"name"` is the fault with its defaults, `"name key=value"` with
//! these, `"name *"` with any that no row before it names.

use std::sync::LazyLock;

use ohmwarden_core::invariants::Rule;
use ohmwarden_tests::faults::{Case, Ends, Phase};

mod actuators;
mod computing;
mod leads;
mod mains;
mod sensors;

/// One row.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    /// Which fault, as above; `"*"` for any.
    of: &'static str,
    phases: &'static [Phase],
    /// The safe end.
    pub(crate) ends: Ends,
    /// Why this is a safe end, or why nothing can be told.
    pub(crate) why: &'static str,
    /// The run ends with something on the terminals, and that is right.
    pub(crate) goes_on: bool,
}

/// A rule that cannot be held under a fault.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Exempt {
    /// Which fault.
    pub(crate) of: &'static str,
    /// When it begins.
    pub(crate) phases: &'static [Phase],
    /// Which rule.
    pub(crate) rule: Rule,
    /// Why.
    pub(crate) why: &'static str,
}

const fn row(of: &'static str, phases: &'static [Phase], ends: Ends, why: &'static str) -> Row {
    Row { of, phases, ends, why, goes_on: false }
}

/// A row of a run that ends with something on the terminals.
const fn goes_on(of: &'static str, phases: &'static [Phase], ends: Ends, why: &'static str) -> Row {
    Row { goes_on: true, ..row(of, phases, ends, why) }
}

use Phase::{
    Boot, Continuity, Discharge, Hold, HoldThenMains, Peek, Proof, Ramp, Rest, RestThenMains,
};

const INSULATION: &[Phase] = &[Boot, Rest, Proof, Ramp, Hold, Peek, Discharge];
const BEFORE: &[Phase] = &[Boot, Rest, Proof];
const CONTINUITY: &[Phase] = &[Continuity];
const DRY: &[Phase] = &[Boot, Rest, Proof, Ramp, Hold, Peek, Discharge, Continuity];
const MAINS: &[Phase] = &[RestThenMains, HoldThenMains];

/// All rows.
pub(crate) static TABLE: LazyLock<Vec<Row>> = LazyLock::new(|| {
    [sensors::ROWS, actuators::ROWS, leads::ROWS, computing::ROWS, mains::ROWS].concat()
});

/// The row of a case, with its place in the table.
pub(crate) fn row_of(case: &Case) -> Option<(usize, &'static Row)> {
    let variant = case.variant();
    let fits = |row: &Row| match row.of.strip_suffix('*').map(str::trim_end) {
        None => row.of == variant,
        Some(name) => name.is_empty() || name == case.fault,
    };
    TABLE.iter().enumerate().find(|(_, row)| row.phases.contains(&case.phase) && fits(row))
}

/// What no instrument can hold.
pub(crate) const EXEMPT: &[Exempt] = &[
    Exempt {
        of: "loop_stalls blocks=1000",
        phases: &[HoldThenMains],
        rule: Rule::SayLive,
        why: "who stands still for a second can warn of nothing; the gate has closed by itself",
    },
    Exempt {
        of: "interrupt_stops samples=20000",
        phases: &[HoldThenMains],
        rule: Rule::SayLive,
        why: "without samples nothing is known for two seconds; the supply has dropped by itself",
    },
];
