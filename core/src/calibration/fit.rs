//! The straight line through calibration points, each with its own uncertainty.
//!
//! Weighted least squares, `reference = intercept + slope * read`, weights `1 / u^2`. Sums are taken
//! about the weighted mean, so that nothing cancels. The covariance follows from the uncertainties
//! that the points came with; what they scatter beyond those is told by chi-square. Runs at the
//! bench, not in the hand-held, so it may use `f64`.

use super::{Constants, Unfit};

/// One comparison with a reference, in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Point {
    /// What the scale read with its nominal gain and zero.
    pub read: f64,
    /// What there was.
    pub reference: f64,
    /// Standard uncertainty of the comparison.
    pub doubt: f64,
}

/// The line, with what is known about it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Line {
    /// Where it meets a reading of nothing.
    pub intercept: f64,
    /// Its slope.
    pub slope: f64,
    /// Standard uncertainty of the intercept.
    pub u_intercept: f64,
    /// Standard uncertainty of the slope.
    pub u_slope: f64,
    /// Covariance of the two.
    pub covariance: f64,
    /// Sum of the squared residuals, each over its squared uncertainty.
    pub chi_square: f64,
    /// Points beyond the two that a line needs.
    pub freedom: usize,
}

/// Why there is no line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum NoLine {
    /// Fewer than three points: nothing would be left to judge the line by.
    TooFew,
    /// All readings are the same: a slope needs two places.
    OnePlace,
    /// A number that is none, or an uncertainty that is not above zero.
    NotANumber,
}

impl core::fmt::Display for NoLine {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::TooFew => "fewer than three points",
            Self::OnePlace => "all points at one place",
            Self::NotANumber => "a number that is none, or an uncertainty that is not above zero",
        })
    }
}

impl core::error::Error for NoLine {}

/// Fits the line.
///
/// # Errors
/// Why the points give none.
pub fn line(points: &[Point]) -> Result<Line, NoLine> {
    let sound = |p: &Point| {
        p.read.is_finite() && p.reference.is_finite() && p.doubt.is_finite() && p.doubt > 0.0
    };
    let freedom = points.len().checked_sub(2).filter(|n| *n > 0).ok_or(NoLine::TooFew)?;
    if !points.iter().all(sound) {
        return Err(NoLine::NotANumber);
    }
    let sum = |term: &dyn Fn(&Point) -> f64| -> f64 {
        points.iter().map(|p| term(p) / (p.doubt * p.doubt)).sum()
    };
    let weight = sum(&|_| 1.0);
    let (x, y) = (sum(&|p| p.read) / weight, sum(&|p| p.reference) / weight);
    let spread = sum(&|p| (p.read - x) * (p.read - x));
    if !(spread > 1.0e-24 * weight * x * x && spread > 0.0) {
        return Err(NoLine::OnePlace);
    }
    let slope = sum(&|p| (p.read - x) * (p.reference - y)) / spread;
    let intercept = y - slope * x;
    let miss = |p: &Point| (p.reference - y) - slope * (p.read - x);
    Ok(Line {
        intercept,
        slope,
        u_intercept: libm::sqrt(1.0 / weight + x * x / spread),
        u_slope: libm::sqrt(1.0 / spread),
        covariance: -x / spread,
        chi_square: sum(&|p| miss(p) * miss(p)),
        freedom,
    })
}

impl Line {
    /// What was there less what the line makes of a reading.
    #[must_use]
    pub fn residual(&self, point: &Point) -> f64 {
        point.reference - self.intercept - self.slope * point.read
    }

    /// Standard uncertainty of the line itself at a reading.
    #[must_use]
    pub fn doubt_at(&self, read: f64) -> f64 {
        let variance = self.u_intercept * self.u_intercept
            + 2.0 * read * self.covariance
            + read * read * self.u_slope * self.u_slope;
        libm::sqrt(libm::fmax(variance, 0.0))
    }

    /// Where the scale stands at nothing, in its own unit, and the standard uncertainty of that: the
    /// line turned round, with the covariance.
    #[must_use]
    pub fn zero(&self) -> (f64, f64) {
        let zero = -self.intercept / self.slope;
        (zero, libm::fabs(self.doubt_at(zero) / self.slope))
    }

    /// The constants of a scale whose code is worth `code`.
    ///
    /// # Errors
    /// What constants cannot hold.
    #[expect(clippy::cast_possible_truncation, reason = "constants have four digits, f32 seven")]
    pub fn constants(&self, code: f64) -> Result<Constants, Unfit> {
        let (zero, u_zero) = self.zero();
        Constants::new(
            (self.slope - 1.0) as f32,
            (zero / code) as f32,
            self.u_slope as f32,
            (u_zero / code) as f32,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// NIST, Statistical Reference Datasets, linear regression, Norris: calibration of ozone
    /// monitors, 36 observations (y, x). A work of the United States government, public domain. Put
    /// down from memory; that all certified figures come out to their last digit is the proof that
    /// the data are right.
    const NORRIS: [(f64, f64); 36] = [
        (0.1, 0.2),
        (338.8, 337.4),
        (118.1, 118.2),
        (888.0, 884.6),
        (9.2, 10.1),
        (228.1, 226.5),
        (668.5, 666.3),
        (998.5, 996.3),
        (449.1, 448.6),
        (778.9, 777.0),
        (559.2, 558.2),
        (0.3, 0.4),
        (0.1, 0.6),
        (778.1, 775.5),
        (668.8, 666.9),
        (339.3, 338.0),
        (448.9, 447.5),
        (10.8, 11.6),
        (557.7, 556.0),
        (228.3, 228.1),
        (998.0, 995.8),
        (888.8, 887.6),
        (119.6, 120.2),
        (0.3, 0.3),
        (0.6, 0.3),
        (557.6, 556.8),
        (339.3, 339.1),
        (888.0, 887.2),
        (998.5, 999.0),
        (778.9, 779.0),
        (10.2, 11.1),
        (117.6, 118.3),
        (228.9, 229.2),
        (668.4, 669.1),
        (449.2, 448.9),
        (0.2, 0.5),
    ];

    fn norris(doubt: f64) -> Vec<Point> {
        let point = |&(reference, read): &(f64, f64)| Point { read, reference, doubt };
        NORRIS.iter().map(point).collect()
    }

    /// Relative distance.
    fn off(value: f64, certified: f64) -> f64 {
        (value / certified - 1.0).abs()
    }

    #[test]
    fn the_certified_values_of_a_published_regression_come_out() {
        let line = line(&norris(1.0)).expect("36 points");
        let sd = (line.chi_square / line.freedom as f64).sqrt();
        // Certified by NIST to 15 digits; the sums of 36 doubles keep at least 11 of them.
        assert!(off(line.slope, 1.002_116_818_020_45) < 1.0e-13, "{}", line.slope);
        assert!(off(line.intercept, -0.262_323_073_774_029) < 1.0e-11, "{}", line.intercept);
        assert!(off(sd, 0.884_796_396_144_373) < 1.0e-12, "{sd}");
        assert!(off(sd * line.u_slope, 0.429_796_848_199_937e-3) < 1.0e-12);
        assert!(off(sd * line.u_intercept, 0.232_818_234_301_152) < 1.0e-12);
        assert!(off(line.chi_square, 26.617_398_529_422_4) < 1.0e-12);
        assert_eq!(line.freedom, 34);
    }

    #[test]
    fn a_point_that_counts_twice_is_two_points() {
        let mut twice = norris(1.0);
        twice.push(twice[7]);
        let mut heavy = norris(1.0);
        heavy[7].doubt = 0.5_f64.sqrt();
        let (twice, heavy) = (line(&twice).expect("fits"), line(&heavy).expect("fits"));
        assert!(off(twice.slope, heavy.slope) < 1.0e-13);
        assert!(off(twice.covariance, heavy.covariance) < 1.0e-12);
        assert!(off(twice.chi_square, heavy.chi_square) < 1.0e-12);
    }

    #[test]
    fn the_zero_of_a_line_is_where_its_reference_is_nothing() {
        let line = line(&norris(0.9)).expect("36 points");
        let (zero, doubt) = line.zero();
        let at_zero = Point { read: zero, reference: 0.0, doubt: 1.0 };
        assert!(line.residual(&at_zero).abs() < 1.0e-12);
        assert!(off(doubt * line.slope, line.doubt_at(zero)) < 1.0e-12);
    }

    #[test]
    fn points_that_give_no_line_say_why() {
        let at = |read, doubt| Point { read, reference: 1.0, doubt };
        assert_eq!(line(&[at(1.0, 1.0), at(2.0, 1.0)]), Err(NoLine::TooFew));
        assert_eq!(line(&[at(3.0, 1.0); 5]), Err(NoLine::OnePlace));
        assert_eq!(line(&[at(0.0, 1.0); 5]), Err(NoLine::OnePlace));
        for doubt in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(
                line(&[at(1.0, 1.0), at(2.0, doubt), at(3.0, 1.0)]),
                Err(NoLine::NotANumber)
            );
        }
    }
}
