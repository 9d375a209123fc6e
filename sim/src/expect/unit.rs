//! Literals with units: `25 Mohm`, `5 ms`, `2 %`.

use super::signal::Dimension;

/// The prefixes, with the power of ten that each stands for.
const PREFIXES: [(&str, i32); 7] =
    [("p", -12), ("n", -9), ("u", -6), ("m", -3), ("k", 3), ("M", 6), ("G", 9)];

/// The base units and what they measure.
pub(super) const BASES: [(&str, Dimension); 8] = [
    ("V", Dimension::Volt),
    ("A", Dimension::Amp),
    ("ohm", Dimension::Ohm),
    ("F", Dimension::Farad),
    ("Hz", Dimension::Hertz),
    ("s", Dimension::Second),
    ("J", Dimension::Joule),
    ("m", Dimension::Metre),
];

/// Reads a unit: its dimension and the power of ten to its base unit; `%` is 10^-2.
#[must_use]
pub(super) fn read_unit(text: &str) -> Option<(Dimension, i32)> {
    if text == "%" {
        return Some((Dimension::Ratio, -2));
    }
    let base = |name: &str| BASES.iter().find(|(base, _)| *base == name).map(|(_, d)| *d);
    if let Some(dimension) = base(text) {
        return Some((dimension, 0));
    }
    let (prefix, power) = PREFIXES.iter().find(|(prefix, _)| text.starts_with(prefix))?;
    Some((base(text.get(prefix.len()..)?)?, *power))
}

/// Lists common units of a dimension, for the error that says what is accepted.
#[must_use]
pub(super) const fn units_of(dimension: Dimension) -> &'static [&'static str] {
    match dimension {
        Dimension::Volt => &["uV", "mV", "V", "kV"],
        Dimension::Amp => &["pA", "nA", "uA", "mA", "A"],
        Dimension::Ohm => &["mohm", "ohm", "kohm", "Mohm", "Gohm"],
        Dimension::Farad => &["pF", "nF", "uF", "mF"],
        Dimension::Hertz => &["mHz", "Hz", "kHz"],
        Dimension::Second => &["us", "ms", "s"],
        Dimension::Joule => &["uJ", "mJ", "J"],
        Dimension::Metre => &["mm", "m", "km"],
        Dimension::Ratio => &["%", "no unit"],
        Dimension::Bool | Dimension::Word(_) => &[],
    }
}

/// Scales the digits of a literal by a power of ten without a rounding of its own: the digits and
/// the exponent are read as one number, so that `25 Mohm` is the same value as `25e6`.
#[must_use]
pub(super) fn scaled(digits: &str, power: i32) -> Option<f64> {
    let (mantissa, exponent) = match digits.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, exponent.parse::<i32>().ok()?),
        None => (digits, 0),
    };
    let whole = alloc::format!("{mantissa}e{}", exponent.checked_add(power)?);
    whole.parse::<f64>().ok().filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_prefix_is_read_apart_from_its_base() {
        assert_eq!(read_unit("Mohm"), Some((Dimension::Ohm, 6)));
        assert_eq!(read_unit("mohm"), Some((Dimension::Ohm, -3)));
        assert_eq!(read_unit("ms"), Some((Dimension::Second, -3)));
        assert_eq!(read_unit("s"), Some((Dimension::Second, 0)));
        let powers = ["pF", "nF", "uF", "mF", "kF", "MF", "GF"].map(read_unit);
        let farad = |power| Some((Dimension::Farad, power));
        assert_eq!(powers, [-12, -9, -6, -3, 3, 6, 9].map(farad));
        assert_eq!(read_unit("%"), Some((Dimension::Ratio, -2)));
        let metre = |power| Some((Dimension::Metre, power));
        assert_eq!(["mm", "m", "km"].map(read_unit), [-3, 0, 3].map(metre));
        for wrong in ["", "k", "ohms", "kk", "v", "MMohm", "k%"] {
            assert_eq!(read_unit(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_prefix_adds_no_rounding() {
        assert_eq!(scaled("0.05", -3), Some(0.05e-3));
        assert_eq!(scaled("1.1", -9), Some(1.1e-9));
        assert_eq!(scaled("2.5e2", 6), Some(2.5e8));
        assert_eq!(scaled("1e300", 9), None);
    }

    #[test]
    fn every_listed_unit_is_of_its_dimension() {
        for (_, dimension) in BASES {
            for unit in units_of(dimension) {
                assert_eq!(read_unit(unit).map(|(d, _)| d), Some(dimension), "{unit}");
            }
        }
    }
}
