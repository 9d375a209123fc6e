//! Where the doubt of each function comes from, and the readings that prove usual limits.
//!
//! For a default front end whose scales are known as well as its specification leaves them.

use std::io::{self, Write};

use ohmwarden_core::calibration::{Adjusted, Calibration};
use ohmwarden_core::date::Date;
use ohmwarden_core::judge::{
    Budget, COVER, Held, Limit, Parts, Reading, Rule, Unit, Value, smallest_proving,
};
use ohmwarden_core::measure::Ranger;
use ohmwarden_core::profile::{GENERAL, SCALES, Scale, Shunt};
use ohmwarden_core::unit::Current;
use serde_json::json;

use crate::layout::{Cell, percent, quantity, table};
use crate::output::Format;

/// Test voltages and the limits usual at them, in megohms (common practice; the limit of a job comes
/// from the code that holds there).
const INSULATION: [(f32, f32); 6] =
    [(50.0, 0.1), (100.0, 0.5), (250.0, 0.5), (500.0, 1.0), (500.0, 2.0), (1_000.0, 1.0)];
/// Usual limits of continuity, in ohms (common practice).
const CONTINUITY: [f32; 5] = [0.1, 0.2, 0.5, 1.0, 2.0];
/// The current of continuity.
const AMPS: f32 = 0.2;

/// What an instrument as specified states of its readings.
pub(super) struct Stated(Calibration);

impl Stated {
    /// The default front end, adjusted.
    pub(super) fn new() -> Self {
        let made = Calibration::as_specified(Date::FIRST, Date::FIRST);
        Self(made.unwrap_or(Calibration::ABSENT))
    }

    fn adjusted(&self) -> Adjusted<'_> {
        self.0.on(Some(Date::FIRST), &GENERAL.front_end)
    }

    fn insulation_budget(&self, volts: f32, ohms: f32) -> Budget {
        let amps = f64::from(volts) / f64::from(ohms);
        let picoamps = Current::from_picoamps((amps * 1.0e12) as i64);
        Budget::insulation(&self.adjusted(), Ranger::INSULATION.settled(picoamps))
    }

    fn continuity_budget(&self) -> Budget {
        Budget::continuity(&self.adjusted(), Shunt::Milliamps250, false, true)
    }

    /// A reading of insulation at a test voltage.
    pub(super) fn insulation(&self, volts: f32, ohms: f32) -> Reading {
        self.insulation_budget(volts, ohms).reading(ohms, Held::Volts(volts))
    }

    /// A reading of continuity, leads nulled.
    pub(super) fn continuity(&self, ohms: f32) -> Reading {
        self.continuity_budget().reading(ohms, Held::Amps(AMPS))
    }

    /// A reading of voltage.
    pub(super) fn voltage(&self, volts: f32) -> Reading {
        let doubt = Parts::shown(&self.adjusted(), Scale::Volts).at(volts);
        Reading { value: Value::Number(volts), unit: Unit::Volt, doubt, ..Reading::NONE }
    }

    /// Usual limits: function, what is held, the limit, its unit and the reading that proves it.
    fn proving(&self) -> Vec<Proving> {
        let insulation = INSULATION.iter().map(|&(volts, megohms)| {
            let limit = megohms * 1.0e6;
            let (held, budget) = (Held::Volts(volts), self.insulation_budget(volts, limit));
            let least = smallest_proving(Limit::AtLeast(limit), Rule::Guarded, &budget, held);
            Proving { function: "insulation", held: (volts, "V"), limit, reading: least }
        });
        let budget = self.continuity_budget();
        let continuity = CONTINUITY.iter().map(|&limit| {
            let held = Held::Amps(AMPS);
            let most = smallest_proving(Limit::AtMost(limit), Rule::Guarded, &budget, held);
            Proving { function: "continuity", held: (AMPS, "A"), limit, reading: most }
        });
        insulation.chain(continuity).collect()
    }
}

/// The reading that proves a limit.
struct Proving {
    function: &'static str,
    held: (f32, &'static str),
    limit: f32,
    reading: Option<f32>,
}

/// Writes both tables.
pub(super) fn write(format: Format, out: &mut dyn Write) -> io::Result<()> {
    let stated = Stated::new();
    let adjusted = stated.adjusted();
    let parts: Vec<(Scale, Parts)> =
        SCALES.iter().map(|scale| (*scale, Parts::shown(&adjusted, *scale))).collect();
    match format {
        Format::Human => human(&parts, &stated.proving(), stated.continuity_budget().null, out),
        Format::Json => json(&parts, &stated.proving(), stated.continuity_budget().null, out),
    }
}

fn human(
    parts: &[(Scale, Parts)],
    proving: &[Proving],
    null: f32,
    out: &mut dyn Write,
) -> io::Result<()> {
    writeln!(out, "Standard uncertainties of a calibrated default front end\n")?;
    let heads = ["scale", "gain", "drift", "offset", "noise", "resolution"];
    let mut rows: Vec<Vec<Cell>> = vec![heads.iter().map(|head| Cell::left(*head)).collect()];
    for (scale, part) in parts {
        let of = |x: f32| Cell::right(quantity(f64::from(x), scale.symbol()));
        let share = |x: f32| Cell::right(percent(f64::from(x)));
        let cells = [share(part.gain), share(part.drift), of(part.offset), of(part.noise)];
        rows.push(
            [Cell::left(scale.word())]
                .into_iter()
                .chain(cells)
                .chain([of(part.resolution)])
                .collect(),
        );
    }
    table(&rows, "", out)?;
    writeln!(out, "contacts and lead null together: {}", quantity(f64::from(null), "ohm"))?;
    writeln!(out, "combined as the root of the sum of squares; expanded with k = {COVER}\n")?;
    let heads = ["function", "at", "limit", "proved by a reading of"];
    let mut rows: Vec<Vec<Cell>> = vec![heads.iter().map(|head| Cell::left(*head)).collect()];
    for line in proving {
        let below = line.function == "insulation";
        let side = if below { "at least" } else { "at most" };
        let ohms = |x: f32| quantity(f64::from(x), "ohm");
        let reading = line.reading.map_or("none".to_owned(), |x| {
            format!("{side} {}", quantity(rounded_off(f64::from(x), below), "ohm"))
        });
        rows.push(vec![
            Cell::left(line.function),
            Cell::right(quantity(f64::from(line.held.0), line.held.1)),
            Cell::left(format!("{side} {}", ohms(line.limit))),
            Cell::left(reading),
        ]);
    }
    table(&rows, "", out)?;
    writeln!(
        out,
        "\nA limit is proved with 95 % confidence, one-sided. The limits are common practice:"
    )?;
    writeln!(
        out,
        "the one that counts is that of the code or of the maker, and a qualified person judges."
    )
}

/// Rounds to three digits away from the limit, so that what is shown proves it too.
fn rounded_off(x: f64, up: bool) -> f64 {
    let step = 10.0_f64.powf(x.log10().floor() - 2.0);
    let steps = x / step;
    step * if up { steps.ceil() } else { steps.floor() }
}

fn json(
    parts: &[(Scale, Parts)],
    proving: &[Proving],
    contacts: f32,
    out: &mut dyn Write,
) -> io::Result<()> {
    let scales: Vec<_> = parts
        .iter()
        .map(|(scale, part)| {
            json!({
                "scale": scale.word(), "unit": scale.symbol(), "gain": part.gain,
                "drift": part.drift, "offset": part.offset, "noise": part.noise,
                "resolution": part.resolution,
            })
        })
        .collect();
    let limits: Vec<_> = proving
        .iter()
        .map(|line| {
            json!({
                "function": line.function, "held": line.held.0, "held_unit": line.held.1,
                "limit_ohms": line.limit, "proved_by_ohms": line.reading,
            })
        })
        .collect();
    let answer = json!({
        "scales": scales, "contacts_and_null_ohms": contacts, "coverage_factor": COVER, "limits": limits,
    });
    serde_json::to_writer_pretty(&mut *out, &answer)?;
    writeln!(out)
}

#[cfg(test)]
mod tests {
    use super::rounded_off;

    #[test]
    fn what_is_shown_proves_the_limit_too() {
        for (x, up, shown) in [
            (1.0251e6, true, "1.03 Mohm"),
            (0.4476, false, "447 mohm"),
            (9.996e5, true, "1.00 Mohm"),
        ] {
            assert_eq!(crate::layout::quantity(rounded_off(x, up), "ohm"), shown);
        }
    }
}
