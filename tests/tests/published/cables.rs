//! Harnesses, ship's circuits and the length of a cable.
//!
//! Harness: US Army SB 740-91-01, "Insulation Resistance", paragraph 4.c. Ship's circuits and
//! length: NAVEDTRA 14120, Interior Communications Electrician, cable insulation resistance. Both
//! read in public copies.

use ohmwarden_core::correct::for_length;
use ohmwarden_core::judge::{Limit, Verdict};
use ohmwarden_core::limits::{Conditions, NoLimit};
use ohmwarden_core::unit::{Length, Temperature, Voltage};

use crate::{amount, entry, megohms, verdict};

fn harness_at_fahrenheit(fahrenheit: f64) -> Result<Limit, NoLimit> {
    let millicelsius = ((fahrenheit - 32.0) / 1.8 * 1e3).round() as i32;
    let temperature = Some(Temperature::from_millicelsius(millicelsius));
    entry("wiring_harness").limit_for(Conditions { temperature, rated: None })
}

#[test]
fn a_harness_is_tested_from_200_v_on_and_has_100_megohms() {
    assert_eq!(entry("wiring_harness").set, Some(Voltage::from_volts(200)));
    for fahrenheit in [60.0, 70.0, 82.0] {
        assert_eq!(harness_at_fahrenheit(fahrenheit), Ok(Limit::AtLeast(100.0e6)));
    }
}

/// Worked example: the limit at 92 F, 70 F and 50 F.
#[test]
fn the_limit_of_a_harness_moves_by_two_per_cent_a_degree() {
    let of = |fahrenheit| harness_at_fahrenheit(fahrenheit);
    assert_eq!(of(92.0), Ok(Limit::AtLeast(80.0e6)));
    assert_eq!(of(70.0), Ok(Limit::AtLeast(100.0e6)));
    assert_eq!(of(50.0), Ok(Limit::AtLeast(120.0e6)));
}

#[test]
fn a_harness_is_tested_below_100_fahrenheit_only() {
    assert_eq!(harness_at_fahrenheit(100.0), Err(NoLimit::TooHot));
    assert!(harness_at_fahrenheit(99.0).is_ok());
}

#[test]
fn a_telephone_circuit_of_a_ship_has_50_kilohms() {
    let of = |ohms: f32| verdict("telephone_ship", megohms(ohms / 1.0e6));
    assert_eq!([49_000.0, 50_000.0].map(of), [Verdict::Fail, Verdict::Pass]);
}

#[test]
fn a_cable_of_100_feet_counts_as_100_whatever_its_conductors() {
    // 100 ft of sheath that read 5 Mohm are 500 Mohm ft: half a megohm for 1000 ft.
    let feet = |feet: u32| Length::from_millimetres(feet * 3_048 / 10);
    let read = for_length(megohms(5.0), feet(100), feet(1_000)).expect("a resistance");
    assert!((amount(read) / 0.5e6 - 1.0).abs() < 1e-6, "{read:?}");
}
