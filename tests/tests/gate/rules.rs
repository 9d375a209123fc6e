//! The rules by which a sample closes the gate: each alone, at its threshold, in every spacing.

use ohmwarden_core::frame::Sample;
use ohmwarden_core::gate::Cause;

use crate::post::{Clerk, MS, Post, volts};

/// Where each rule alone holds: what the gate held, the sample, and the cause that it gives.
const RULES: [(i32, f64, i16, Cause); 5] = [
    (0, -12.75, 0, Cause::OutOfBounds),
    (50, 66.0, 0, Cause::OutOfBounds),
    (500, 513.0, 0, Cause::AboveSetPoint),
    (500, 488.25, 500, Cause::FallsWhilePushed),
    (500, 485.25, 0, Cause::Residual),
];

/// A gate just opened, or one that holds a voltage.
fn at(set: i32) -> Post {
    if set > 0 {
        return Post::holding(set);
    }
    let mut post = Post::new(Clerk::volts(500));
    post.arm();
    post.feed(0.0, 0);
    post
}

/// The sample before and after: as it should be, pushed if the rule asks for it.
fn good(post: &mut Post, microamps: i16) -> bool {
    post.arm();
    let v = volts(post.last.set_point);
    post.feed(v, microamps)
}

#[test]
fn each_rule_closes_the_gate_at_the_third_sample_in_a_row() {
    for (set, v, microamps, cause) in RULES {
        let mut post = at(set);
        assert!(good(&mut post, microamps));
        post.arm();
        let on: Vec<bool> = (0..3).map(|_| post.feed(v, microamps)).collect();
        assert_eq!(on, [true, true, false], "{cause:?} at {v} V");
        assert_eq!(post.cause(), Some(cause), "{v} V");
    }
}

#[test]
fn two_samples_and_a_good_one_never_close_it() {
    for (set, v, microamps, cause) in RULES {
        let mut post = at(set);
        for round in 0..50 {
            // Two good ones where the rule moves the baseline, so that only spacing is tried.
            let rested = (0..20).all(|_| good(&mut post, microamps));
            post.arm();
            let on = rested && post.feed(v, microamps) && post.feed(v, microamps);
            assert!(on, "{cause:?} at {v} V in round {round}: {:?}", post.gate.status());
            if set == 0 {
                // The ramp goes on meanwhile; what was opened just now is tried again.
                post = at(set);
            }
        }
    }
}

#[test]
fn samples_under_different_rules_do_not_add_up() {
    let mut post = Post::holding(500);
    for _ in 0..50 {
        assert!(post.stays_on(513.0, 500, 1) && post.stays_on(483.0, 0, 1));
        assert!(post.stays_on(500.0, 0, 30));
    }
}

#[test]
fn just_inside_every_rule_the_gate_stays_open() {
    for (v, microamps) in [(511.5, 0), (490.5, 500), (488.25, 390), (486.75, 0), (500.0, 1_800)] {
        let mut post = Post::holding(500);
        assert!(good(&mut post, microamps));
        assert!(post.stays_on(v, microamps, 400), "{v} V at {microamps} uA");
    }
    let mut post = at(0);
    assert!(post.stays_on(-11.25, 0, 400), "-11.25 V");
}

/// Moves the terminals of a gate that holds 500 V by `slope` volts a millisecond for so many of
/// them; answers what closed it, if anything did.
fn moved(post: &mut Post, from: f64, slope: f64, millis: u32, microamps: i16) -> Option<Cause> {
    for n in 0..millis {
        post.arm();
        for tenth in 0..MS as u32 {
            let v = from + slope * (f64::from(n) + f64::from(tenth) / 10.0);
            if !post.feed(v, microamps) {
                return post.cause();
            }
        }
    }
    None
}

#[test]
fn the_gate_follows_what_a_passive_load_does_and_nothing_faster() {
    for (slope, millis, microamps, closes) in [
        // Dividers that let a store down: 0.25 V/ms. A source that pulls it down: 2 V/ms.
        (-0.25, 200, 0, None),
        (-2.0, 20, 0, Some(Cause::Residual)),
        // An insulation that gets wet, and one that breaks down under current.
        (-0.25, 200, 500, None),
        (-1.0, 30, 500, Some(Cause::FallsWhilePushed)),
    ] {
        let mut post = Post::holding(500);
        let found = moved(&mut post, 500.0, slope, millis, microamps);
        assert_eq!(found, closes, "{slope} V/ms at {microamps} uA");
    }
    // Back up from 460 V: slowly by nothing, fast only by a current of ours.
    for (slope, microamps, closes) in [
        (0.4, 0, None),
        (2.0, 0, Some(Cause::Residual)),
        (2.0, 150, None),
        (6.0, 150, Some(Cause::Residual)),
    ] {
        let mut post = Post::holding(500);
        assert_eq!(moved(&mut post, 500.0, -0.25, 160, 0), None);
        let millis = (40.0 / slope) as u32;
        let found = moved(&mut post, 460.0, slope, millis, microamps);
        assert_eq!(found, closes, "{slope} V/ms up at {microamps} uA");
    }
}

#[test]
fn a_saturated_converter_counts_under_every_rule() {
    for code in [2_000, 2_047, i16::MAX, -2_000, i16::MIN] {
        let mut post = Post::holding(500);
        post.arm();
        let s = Sample { v: code, v2: code, ..Sample::default() };
        let on: Vec<bool> = (0..3).map(|_| post.gate.sample(Some(s)).on).collect();
        assert_eq!(on, [true, true, false], "code {code}");
    }
    let mut post = Post::holding(500);
    post.arm();
    let s = Sample { v: 2_000, v2: 2_000, ..Sample::default() };
    assert!(post.gate.sample(Some(s)).on && post.gate.sample(Some(s)).on);
    assert!(!post.feed(484.0, 0), "and the third under any one of them");
}

#[test]
fn continuity_closes_on_a_voltage_that_its_source_cannot_make() {
    for reversed in [false, true] {
        let sign = if reversed { -1.0 } else { 1.0 };
        for (v, closes) in [(10.5, true), (9.75, false), (-5.25, true), (-4.5, false)] {
            let mut post = Post::joined(reversed);
            post.arm();
            let on: Vec<bool> = (0..3).map(|_| post.feed(sign * v, 0)).collect();
            assert_eq!(on, [true, true, !closes], "{v} V, reversed {reversed}");
        }
        let mut post = Post::joined(reversed);
        post.arm();
        assert!(post.feed(0.0, 0));
        assert_eq!(post.last.set_point.as_microvolts(), sign as i32 * 5_000_000);
    }
}

#[test]
fn current_pushed_back_into_continuity_closes_it_at_the_third_sample_in_a_row() {
    for reversed in [false, true] {
        // Out of the positive lead counts as positive; what is pushed back has the other sign.
        let back = if reversed { 1 } else { -1 };
        let mut post = Post::joined(reversed);
        post.arm();
        let on: Vec<bool> = (0..3).map(|_| post.feed(0.0, 401 * back)).collect();
        assert_eq!(on, [true, true, false], "reversed {reversed}");
        assert_eq!(post.cause(), Some(Cause::PushesBack), "reversed {reversed}");

        // 80 blocks in all: a turn in one direction lasts 100 at the least.
        let mut post = Post::joined(reversed);
        assert!(post.stays_on(0.0, 400 * back, 25), "0.4 mA, reversed {reversed}");
        assert!(post.stays_on(0.0, -2_047 * back, 25), "our own current, reversed {reversed}");
        for _ in 0..10 {
            assert!(post.stays_on(0.0, 401 * back, 2) && post.stays_on(0.0, 0, 1), "in pairs");
        }
    }
}

#[test]
fn a_permit_for_more_or_less_pickup_moves_the_limits_of_a_gate_that_is_on() {
    // 13.25 V above the set point: inside the residual, outside the 12 V without pick-up.
    let mut post = Post::holding(100);
    let plain = core::mem::replace(&mut post.clerk, Clerk::beside_pickup(100, 15));
    assert!(post.stays_on(113.25, 0, 8), "widened: {:?}", post.gate.status());
    post.clerk = plain;
    assert!(post.stays_on(113.25, 0, 2));
    assert!(!post.stays_on(113.25, 0, 1), "as before");
    assert_eq!(post.cause(), Some(Cause::AboveSetPoint));
}
