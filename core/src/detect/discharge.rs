//! Does the discharge behave as that of a passive circuit?
//!
//! A passive store of up to 10 uF falls by at least 9.5 % in every 100 ms under the 100 kohm
//! resistor and never changes its sign. What does less is a source, a store too large to tell from
//! one, or a discharge path that does not work; the resistor then comes off at once, because it is
//! not rated for a voltage that stays. Its energy account closes it as well.

use super::Block;
use crate::profile::Profile;
use crate::unit::{Capacitance, Duration, Energy, Voltage};

/// What the last block of a discharge says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Progress {
    /// At the target for 100 ms.
    pub done: bool,
    /// Not as a passive circuit: a source, or far too large a store.
    pub stiff: bool,
    /// It falls, but only as by the dividers alone: the discharge path does not work.
    pub path_dead: bool,
    /// It stands on the plateau that our own stuck source would make.
    pub plateau: bool,
    /// Its time is over.
    pub late: bool,
}

impl Progress {
    /// Nothing seen.
    pub const NONE: Self =
        Self { done: false, stiff: false, path_dead: false, plateau: false, late: false };
}

/// Watches one discharge.
#[derive(Clone, Copy, Debug)]
pub struct DischargeWatch {
    millis: u32,
    window: u16,
    from: Voltage,
    sign: i32,
    below: u16,
    most: Duration,
    expected: Option<Capacitance>,
    target: Voltage,
}

/// Blocks of one window.
const WINDOW: u16 = 100;
/// Blocks after closing before the voltage is believed: 1 ms dead time and the switch.
const SETTLE: u32 = 3;
/// The longest discharge of all.
const MOST: Duration = Duration::from_secs(20);

impl DischargeWatch {
    /// Nothing runs.
    pub const IDLE: Self = Self {
        millis: 0,
        window: 0,
        from: Voltage::ZERO,
        sign: 1,
        below: 0,
        most: MOST,
        expected: None,
        target: Voltage::ZERO,
    };

    /// Starts watching a discharge from `v` to `target` of a store of `expected`, where known.
    pub fn start(
        &mut self,
        v: Voltage,
        target: Voltage,
        expected: Option<Capacitance>,
        profile: &Profile,
    ) {
        let most = expected.map_or(MOST, |c| {
            profile
                .let_down(c, v.abs())
                .saturating_mul(4)
                .saturating_add(Duration::from_secs(2))
                .least(MOST)
        });
        *self = Self {
            from: v,
            sign: if v.as_microvolts() < 0 { -1 } else { 1 },
            most,
            expected,
            target,
            ..Self::IDLE
        };
    }

    /// Takes one block of 1 ms with the resistor on.
    pub fn step(&mut self, block: &Block, profile: &Profile) -> Progress {
        self.millis = self.millis.saturating_add(1);
        let v = block.v.saturating_mul(self.sign);
        let at_target = v < self.target;
        self.below = if at_target { self.below.saturating_add(1) } else { 0 };
        let mut progress = Progress {
            done: self.below >= WINDOW,
            // A passive circuit never changes its sign; 12 V is far beyond noise.
            stiff: self.millis > SETTLE && v < Voltage::from_volts(-12),
            late: Duration::from_millis(self.millis) > self.most,
            ..Progress::default()
        };
        if self.millis == SETTLE {
            self.from = v;
            self.window = 0;
        }
        self.window = self.window.saturating_add(1);
        if self.window >= WINDOW && self.millis > SETTLE {
            self.judge_window(v, at_target, profile, &mut progress);
            self.from = v;
            self.window = 0;
        }
        progress
    }

    fn judge_window(
        &self,
        v: Voltage,
        at_target: bool,
        profile: &Profile,
        progress: &mut Progress,
    ) {
        if at_target {
            return;
        }
        let fall = self.from.saturating_sub(v);
        let hundredth = self.from.abs().div(100);
        if !fall.is_below(self.least_fall(hundredth, profile)) {
            return;
        }
        // By the dividers alone a known store still falls; then it is the path that does not work.
        let by_input = self
            .expected
            .is_some_and(|c| c < profile.c_max && hundredth.div(10).saturating_mul(8) < fall);
        let plateau = plateau(profile);
        progress.plateau = v.saturating_sub(plateau).abs() < plateau.div(10);
        progress.path_dead = by_input;
        progress.stiff |= !by_input;
    }
}

impl DischargeWatch {
    /// 7 %, or half of what a store that we charged ourselves is known to fall by, if that is less.
    fn least_fall(&self, hundredth: Voltage, profile: &Profile) -> Voltage {
        let seven = hundredth.saturating_mul(7);
        let Some(c) = self.expected else { return seven };
        // 100 ms over R C, as x / (1 + x): a lower bound of what falls.
        let over = profile.front_end.discharge_micros(c).saturating_add(100_000);
        let parts = 5_000_000_i64.checked_div(over).unwrap_or(0);
        seven.least(hundredth.saturating_mul(i32::try_from(parts).unwrap_or(i32::MAX)))
    }
}

/// What our own source at its limit would hold across the discharge resistor.
fn plateau(profile: &Profile) -> Voltage {
    let front = &profile.front_end;
    // uA * kohm = mV.
    let kilohms = i64::try_from(front.discharge.as_kilohms()).unwrap_or(i64::MAX);
    let millivolts = front.i_max.as_microamps().saturating_mul(kilohms);
    Voltage::from_millivolts(i32::try_from(millivolts).unwrap_or(i32::MAX))
}

/// Energy that the discharge resistor has taken, less what it has given off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct EnergyAccount {
    taken: Energy,
}

/// What the resistor gives off: 0.5 W, in uJ a millisecond (own design).
const COOLING: Energy = Energy::from_microjoules(500);

impl EnergyAccount {
    /// Cold.
    pub const COLD: Self = Self { taken: Energy::ZERO };

    /// One block of 1 ms, with the resistor on or off.
    pub fn step(&mut self, block: &Block, on: bool, profile: &Profile) {
        self.taken = self.taken.saturating_sub(COOLING);
        if !on {
            return;
        }
        // V^2 / R for 1 ms: mV^2 / mohm is uJ. In steps of 64 mV, a twelfth of a code, 32 bits do.
        let steps = block.v.abs().as_millivolts().unsigned_abs() >> 6;
        let milliohms = profile.front_end.discharge.as_milliohms() >> 12;
        let uj = steps
            .saturating_mul(steps)
            .checked_div(u32::try_from(milliohms).unwrap_or(u32::MAX))
            .unwrap_or(u32::MAX);
        self.taken = self.taken.saturating_add(Energy::from_microjoules(uj));
    }

    /// Whether the resistor must rest.
    #[must_use]
    pub const fn is_spent(&self, profile: &Profile) -> bool {
        !self.taken.is_below(profile.front_end.discharge_energy)
    }

    /// What it has taken.
    #[must_use]
    pub const fn taken(&self) -> Energy {
        self.taken
    }
}
