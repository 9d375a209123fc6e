//! The analogue front end that the decisions assume: dividers, shunts, source, discharge.
//!
//! Every figure is the design value of the default front end of this project (own design). A board
//! that differs states its own; the rules of the gate and of detect depend on them.

use crate::hazard::Tolerance;
use crate::signal::Channel;
use crate::unit::{Capacitance, Current, Duration, Energy, Resistance, Voltage};
use crate::wide::scaled;

/// The ranges of the measuring shunt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Shunt {
    /// Up to 250 nA.
    Nanoamps250,
    /// Up to 2.5 uA.
    Microamps2,
    /// Up to 25 uA.
    Microamps25,
    /// Up to 250 uA.
    Microamps250,
    /// Up to 2.5 mA.
    #[default]
    Milliamps2,
    /// Up to 250 mA: continuity.
    Milliamps250,
}

/// All ranges, the finest first.
pub const SHUNTS: [Shunt; 6] = [
    Shunt::Nanoamps250,
    Shunt::Microamps2,
    Shunt::Microamps25,
    Shunt::Microamps250,
    Shunt::Milliamps2,
    Shunt::Milliamps250,
];

impl Shunt {
    /// Calibration of this range: 25 000 codes are full scale.
    #[must_use]
    pub const fn channel(self) -> Channel<Current> {
        *self.calibration()
    }

    /// As [`Self::channel`], in place: worked out by the compiler, a channel costs a long division.
    #[inline(never)]
    pub(crate) const fn calibration(self) -> &'static Channel<Current> {
        match self {
            Self::Nanoamps250 => const { &picoamps_a_code(10) },
            Self::Microamps2 => const { &picoamps_a_code(100) },
            Self::Microamps25 => const { &picoamps_a_code(1_000) },
            Self::Microamps250 => const { &picoamps_a_code(10_000) },
            Self::Milliamps2 => const { &picoamps_a_code(100_000) },
            Self::Milliamps250 => const { &picoamps_a_code(10_000_000) },
        }
    }

    /// Its position in [`SHUNTS`].
    #[must_use]
    pub const fn index(self) -> u8 {
        self as u8
    }

    /// The next finer range for insulation, if there is one.
    #[must_use]
    pub const fn finer(self) -> Option<Self> {
        match self {
            Self::Nanoamps250 => None,
            Self::Microamps2 => Some(Self::Nanoamps250),
            Self::Microamps25 => Some(Self::Microamps2),
            Self::Microamps250 => Some(Self::Microamps25),
            Self::Milliamps2 => Some(Self::Microamps250),
            Self::Milliamps250 => Some(Self::Milliamps2),
        }
    }

    /// The next coarser range, if there is one.
    #[must_use]
    pub const fn coarser(self) -> Option<Self> {
        match self {
            Self::Nanoamps250 => Some(Self::Microamps2),
            Self::Microamps2 => Some(Self::Microamps25),
            Self::Microamps25 => Some(Self::Microamps250),
            Self::Microamps250 => Some(Self::Milliamps2),
            Self::Milliamps2 => Some(Self::Milliamps250),
            Self::Milliamps250 => None,
        }
    }
}

const fn picoamps_a_code(picoamps: i64) -> Channel<Current> {
    Channel::<Current>::new(Current::from_picoamps(picoamps), 1)
}

/// The front end as core knows it.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct FrontEnd {
    /// First divider: 0.75 V a code, clipping at +-1500 V.
    pub v: Channel<Voltage>,
    /// Second divider.
    pub v2: Channel<Voltage>,
    /// The gate's coarse current channel: 1 uA a code.
    pub i_gate: Channel<Current>,
    /// Low range of the terminal voltage.
    pub low: Channel<Voltage>,
    /// Codes at and beyond this, either sign, count as clipped on the voltage channels.
    pub clip: i16,
    /// Tolerance of the voltage channels.
    pub tolerance: Tolerance,
    /// Both dividers together across the terminals.
    pub input: Resistance,
    /// The discharge resistor.
    pub discharge: Resistance,
    /// What the discharge resistor may take before it must rest.
    pub discharge_energy: Energy,
    /// The output capacitor, joined to the terminals by the output relay.
    pub output: Capacitance,
    /// The most current that the source delivers, after the dividers.
    pub i_max: Current,
    /// No-load voltage of the continuity source.
    pub open_volts: Voltage,
    /// Short-circuit current of the continuity source.
    pub continuity_max: Current,
    /// Travel and bounce of a relay.
    pub relay: Duration,
    /// What the proving bias moves each voltage channel by, plus on the first, minus on the second.
    pub bias: Voltage,
}

impl FrontEnd {
    /// The terminal voltage at which the voltage channels clip.
    #[must_use]
    pub const fn clip_voltage(&self) -> Voltage {
        let microvolts = (self.v.gain_q24() >> 24).saturating_mul(self.clip as i64);
        if microvolts > i32::MAX as i64 {
            return Voltage::MAX;
        }
        #[expect(clippy::cast_possible_truncation, reason = "bounded by the line above")]
        let microvolts = microvolts as i32;
        Voltage::from_microvolts(microvolts)
    }

    /// What one code of the gate's current channel is worth.
    #[must_use]
    pub const fn gate_step(&self) -> Current {
        Current::from_picoamps(self.i_gate.gain_q24() >> 24)
    }

    /// The time constant of a store on the discharge resistor, in microseconds.
    pub(crate) fn discharge_micros(&self, c: Capacitance) -> i64 {
        // kohm * pF = ns.
        let kilohms = i64::try_from(self.discharge.as_kilohms()).unwrap_or(i64::MAX);
        scaled(i64::from(c.as_picofarads()), kilohms, 1_000).unwrap_or(0)
    }

    /// The default front end.
    pub const DEFAULT: Self = Self {
        v: Channel::<Voltage>::new(Voltage::from_volts(1_500), 2_000).with_clip(-2_000, 2_000),
        v2: Channel::<Voltage>::new(Voltage::from_volts(1_500), 2_000).with_clip(-2_000, 2_000),
        i_gate: Channel::<Current>::new(Current::from_microamps(1), 1),
        low: Channel::<Voltage>::new(Voltage::from_volts(8), 32_000),
        clip: 2_000,
        tolerance: Tolerance { per_mille: 30, fixed: Voltage::from_volts(2) },
        input: Resistance::from_megohms(2),
        discharge: Resistance::from_kilohms(100),
        discharge_energy: Energy::from_millijoules(5_000),
        output: Capacitance::from_nanofarads(5),
        i_max: Current::from_microamps(1_800),
        open_volts: Voltage::from_volts(5),
        continuity_max: Current::from_milliamps(210),
        relay: Duration::from_millis(15),
        bias: Voltage::from_volts(4),
    };
}
