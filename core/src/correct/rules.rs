//! The rules as data: law, range, base and source of each.

use super::temperature::Rule;
use crate::limits::{Source, Standing};
use crate::unit::Temperature;

/// How a resistance goes with the temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Law {
    /// Half for each so many kelvin.
    Half(f32),
    /// Two exponentials of the absolute temperature, that meet at 40 C.
    Exponential {
        /// Kelvin, at and above 40 C.
        above: f32,
        /// Kelvin, below it.
        below: f32,
    },
    /// A printed column of factors.
    Column(&'static [(f32, f32)]),
    /// A straight line that is zero at so many degrees C below zero.
    Line(f32),
}

/// What the two exponentials meet at, in kelvin; 0 C is taken as 273 K there.
const FORTY: f32 = 313.0;

/// FED-STD-228A, Table I: degrees C, and factors to 15.6 C (60 F), as printed for each 1 F; a row
/// in five is enough here. The copy that was read splits the heading over two lines, so which
/// column is whose was not checked.
const KINDS_R: &[(f32, f32)] = &[
    (10.0, 0.60),
    (12.8, 0.79),
    (15.6, 1.00),
    (18.3, 1.28),
    (20.0, 1.48),
    (21.1, 1.63),
    (23.9, 2.08),
    (25.0, 2.29),
    (26.7, 2.65),
];
const KINDS_T: &[(f32, f32)] = &[
    (10.0, 0.79),
    (12.8, 0.88),
    (15.6, 1.00),
    (18.3, 1.19),
    (20.0, 1.33),
    (21.1, 1.46),
    (23.9, 2.06),
    (25.0, 2.39),
    (26.7, 2.93),
];
const KIND_RH: &[(f32, f32)] = &[
    (10.0, 0.73),
    (12.8, 0.86),
    (15.6, 1.00),
    (18.3, 1.17),
    (20.0, 1.28),
    (21.1, 1.36),
    (23.9, 1.59),
    (25.0, 1.69),
    (26.7, 1.86),
];

const FEDERAL: Source<'static> = Source::new(
    "FED-STD-228A, insulation resistance, Table I (which column is whose was not checked)",
    "2014",
    Standing::Published,
);

impl Rule {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Halving,
        Self::Oil,
        Self::Solid,
        Self::Thermoset,
        Self::RubberR,
        Self::ThermoplasticT,
        Self::RubberRh,
        Self::Copper,
        Self::CopperIacs,
    ];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Halving => "halving",
            Self::Oil => "oil",
            Self::Solid => "solid",
            Self::Thermoset => "thermoset",
            Self::RubberR => "rubber_r",
            Self::ThermoplasticT => "thermoplastic_t",
            Self::RubberRh => "rubber_rh",
            Self::Copper => "copper",
            Self::CopperIacs => "copper_iacs",
        }
    }

    /// The temperature that its limits and tables are made for.
    #[must_use]
    pub const fn base(self) -> Temperature {
        match self {
            Self::Halving | Self::Thermoset => Temperature::from_celsius(40),
            Self::Oil | Self::Solid | Self::Copper | Self::CopperIacs => {
                Temperature::from_celsius(20)
            }
            Self::RubberR | Self::ThermoplasticT | Self::RubberRh => {
                Temperature::from_millicelsius(15_600)
            }
        }
    }

    /// The least and the greatest temperature that it is made for, or was compared over.
    #[must_use]
    pub const fn range(self) -> (Temperature, Temperature) {
        let (least, greatest) = match self {
            Self::Halving => (0, 100_000),
            Self::Oil | Self::Solid => (20_000, 75_000),
            Self::Thermoset => (10_000, 85_000),
            Self::RubberR | Self::ThermoplasticT | Self::RubberRh => (10_000, 26_700),
            Self::Copper | Self::CopperIacs => (-40_000, 90_000),
        };
        (Temperature::from_millicelsius(least), Temperature::from_millicelsius(greatest))
    }

    /// Who says so.
    #[must_use]
    pub const fn source(self) -> Source<'static> {
        match self {
            Self::Halving => {
                Source::new("IEEE Std 43, as cited in trade texts", "2013", Standing::Secondary)
            }
            Self::Oil => Source::new(
                "2^((T - 20)/10), within 2 % of the ANSI/NETA column for oil-filled apparatus as \
                 cited in trade texts",
                "",
                Standing::Secondary,
            ),
            Self::Solid => {
                Source::new("ANSI/NETA column for solid insulation", "", Standing::FromMemory)
            }
            Self::Thermoset => Source::new("IEEE Std 43, 6.3", "2013", Standing::FromMemory),
            Self::RubberR | Self::ThermoplasticT | Self::RubberRh => FEDERAL,
            Self::Copper => Source::new(
                "IEC 60228, Kt = 250/(230 + t), as reproduced in public tables",
                "2004",
                Standing::Secondary,
            ),
            Self::CopperIacs => Source::new(
                "0.00393/K at 20 C, IEC 60028 as cited in technical articles",
                "",
                Standing::Secondary,
            ),
        }
    }

    /// Whether it is for conductors.
    #[must_use]
    pub const fn is_of_copper(self) -> bool {
        matches!(self, Self::Copper | Self::CopperIacs)
    }

    pub(super) const fn law(self) -> Law {
        match self {
            Self::Halving | Self::Oil => Law::Half(10.0),
            Self::Solid => Law::Half(15.0),
            Self::Thermoset => Law::Exponential { above: 4_230.0, below: 1_245.0 },
            Self::RubberR => Law::Column(KINDS_R),
            Self::ThermoplasticT => Law::Column(KINDS_T),
            Self::RubberRh => Law::Column(KIND_RH),
            Self::Copper => Law::Line(230.0),
            // 1/0.00393 K below 20 C.
            Self::CopperIacs => Law::Line(1.0 / 0.003_93 - 20.0),
        }
    }
}

/// The share of the logarithm of its factor that a law is taken to be known to.
pub(super) const fn known_to(law: Law) -> f32 {
    match law {
        Law::Line(_) => 0.01,
        _ => 0.07,
    }
}

impl Law {
    /// What a reading at `t` is multiplied by to be that at `to`, both in degrees C.
    pub(super) fn factor(self, t: f32, to: f32) -> f32 {
        match self {
            Self::Half(kelvin) => two_to((t - to) / kelvin),
            Self::Exponential { above, below } => {
                libm::expf(exponent(t, above, below) - exponent(to, above, below))
            }
            Self::Column(rows) => in_column(rows, t) / in_column(rows, to),
            Self::Line(below_zero) => (below_zero + to) / (below_zero + t),
        }
    }
}

/// The logarithm of the factor to 40 C.
fn exponent(t: f32, above: f32, below: f32) -> f32 {
    let kelvin = t + 273.0;
    let slope = if kelvin >= FORTY { above } else { below };
    -slope * (1.0 / kelvin - 1.0 / FORTY)
}

/// A power of two, exact for whole ones; that of the library calculates in `f64`, which a small
/// processor has to do step by step.
fn two_to(x: f32) -> f32 {
    let whole = libm::roundf(x);
    #[expect(clippy::cast_possible_truncation, reason = "whole, and held at the bounds")]
    let n = whole as i32;
    libm::scalbnf(libm::expf((x - whole) * core::f32::consts::LN_2), n)
}

/// The factor of a column: a printed one as it is, between two of them by even steps of its
/// logarithm, beyond the ends that of the end.
fn in_column(rows: &[(f32, f32)], t: f32) -> f32 {
    let from = rows.iter().rev().find(|(at, _)| *at <= t);
    let to = rows.iter().find(|(at, _)| *at >= t);
    match (from, to) {
        (Some((low, one)), Some((high, other))) if high > low => {
            one * libm::expf(libm::logf(other / one) * (t - low) / (high - low))
        }
        (Some((_, factor)), _) | (None, Some((_, factor))) => *factor,
        (None, None) => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The oracle is the printed row that is left out.
    #[test]
    fn between_rows_a_column_is_within_four_per_cent_of_what_is_printed() {
        for rows in [KINDS_R, KINDS_T, KIND_RH] {
            for (place, (t, printed)) in rows.iter().enumerate().skip(1).take(rows.len() - 2) {
                let without: std::vec::Vec<_> = rows
                    .iter()
                    .enumerate()
                    .filter(|(at, _)| *at != place)
                    .map(|(_, row)| *row)
                    .collect();
                let factor = in_column(&without, *t);
                assert!((factor / printed - 1.0).abs() < 0.04, "{t}: {factor} for {printed}");
            }
        }
    }

    #[test]
    fn the_two_exponentials_meet_at_forty_degrees() {
        let law = Rule::Thermoset.law();
        let (above, below) = (law.factor(40.001, 40.0), law.factor(39.999, 40.0));
        assert!((above - 1.0).abs() < 1e-4 && (below - 1.0).abs() < 1e-4, "{above} {below}");
        assert!(above > 1.0 && below < 1.0);
    }
}
