//! Permits: without a fresh one of its own epoch the source is off.

use ohmwarden_core::frame::Sample;
use ohmwarden_core::gate::{Cause, Gate, GateOut, Permit};
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Voltage};

use crate::post::{Clerk, DEAD_MAN, MS, Post, volts};

#[test]
fn a_gate_that_nobody_armed_stays_shut() {
    let gate = Gate::new(&GENERAL, SampleRate::DEFAULT);
    for code in i16::MIN..=i16::MAX {
        let s = Sample { v: code, v2: code, i_gate: code, ..Sample::default() };
        assert_eq!(gate.sample(Some(s)), GateOut::default());
    }
    assert_eq!(gate.status().epoch, 0);
}

#[test]
fn the_source_goes_off_four_milliseconds_after_the_last_arming() {
    for armings in [1, 2, 30] {
        let mut post = Post::new(Clerk::volts(500));
        for _ in 1..armings {
            post.follow(MS);
        }
        post.arm();
        let on = (0..1_000).take_while(|_| post.feed(volts(post.last.set_point), 0)).count();
        assert_eq!(on, DEAD_MAN, "after {armings} armings");
        assert_eq!(post.cause(), Some(Cause::LoopLate));
        assert!((0..1_000).all(|_| !post.feed(0.0, 0)));
    }
}

#[test]
fn one_missing_sample_is_borne_and_the_second_in_a_row_is_not() {
    let mut post = Post::holding(500);
    for _ in 0..200 {
        post.arm();
        assert!(post.gate.sample(None).on, "one is borne");
        assert!(post.feed(500.0, 0));
    }
    post.arm();
    assert!(post.gate.sample(None).on);
    assert_eq!(post.gate.sample(None), GateOut::default());
    assert_eq!(post.cause(), Some(Cause::SamplesMissing));
}

#[test]
fn a_drive_does_not_begin_on_a_missing_sample() {
    let mut post = Post::new(Clerk::volts(500));
    post.arm();
    assert_eq!(post.gate.sample(None), GateOut::default());
    assert_eq!(post.cause(), Some(Cause::SamplesMissing));
    assert!(!post.feed(0.0, 0), "nor on the next, by the same permit");
}

#[test]
fn a_missing_sample_counts_as_one_under_the_rule_that_holds() {
    let mut post = Post::holding(500);
    post.arm();
    assert!(post.feed(514.0, 0) && post.feed(514.0, 0));
    assert!(!post.gate.sample(None).on, "two above the set point and one that is not there");
}

#[test]
fn a_permit_minted_before_a_closing_never_opens_the_gate_after_it() {
    let mut post = Post::holding(250);
    let before = post.gate.status().epoch;
    let held: Vec<Permit> = (0..3).map(|_| post.clerk.permit(before)).collect();
    let early = post.clerk.permit(before + 2);
    assert!(!post.stays_on(-30.0, 0, 3));
    assert_eq!(post.gate.status().epoch, before + 1);
    post.gate.arm(early);
    for permit in held {
        post.gate.arm(permit);
        assert!((0..100).all(|_| !post.feed(0.0, 0)));
    }
    post.arm();
    assert!(post.feed(0.0, 0), "a permit of the new epoch opens it");
}

#[test]
fn disarming_closes_at_the_next_sample() {
    let mut post = Post::holding(100);
    let epoch = post.gate.status().epoch;
    post.gate.disarm();
    assert!(post.gate.status().on, "only the interrupt switches");
    assert!(!post.feed(100.0, 0));
    assert_eq!((post.cause(), post.gate.status().epoch), (Some(Cause::Disarmed), epoch + 1));
    assert!(!post.feed(100.0, 0));
    assert_eq!(post.gate.status().epoch, epoch + 1, "a closed gate does not close again");
}

#[test]
fn the_status_tells_the_last_closing_and_the_present_set_point() {
    let mut post = Post::holding(250);
    let status = post.gate.status();
    assert_eq!((status.on, status.set_point), (true, Voltage::from_volts(250)));
    assert!(!post.stays_on(-300.0, 123, 3));
    let status = post.gate.status();
    let closing = status.closed.expect("it closed");
    assert_eq!((status.on, status.set_point), (false, Voltage::ZERO));
    assert_eq!((volts(closing.v), closing.i), (-300.0, Current::from_microamps(123)));
}
