//! Telephone pairs: how far away an open or a short is, from a capacitance or a loop.
//!
//! An open end: the capacitance that is left, by that of a kilometre. A short: the loop that is
//! left, by that of a kilometre. Both ends of an open wire: their ratio splits the route. A line is
//! tested only with its operator's leave.

use core::fmt;

use super::conductor::{warm_share, warmed};
use super::length::metres;
use super::temperature::Rule;
use crate::judge::{Flags, Reading, Unit, Value};
use crate::limits::{Source, Standing};
use crate::unit::{Length, Resistance, Temperature};

/// How far pairs of one kind differ from each other, as a share (common practice).
const SPREAD: f32 = 0.05;
/// With a leak of less than this times the capacitance, seconds, the charge runs off faster than it
/// can be told from the leak (common practice).
const HOLDS: f32 = 20.0e-3;
/// What is taken of the temperature of a buried pair that nobody measured, and its doubt.
const GROUND: (Temperature, Temperature) =
    (Temperature::from_celsius(15), Temperature::from_celsius(8));

/// A kind of pair.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PairKind<'a> {
    /// Its name.
    pub word: &'a str,
    /// Both wires one after the other, ohms for each kilometre at 20 C.
    pub loop_ohms_per_km: f32,
    /// Between the wires, nanofarads for each kilometre; `None` where no figure was found.
    pub nanofarads_per_km: Option<f32>,
    /// Who says so.
    pub source: Source<'a>,
}

const HEARFIELD: Source<'static> = Source::new(
    "J. Hearfield, Telephone cable modelling, table of cables",
    "",
    Standing::Secondary,
);

const fn kind(
    word: &'static str,
    loop_ohms_per_km: f32,
    nanofarads_per_km: Option<f32>,
    source: Source<'static>,
) -> PairKind<'static> {
    PairKind { word, loop_ohms_per_km, nanofarads_per_km, source }
}

/// The kinds that are built in. 0.5 mm is that of BT SIN351; 0.6 mm follows from the resistivity of
/// copper; 26 AWG is 430 ohm and 0.082 uF for each mile.
pub const PAIRS: [PairKind<'static>; 7] = [
    kind("0.32mm", 434.0, None, HEARFIELD),
    kind("0.4mm", 275.0, None, HEARFIELD),
    kind(
        "0.5mm",
        168.0,
        Some(50.0),
        Source::new("BT SIN351, as quoted by J. Hearfield", "", Standing::Secondary),
    ),
    kind(
        "0.6mm",
        122.0,
        None,
        Source::new("resistivity of annealed copper", "", Standing::CommonPractice),
    ),
    kind("0.63mm", 109.0, None, HEARFIELD),
    kind("0.9mm", 55.0, None, HEARFIELD),
    kind(
        "26awg",
        430.0 / 1.609_344,
        Some(82.0 / 1.609_344),
        Source::new("oldphoneguy.net, 26 gauge cable loss", "", Standing::Secondary),
    ),
];

/// A distance along a pair, and what is to be known about it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Located {
    /// The distance, in metres, with the doubt of the reading and of the pair.
    pub distance: Reading,
    /// What can make it wrong.
    pub warnings: &'static [&'static str],
}

/// Why no distance can be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum NoDistance {
    /// A number above zero of the right quantity is needed.
    NoReading,
    /// A bound has no place.
    Bound,
    /// The capacitance of this kind of pair is not known.
    NoCapacitance,
    /// The pair leaks too much for a capacitance to be told.
    Leaks,
    /// The temperature is beyond what a cable sees.
    OutOfRange,
}

impl fmt::Display for NoDistance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoReading => "a distance needs a reading above zero, and above that of the leads",
            Self::Bound => "a bound has no place: the reading must be a number",
            Self::NoCapacitance => {
                "the capacitance for each kilometre of this pair is not known here: give it"
            }
            Self::Leaks => {
                "the pair leaks: insulation times capacitance is below 20 ms, so the capacitance \
                 is no length"
            }
            Self::OutOfRange => "a pair is taken to be at -40 C to 90 C",
        })
    }
}

const OF_OPEN: &[&str] = &[
    "A wet pair reads long.",
    "Measure from both ends: the two must add up to the route.",
    "Bridged taps and other pairs in parallel read as length.",
];
const OF_SHORT: &[&str] = &[
    "A short of some ohms reads long by them.",
    "Measure from both ends: the two must add up to the route.",
];
const OF_SPLIT: &[&str] = &[
    "Both ends must be measured in the same way, on the same pair.",
    "The route is the length of the cable, with its loops.",
];

impl PairKind<'static> {
    /// Finds a kind that is built in by its word.
    ///
    /// ```
    /// use ohmwarden_core::correct::PairKind;
    /// assert_eq!(PairKind::by_word("0.5mm").map(|kind| kind.loop_ohms_per_km), Some(168.0));
    /// assert_eq!(PairKind::by_word("0.5 mm"), None);
    /// ```
    #[must_use]
    pub fn by_word(word: &str) -> Option<&'static Self> {
        let all: &'static [Self] = &PAIRS;
        all.iter().find(|kind| kind.word == word)
    }
}

impl PairKind<'_> {
    /// Gives the distance to an open end from the capacitance of the pair.
    ///
    /// `leads` is what the leads read in the air; `insulation` is that of the pair, where it is
    /// known.
    ///
    /// # Errors
    /// What forbids a distance.
    pub fn to_open(
        &self,
        capacitance: Reading,
        leads: Reading,
        insulation: Option<Resistance>,
    ) -> Result<Located, NoDistance> {
        let per_km = self.nanofarads_per_km.ok_or(NoDistance::NoCapacitance)?;
        let farads = number(capacitance, Unit::Farad)?;
        let of_leads = match leads.value {
            Value::None => 0.0,
            _ => number(leads, Unit::Farad)?,
        };
        let left = above_zero(farads - of_leads)?;
        if insulation.is_some_and(|leak| ohms(leak) * left < HOLDS) {
            return Err(NoDistance::Leaks);
        }
        let doubt = root(capacitance.doubt, leads.doubt) / left;
        let flags = capacitance.flags.with(leads.flags);
        located(left / per_km * 1.0e12, root(doubt, SPREAD), flags, OF_OPEN)
    }

    /// Gives the distance to a short from the loop through it, leads taken off.
    ///
    /// Without a temperature that of the ground is taken, with a wide doubt.
    ///
    /// # Errors
    /// What forbids a distance.
    pub fn to_short(
        &self,
        loop_resistance: Reading,
        temperature: Option<Temperature>,
    ) -> Result<Located, NoDistance> {
        let read = above_zero(number(loop_resistance, Unit::Ohm)?)?;
        let near = |t| (t, Temperature::from_celsius(2));
        let (at, by) = temperature.map_or(GROUND, near);
        let (least, greatest) = Rule::Copper.range();
        if at < least || at > greatest {
            return Err(NoDistance::OutOfRange);
        }
        let doubt = root(loop_resistance.doubt / read, warm_share(at, by));
        let distance = read / (self.loop_ohms_per_km * warmed(at)) * 1.0e3;
        located(distance, root(doubt, SPREAD), loop_resistance.flags, OF_SHORT)
    }
}

/// Gives the distance to an open from the end that `near` was read at, by the ratio of what both
/// ends read.
///
/// # Errors
/// What forbids a distance.
pub fn split_by_ratio(near: Reading, far: Reading, route: Length) -> Result<Located, NoDistance> {
    let (here, there) = (number(near, near.unit)?, number(far, near.unit)?);
    let (here, there) = (above_zero(here)?, above_zero(there)?);
    let share = here / (here + there);
    let apart = root(near.doubt / here, far.doubt / there) * (1.0 - share);
    located(share * metres(route), apart, near.flags.with(far.flags), OF_SPLIT)
}

fn located(
    distance: f32,
    share: f32,
    flags: Flags,
    warnings: &'static [&'static str],
) -> Result<Located, NoDistance> {
    let value = Value::Number(above_zero(distance)?);
    let distance =
        Reading { value, unit: Unit::Metre, doubt: distance * share, flags, ..Reading::NONE };
    Ok(Located { distance, warnings })
}

fn number(reading: Reading, unit: Unit) -> Result<f32, NoDistance> {
    match reading.value {
        Value::Number(x) if reading.unit == unit => Ok(x),
        Value::Above(_) | Value::Below(_) => Err(NoDistance::Bound),
        _ => Err(NoDistance::NoReading),
    }
}

fn above_zero(x: f32) -> Result<f32, NoDistance> {
    if x > 0.0 && x.is_finite() { Ok(x) } else { Err(NoDistance::NoReading) }
}

fn root(one: f32, other: f32) -> f32 {
    libm::sqrtf(one * one + other * other)
}

/// Ohms.
#[expect(clippy::cast_precision_loss, reason = "compared with a bound of one digit")]
fn ohms(resistance: Resistance) -> f32 {
    resistance.as_milliohms() as f32 / 1.0e3
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(value: f32, unit: Unit) -> Reading {
        Reading { value: Value::Number(value), unit, ..Reading::NONE }
    }

    const KIND: PairKind<'static> = kind("test", 168.0, Some(50.0), HEARFIELD);

    fn metres_of(located: Result<Located, NoDistance>) -> Result<f32, NoDistance> {
        located.map(|it| it.distance.value.amount().unwrap_or(0.0))
    }

    #[test]
    fn a_pair_that_leaks_is_refused_and_one_that_holds_is_not() {
        let c = read(100.0e-9, Unit::Farad);
        let of = |kilohms| KIND.to_open(c, Reading::NONE, Some(Resistance::from_kilohms(kilohms)));
        assert_eq!(of(199), Err(NoDistance::Leaks));
        assert!(of(201).is_ok());
    }

    #[test]
    fn the_leads_are_taken_off_and_nothing_left_is_no_distance() {
        let (c, leads) = (read(100.2e-9, Unit::Farad), read(0.2e-9, Unit::Farad));
        let left = metres_of(KIND.to_open(c, leads, None));
        assert!(left.is_ok_and(|m| (m - 2_000.0).abs() < 0.01), "{left:?}");
        assert_eq!(KIND.to_open(leads, leads, None), Err(NoDistance::NoReading));
    }

    #[test]
    fn what_is_no_number_of_its_quantity_has_no_place() {
        let bound = Reading { value: Value::Above(1.0), ..read(0.0, Unit::Farad) };
        assert_eq!(KIND.to_open(bound, Reading::NONE, None), Err(NoDistance::Bound));
        let ohms = read(5.0, Unit::Ohm);
        assert_eq!(KIND.to_open(ohms, Reading::NONE, None), Err(NoDistance::NoReading));
        assert_eq!(split_by_ratio(ohms, bound, Length::from_metres(1)), Err(NoDistance::Bound));
        for x in [f32::NAN, f32::INFINITY, 0.0, -1.0] {
            assert_eq!(KIND.to_short(read(x, Unit::Ohm), None), Err(NoDistance::NoReading));
        }
        let hot = Some(Temperature::from_celsius(91));
        assert_eq!(KIND.to_short(ohms, hot), Err(NoDistance::OutOfRange));
        let unknown = PairKind { nanofarads_per_km: None, ..KIND };
        let c = read(1.0e-9, Unit::Farad);
        assert_eq!(unknown.to_open(c, Reading::NONE, None), Err(NoDistance::NoCapacitance));
    }

    #[test]
    fn both_ends_of_one_open_add_up_to_the_route() {
        let (a, b) = (read(30.0e-9, Unit::Farad), read(70.0e-9, Unit::Farad));
        let route = Length::from_metres(2_000);
        let near = metres_of(split_by_ratio(a, b, route));
        let far = metres_of(split_by_ratio(b, a, route));
        assert!(near.is_ok_and(|m| (m - 600.0).abs() < 0.01), "{near:?}");
        assert!(far.is_ok_and(|m| (m - 1_400.0).abs() < 0.01), "{far:?}");
    }

    #[test]
    fn an_unknown_temperature_makes_the_distance_less_certain() {
        let of = |t| KIND.to_short(read(336.0, Unit::Ohm), t).map_or(0.0, |it| it.distance.doubt);
        assert!(of(None) > of(Some(Temperature::from_celsius(15))));
    }
}
