//! The gate under test, with a clerk that mints permits for it.

use ohmwarden_core::Instrument;
use ohmwarden_core::commands::{Bias, Discharge};
use ohmwarden_core::frame::{Frame, Function, Key, Panel, Sample, Seen};
use ohmwarden_core::gate::{Cause, Gate, GateOut, GateStatus, Permit};
use ohmwarden_core::profile::{GENERAL, Profile, TELECOM};
use ohmwarden_core::signal::SampleRate;
use ohmwarden_core::unit::{Current, Voltage};
use ohmwarden_tests::stand::{Orders, Stand};

/// Samples in a millisecond.
pub(crate) const MS: usize = 10;
/// Volts in a code.
pub(crate) const CODE: f64 = 0.75;
/// Blocks within which an instrument that is asked to drive a passive load mints a permit.
const PATIENCE: u32 = 4_000;
/// The dead-man: 4 ms, and the sample that takes the arming in.
pub(crate) const DEAD_MAN: usize = 41;

/// Mints permits by running an instrument that the test does not look at.
pub(crate) struct Clerk {
    instrument: Instrument,
    stand: Stand,
    orders: Orders,
    out: GateOut,
    function: Function,
    millis: u32,
    /// Peak in volts of a pick-up that collapses under any load; 0 for none.
    pickup: i64,
}

impl Clerk {
    fn new(profile: &'static Profile, function: Function, pickup: i64) -> Self {
        Self {
            instrument: Instrument::new(profile, SampleRate::DEFAULT),
            stand: Self::load(),
            orders: Orders::SAFE,
            out: GateOut::default(),
            function,
            millis: 0,
            pickup,
        }
    }

    fn load() -> Stand {
        Stand::new(10_000, 100_000)
    }

    pub(crate) fn volts(set: i32) -> Self {
        Self::new(&GENERAL, Function::Insulation(Voltage::from_volts(set)), 0)
    }

    /// One whose permits are widened by a pick-up of so many volts peak.
    pub(crate) fn beside_pickup(set: i32, peak: i64) -> Self {
        Self::new(&TELECOM, Function::Insulation(Voltage::from_volts(set)), peak)
    }

    /// A permit for `epoch`.
    pub(crate) fn permit(&mut self, epoch: u32) -> Permit {
        (0..PATIENCE).find_map(|_| self.step(epoch)).expect("a passive load is driven")
    }

    /// The pick-up is gone wherever something loads it.
    fn induce(&mut self) {
        let loaded = self.orders.discharge == Discharge::Closed
            || self.orders.bias == Bias::On
            || self.out.on;
        let outside = if loaded { 0 } else { self.pickup };
        if outside != self.stand.outside {
            self.stand = Self::load();
            self.stand.outside = outside;
        }
    }

    fn step(&mut self, epoch: u32) -> Option<Permit> {
        self.induce();
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
pub(crate) struct Post {
    pub(crate) gate: Gate,
    pub(crate) clerk: Clerk,
    pub(crate) last: GateOut,
}

impl Post {
    pub(crate) fn new(clerk: Clerk) -> Self {
        let gate = Gate::new(&GENERAL, SampleRate::DEFAULT);
        Self { gate, clerk, last: GateOut::default() }
    }

    /// A gate that holds `set` volts, on a load that stands there.
    pub(crate) fn holding(set: i32) -> Self {
        let mut post = Self::new(Clerk::volts(set));
        for _ in 0..set {
            post.follow(MS);
        }
        assert_eq!(post.last, GateOut { on: true, set_point: Voltage::from_volts(set) });
        post
    }

    /// A gate that has let a continuity current on.
    pub(crate) fn joined(reversed: bool) -> Self {
        let mut post =
            Self::new(Clerk::new(&GENERAL, Function::Continuity(Current::from_milliamps(200)), 0));
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

    pub(crate) fn arm(&mut self) {
        self.gate.arm(self.clerk.permit(self.gate.status().epoch));
    }

    /// Arms, then feeds so many samples that stand where the set point is.
    pub(crate) fn follow(&mut self, samples: usize) {
        self.arm();
        for _ in 0..samples {
            self.feed(volts(self.last.set_point), 0);
        }
    }

    /// Feeds one sample; answers whether the source is on.
    pub(crate) fn feed(&mut self, volts: f64, microamps: i16) -> bool {
        self.last = self.gate.sample(Some(sample(volts, microamps)));
        self.last.on
    }

    /// Arms and feeds one sample, `times` over; false once the source is off.
    pub(crate) fn stays_on(&mut self, volts: f64, microamps: i16, times: usize) -> bool {
        (0..times).all(|_| {
            self.arm();
            self.feed(volts, microamps)
        })
    }

    pub(crate) fn cause(&self) -> Option<Cause> {
        self.gate.status().closed.map(|closing| closing.cause)
    }
}

pub(crate) fn volts(v: Voltage) -> f64 {
    f64::from(v.as_microvolts()) / 1.0e6
}

pub(crate) fn sample(volts: f64, microamps: i16) -> Sample {
    let v = (volts / CODE).round() as i16;
    Sample { v, v2: v, i_gate: microamps, ..Sample::default() }
}
