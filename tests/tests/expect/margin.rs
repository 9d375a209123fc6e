//! The margin: its unit, its scale, and what is told where it is zero.

use ohmwarden_sim::expect::{Rule, Span};
use ohmwarden_tests::small_world::Moment;

use crate::{expression, run};

#[test]
fn at_a_margin_of_zero_the_truth_is_still_told() {
    // At 2 V true by nothing, at 0 V false by nothing.
    let that = "leads.volts in 0 V..2 V && leads.volts != 0 V";
    let always = || Rule::Always(expression(that), Span::default());
    assert_eq!(run(always(), &[2.0, 2.0], &[]).held, Some(true));
    assert_eq!(run(always(), &[2.0, 0.0], &[]).held, Some(false));
    assert_eq!(run(always(), &[0.0, 2.0], &[]).held, Some(false));
    let never = Rule::Never(expression("leads.volts == 0 V || leads.volts < 0 V"), Span::default());
    assert_eq!(run(never, &[1.0, 0.0], &[]).held, Some(false));
}

#[test]
fn a_margin_is_told_in_the_unit_of_the_signals_or_in_scales() {
    let told = |that: &str| {
        let outcome = run(Rule::Always(expression(that), Span::default()), &[20.0], &[]);
        (outcome.unit, outcome.margin.unwrap(), outcome.score.unwrap())
    };
    assert_eq!(told("leads.volts < 50 V"), ("V", 30.0, 3.0));
    assert_eq!(told("leads.volts < 50 V && !(leads.volts > 1 kV)"), ("V", 30.0, 3.0));
    assert_eq!(told("leads.volts < 50 V || gate.open"), ("scale", 3.0, 3.0));
    // Of a range the middle has the whole margin, the edge none.
    assert_eq!(told("leads.volts in 16..24 V"), ("V", 4.0, 1.0));
    assert_eq!(told("leads.volts in 19..27 V"), ("V", 1.0, 0.25));
    assert_eq!(told("leads.volts in 0..16 V"), ("V", -4.0, -0.5));
    // An endless reading has a margin that can be written down.
    let open = Moment::blank().with("reading.value", f64::INFINITY);
    assert_eq!(expression("reading.value > 1 Mohm").now(&open).margin, 1.0e6);
    let missing = Moment::blank().with("reading.value", f64::NAN);
    assert!(!expression("reading.value > 1 Mohm").now(&missing).holds);
    assert!(!expression("reading.value != 1 Mohm").now(&missing).holds);
    assert!(expression("!(reading.value > 1 Mohm)").now(&missing).holds);
}
