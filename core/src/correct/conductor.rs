//! What a conductor should read: from its cross-section, its length and its temperature.
//!
//! IEC 60228 (2004), plain copper at 20 C, as reproduced in public tables: secondary source, not
//! checked against the standard, no conformity claimed. Its values are the most that a conductor
//! may have, so a good one reads a little less. American gauges follow from the diameter that
//! defines them, 0.127 mm * 92^((36 - n)/39), and from the resistivity of annealed copper.

use core::fmt;

use super::length::metres;
use super::rules::Law;
use super::temperature::{Rule, celsius};
use crate::judge::{Reading, Value};
use crate::unit::{Length, Temperature};

/// Annealed copper at 20 C, ohm mm2/m (IACS, 58 MS/m: IEC 60028 as cited in technical articles).
const RESISTIVITY: f32 = 1.0 / 58.0;
/// What a route is known to, as a share of its length (common practice).
const LENGTH_SHARE: f32 = 0.02;

/// How a conductor is built.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Class {
    /// Stranded, or solid up to 10 mm2: fixed wiring.
    #[default]
    Two,
    /// Flexible.
    Five,
}

/// A cross-section, in steps of 0.01 mm2.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Section(u32);

impl Section {
    /// From hundredths of a square millimetre.
    #[must_use]
    pub const fn from_hundredths_mm2(hundredths: u32) -> Self {
        Self(hundredths)
    }

    /// Hundredths of a square millimetre.
    #[must_use]
    pub const fn as_hundredths_mm2(self) -> u32 {
        self.0
    }
}

/// Cross-section, and ohms per km at 20 C of class 2 and of class 5.
const TABLE: [(Section, f32, f32); 7] = [
    (Section(100), 18.1, 19.5),
    (Section(150), 12.1, 13.3),
    (Section(250), 7.41, 7.98),
    (Section(400), 4.61, 4.95),
    (Section(600), 3.08, 3.30),
    (Section(1_000), 1.83, 1.91),
    (Section(1_600), 1.15, 1.21),
];

/// A conductor as far as its resistance goes: ohms for each kilometre at 20 C.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Conductor {
    ohms_per_km: f32,
}

/// Why nothing can be said of a conductor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NoConductor {
    /// No value is kept for this cross-section.
    UnknownSection,
    /// No such gauge is used for wire here.
    UnknownGauge,
    /// The temperature is beyond what copper in a cable sees.
    OutOfRange,
}

impl fmt::Display for NoConductor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::UnknownSection => "known are 1, 1.5, 2.5, 4, 6, 10 and 16 mm2",
            Self::UnknownGauge => "known are the gauges 0 to 40",
            Self::OutOfRange => "a conductor is taken to be at -40 C to 90 C",
        })
    }
}

impl Conductor {
    /// From its cross-section and class.
    ///
    /// # Errors
    /// A cross-section that no value is kept for.
    pub fn metric(section: Section, class: Class) -> Result<Self, NoConductor> {
        let row = TABLE.iter().find(|(of, _, _)| *of == section);
        let ohms_per_km = row.map(|(_, two, five)| match class {
            Class::Two => *two,
            Class::Five => *five,
        });
        ohms_per_km.map(|ohms_per_km| Self { ohms_per_km }).ok_or(NoConductor::UnknownSection)
    }

    /// From its American wire gauge, solid copper.
    ///
    /// # Errors
    /// A gauge above 40.
    pub fn gauge(number: u8) -> Result<Self, NoConductor> {
        if number > 40 {
            return Err(NoConductor::UnknownGauge);
        }
        let diameter = 0.127 * libm::powf(92.0, (36.0 - f32::from(number)) / 39.0);
        let area = core::f32::consts::PI / 4.0 * diameter * diameter;
        Ok(Self { ohms_per_km: RESISTIVITY * 1.0e3 / area })
    }

    /// Ohms for each kilometre at 20 C.
    #[must_use]
    pub const fn ohms_per_km(self) -> f32 {
        self.ohms_per_km
    }

    /// Both conductors one after the other: there by one, back by the other.
    #[must_use]
    pub fn and_back_by(self, other: Self) -> Self {
        Self { ohms_per_km: self.ohms_per_km + other.ohms_per_km }
    }

    /// Gives what a length of it reads at a temperature, with the doubt of both.
    ///
    /// # Errors
    /// A temperature beyond -40 C to 90 C.
    pub fn expected(
        self,
        length: Length,
        temperature: Temperature,
        doubt: Temperature,
    ) -> Result<Reading, NoConductor> {
        let (least, greatest) = Rule::Copper.range();
        if temperature < least || temperature > greatest {
            return Err(NoConductor::OutOfRange);
        }
        let ohms = self.ohms_per_km * metres(length) / 1.0e3 * warmed(temperature);
        let share = warm_share(temperature, doubt);
        let doubt = ohms * libm::sqrtf(LENGTH_SHARE * LENGTH_SHARE + share * share);
        Ok(Reading { value: Value::Number(ohms), doubt, ..Reading::NONE })
    }
}

/// What copper has at this temperature for each ohm at 20 C.
pub(super) fn warmed(temperature: Temperature) -> f32 {
    copper().factor(20.0, celsius(temperature))
}

/// The share that a doubt of the temperature is of the resistance of copper.
pub(super) fn warm_share(temperature: Temperature, doubt: Temperature) -> f32 {
    let at = celsius(temperature);
    copper().factor(at, at + celsius(doubt)) - 1.0
}

const fn copper() -> Law {
    Rule::Copper.law()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_not_guessed() {
        let odd = Conductor::metric(Section::from_hundredths_mm2(251), Class::Two);
        assert_eq!(odd, Err(NoConductor::UnknownSection));
        assert_eq!(Conductor::gauge(41), Err(NoConductor::UnknownGauge));
        let hot = Conductor::gauge(24).and_then(|it| {
            it.expected(Length::from_metres(1), Temperature::from_celsius(91), Temperature::ZERO)
        });
        assert_eq!(hot, Err(NoConductor::OutOfRange));
    }

    #[test]
    fn the_doubt_is_that_of_length_and_temperature() {
        let expected = Conductor::metric(Section::from_hundredths_mm2(250), Class::Two)
            .and_then(|it| {
                let (at, by) = (Temperature::from_celsius(20), Temperature::from_celsius(5));
                it.expected(Length::from_metres(1_000), at, by)
            })
            .map_or(0.0, |it| it.doubt / 7.41);
        // 2 % of length and 5/250 of temperature.
        assert!((expected - 0.02 * core::f32::consts::SQRT_2).abs() < 1e-5, "{expected}");
    }
}
