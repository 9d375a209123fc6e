//! Any sequence of what a main loop, an interrupt and a converter may do, under a witness.

use ohmwarden_core::frame::Sample;
use ohmwarden_core::gate::{GateOut, Permit};
use ohmwarden_core::unit::Voltage;
use proptest::prelude::*;

use crate::post::{CODE, Clerk, DEAD_MAN, Post, sample, volts};

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
