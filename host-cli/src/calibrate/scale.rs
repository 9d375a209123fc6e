//! The points of one scale: enough of them, the line, and whether it meets its specification.

use ohmwarden_core::calibration::Constants;
use ohmwarden_core::calibration::fit::{Line, NoLine, Point, line};
use ohmwarden_core::profile::{FrontEnd, SCALES, Scale};

use super::points::{Placed, code_of};
use crate::layout::quantity;
use crate::problem::Problem;

/// Coverage factor of a residual's own uncertainty.
const COVER: f64 = 2.0;
/// The lowest point stands at this part of the span or below, the highest at or above the other.
const ENDS: [f64; 2] = [0.1, 0.5];
/// Chi-square beyond its mean by so many standard deviations: the points scatter more than they say.
const SCATTER: f64 = 3.0;

/// What the points of one scale gave.
#[derive(Clone, Debug)]
pub(super) struct ScaleReport {
    pub(super) scale: Scale,
    pub(super) line: Line,
    /// The constants, where they are such as an instrument takes.
    pub(super) constants: Option<Constants>,
    pub(super) points: Vec<Residual>,
    /// Why it does not meet its specification; nothing where it does.
    pub(super) against: Vec<String>,
}

/// One point once the constants are applied.
#[derive(Clone, Copy, Debug)]
pub(super) struct Residual {
    /// Its line in the table.
    pub(super) line: usize,
    pub(super) point: Point,
    /// What was there less what the corrected scale reads.
    pub(super) left: f64,
    /// What the specification leaves there.
    pub(super) allowed: f64,
}

impl ScaleReport {
    /// Whether the scale meets its specification.
    pub(super) fn meets(&self) -> bool {
        self.against.is_empty()
    }
}

/// Fits every scale that has points, in the order of the scales.
///
/// # Errors
/// A scale with too few points, or with points that stand at one end of it.
pub(super) fn fitted(points: &[Placed]) -> Result<Vec<ScaleReport>, Problem> {
    let of = |scale: &Scale| points.iter().filter(|p| p.scale == *scale).copied().collect();
    let groups = SCALES.iter().map(|scale| (*scale, of(scale)));
    groups.filter(|(_, points): &(_, Vec<Placed>)| !points.is_empty()).map(fit).collect()
}

fn fit((scale, placed): (Scale, Vec<Placed>)) -> Result<ScaleReport, Problem> {
    let at = placed.first().map_or(1, |first| first.line);
    let points: Vec<Point> = placed.iter().map(|placed| placed.point).collect();
    let line = line(&points).map_err(|why| no_line(scale, points.len(), why).at(at, 1))?;
    check_places(scale, &points).map_err(|problem| problem.at(at, 1))?;
    let residual = |placed: &Placed| Residual {
        line: placed.line,
        point: placed.point,
        left: line.residual(&placed.point),
        allowed: allowed(scale, placed.point.reference),
    };
    let points: Vec<Residual> = placed.iter().map(residual).collect();
    let made = line.constants(code_of(scale)).map_err(|unfit| unfit.of(scale));
    let made = made.and_then(|constants| constants.check(scale).map(|()| constants));
    let mut against: Vec<String> =
        points.iter().filter_map(|point| too_far(point, scale)).collect();
    let freedom = line.freedom as f64;
    if line.chi_square > freedom + SCATTER * (2.0 * freedom).sqrt() {
        let text = format!(
            "chi-square is {:.1} for {} degrees of freedom: the points scatter more than their \
             uncertainties say",
            line.chi_square, line.freedom
        );
        against.push(text);
    }
    against.extend(made.err().map(|unfit| unfit.to_string()));
    Ok(ScaleReport { scale, line, constants: made.ok(), points, against })
}

fn no_line(scale: Scale, count: usize, why: NoLine) -> Problem {
    let found = format!("{count} points of {}: {why}", scale.word());
    Problem::input(found, "three or more points at different places")
}

/// A line through points at one end says little of the other.
fn check_places(scale: Scale, points: &[Point]) -> Result<(), Problem> {
    let span = f64::from(scale.span(&FrontEnd::DEFAULT));
    let sizes = || points.iter().map(|point| point.reference.abs());
    let (least, greatest) = (sizes().fold(f64::MAX, f64::min), sizes().fold(0.0, f64::max));
    let of = |value| quantity(value, scale.symbol());
    let [low, high] = ENDS.map(|part| part * span);
    // A tenth of a percent for references that are not quite round.
    if least > low * 1.001 || greatest < high * 0.999 {
        let found = format!("points of {} from {} to {}", scale.word(), of(least), of(greatest));
        let accepted = format!("points from {} or below to {} or above", of(low), of(high));
        return Err(Problem::input(found, accepted));
    }
    let positive = points.iter().any(|point| point.reference >= high * 0.999);
    let negative = points.iter().any(|point| point.reference <= -high * 0.999);
    if scale.is_two_way() && !(positive && negative) {
        let found = format!("points of {} on one side of zero", scale.word());
        let accepted = format!("points on both: it is read from {} to {}", of(-high), of(high));
        return Err(Problem::input(found, accepted));
    }
    Ok(())
}

/// What the specification leaves of an adjusted scale.
fn allowed(scale: Scale, reference: f64) -> f64 {
    let limits = scale.accuracy();
    let (gain, zero) = (f64::from(limits.adjusted_gain), f64::from(limits.adjusted_zero));
    gain / 1.0e6 * reference.abs() + zero / 100.0 * code_of(scale)
}

fn too_far(residual: &Residual, scale: Scale) -> Option<String> {
    let most = residual.left.abs() + COVER * residual.point.doubt;
    let of = |value| quantity(value, scale.symbol());
    (most > residual.allowed).then(|| {
        format!(
            "line {}: {} left, {} with its uncertainty, {} allowed at {}",
            residual.line,
            of(residual.left),
            of(most),
            of(residual.allowed),
            of(residual.point.reference)
        )
    })
}
