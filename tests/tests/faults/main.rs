//! Every fault of the catalogue, in every phase of a measurement, with voltage from outside beside
//! it: no rule of the watch breaks, and the safe end of the table comes about.
//!
//! The table says for each fault and phase what an instrument may do about it, and why. What cannot
//! be noticed is in it as well, with its reason; should it be noticed after all, the entry is stale
//! and the test fails.

mod memory;
mod table;
mod variants;

use std::collections::{BTreeMap, BTreeSet};

use ohmwarden_core::invariants::Rule;
use ohmwarden_sim::faults::CATALOGUE;
use ohmwarden_tests::faults::{Case, Moments, Phase, Story, left_unsafe, tell};
use ohmwarden_tests::scene::broken;
use rayon::prelude::*;

use table::{EXEMPT, Row, TABLE, row_of};
use variants::VARIANTS;

/// In a plain debug run every so many cases are taken, of every phase some.
const SAMPLE: usize = if cfg!(debug_assertions) { 21 } else { 1 };

fn cases() -> Vec<Case> {
    let phases =
        |(fault, with): &variants::Variant| Phase::ALL.map(|phase| Case { fault, with, phase });
    VARIANTS.iter().flat_map(phases).collect()
}

/// What the sound instrument tells in each phase.
fn sound(moments: &Moments) -> BTreeMap<Phase, Story> {
    let told = |phase: Phase| {
        let scenario = phase.sound(moments);
        let (report, story) = tell(&scenario, phase.begins(moments)).expect("a consistent circuit");
        assert!(broken(&report).is_empty(), "{phase:?} without a fault: {:?}", broken(&report));
        assert_eq!(left_unsafe(&report), None, "{phase:?} without a fault");
        let passes = if phase.is_live() { 0 } else { 2 };
        assert_eq!(story.passes(), passes, "{phase:?} without a fault: {story:?}");
        (phase, story)
    };
    Phase::ALL.into_par_iter().map(told).collect()
}

/// What is wrong with a case, as text.
fn wrong(case: &Case, row: &Row, moments: &Moments, sound: &Story) -> Vec<String> {
    let (report, story) = match tell(&case.scenario(moments), case.phase.begins(moments)) {
        Ok(told) => told,
        Err(diverged) => return vec![format!("{case}: {diverged}")],
    };
    let exempt: BTreeSet<Rule> = EXEMPT
        .iter()
        .filter(|exempt| exempt.of == case.variant() && exempt.phases.contains(&case.phase))
        .map(|exempt| exempt.rule)
        .collect();
    let broke = report.rules.iter().filter(|(_, margin)| margin.held() == Some(false));
    let broke: BTreeSet<Rule> = broke.map(|(rule, _)| *rule).collect();
    let mut found = Vec::new();
    if broke != exempt {
        found.push(format!("rules: {:?}, exempt: {exempt:?}", broken(&report)));
    }
    found.extend(row.ends.wrong(case.phase, &story, sound));
    if !row.goes_on {
        found.extend(left_unsafe(&report));
    }
    found.into_iter().map(|what| format!("{case}: {what}")).collect()
}

#[test]
fn every_fault_in_every_phase_comes_to_its_safe_end_and_breaks_no_rule() {
    let moments = Moments::learn();
    let sound = sound(&moments);
    let cases = cases();
    let found: Vec<String> = cases
        .par_iter()
        .enumerate()
        .filter(|(number, _)| number.is_multiple_of(SAMPLE))
        .flat_map_iter(|(_, case)| match row_of(case) {
            Some((_, row)) => wrong(case, row, &moments, &sound[&case.phase]),
            None => vec![format!("{case}: not in the table")],
        })
        .collect();
    assert!(found.is_empty(), "{} of {}:\n{}", found.len(), cases.len(), found.join("\n"));
}

#[test]
fn every_row_of_the_table_is_met_and_says_why() {
    let met: BTreeSet<usize> = cases().iter().filter_map(row_of).map(|(at, _)| at).collect();
    for (at, row) in TABLE.iter().enumerate() {
        assert!(met.contains(&at), "row {at} is never met: {row:?}");
        assert!(row.why.len() > 10, "row {at} says nothing: {row:?}");
    }
    for exempt in EXEMPT {
        let is = |case: &Case| exempt.of == case.variant() && exempt.phases.contains(&case.phase);
        assert!(cases().iter().any(is), "never met: {exempt:?}");
        assert!(exempt.why.len() > 10, "says nothing: {exempt:?}");
    }
}

#[test]
fn every_fault_of_the_catalogue_is_tried_with_its_defaults_and_with_harder_numbers() {
    for entry in CATALOGUE {
        let spec = &entry.spec;
        let of = |(fault, _): &&variants::Variant| *fault == spec.name;
        let plain = VARIANTS.iter().filter(of).any(|(_, with)| with.is_empty());
        let harder = VARIANTS.iter().filter(of).any(|(_, with)| !with.is_empty());
        assert!(plain, "{} is not tried", spec.name);
        assert!(harder || spec.params.is_empty(), "{} is tried with its defaults only", spec.name);
    }
}
