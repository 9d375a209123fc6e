//! Fixed wiring and apparatus.
//!
//! Fixed wiring: BS 7671, tables 61 (17th edition) and 64 (18th), clauses 643.3.2 and 643.3.3, as
//! cited in NICEIC Connections, spring 2018, p. 47, and NICEIC Pocket Guide 27; the remark below 2
//! Mohm: B. Linsley, Basic Electrical Installation Work, p. 356. Apparatus: ANSI/NETA MTS-2019,
//! Table 100.1, p. 214, read in a public extract.

use ohmwarden_core::judge::Verdict;
use ohmwarden_core::unit::Voltage;

use crate::{assert_least_megohms, entry, megohms, verdict};

#[test]
fn selv_and_pelv_have_half_a_megohm_at_250_v() {
    assert_least_megohms("installation_selv", 0.5, Some(250));
}

#[test]
fn wiring_up_to_500_v_has_one_megohm_at_500_v() {
    assert_least_megohms("installation_500v", 1.0, Some(500));
}

#[test]
fn wiring_above_500_v_is_tested_at_1000_v() {
    assert_eq!(entry("installation_above_500v").set, Some(Voltage::from_volts(1_000)));
}

#[test]
fn connected_equipment_is_tested_at_250_v() {
    assert_eq!(entry("installation_connected").set, Some(Voltage::from_volts(250)));
}

/// Worked example: a 230 V circuit tested at 500 V reads 0.99, 1.00 and 1.5 Mohm.
#[test]
fn a_230_v_circuit_fails_passes_and_passes_with_a_remark() {
    let of = |ohms| verdict("installation_500v", megohms(ohms));
    assert_eq!([0.99, 1.00, 1.5].map(of), [Verdict::Fail, Verdict::Pass, Verdict::Pass]);
    let said = |ohms| entry("installation_500v").remark_for(megohms(ohms)).is_some();
    assert_eq!([1.5, 1.99, 2.0].map(said), [true, true, false]);
}

/// Worked example: SELV tested at 250 V reads 0.49 and 0.50 Mohm.
#[test]
fn a_selv_circuit_fails_below_half_a_megohm() {
    let of = |ohms| verdict("installation_selv", megohms(ohms));
    assert_eq!([0.49, 0.50].map(of), [Verdict::Fail, Verdict::Pass]);
}

#[test]
fn apparatus_of_250_v_has_25_megohms_at_500_v() {
    assert_least_megohms("apparatus_250v", 25.0, Some(500));
}

#[test]
fn apparatus_of_600_v_has_100_megohms_at_1000_v() {
    assert_least_megohms("apparatus_600v", 100.0, Some(1_000));
}

#[test]
fn apparatus_of_1000_v_has_100_megohms_at_1000_v() {
    assert_least_megohms("apparatus_1000v", 100.0, Some(1_000));
}

#[test]
fn apparatus_of_2500_v_has_500_megohms_at_1000_v() {
    assert_least_megohms("apparatus_2500v", 500.0, Some(1_000));
}

/// Worked example: apparatus of 600 V reads 95 Mohm at 1000 V dc.
#[test]
fn ninety_five_megohms_are_too_little_for_apparatus_of_600_v() {
    assert_eq!(verdict("apparatus_600v", megohms(95.0)), Verdict::Fail);
}
