//! The column of moments, and the rate that it gives.
//!
//! Its unit is `s`, `ms`, `us` or `ns` (`time_s` will do as well), and without one seconds, or what
//! makes of a large whole number a moment since 1970.

use crate::problem::Problem;

/// How far the steps of a time column may differ from their mean.
const UNEVEN: f64 = 0.02;

/// Whether a column of this name holds the moments.
pub(super) fn is_time(name: &str) -> bool {
    matches!(name.to_ascii_lowercase().as_str(), "time" | "t")
}

/// A time column as programs like to name it: `time_s`.
pub(super) fn time_with_unit(text: &str) -> Option<(String, String)> {
    let (name, unit) = text.split_once('_')?;
    let known = matches!(unit, "s" | "ms" | "us" | "ns");
    (is_time(name) && known).then(|| (name.to_owned(), unit.to_owned()))
}

/// Samples per second from a time column.
pub(super) fn rate_of(
    times: &[f64],
    unit: &str,
    line: impl Fn(usize) -> usize,
) -> Result<f64, Problem> {
    let ([first, .., last], steps) = (times, times.len().saturating_sub(1)) else {
        return Err(Problem::input("one moment only", "at least two lines of numbers"));
    };
    let per_second = match unit {
        "s" => 1.0,
        "ms" => 1e3,
        "us" => 1e6,
        "ns" => 1e9,
        "" => unwritten_unit(*first),
        other => {
            let found = format!("time in `{other}`");
            return Err(Problem::input(found, "s, ms, us or ns").at(line(0).saturating_sub(1), 1));
        }
    };
    let step = (last - first) / steps as f64;
    let uneven = times.windows(2).position(|pair| {
        let own = pair[1] - pair[0];
        own <= 0.0 || (own - step).abs() > UNEVEN * step
    });
    match uneven {
        Some(row) => {
            let found = format!("a step of {} after steps of {step}", times[row + 1] - times[row]);
            Err(Problem::input(found, "even steps; or give --rate").at(line(row + 1), 1))
        }
        None => Ok(per_second / step),
    }
}

/// What makes a second of a moment without a unit: since 1970 where it is that large.
fn unwritten_unit(first: f64) -> f64 {
    let whole = first.fract() == 0.0;
    match first {
        _ if whole && first > 1e17 => 1e9,
        _ if whole && first > 1e14 => 1e6,
        _ if whole && first > 1e11 => 1e3,
        _ => 1.0,
    }
}
