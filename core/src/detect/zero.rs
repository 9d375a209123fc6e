//! What the measuring shunt shows where nothing of ours flows: its zero.
//!
//! Learned at the end of a proof, in the topology of the drive, source off: then only what the
//! circuit itself drives through the dividers flows, `-V / R_in`, and what is left is the shunt's
//! own. First in the finest range, and where something is beyond its end, in the coarse one that a
//! ramp begins in.
//!
//! Whether a small voltage is really there or is the voltage channel's own offset cannot be seen:
//! the smaller of the two zeros is believed, and their difference goes into the doubt.

use super::Block;
use crate::frame::Sample;
use crate::profile::{FrontEnd, Shunt};
use crate::signal::Mean;
use crate::unit::{Current, Resistance, Voltage};
use crate::wide::scaled;

/// Blocks from the start in which the finest range settles, then those in which it is read.
const FINE: (u16, u16) = (20, 70);
/// Blocks from the start in which the coarse range settles; it is read from then on.
const COARSE: u16 = 80;
/// Codes at and beyond this are the end of a range.
const END: i16 = 32_000;
/// A mean voltage below this is noise.
const NO_VOLTS: Voltage = Voltage::from_millivolts(100);
/// A sound shunt is off by far less (own design: a five-hundredth of the coarse range).
const MOST: Current = Current::from_microamps(5);

/// The zero of the shunt, and how far it may be off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Zero {
    /// What the shunt shows at no current.
    pub offset: Current,
    /// Standard uncertainty of that.
    pub doubt: Current,
    /// The range that it was seen in; `None` where it was not looked for.
    pub range: Option<Shunt>,
}

impl Zero {
    /// Nothing to take off.
    pub const NONE: Self = Self { offset: Current::ZERO, doubt: Current::ZERO, range: None };

    /// Whether a sound shunt could be off by so much.
    #[must_use]
    pub const fn is_sound(&self) -> bool {
        !MOST.is_below(self.offset.abs())
    }
}

/// Currents and voltages of one range.
#[derive(Clone, Copy, Debug)]
struct Window {
    i: Mean,
    v: Mean,
}

impl Window {
    const EMPTY: Self = Self { i: Mean::EMPTY, v: Mean::EMPTY };

    fn add(&mut self, samples: &[Sample], block: &Block) {
        self.i.add_block(samples.iter().map(|s| s.i));
        let [v, _] = &block.sums;
        self.v.merge(v);
    }
}

/// Learns the zero.
#[derive(Clone, Copy, Debug)]
pub struct ZeroMeter {
    blocks: u16,
    fine: Window,
    coarse: Window,
    /// Something was beyond the end of the finest range.
    beyond: bool,
}

impl ZeroMeter {
    /// Nothing seen yet.
    pub const NEW: Self =
        Self { blocks: 0, fine: Window::EMPTY, coarse: Window::EMPTY, beyond: false };

    /// The range to look in now.
    #[must_use]
    pub const fn shunt(&self) -> Shunt {
        if 0 < self.blocks && self.blocks < FINE.1 { Shunt::Nanoamps250 } else { Shunt::Milliamps2 }
    }

    /// Takes one block of 1 ms in the topology of the drive, the source off.
    pub fn step(&mut self, samples: &[Sample], block: &Block) {
        self.blocks = self.blocks.saturating_add(1);
        let (settled, end) = FINE;
        if settled < self.blocks && self.blocks <= end {
            self.fine.add(samples, block);
            let at_end = |s: &Sample| s.i >= END || s.i <= END.wrapping_neg();
            self.beyond |= samples.iter().any(at_end);
        } else if COARSE < self.blocks {
            self.coarse.add(samples, block);
        }
    }

    /// The zero that was learned. `stands`: the voltage on the terminals is known to be a source's.
    #[must_use]
    pub fn zero(&self, stands: bool, front: &FrontEnd) -> Zero {
        let (window, range) = if self.beyond {
            (&self.coarse, Shunt::Milliamps2)
        } else {
            (&self.fine, Shunt::Nanoamps250)
        };
        let shown: Current = window.i.value(range.calibration());
        let v: Voltage = window.v.value(&front.v);
        let drawn =
            if v.abs().is_below(NO_VOLTS) { Current::ZERO } else { through(v, front.input) };
        let less = shown.saturating_add(drawn);
        let offset = if stands || less.abs().is_below(shown.abs()) { less } else { shown };
        // What a voltage too small to be seen would drive, as far as something is shown at all.
        let unseen = shown.abs().least(through(NO_VOLTS, front.input)).div(2);
        let code = Current::from_picoamps(range.calibration().gain_q24() >> 24);
        let doubt = unseen.greatest(drawn.abs().div(20)).greatest(code.div(10));
        Zero { offset, doubt, range: Some(range) }
    }
}

/// `V / R`.
fn through(v: Voltage, r: Resistance) -> Current {
    // uV / mohm = mA = 1e9 pA.
    let milliohms = i64::try_from(r.as_milliohms()).unwrap_or(i64::MAX);
    let picoamps = scaled(i64::from(v.as_microvolts()), 1_000_000_000, milliohms);
    Current::from_picoamps(picoamps.unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::GENERAL;

    /// A whole window in which the shunt shows so many pA and the first divider this code.
    fn learned(picoamps: i64, code: i16, stands: bool) -> Zero {
        let mut meter = ZeroMeter::NEW;
        for _ in 0..120 {
            let pa = meter.shunt().calibration().gain_q24() >> 24;
            let i = picoamps.checked_div(pa).unwrap_or(0).clamp(-32_767, 32_767);
            let i = i16::try_from(i).unwrap_or(0);
            let samples = [Sample { i, v: code, v2: code, ..Sample::default() }; 10];
            let front = &GENERAL.front_end;
            let block = Block::of(&samples, front, meter.shunt(), i16::MAX, &mut [0; 2]);
            meter.step(&samples, &block);
        }
        meter.zero(stands, &GENERAL.front_end)
    }

    #[test]
    fn the_offset_of_a_shunt_on_a_dead_circuit_is_learned_in_the_finest_range() {
        for picoamps in [0, 50, -5_000, 200_000] {
            let zero = learned(picoamps, 0, false);
            assert_eq!(zero.offset, Current::from_picoamps(picoamps));
            assert!(zero.doubt <= Current::from_nanoamps(25) && zero.is_sound());
        }
    }

    #[test]
    fn an_offset_beyond_that_range_is_learned_in_the_coarse_one() {
        assert_eq!(learned(1_000_000, 0, false).offset, Current::from_microamps(1));
        assert!(!learned(-6_000_000, 0, false).is_sound());
    }

    #[test]
    fn what_a_charge_drives_through_the_dividers_is_not_the_shunts() {
        // 6 V on 2 Mohm: 3 uA into us.
        let zero = learned(-3_000_000, 8, false);
        assert_eq!(zero.offset, Current::ZERO);
        assert_eq!(zero.doubt, Current::from_nanoamps(150));
    }

    #[test]
    fn an_offset_of_the_voltage_channel_is_not_taken_for_a_current() {
        assert_eq!(learned(0, 1, false).offset, Current::ZERO);
    }

    #[test]
    fn beside_a_source_that_stands_the_voltage_is_believed() {
        // 60 V: 30 uA, and 20 uA of the shunt's own, which the smaller would hide.
        assert_eq!(learned(-10_000_000, 80, true).offset, Current::from_microamps(20));
    }
}
