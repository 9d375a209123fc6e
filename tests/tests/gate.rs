//! Goal: the gate lets the source on only under a fresh permit, and off for each of its reasons.
//!
//! Method: permits cannot be forged, so a [`Clerk`] runs an instrument on a load of its own and
//! hands over what it mints, for whatever epoch it is told. The gate under test then gets samples
//! that no circuit need have made: each rule alone, at its threshold, in every spacing.

use ohmwarden_core::Instrument;
use ohmwarden_core::frame::{Frame, Function, Key, Panel, Sample, Seen};
use ohmwarden_core::gate::{Cause, Gate, GateOut, GateStatus, Permit};
use ohmwarden_core::profile::GENERAL;
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Voltage};
use ohmwarden_tests::stand::{Orders, Stand};
use proptest::prelude::*;

/// Samples in a millisecond.
const MS: usize = 10;
/// Volts in a code.
const CODE: f64 = 0.75;
/// Blocks within which an instrument that is asked to drive a passive load mints a permit.
const PATIENCE: u32 = 4_000;
/// The dead-man: 4 ms, and the sample that takes the arming in.
const DEAD_MAN: usize = 41;

/// Mints permits by running an instrument that the test does not look at.
struct Clerk {
    instrument: Instrument,
    stand: Stand,
    orders: Orders,
    out: GateOut,
    function: Function,
    millis: u32,
}

impl Clerk {
    fn new(function: Function) -> Self {
        Self {
            instrument: Instrument::new(&GENERAL, SampleRate::DEFAULT),
            stand: Stand::new(10_000, 100_000),
            orders: Orders::SAFE,
            out: GateOut::default(),
            function,
            millis: 0,
        }
    }

    fn volts(set: i32) -> Self {
        Self::new(Function::Insulation(Voltage::from_volts(set)))
    }

    /// A permit for `epoch`.
    fn permit(&mut self, epoch: u32) -> Permit {
        (0..PATIENCE).find_map(|_| self.step(epoch)).expect("a passive load is driven")
    }

    fn step(&mut self, epoch: u32) -> Option<Permit> {
        let block: [Sample; MS] =
            core::array::from_fn(|_| self.stand.sample(self.out, &self.orders));
        self.millis += 1;
        // The key is up for 1.2 s, then down until a drive has come to its longest and once more.
        let down = self.millis % 190_000 > 1_200;
        let gate = GateStatus { epoch, on: self.out.on, ..GateStatus::default() };
        let mut commands = self.instrument.step(&Frame {
            samples: &block,
            panel: Panel { test: Key::new(down), ..Panel::idle(self.function) },
            elapsed_us: self.millis * 1_000,
            supply_mv: 6_000,
            seen: Seen { drive_sense: None, gate, overruns: 0 },
        });
        self.orders = Orders::of(&commands);
        let permit = commands.take_permit();
        let climbed = self.out.set_point.saturating_add(Voltage::from_millivolts(1_900));
        let set = self.function.test_voltage();
        self.out = if permit.is_some() {
            GateOut { on: true, set_point: climbed.least(set) }
        } else {
            GateOut::default()
        };
        permit
    }
}

/// The gate under test with the clerk that serves it.
struct Post {
    gate: Gate,
    clerk: Clerk,
    last: GateOut,
}

impl Post {
    fn new(clerk: Clerk) -> Self {
        let gate = Gate::new(&GENERAL, SampleRate::DEFAULT);
        Self { gate, clerk, last: GateOut::default() }
    }

    /// A gate that holds `set` volts, on a load that stands there.
    fn holding(set: i32) -> Self {
        let mut post = Self::new(Clerk::volts(set));
        for _ in 0..set {
            post.follow(MS);
        }
        assert_eq!(post.last, GateOut { on: true, set_point: Voltage::from_volts(set) });
        post
    }

    /// A gate that has let a continuity current on.
    fn joined(reversed: bool) -> Self {
        let mut post = Self::new(Clerk::new(Function::Continuity(Current::from_milliamps(200))));
        let sign = if reversed { -1 } else { 1 };
        for _ in 0..PATIENCE {
            post.arm();
            let out = post.gate.sample(Some(sample(0.0, 0)));
            if out.set_point.as_microvolts().signum() == sign {
                return post;
            }
            post.gate.disarm();
            let _ = post.gate.sample(Some(sample(0.0, 0)));
        }
        panic!("no current in this direction");
    }

    fn arm(&mut self) {
        self.gate.arm(self.clerk.permit(self.gate.status().epoch));
    }

    /// Arms, then feeds so many samples that stand where the set point is.
    fn follow(&mut self, samples: usize) {
        self.arm();
        for _ in 0..samples {
            self.feed(volts(self.last.set_point), 0);
        }
    }

    /// Feeds one sample; answers whether the source is on.
    fn feed(&mut self, volts: f64, microamps: i16) -> bool {
        self.last = self.gate.sample(Some(sample(volts, microamps)));
        self.last.on
    }

    /// Arms and feeds one sample, `times` over; false once the source is off.
    fn stays_on(&mut self, volts: f64, microamps: i16, times: usize) -> bool {
        (0..times).all(|_| {
            self.arm();
            self.feed(volts, microamps)
        })
    }

    fn cause(&self) -> Option<Cause> {
        self.gate.status().closed.map(|closing| closing.cause)
    }
}

fn volts(v: Voltage) -> f64 {
    f64::from(v.as_microvolts()) / 1.0e6
}

fn sample(volts: f64, microamps: i16) -> Sample {
    let v = (volts / CODE).round() as i16;
    Sample { v, v2: v, i_gate: microamps, ..Sample::default() }
}

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

/// Where each rule alone holds: what the gate held, the sample, and the cause that it gives.
const RULES: [(i32, f64, i16, Cause); 5] = [
    (0, -12.75, 0, Cause::OutOfBounds),
    (50, 66.0, 0, Cause::OutOfBounds),
    (500, 513.0, 0, Cause::AboveSetPoint),
    (500, 488.25, 500, Cause::FallsWhilePushed),
    (500, 484.5, 0, Cause::Residual),
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
    for (v, microamps) in [(511.5, 0), (490.5, 500), (488.25, 390), (486.0, 0), (500.0, 1_800)] {
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

#[test]
fn an_opening_after_a_proof_begins_the_ramp_anew() {
    let mut post = Post::holding(500);
    assert!(!post.stays_on(-30.0, 0, 3));
    // The permit of a drive begins where its terminals stand; that of a fresh proof at nothing.
    post.clerk = Clerk::volts(500);
    post.arm();
    assert!(post.feed(0.0, 0) && volts(post.last.set_point) <= 0.2, "{:?}", post.last);
}

/// What a main loop, an interrupt and a converter may do to a gate.
#[derive(Clone, Debug)]
enum Act {
    /// So many samples at this voltage, relative to the set point or not, and current.
    Samples {
        count: usize,
        volts: f64,
        follows: bool,
        microamps: i16,
    },
    Missing,
    /// Arms with a permit minted now.
    Arm,
    /// Mints a permit and keeps it.
    Keep,
    /// Arms with one that was kept.
    ArmKept,
    Disarm,
}

fn any_act() -> impl Strategy<Value = Act> {
    let samples = (1..30_usize, -60.0..60.0, any::<bool>(), 0..2_000_i16).prop_map(
        |(count, volts, follows, microamps)| Act::Samples { count, volts, follows, microamps },
    );
    let calm = (1..30_usize, 0..300_i16).prop_map(|(count, microamps)| Act::Samples {
        count,
        volts: 0.0,
        follows: true,
        microamps,
    });
    prop_oneof![
        2 => samples,
        4 => calm,
        1 => Just(Act::Missing),
        6 => Just(Act::Arm),
        1 => Just(Act::Keep),
        1 => Just(Act::ArmKept),
        1 => Just(Act::Disarm),
    ]
}

/// The gate with what a witness knows of it: which epoch was granted, and how long ago.
struct Witness {
    post: Post,
    kept: Vec<(u32, Permit)>,
    granted: Option<u32>,
    since_arm: usize,
    missing: usize,
    epoch: u32,
}

impl Witness {
    fn act(&mut self, act: &Act) -> Result<(), TestCaseError> {
        let epoch = self.epoch;
        match act {
            Act::Arm => {
                let permit = self.post.clerk.permit(epoch);
                self.arm(epoch, permit);
            }
            Act::Keep => self.kept.push((epoch, self.post.clerk.permit(epoch))),
            Act::ArmKept => {
                if let Some((of, permit)) = self.kept.pop() {
                    self.arm(of, permit);
                }
            }
            Act::Disarm => {
                self.post.gate.disarm();
                self.granted = None;
            }
            Act::Missing => self.sample(None)?,
            &Act::Samples { count, volts: v, follows, microamps } => {
                for _ in 0..count {
                    let from = if follows { volts(self.post.last.set_point) } else { 0.0 };
                    self.sample(Some(sample(from + v, microamps)))?;
                }
            }
        }
        Ok(())
    }

    fn arm(&mut self, of: u32, permit: Permit) {
        self.post.gate.arm(permit);
        if of == self.epoch {
            self.granted = Some(of);
            self.since_arm = 0;
        }
    }

    fn sample(&mut self, s: Option<Sample>) -> Result<(), TestCaseError> {
        let before = self.post.last;
        let was_on = self.post.gate.status().on;
        let out = self.post.gate.sample(s);
        self.post.last = out;
        self.since_arm += 1;
        self.missing = match s {
            Some(_) => 0,
            None => self.missing * usize::from(was_on) + 1,
        };
        let status = self.post.gate.status();
        prop_assert_eq!(out.on, status.on);
        if out.on {
            prop_assert_eq!(self.granted, Some(status.epoch), "on without a grant of this epoch");
            prop_assert!(
                self.since_arm <= DEAD_MAN,
                "on {} samples after it was armed",
                self.since_arm
            );
            prop_assert!(self.missing < 2, "on with two samples missing");
            prop_assert_eq!(status.epoch, self.epoch, "an opening moves no epoch on");
            self.bounded(before, out, s, was_on)?;
        } else {
            prop_assert_eq!(out.set_point, Voltage::ZERO);
            // Whatever was granted and is not on was refused for good.
            let closed = u32::from(was_on || self.granted == Some(self.epoch));
            prop_assert_eq!(status.epoch, self.epoch + closed);
            self.granted = None;
        }
        self.epoch = status.epoch;
        Ok(())
    }

    fn bounded(
        &self,
        before: GateOut,
        out: GateOut,
        s: Option<Sample>,
        was_on: bool,
    ) -> Result<(), TestCaseError> {
        let (v0, v1) = (volts(before.set_point), volts(out.set_point));
        prop_assert!((0.0..=500.0).contains(&v1), "{} V of 500", v1);
        prop_assert!(!was_on || v1 - v0 <= 0.2, "{} V up in one sample", v1 - v0);
        if let Some(s) = s {
            let v = f64::from(s.v) * CODE;
            prop_assert!(v1 <= v.max(0.0) + 40.0 + 1.0 / 64.0, "{} V leads {} V", v1, v);
        }
        Ok(())
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        cases: std::env::var("OHMWARDEN_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(64),
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_sequence_leaves_the_source_on_only_under_a_fresh_grant_of_its_epoch(
        acts in proptest::collection::vec(any_act(), 1..200)
    ) {
        let mut witness = Witness {
            post: Post::new(Clerk::volts(500)),
            kept: Vec::new(),
            granted: None,
            since_arm: 0,
            missing: 0,
            epoch: 0,
        };
        for act in &acts {
            witness.act(act)?;
        }
    }
}
