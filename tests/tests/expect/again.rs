//! Labels that come again, and such as never come: what chance does not reach.

use ohmwarden_sim::expect::{Expect, Monitor, Rule, Span, Stays};

use crate::{expression, run, within};

#[test]
fn a_label_that_comes_again_opens_another_window_and_the_worst_is_told() {
    let high = "leads.volts > 5 V";
    // To spare: 3 ms the first time, 1 ms the second, 2 ms the third.
    let volts = [0.0, 9.0, 0.0, 0.0, 0.0, 0.0, 9.0, 0.0, 0.0, 0.0, 9.0];
    let outcome = run(within(0.004, high, Stays::No), &volts, &[0.0, 0.003, 0.008]);
    assert_eq!((outcome.held, outcome.exercised), (Some(true), 3));
    assert!((outcome.margin.unwrap() - 0.001).abs() < 1.0e-12, "{outcome:?}");
    assert_eq!(outcome.at_seconds, Some(0.006));
    // The second is missed.
    let outcome = run(within(0.002, high, Stays::No), &volts, &[0.0, 0.003, 0.008]);
    assert_eq!(outcome.held, Some(false));
    assert!((outcome.margin.unwrap() + 0.001).abs() < 1.0e-12, "{outcome:?}");
}

#[test]
fn a_label_that_comes_inside_its_window_asks_for_one_true_sample_for_both() {
    let volts = [0.0, 0.0, 0.0, 9.0, 0.0, 0.0, 0.0, 0.0];
    let rule = within(0.004, "leads.volts > 5 V", Stays::No);
    let outcome = run(rule, &volts, &[0.0, 0.002]);
    assert_eq!((outcome.held, outcome.exercised), (Some(true), 2));
    assert!((outcome.margin.unwrap() - 0.001).abs() < 1.0e-12, "{outcome:?}");
}

#[test]
fn a_moment_that_comes_again_is_looked_at_again() {
    let at =
        || Rule::At { s: 0.001, after: Some("go".into()), that: expression("leads.volts > 5 V") };
    let volts = [0.0, 9.0, 7.0, 1.0, 3.0, 2.0];
    let told = |go: &[f64]| {
        let outcome = run(at(), &volts, go);
        (outcome.held, outcome.margin, outcome.at_seconds, outcome.exercised)
    };
    assert_eq!(told(&[0.0]), (Some(true), Some(4.0), Some(0.001), 1));
    assert_eq!(told(&[0.0, 0.001]), (Some(true), Some(2.0), Some(0.002), 2));
    assert_eq!(told(&[0.0, 0.002, 0.003]), (Some(false), Some(-4.0), Some(0.003), 3));
    assert_eq!(told(&[0.0, 0.0005]), (Some(true), Some(2.0), Some(0.002), 2));
    // A label that comes again before the moment moves it.
    assert_eq!(told(&[0.0001, 0.0009]), (Some(true), Some(2.0), Some(0.002), 1));
}

#[test]
fn what_must_stay_is_ended_by_the_next_opening() {
    let volts = [0.0, 9.0, 9.0, 9.0, 0.0, 0.0, 9.0, 9.0, 9.0];
    let rule = || within(0.003, "leads.volts > 5 V", Stays::ToEnd);
    let outcome = run(rule(), &volts, &[0.0, 0.004]);
    assert_eq!((outcome.held, outcome.exercised), (Some(true), 2));
    assert!((outcome.margin.unwrap() - 0.001).abs() < 1.0e-12, "{outcome:?}");
    // Without the second opening the fall at 4 ms breaks the first one.
    assert_eq!(run(rule(), &volts, &[0.0]).held, Some(false));
}

#[test]
fn nothing_that_was_not_reached_is_told_as_held() {
    let rules = [
        within(0.004, "leads.volts > 5 V", Stays::No),
        within(0.004, "leads.volts > 5 V", Stays::ToEnd),
        Rule::At { s: 0.0, after: Some("go".into()), that: expression("leads.volts > 5 V") },
        Rule::Always(
            expression("leads.volts > 5 V"),
            Span { after: Some("go".into()), before: None },
        ),
    ];
    for rule in rules {
        let outcome = run(rule.clone(), &[9.0; 4], &[]);
        assert_eq!((outcome.held, outcome.exercised), (None, 0), "{rule:?}");
        assert_eq!((outcome.margin, outcome.score, outcome.at_seconds), (None, None, None));
    }
    let unknown = Monitor::new::<&str>(
        &Expect { rule: within(1.0, "gate.open", Stays::No), note: String::new() },
        &[],
    );
    assert_eq!(unknown.finish().held, None);
}
