//! A reading is brought to where its limit holds, and judged there or not at all.

use ohmwarden_core::correct::{NoCorrection, Rule, Surroundings};
use ohmwarden_core::frame::TimedTest;
use ohmwarden_core::judge::{Flags, Reading, Unit, Value, Verdict};
use ohmwarden_core::limits::by_word;
use ohmwarden_sim::scenario::{Bound, Function, LimitOf, LimitSpec, Scenario};
use ohmwarden_tests::scene::{held, insulation, load, scene};

use crate::{around, end};

/// An insulation test of 15 Mohm against the 25 Mohm at 20 C of apparatus rated 250 V.
fn apparatus(surroundings: Surroundings) -> Scenario {
    let mut scenario = scene(9.0, insulation(500.0));
    scenario.parts = load(15.0e6, 1.0e-9);
    scenario.events = held(0.6, 5.5);
    scenario.start.surroundings = surroundings;
    let (bound, of) = (Bound::AtLeast(25.0e6), LimitOf::Ohms);
    scenario.limit = Some(LimitSpec { bound, of, guarded: true, named: by_word("apparatus_250v") });
    scenario
}

fn near(reading: &Reading, value: f32, share: f32) -> bool {
    reading.unit == Unit::Ohm
        && matches!(reading.value, Value::Number(x) if (x / value - 1.0).abs() < share)
}

#[test]
fn the_verdict_is_that_of_the_corrected_reading_and_the_raw_one_stays_on_the_display() {
    let (view, _) = end(&apparatus(Surroundings::UNKNOWN), 1);
    assert_eq!(view.judged.map(|it| it.verdict()), Some(Verdict::Fail));
    assert_eq!(view.corrected, None);
    let (view, _) = end(&apparatus(around(Some(35), Rule::Oil)), 1);
    let corrected = view.corrected.and_then(Result::ok).expect("it can be corrected");
    // The printed factor is 2.80, the rule 2.83; the reading itself within 1 %.
    assert!(near(&corrected.reading, 15.0e6 * 2.80, 0.03), "{corrected:?}");
    assert!(near(&view.main, 15.0e6, 0.01) && near(&corrected.raw, 15.0e6, 0.01), "{view:?}");
    assert!(corrected.reading.flags.any(Flags::TEMPERATURE));
    assert!(!view.main.flags.any(Flags::TEMPERATURE));
    let judged = view.judged.expect("it is judged");
    assert_eq!((judged.verdict(), judged.reading()), (Verdict::Pass, corrected.reading));
}

#[test]
fn what_cannot_be_brought_to_its_limit_is_not_judged() {
    let (least, greatest) = Rule::Oil.range();
    for (celsius, why) in [
        (None, NoCorrection::NoTemperature),
        (Some(80), NoCorrection::OutOfRange { least, greatest }),
    ] {
        let (view, record) = end(&apparatus(around(celsius, Rule::Oil)), 1);
        assert_eq!(view.corrected, Some(Err(why)));
        assert_eq!(view.judged, None);
        let record = record.expect("it was committed all the same");
        assert_eq!((record.verdict(), record.about().correction), (None, None));
        assert!(near(&record.finding().reading(), 15.0e6, 0.01), "{record:?}");
    }
}

#[test]
fn a_bound_stays_a_bound() {
    let mut open = apparatus(around(Some(35), Rule::Oil));
    open.parts = load(1.0e14, 1.0e-9);
    let (view, _) = end(&open, 1);
    let corrected = view.corrected.and_then(Result::ok).expect("it can be corrected");
    let (Value::Above(raw), Value::Above(there)) = (view.main.value, corrected.reading.value)
    else {
        panic!("two bounds: {view:?}")
    };
    assert!((there / raw / 2.80 - 1.0).abs() < 0.02, "{raw} {there}");
}

#[test]
fn copper_is_corrected_where_a_conductor_is_measured_and_nothing_else() {
    let (view, _) = end(&apparatus(around(Some(40), Rule::Copper)), 1);
    assert_eq!(view.corrected, None);
    assert_eq!(view.judged.map(|it| it.verdict()), Some(Verdict::Fail));
    let mut wire = apparatus(around(Some(40), Rule::Copper));
    wire.start.function = Function::Resistance;
    wire.parts = load(100.0, 0.0);
    wire.limit = None;
    let (view, _) = end(&wire, 1);
    let corrected = view.corrected.and_then(Result::ok).expect("it can be corrected");
    // Kt at 40 C is printed as 0.926 (IEC 60228, 2004, as reproduced); the leads are 0.1 ohm.
    assert!(near(&corrected.reading, 100.1 * 0.926, 0.005), "{corrected:?}");
}

#[test]
fn a_ratio_is_no_resistance_and_is_left_alone() {
    let mut timed = apparatus(around(Some(35), Rule::Oil));
    let timed_test = Some(TimedTest::AbsorptionRatio);
    timed.start.function = Function::Insulation { volts: 500.0, timed: timed_test };
    timed.seconds = 66.0;
    timed.limit = None;
    let (view, record) = end(&timed, 1);
    assert_eq!((view.main.unit, view.corrected), (Unit::Ratio, None));
    let record = record.expect("it was committed");
    assert!(record.about().curve.len() > 2, "{record:?}");
    assert_eq!(record.about().correction, None);
}

#[test]
fn the_next_press_forgets_what_was_corrected() {
    let mut again = apparatus(around(Some(35), Rule::Oil));
    again.events.extend(held(8.0, 8.9));
    let (view, record) = end(&again, 1);
    assert_eq!((view.corrected, view.judged, record), (None, None, None));
}
