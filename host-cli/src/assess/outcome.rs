//! One reading against one limit: what core says of it, and what is to be said beside it.

use ohmwarden_core::correct::{self, Corrected, NoCorrection, Warmth};
use ohmwarden_core::judge::{Flags, Judged, Limit, Reading, Rule, Unit, Value};
use ohmwarden_core::limits::{Conditions, DISCHARGE, Entry, NoLimit, Rated};
use ohmwarden_core::text;
use ohmwarden_core::unit::{Temperature, Voltage};
use ohmwarden_core::view::reading_text;

use super::ratio::band;

/// What is asked.
#[derive(Clone, Debug, Default)]
pub(super) struct Request<'b> {
    pub(super) name: String,
    pub(super) reading: Reading,
    pub(super) against: Option<Against<'b>>,
    pub(super) rule: Rule,
    pub(super) volts: Option<Voltage>,
    pub(super) warmth: Warmth,
    /// A correction, to a temperature or to that of limit and rule.
    pub(super) correct: Option<(correct::Rule, Option<Temperature>)>,
    pub(super) rated: Option<Rated>,
    /// What is to be said already.
    pub(super) notes: Vec<String>,
}

/// What a reading is held against.
#[derive(Clone, Copy, Debug)]
pub(super) enum Against<'b> {
    /// A limit that has a name and a source.
    Entry(Entry<'b>),
    /// A bare number.
    Number(Limit, Unit),
}

/// What came of it.
#[derive(Clone, Debug)]
pub(super) struct Outcome<'b> {
    pub(super) name: String,
    pub(super) raw: Reading,
    pub(super) corrected: Option<Corrected>,
    pub(super) entry: Option<Entry<'b>>,
    /// Without a limit there is a number and no verdict.
    pub(super) judged: Option<Judged>,
    /// Why there can be no verdict at all.
    pub(super) refused: Option<String>,
    pub(super) notes: Vec<String>,
}

/// Input that cannot be used: what was found, and what is accepted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Unusable {
    pub(super) found: String,
    pub(super) accepted: String,
}

impl Unusable {
    /// What was found instead of what is accepted.
    pub(super) fn new(found: impl Into<String>, accepted: impl Into<String>) -> Self {
        Self { found: found.into(), accepted: accepted.into() }
    }
}

impl Outcome<'_> {
    /// What it is a number of, corrected where it was.
    pub(super) fn reading(&self) -> Reading {
        self.corrected.map_or(self.raw, |it| it.reading)
    }

    /// The number as core shows it: never so that it looks like a limit that it is not at.
    pub(super) fn shown(&self) -> String {
        shown(self.judged.as_ref(), &self.reading())
    }

    /// The word of what came out.
    pub(super) fn word(&self) -> &'static str {
        use ohmwarden_core::judge::Verdict;
        match (&self.refused, &self.judged) {
            (Some(_), _) => "refused",
            (None, Some(judged)) => Verdict::WORDS[judged.verdict().index()],
            (None, None) => "not judged",
        }
    }

    /// Whether it is nothing worse than a pass, or a number that nobody asked a verdict of.
    pub(super) fn is_good(&self) -> bool {
        matches!(self.word(), "pass" | "not judged")
    }
}

fn shown(judged: Option<&Judged>, reading: &Reading) -> String {
    match (judged.map(Judged::limit), reading.value) {
        (Some(Limit::AtLeast(limit) | Limit::AtMost(limit)), Value::Number(value)) => {
            let resolution = text::resolution(reading.doubt);
            text::apart_from(value, limit, reading.unit.symbol(), resolution).trim().to_owned()
        }
        _ => reading_text(reading).trim().to_owned(),
    }
}

/// Judges, through core.
///
/// # Errors
/// Something that the limit or the correction needs is missing or does not fit.
pub(super) fn judge(request: Request<'_>) -> Result<Outcome<'_>, Unusable> {
    let (entry, bare) = match request.against {
        Some(Against::Entry(entry)) => (Some(entry), None),
        Some(Against::Number(limit, unit)) => (None, Some((limit, unit))),
        None => (None, None),
    };
    let raw = fitting(request.reading, entry.map_or(bare.map(|it| it.1), |it| Some(it.of)))?;
    let raw = raw.flagged(too_low(entry, request.volts));
    let mut outcome = Outcome {
        name: request.name.clone(),
        raw,
        corrected: None,
        entry,
        judged: None,
        refused: None,
        notes: Vec::new(),
    };
    match corrected(&request, raw, entry) {
        Ok(corrected) => outcome.corrected = corrected,
        Err(NoCorrection::NoTemperature) => {
            return Err(no_temperature(NoCorrection::NoTemperature));
        }
        Err(why) => outcome.refused = Some(why.to_string()),
    }
    let conditions = Conditions { temperature: request.warmth.temperature, rated: request.rated };
    let limit = match entry.map(|entry| entry.limit_for(conditions)) {
        None => bare.map(|it| it.0),
        Some(Ok(limit)) => Some(limit),
        Some(Err(NoLimit::NoTemperature)) => return Err(no_temperature(NoLimit::NoTemperature)),
        Some(Err(why @ NoLimit::NoRatedVoltage)) => {
            let found = format!("no rated voltage ({why})");
            return Err(Unusable::new(found, "--rated VOLTS"));
        }
        Some(Err(why @ NoLimit::TooHot)) => {
            outcome.refused = Some(why.to_string());
            None
        }
    };
    if outcome.refused.is_none() {
        at_its_temperature(&request, &outcome)?;
        outcome.judged = limit.map(|limit| outcome.reading().judge_by(limit, request.rule));
    }
    outcome.notes = notes(&request, &outcome);
    Ok(outcome)
}

fn no_temperature(why: impl core::fmt::Display) -> Unusable {
    Unusable::new(format!("no temperature ({why})"), "--celsius DEGREES")
}

/// A limit that holds at one temperature says nothing of a reading at another.
fn at_its_temperature(request: &Request<'_>, outcome: &Outcome<'_>) -> Result<(), Unusable> {
    let has = outcome.corrected.map(|it| it.to).or(request.warmth.temperature);
    match outcome.entry.and_then(|it| it.at) {
        Some(at) if has != Some(at) => {
            let degrees = f64::from(at.as_millicelsius()) / 1e3;
            Err(Unusable::new(
                format!("a reading that is not brought to the {degrees} C of its limit"),
                format!(
                    "--correct RULE with --celsius DEGREES, or --celsius {degrees} where it was \
                     read there"
                ),
            ))
        }
        _ => Ok(()),
    }
}

/// The reading in the unit of its limit.
fn fitting(reading: Reading, wanted: Option<Unit>) -> Result<Reading, Unusable> {
    let wanted = wanted.unwrap_or(reading.unit);
    // What the trade gives in mA/(V F) is written as a plain number.
    let plain = reading.unit == Unit::Ratio && wanted == Unit::MilliampPerVoltFarad;
    if reading.unit != wanted && !plain {
        let name = |unit: Unit| match unit.symbol() {
            "" => "a plain number".to_owned(),
            symbol => format!("a number of {symbol}"),
        };
        let found = format!("{}, which the limit is not of", name(reading.unit));
        return Err(Unusable::new(found, name(wanted)));
    }
    Ok(Reading { unit: wanted, ..reading })
}

/// Below the voltage that the limit asks for, a reading can only look better than it is.
fn too_low(entry: Option<Entry<'_>>, volts: Option<Voltage>) -> Flags {
    let low = entry.and_then(|it| it.set).zip(volts).is_some_and(|(set, volts)| volts < set);
    Flags::NONE.with_if(Flags::SOURCE_LIMITED, low)
}

fn corrected(
    request: &Request<'_>,
    raw: Reading,
    entry: Option<Entry<'_>>,
) -> Result<Option<Corrected>, NoCorrection> {
    let Some((rule, to)) = request.correct else { return Ok(None) };
    let to = to.or(entry.and_then(|it| it.at)).unwrap_or(rule.base());
    correct::correct(raw, rule, request.warmth, to).map(Some)
}

/// What is to be known beside the verdict.
fn notes(request: &Request<'_>, outcome: &Outcome<'_>) -> Vec<String> {
    let mut notes = request.notes.clone();
    let said = outcome.entry.as_ref().and_then(|it| it.remark_for(outcome.reading()));
    notes.extend(said.map(str::to_owned));
    if outcome.raw.unit == Unit::MilliampPerVoltFarad {
        notes.extend(band(&DISCHARGE, outcome.raw));
    }
    let set = outcome.entry.and_then(|it| it.set);
    match (set, request.volts) {
        (Some(set), Some(volts)) if volts < set => notes.push(format!(
            "It was taken at {} V; the limit asks for {} V, so it is no pass.",
            volts.as_volts(),
            set.as_volts()
        )),
        (Some(set), None) => notes.push(format!(
            "The limit asks for a test voltage of {} V; that of the reading is not given.",
            set.as_volts()
        )),
        _ => {}
    }
    let exact = outcome.judged.is_some_and(|it| it.reading().doubt == 0.0);
    if exact && request.rule == Rule::Guarded {
        notes.push("No doubt was given, so there is no guard band.".to_owned());
    }
    notes
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::limits::by_word;

    use super::*;

    fn request(ohms: f32, word: &str) -> Request<'static> {
        let reading = Reading { value: Value::Number(ohms), ..Reading::NONE };
        let entry = *by_word(word).unwrap();
        Request { reading, against: Some(Against::Entry(entry)), ..Request::default() }
    }

    #[test]
    fn below_the_voltage_that_is_asked_for_nothing_passes_and_a_fail_stays_one() {
        let at = |ohms, volts| {
            let volts = Some(Voltage::from_volts(volts));
            judge(Request { volts, ..request(ohms, "installation_500v") }).unwrap().word()
        };
        assert_eq!((at(5.0e6, 500), at(5.0e6, 250)), ("pass", "undecided"));
        assert_eq!((at(0.5e6, 500), at(0.5e6, 250)), ("fail", "fail"));
    }

    #[test]
    fn a_correction_goes_where_the_limit_holds() {
        let twenty = Some(Temperature::from_celsius(20));
        let warmth = Warmth { temperature: twenty, ..Warmth::default() };
        let correct = Some((correct::Rule::Halving, None));
        let asked = Request { warmth, correct, ..request(200.0e6, "winding_form_wound") };
        let outcome = judge(asked).unwrap();
        assert_eq!(outcome.corrected.unwrap().to, Temperature::from_celsius(40));
        assert_eq!(outcome.reading().value, Value::Number(50.0e6));
        let elsewhere = Some((correct::Rule::Halving, Some(Temperature::from_celsius(30))));
        let asked =
            Request { warmth, correct: elsewhere, ..request(200.0e6, "winding_form_wound") };
        assert!(judge(asked).unwrap_err().found.contains("not brought to the 40 C"));
    }

    #[test]
    fn what_is_missing_is_asked_for_by_its_option() {
        let correct = Some((correct::Rule::Halving, None));
        let told = judge(Request { correct, ..request(1.0e6, "installation_500v") }).unwrap_err();
        assert!(told.accepted.contains("--celsius"));
        let told = judge(request(1.0e6, "winding_before_1970")).unwrap_err();
        assert!(told.accepted.contains("--rated"));
        let told = judge(request(1.0e6, "absorption_ratio")).unwrap_err();
        assert!(told.found.contains("ohm") && told.accepted.contains("plain number"));
    }
}
