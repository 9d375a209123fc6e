//! The stated uncertainty of a reading against what the circuit really is.
//!
//! Goal: at least 95 % of the true values lie within `k = 2` of the reading (JCGM 100:2008, 6.2 and
//! annex G, is commonly cited for `k = 2` and about 95 %; secondary source, not checked against the
//! text). Method: circuits and instruments drawn at random, every gain and zero anywhere inside the
//! limits that the front end states, measured by core through the simulated front end. The truth is
//! the resistor of the netlist, which core never sees. `OHMWARDEN_CASES` says how many; a plain
//! debug run takes few and only sees gross mistakes.

mod continuity;
mod instrument;
mod insulation;

use ohmwarden_core::judge::{COVER, Flags, Reading, Value};
use rayon::prelude::*;

/// The least share of true values inside the stated interval.
const LEAST: f64 = 0.95;
/// The least share of cases that give a settled reading at all. Some cannot: on microfarads beside
/// gigohms the noise of the voltage alone moves more charge than leaks, and the reading says so.
const READ: f64 = 0.8;

/// How one case came out.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Case {
    /// No reading, or one that says itself that it is none yet.
    None(Flags),
    /// The truth lies within the ends of a number, and how far from it in standard uncertainties.
    Number { inside: bool, off: f64 },
    /// The truth lies beyond a bound, its own doubt taken off.
    Bound { inside: bool },
}

/// Judges a reading by the truth.
fn judged(reading: Reading, truth: f64) -> Case {
    let open = Flags::UNSETTLED.with(Flags::CLIPPED).with(Flags::DISTURBED);
    if reading.flags.any(open) {
        return Case::None(reading.flags);
    }
    let (least, greatest) = reading.ends(COVER);
    let (least, greatest) = (f64::from(least), f64::from(greatest));
    match reading.value {
        Value::Number(x) => Case::Number {
            inside: (least..=greatest).contains(&truth),
            off: (truth - f64::from(x)) / f64::from(reading.doubt),
        },
        Value::Above(_) => Case::Bound { inside: least <= truth },
        Value::Below(_) => Case::Bound { inside: truth <= greatest },
        Value::None => Case::None(Flags::NONE),
    }
}

fn cases() -> u64 {
    let few = if cfg!(optimised) { 2_000 } else { 24 };
    std::env::var("OHMWARDEN_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(few)
}

/// Runs all cases, prints the figures and judges them.
fn check(name: &str, case: fn(u64) -> Case) {
    let all: Vec<Case> = (0..cases()).into_par_iter().map(case).collect();
    let count = |wanted: fn(&Case) -> bool| all.iter().filter(|case| wanted(case)).count();
    let numbers = count(|case| matches!(case, Case::Number { .. }));
    let bounds = count(|case| matches!(case, Case::Bound { .. }));
    let inside = count(|case| {
        matches!(case, Case::Number { inside: true, .. } | Case::Bound { inside: true })
    });
    let squares: f64 = all
        .iter()
        .map(|case| if let Case::Number { off, .. } = case { off * off } else { 0.0 })
        .sum();
    let read = numbers + bounds;
    let share = inside as f64 / read as f64;
    println!(
        "{name}: {inside} of {read} true values inside k = 2: {:.2} % ({numbers} numbers, {bounds} \
         bounds, {} without a settled reading); rms distance {:.2} standard uncertainties",
        share * 100.0,
        all.len() - read,
        (squares / numbers as f64).sqrt()
    );
    for (flag, word) in Flags::WORDS {
        let has = |case: &&Case| matches!(case, Case::None(flags) if flags.any(*flag));
        let count = all.iter().filter(has).count();
        if count > 0 {
            println!("  of those without a settled reading {count} say {word}");
        }
    }
    assert!(read as f64 >= READ * all.len() as f64, "{name}: {read} readings of {}", all.len());
    // What a count of so few cases may be below by chance: three standard errors.
    let chance = 3.0 * (LEAST * (1.0 - LEAST) / read as f64).sqrt();
    let least = if all.len() < 1_000 { LEAST - chance } else { LEAST };
    assert!(share >= least, "{name}: {share} of the true values lie inside");
}
