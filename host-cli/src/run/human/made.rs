//! What was made of the last reading: brought to another temperature, placed along a pair, or why not.

use std::io::{self, Write};

use ohmwarden_core::correct::{Corrected, Located};
use ohmwarden_core::judge::COVER;
use ohmwarden_core::unit::Temperature;
use ohmwarden_core::view::reading_text;
use ohmwarden_sim::world::Snapshot;

use crate::layout::{quantity, wrapped};
use crate::look::Look;

/// Writes a line for each thing that was asked for; nothing where nothing was.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(now: &Snapshot, look: Look, out: &mut dyn Write) -> io::Result<()> {
    for line in lines(now).iter().flat_map(|line| wrapped(line, look.width - 2)) {
        writeln!(out, "  {line}")?;
    }
    Ok(())
}

fn lines(now: &Snapshot) -> Vec<String> {
    let corrected = now.corrected.map(|told| match told {
        Ok(corrected) => brought(&corrected),
        Err(why) => format!("not corrected, and so not judged: {why}"),
    });
    let distance = now.distance.map(|told| match told {
        Ok(located) => placed(&located),
        Err(why) => format!("no distance: {why}"),
    });
    corrected.into_iter().chain(distance).collect()
}

fn brought(corrected: &Corrected) -> String {
    format!(
        "corrected: {} at {} by the rule {}, read as {} at {}",
        reading_text(&corrected.reading).trim(),
        celsius(corrected.to),
        corrected.rule.word(),
        reading_text(&corrected.raw).trim(),
        celsius(corrected.temperature),
    )
}

fn placed(located: &Located) -> String {
    let doubt = quantity(f64::from(COVER * located.distance.doubt), "m");
    let distance = reading_text(&located.distance);
    format!("distance: {}, give or take {doubt}. {}", distance.trim(), located.warnings.join(" "))
}

fn celsius(t: Temperature) -> String {
    format!("{} C", f64::from(t.as_millicelsius()) / 1.0e3)
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::correct::{NoCorrection, NoDistance, PairKind};
    use ohmwarden_core::correct::{Rule, Warmth, correct};
    use ohmwarden_core::judge::{Reading, Unit, Value};

    use super::*;

    fn now(
        corrected: Option<Result<Corrected, NoCorrection>>,
        distance: Option<Result<Located, NoDistance>>,
    ) -> Snapshot {
        let mut now = Snapshot::default();
        (now.corrected, now.distance) = (corrected, distance);
        now
    }

    #[test]
    fn a_corrected_value_is_told_with_the_raw_one_and_both_temperatures() {
        let raw = Reading { value: Value::Number(1.2e9), doubt: 1.0e7, ..Reading::NONE };
        let warmth =
            Warmth { temperature: Some(Temperature::from_celsius(35)), ..Warmth::default() };
        let told = correct(raw, Rule::Oil, warmth, Temperature::from_celsius(20));
        let said = lines(&now(Some(told), None));
        assert_eq!(
            said,
            ["corrected: 3.4 Gohm at 20 C by the rule oil, read as 1.200 Gohm at 35 C"]
        );
    }

    #[test]
    fn a_distance_is_told_with_its_warnings() {
        let farads = Reading { value: Value::Number(100e-9), unit: Unit::Farad, ..Reading::NONE };
        let pair = PairKind::by_word("0.5mm").unwrap();
        let distance = Some(pair.to_open(farads, Reading::NONE, None));
        let said = lines(&now(None, distance)).concat();
        assert!(said.starts_with("distance: 2.00 km, give or take 200 m. A wet pair reads long."));
        assert!(said.contains("Measure from both ends"), "{said}");
    }

    #[test]
    fn a_refusal_says_why() {
        let corrected = Some(Err(NoCorrection::NoTemperature));
        let distance = Some(Err(NoDistance::Leaks));
        let said = lines(&now(corrected, distance));
        assert!(said[0].contains("a correction needs the temperature"), "{said:?}");
        assert!(said[1].contains("below 20 ms"), "{said:?}");
        assert!(lines(&Snapshot::default()).is_empty());
    }
}
