//! The straight pieces of switches and piecewise-linear parts, and the tests that end each piece.
//!
//! A test is a sum that must not be negative. Neighbouring pieces overlap by a tolerance far below
//! anything that matters, so that a point on the joint is accepted by both and rounding cannot make
//! them alternate: a piece that blocks is tested by its voltage, a piece that conducts by its
//! current, each the one that rounding leaves intact there. Where the two pieces meet without a jump, switching a little late costs only the
//! square of the delay.

use super::netlist::Node;
use super::part::Part;

/// How many parts with segments there may be: three bits each.
pub(super) const MOST_ELEMENTS: usize = 42;

const OVERLAP_VOLTS: f64 = 1e-9;
const OVERLAP_AMPS: f64 = 1e-12;
/// What a clamp, or an arc that does not burn, still conducts; far above the leak of a node.
const IDLE_SIEMENS: f64 = 1e-14;
/// How much a saturated current limit still gives way, as a fraction of its own conductance.
const LIMIT_SLOPE: f64 = 1e-9;

pub(super) const OPEN: u8 = 0;
pub(super) const CLOSED: u8 = 1;
/// Middle piece of a part with two sides, and the blocked piece of a diode.
pub(super) const IDLE: u8 = 0;
const HIGH: u8 = 1;
const LOW: u8 = 2;
pub(super) const DISABLED: u8 = 0;
pub(super) const OFF: u8 = 1;
pub(super) const LINEAR: u8 = 2;
pub(super) const LIMITED: u8 = 3;
const SHUT: u8 = 4;

/// The segment of every element, packed; the key under which a topology is kept.
#[derive(Clone, Copy, Debug, Default, Eq, Ord, PartialEq, PartialOrd)]
pub(super) struct Segments(u128);

impl Segments {
    /// Gives the segment of one element.
    pub(super) const fn get(self, element: usize) -> u8 {
        ((self.0 >> (3 * element)) & 7) as u8
    }

    /// Puts one element into a segment.
    pub(super) const fn set(&mut self, element: usize, segment: u8) {
        let place = 3 * element;
        self.0 = (self.0 & !(7 << place)) | ((segment as u128) << place);
    }
}

/// The straight line of a two-ended part: `amps = siemens * volts + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) siemens: f64,
    pub(super) offset: f64,
}

/// A sum over the tested voltage, the part's own current and, for a regulator, its inputs, which
/// must not be negative.
#[derive(Clone, Copy, Debug)]
pub(super) struct Test {
    pub(super) volts: f64,
    pub(super) amps: f64,
    pub(super) constant: f64,
    pub(super) set: f64,
    pub(super) limit: f64,
    /// The segment to try when the sum is negative.
    pub(super) next: u8,
}

/// Says whether the part has segments at all.
pub(super) const fn is_element(part: &Part) -> bool {
    matches!(
        part,
        Part::Switch { .. }
            | Part::Diode { .. }
            | Part::Clamp { .. }
            | Part::Arc { .. }
            | Part::CurrentLimit { .. }
            | Part::Regulator { .. }
    )
}

/// Gives the segment that a part starts in, before its tests are looked at.
pub(super) const fn first(part: &Part) -> u8 {
    match *part {
        Part::Switch { closed: true, .. } => CLOSED,
        Part::Regulator { enabled: true, .. } => OFF,
        _ => IDLE,
    }
}

/// Gives the most tests that any segment of the part has.
pub(super) const fn most_tests(part: &Part) -> usize {
    match part {
        Part::Diode { .. } => 1,
        Part::Clamp { .. }
        | Part::Arc { .. }
        | Part::CurrentLimit { .. }
        | Part::Regulator { .. } => 2,
        _ => 0,
    }
}

/// Gives the straight line of a resistive part in a segment; empty for every other kind of part.
pub(super) fn line(part: &Part, segment: u8) -> Option<Line> {
    let resistive = |siemens, offset| Some(Line { siemens, offset });
    let side = match segment {
        HIGH => 1.0,
        LOW => -1.0,
        _ => 0.0,
    };
    match *part {
        Part::Resistor { ohms, .. } => resistive(1.0 / ohms, 0.0),
        Part::Switch { on_ohms, off_ohms, .. } => {
            resistive(1.0 / if segment == CLOSED { on_ohms } else { off_ohms }, 0.0)
        }
        Part::Diode { off_ohms, .. } if segment == IDLE => resistive(1.0 / off_ohms, 0.0),
        Part::Diode { volts, on_ohms, off_ohms, .. } => {
            resistive(1.0 / on_ohms, -volts * (1.0 / on_ohms - 1.0 / off_ohms))
        }
        Part::Clamp { .. } | Part::Arc { .. } if segment == IDLE => resistive(IDLE_SIEMENS, 0.0),
        Part::Clamp { volts, on_ohms, .. } => {
            resistive(1.0 / on_ohms + IDLE_SIEMENS, -side * volts / on_ohms)
        }
        Part::Arc { arc_volts, on_ohms, .. } => {
            resistive(1.0 / on_ohms, -side * arc_volts / on_ohms)
        }
        Part::CurrentLimit { on_ohms, .. } if segment == IDLE => resistive(1.0 / on_ohms, 0.0),
        Part::CurrentLimit { on_ohms, amps, .. } => {
            resistive(LIMIT_SLOPE / on_ohms, side * amps * (1.0 - LIMIT_SLOPE))
        }
        _ => None,
    }
}

/// Gives the nodes between which the tests of a part look.
pub(super) fn tested(part: &Part) -> (Node, Node) {
    part.senses().unwrap_or_else(|| part.ends())
}

/// Gives the tests of a part in a segment.
pub(super) fn tests(part: &Part, segment: u8) -> [Option<Test>; 2] {
    let side = if segment == LOW { -1.0 } else { 1.0 };
    // Conducts as long as at least so much flows beyond what it passes at the joint.
    let flows = |least: f64| [Some(Test::amps(side, OVERLAP_AMPS - least, IDLE)), None];
    match *part {
        Part::Diode { volts, .. } if segment == IDLE => {
            [Some(Test::volts(-1.0, volts + OVERLAP_VOLTS, HIGH)), None]
        }
        Part::Diode { volts, off_ohms, .. } => flows(volts / off_ohms),
        Part::Clamp { volts, .. } if segment == IDLE => Test::within(volts + OVERLAP_VOLTS),
        Part::Clamp { volts, .. } => flows(volts * IDLE_SIEMENS),
        Part::Arc { strike_volts, .. } if segment == IDLE => Test::within(strike_volts),
        Part::Arc { hold_amps, .. } => flows(hold_amps),
        Part::CurrentLimit { amps, .. } if segment == IDLE => {
            let most = amps * (1.0 + 1e-9) + OVERLAP_AMPS;
            [Some(Test::amps(-1.0, most, HIGH)), Some(Test::amps(1.0, most, LOW))]
        }
        Part::CurrentLimit { on_ohms, amps, .. } => {
            [Some(Test::volts(side, OVERLAP_VOLTS - amps * on_ohms, IDLE)), None]
        }
        Part::Regulator { siemens, limit_per_volt, .. } => {
            regulator_tests(siemens, limit_per_volt, segment)
        }
        _ => [None, None],
    }
}

impl Test {
    const fn volts(volts: f64, constant: f64, next: u8) -> Self {
        Self { volts, amps: 0.0, constant, set: 0.0, limit: 0.0, next }
    }

    const fn amps(amps: f64, constant: f64, next: u8) -> Self {
        Self { volts: 0.0, amps, constant, set: 0.0, limit: 0.0, next }
    }

    /// Two tests that keep the voltage within bounds on both sides.
    const fn within(volts: f64) -> [Option<Self>; 2] {
        [Some(Self::volts(-1.0, volts, HIGH)), Some(Self::volts(1.0, volts, LOW))]
    }
}

fn regulator_tests(siemens: f64, per_volt: f64, segment: u8) -> [Option<Test>; 2] {
    let test = |volts, set, limit, next| {
        let constant = if segment == OFF { OVERLAP_VOLTS } else { OVERLAP_AMPS };
        Some(Test { volts, amps: 0.0, constant, set, limit, next })
    };
    match segment {
        OFF => [test(1.0, -1.0, 0.0, LINEAR), None],
        LINEAR => {
            [test(-siemens, siemens, 0.0, OFF), test(siemens + per_volt, -siemens, 1.0, LIMITED)]
        }
        LIMITED => {
            [test(-siemens - per_volt, siemens, -1.0, LINEAR), test(per_volt, 0.0, 1.0, SHUT)]
        }
        SHUT => [test(-per_volt, 0.0, -1.0, OFF), None],
        _ => [None, None],
    }
}
