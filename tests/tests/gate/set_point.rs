//! The set point: how fast it climbs, how far it leads, and where it begins.

use ohmwarden_core::unit::Voltage;

use crate::post::{Clerk, MS, Post, volts};

#[test]
fn the_set_point_climbs_by_at_most_2_volts_a_millisecond_to_the_set() {
    for set in [50, 100, 250, 500, 1_000] {
        let mut post = Post::new(Clerk::volts(set));
        post.follow(1);
        let mut samples = 0;
        while post.last.set_point < Voltage::from_volts(set) {
            let before = post.last.set_point;
            post.follow(1);
            let rise = volts(post.last.set_point) - volts(before);
            assert!(post.last.on && rise > 0.0 && rise <= 0.2, "{rise} V in 0.1 ms");
            samples += 1;
        }
        // Truncated to 1/64 V a sample, and not slower than that: 12/64 V instead of 0.2 V.
        assert!((samples as f64) < f64::from(set) / (12.0 / 64.0) + 2.0, "{set}: {samples}");
        (0..20).for_each(|_| post.follow(MS));
        assert_eq!(post.last.set_point, Voltage::from_volts(set), "and never above");
    }
}

#[test]
fn the_set_point_leads_the_terminals_by_at_most_40_volts() {
    let mut post = Post::new(Clerk::volts(500));
    post.arm();
    for _ in 0..1_000 {
        post.arm();
        // A load so large that it hardly moves.
        post.feed(10.0, 1_800);
        assert!(post.last.on && volts(post.last.set_point) <= 10.5 + 40.0, "{:?}", post.last);
    }
    assert!(volts(post.last.set_point) > 49.0, "it does get there");
    // A collapse from full voltage: down with the terminals at once, and no source of its own.
    let mut post = Post::holding(500);
    post.arm();
    assert!(post.feed(100.0, 0) && volts(post.last.set_point) <= 140.5, "{:?}", post.last);
}

#[test]
fn an_opening_after_a_proof_begins_the_ramp_anew() {
    let mut post = Post::holding(500);
    assert!(!post.stays_on(-30.0, 0, 3));
    // The permit of a drive begins where its terminals stand; that of a fresh proof at nothing.
    post.clerk = Clerk::volts(500);
    post.arm();
    assert!(post.feed(0.0, 0) && volts(post.last.set_point) <= 0.2, "{:?}", post.last);
}
