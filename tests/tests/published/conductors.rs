//! What conductors read.
//!
//! IEC 60228 (2004), plain copper, classes 2 and 5, ohm/km at 20 C, as reproduced in public tables;
//! D. Locke, Guide to the Wiring Regulations, 17th ed. (2008), table 4.3, for R1 + R2; American
//! gauges: `HyperPhysics`, "Common wire gauges" (from Floyd, Electric Circuit Fundamentals).

use ohmwarden_core::correct::{Class, Conductor, Section};
use ohmwarden_core::unit::{Length, Temperature};

use crate::{amount, assert_printed};

fn metric(mm2: f64, class: Class) -> Conductor {
    let section = Section::from_hundredths_mm2((mm2 * 100.0).round() as u32);
    Conductor::metric(section, class).expect("a cross-section of the table")
}

fn ohms(conductor: Conductor, metres: u32) -> f64 {
    let (at, by) = (Temperature::from_celsius(20), Temperature::ZERO);
    amount(conductor.expected(Length::from_metres(metres), at, by).expect("20 C"))
}

macro_rules! sections {
    ($($name:ident: $mm2:literal, $two:literal, $five:literal;)+) => {$(
        #[test]
        fn $name() {
            assert_printed("class 2", ohms(metric($mm2, Class::Two), 1_000), $two);
            assert_printed("class 5", ohms(metric($mm2, Class::Five), 1_000), $five);
        }
    )+};
}

sections! {
    a_kilometre_of_1_mm2: 1.0, "18.1", "19.5";
    a_kilometre_of_1_5_mm2: 1.5, "12.1", "13.3";
    a_kilometre_of_2_5_mm2: 2.5, "7.41", "7.98";
    a_kilometre_of_4_mm2: 4.0, "4.61", "4.95";
    a_kilometre_of_6_mm2: 6.0, "3.08", "3.30";
    a_kilometre_of_10_mm2: 10.0, "1.83", "1.91";
    a_kilometre_of_16_mm2: 16.0, "1.15", "1.21";
}

/// Feet in a thousand metres, in thousands.
const THOUSAND_FEET: f64 = 1.0 / 0.3048;

macro_rules! gauges {
    ($($name:ident: $number:literal, $ohms:literal;)+) => {$(
        #[test]
        fn $name() {
            let conductor = Conductor::gauge($number).expect("a gauge");
            assert_printed("1000 ft", ohms(conductor, 1_000) / THOUSAND_FEET, $ohms);
        }
    )+};
}

gauges! {
    a_thousand_feet_of_gauge_10: 10, "0.9989";
    a_thousand_feet_of_gauge_12: 12, "1.588";
    a_thousand_feet_of_gauge_14: 14, "2.525";
    a_thousand_feet_of_gauge_16: 16, "4.016";
    a_thousand_feet_of_gauge_18: 18, "6.385";
    a_thousand_feet_of_gauge_20: 20, "10.15";
    a_thousand_feet_of_gauge_22: 22, "16.14";
    a_thousand_feet_of_gauge_24: 24, "25.67";
    a_thousand_feet_of_gauge_26: 26, "40.81";
    a_thousand_feet_of_gauge_28: 28, "64.9";
    a_thousand_feet_of_gauge_30: 30, "103.2";
}

/// To a unit of the last digit: some of these rows are cut and not rounded (the 16.14 ohm of gauge
/// 22 above are 52.95 ohm/km, printed 52.9).
#[test]
fn a_kilometre_of_each_gauge_is_what_is_printed() {
    for (number, printed, unit) in
        [(24, 84.2, 0.1), (22, 52.9, 0.1), (20, 33.3, 0.1), (18, 20.9, 0.1), (14, 8.28, 0.01)]
    {
        let conductor = Conductor::gauge(number).expect("a gauge");
        let off = ohms(conductor, 1_000) - printed;
        assert!(off.abs() < unit, "gauge {number}: {off}");
    }
}

macro_rules! runs {
    ($($name:ident: $line:literal / $earth:literal, $km:literal, $fifty:literal;)+) => {$(
        #[test]
        fn $name() {
            let run = metric($line, Class::Two).and_back_by(metric($earth, Class::Two));
            assert_printed("1 km", ohms(run, 1_000), $km);
            // Worked example: 50 m, printed to three digits at most.
            let fifty = $fifty;
            assert!((ohms(run, 50) - fifty).abs() < 0.005, "{}", ohms(run, 50));
        }
    )+};
}

runs! {
    r1_and_r2_of_1_5_and_1_mm2: 1.5 / 1.0, "30.2", 1.51;
    r1_and_r2_of_2_5_and_1_5_mm2: 2.5 / 1.5, "19.51", 0.98;
    r1_and_r2_of_4_and_1_5_mm2: 4.0 / 1.5, "16.71", 0.84;
    r1_and_r2_of_6_and_2_5_mm2: 6.0 / 2.5, "10.49", 0.52;
    r1_and_r2_of_10_and_4_mm2: 10.0 / 4.0, "6.44", 0.32;
    r1_and_r2_of_16_and_6_mm2: 16.0 / 6.0, "4.23", 0.211;
}

#[test]
fn a_warm_run_reads_more_by_the_kt_of_the_standard() {
    let run = metric(2.5, Class::Two);
    let at = |celsius| {
        let (at, by) = (Temperature::from_celsius(celsius), Temperature::ZERO);
        amount(run.expected(Length::from_metres(1_000), at, by).expect("in range"))
    };
    for (celsius, kt) in [(5, "1.064"), (40, "0.926"), (90, "0.781")] {
        assert_printed("Kt", at(20) / at(celsius), kt);
    }
}
