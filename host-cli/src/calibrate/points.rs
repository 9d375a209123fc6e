//! Bench points as a table: which scale, what there was, what was read.

use ohmwarden_core::calibration::fit::Point;
use ohmwarden_core::profile::{FrontEnd, SCALES, Scale};

use crate::problem::Problem;
use crate::sheet::{Column, Row, rows, unknown};
use crate::waveform::number::Field;

const COLUMNS: [Column; 8] = [
    Column { name: "channel", needed: true },
    Column { name: "range", needed: false },
    Column { name: "reference", needed: true },
    Column { name: "uncertainty", needed: true },
    Column { name: "read", needed: false },
    Column { name: "codes", needed: false },
    Column { name: "repeats", needed: false },
    Column { name: "deviation", needed: false },
];
/// One code, either half of it as likely.
const ROUNDING: f64 = 1.0 / 12.0;
const CURRENT: &str = "current";

/// A point of a scale and where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Placed {
    pub(super) scale: Scale,
    pub(super) line: usize,
    pub(super) point: Point,
}

/// Reads the table.
///
/// # Errors
/// The first thing in it that is not accepted.
pub(super) fn read(text: &str) -> Result<Vec<Placed>, Problem> {
    rows(text, &COLUMNS)?.iter().map(placed).collect()
}

fn placed(row: &Row<'_>) -> Result<Placed, Problem> {
    let scale = scale_of(row)?;
    let code = code_of(scale);
    let reference = row.need("reference", "a finite number")?.finite("a finite number")?;
    let of_reference = above_zero(row.need("uncertainty", "a number above 0")?)?;
    let (read, unit) = match (row.get("read"), row.get("codes")) {
        (Some(read), None) => (read.finite("a finite number")?, 1.0),
        (None, Some(codes)) => (codes.finite("a finite number")? * code, code),
        (Some(read), Some(_)) => return Err(read.problem("either read or codes, not both")),
        (None, None) => {
            let found = "neither read nor codes";
            return Err(Problem::input(found, "one of them").at(row.line, 1));
        }
    };
    let repeats = row.get("repeats").map_or(Ok(1), |field| {
        field.parse("a whole number from 1").and_then(|n: u32| {
            if n > 0 { Ok(n) } else { Err(field.problem("a whole number from 1")) }
        })
    })?;
    let deviation = row.get("deviation").map_or(Ok(0.0), not_below_zero)? * unit;
    let scatter = (deviation * deviation + code * code * ROUNDING) / f64::from(repeats);
    let doubt = (of_reference * of_reference + scatter).sqrt();
    Ok(Placed { scale, line: row.line, point: Point { read, reference, doubt } })
}

/// What one code of a scale is worth.
pub(super) fn code_of(scale: Scale) -> f64 {
    f64::from(scale.code(&FrontEnd::DEFAULT))
}

fn scale_of(row: &Row<'_>) -> Result<Scale, Problem> {
    let channels = || {
        let plain = SCALES.iter().map(|scale| scale.word()).filter(|word| range_of(word).is_none());
        plain.chain([CURRENT])
    };
    let channel = row.need("channel", "a channel")?;
    if channel.text == CURRENT {
        let ranges = || SCALES.iter().filter_map(|scale| range_of(scale.word()));
        let range = row.need("range", &ranges().collect::<Vec<_>>().join(", "))?;
        let found = SCALES.iter().find(|scale| range_of(scale.word()) == Some(range.text));
        return found.copied().ok_or_else(|| unknown(range, ranges()));
    }
    let found = SCALES.iter().find(|scale| scale.word() == channel.text);
    let scale = found.filter(|scale| range_of(scale.word()).is_none());
    let scale = *scale.ok_or_else(|| unknown(channel, channels()))?;
    match row.get("range") {
        Some(range) => Err(range.problem("nothing: this channel has one range")),
        None => Ok(scale),
    }
}

/// The range in the name of a scale that is one of several.
fn range_of(word: &'static str) -> Option<&'static str> {
    word.strip_prefix(CURRENT)?.strip_prefix('_')
}

fn above_zero(field: Field<'_>) -> Result<f64, Problem> {
    let number = field.finite("a number above 0")?;
    if number > 0.0 { Ok(number) } else { Err(field.problem("a number above 0")) }
}

fn not_below_zero(field: Field<'_>) -> Result<f64, Problem> {
    let number = field.finite("a number not below 0")?;
    if number >= 0.0 { Ok(number) } else { Err(field.problem("a number not below 0")) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ohmwarden_core::profile::Shunt;

    #[test]
    fn codes_and_readings_give_the_same_point() {
        let text = "channel,range,reference,uncertainty,read,codes,repeats,deviation\n\
                    current,25uA,1e-5,1e-9,1.0002e-5,,4,6e-9\n\
                    current,25uA,1e-5,1e-9,,10002,4,6\n";
        let points = read(text).expect("a table");
        assert_eq!(points[0].scale, Scale::Amps(Shunt::Microamps25));
        let [one, other] = [points[0].point, points[1].point];
        assert!((one.read / other.read - 1.0).abs() < 1.0e-6);
        // 1 nA; 6 nA and one code of 1 nA over the root of twelve, in the mean of four.
        let doubt = (1.0_f64 + (36.0 + 1.0 / 12.0) / 4.0).sqrt() * 1.0e-9;
        for point in [one, other] {
            assert!((point.doubt / doubt - 1.0).abs() < 1.0e-6, "{}", point.doubt);
        }
    }

    #[test]
    fn what_is_not_a_point_is_pointed_at() {
        let head = "channel,range,reference,uncertainty,read,codes\n";
        for (line, column, part) in [
            ("volatge,,1,1,1,", 1, "did you mean voltage?"),
            ("current,25nA,1,1,1,", 9, "250nA, 2.5uA"),
            ("current,,1,1,1,", 9, "nothing under `range`"),
            ("voltage,25uA,1,1,1,", 9, "this channel has one range"),
            ("voltage,,x,1,1,", 10, "a finite number"),
            ("voltage,,1,0,1,", 12, "a number above 0"),
            ("voltage,,1,1,1,1", 14, "either read or codes"),
            ("voltage,,1,1,,", 1, "neither read nor codes"),
        ] {
            let problem = read(&format!("{head}{line}\n")).expect_err(line);
            assert_eq!((problem.line(), problem.column()), (Some(2), Some(column)), "{line}");
            assert!(problem.to_string().contains(part), "{part} is not in {problem}");
        }
    }
}
