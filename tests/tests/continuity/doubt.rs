//! Readings against what is in the circuit, by the doubt that they state.

use ohmwarden_core::judge::{Flags, Value};
use rayon::prelude::*;

use crate::{NULLED, read, resistor, text};

/// What a doubt may be at the most to be of use: an eightieth of what the terminals see, and 35 mohm
/// for contacts, null and converter.
fn usable(ohms: f64) -> f64 {
    ohms / 80.0 + 0.035
}

/// Nulls the leads, then reads `ohms` beyond them; answers how many doubts the reading is off.
fn off(leads: f64, ohms: f64) -> (f64, f64, f64) {
    let circuit = resistor(ohms.max(0.001))
        + NULLED
        + r#"
[[at]]
s = 4.5
open = "clips"
[[at]]
s = 5.0
press = "test"
[[at]]
s = 8.0
release = "test"
"#;
    let (reading, _) = read(&text(leads.max(0.002), 9.0, &circuit));
    let Value::Number(x) = reading.value else { panic!("{ohms} ohm: {reading:?}") };
    assert!(!reading.flags.any(Flags::NULL_LARGER), "{leads} and {ohms} ohm: {reading:?}");
    let doubt = f64::from(reading.doubt);
    assert!(doubt <= usable(ohms + leads), "{leads} and {ohms} ohm: a doubt of {doubt} ohm");
    ((f64::from(x) - ohms).abs() / doubt, leads, ohms)
}

#[test]
fn nothing_to_100_ohm_beyond_leads_of_nothing_to_2_ohm_are_read_within_twice_the_doubt() {
    let leads = [0.0, 0.05, 0.1, 0.5, 1.0, 2.0];
    let loads = [0.0, 0.01, 0.05, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 24.0, 50.0, 100.0];
    let cases: Vec<(f64, f64)> =
        leads.iter().flat_map(|l| loads.iter().map(move |r| (*l, *r))).collect();
    let worst = cases
        .par_iter()
        .map(|(leads, ohms)| off(*leads, *ohms))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .expect("cases");
    println!("worst: {:.2} doubts, leads {} ohm, {} ohm", worst.0, worst.1, worst.2);
    assert!(worst.0 <= 2.0, "{worst:?}");
}
