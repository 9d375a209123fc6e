//! One record as fields with names: what JSON and CSV hold.

use ohmwarden_core::judge::{Judged, Reading, Value};
use ohmwarden_core::measure::Point;
use ohmwarden_core::record::{Finding, Record};
use serde::Serialize;

use super::words;

/// One record.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Row {
    pub(super) offset: usize,
    pub(super) serial: u32,
    day: Option<String>,
    function: &'static str,
    set: Option<f64>,
    set_unit: Option<&'static str>,
    reading: Number,
    second: Number,
    flags: Vec<&'static str>,
    verdict: &'static str,
    why: Option<&'static str>,
    limit_kind: Option<&'static str>,
    limit: Option<f32>,
    rule: Option<&'static str>,
    limit_id: Option<u16>,
    source_id: Option<u16>,
    profile: String,
    null_ohms: Option<f64>,
    null_age_days: Option<u16>,
    raw: Option<f32>,
    temperature_celsius: Option<f64>,
    correction_rule: Option<u8>,
    capacitance_farads: Option<f64>,
    points: Vec<AtTime>,
}

/// A reading.
#[derive(Clone, Debug, Serialize)]
struct Number {
    bound: &'static str,
    value: Option<f32>,
    unit: &'static str,
    doubt: f32,
}

/// A point of a curve.
#[derive(Clone, Debug, Serialize)]
struct AtTime {
    seconds: u16,
    bound: &'static str,
    ohms: Option<f32>,
    volts: f64,
}

impl Row {
    /// The row of a record that begins at a byte of the file.
    pub(super) fn of(offset: usize, record: &Record) -> Self {
        let (main, about) = (record.finding().reading(), record.about());
        let set = words::set(about.function);
        let judged = record.finding().judged();
        let limit = judged.map(Judged::limit).map(words::limit);
        let origin = match record.finding() {
            Finding::Judged(_, origin) => Some(origin),
            Finding::Unjudged(_) => None,
        };
        let correction = about.correction;
        Self {
            offset,
            serial: record.serial(),
            day: about.day.map(|day| day.to_string()),
            function: words::function(about.function),
            set: set.map(|set| set.0),
            set_unit: set.map(|set| set.1),
            reading: Number::of(&main),
            second: Number::of(&about.second),
            flags: words::flags(main.flags),
            verdict: words::verdict(record.verdict()),
            why: words::why(record.verdict()),
            limit_kind: limit.map(|limit| limit.0),
            limit: limit.map(|limit| limit.1),
            rule: judged.map(Judged::rule).map(words::rule),
            limit_id: origin.map(|origin| origin.limit),
            source_id: origin.map(|origin| origin.source),
            profile: words::profile(about.profile),
            null_ohms: about.null.map(|null| null.resistance.as_milliohms() as f64 / 1e3),
            null_age_days: about.null.and_then(|null| null.age_days),
            raw: correction.and_then(|correction| correction.raw.amount()),
            temperature_celsius: correction
                .map(|correction| f64::from(correction.temperature.as_millicelsius()) / 1e3),
            correction_rule: correction.map(|correction| correction.rule),
            capacitance_farads: about.capacitance.map(|c| f64::from(c.as_picofarads()) / 1e12),
            points: about.curve.iter().map(AtTime::of).collect(),
        }
    }

    /// The heads of the columns of CSV.
    pub(super) const HEADS: [&'static str; 29] = [
        "offset",
        "serial",
        "day",
        "function",
        "set",
        "set_unit",
        "bound",
        "value",
        "unit",
        "doubt",
        "second_bound",
        "second",
        "second_unit",
        "second_doubt",
        "flags",
        "verdict",
        "why",
        "limit_kind",
        "limit",
        "rule",
        "limit_id",
        "source_id",
        "profile",
        "null (ohm)",
        "null_age (d)",
        "raw",
        "temperature (C)",
        "correction_rule",
        "capacitance (F)",
    ];

    /// The columns of CSV, as [`Row::HEADS`] names them; what is absent is empty.
    pub(super) fn columns(&self) -> [String; 29] {
        let Number { bound, value, unit, doubt } = &self.reading;
        let second = &self.second;
        [
            self.offset.to_string(),
            self.serial.to_string(),
            or_empty(self.day.as_ref()),
            self.function.to_owned(),
            or_empty(self.set),
            or_empty(self.set_unit),
            (*bound).to_owned(),
            or_empty(*value),
            (*unit).to_owned(),
            doubt.to_string(),
            second.bound.to_owned(),
            or_empty(second.value),
            second.unit.to_owned(),
            second.doubt.to_string(),
            self.flags.join(" "),
            self.verdict.to_owned(),
            or_empty(self.why),
            or_empty(self.limit_kind),
            or_empty(self.limit),
            or_empty(self.rule),
            or_empty(self.limit_id),
            or_empty(self.source_id),
            self.profile.clone(),
            or_empty(self.null_ohms),
            or_empty(self.null_age_days),
            or_empty(self.raw),
            or_empty(self.temperature_celsius),
            or_empty(self.correction_rule),
            or_empty(self.capacitance_farads),
        ]
    }
}

fn or_empty<T: ToString>(value: Option<T>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}

impl Number {
    fn of(reading: &Reading) -> Self {
        Self {
            bound: words::bound(reading.value),
            value: reading.value.amount(),
            unit: if reading.value == Value::None { "" } else { reading.unit.symbol() },
            doubt: reading.doubt,
        }
    }
}

impl AtTime {
    fn of(point: &Point) -> Self {
        Self {
            seconds: point.seconds,
            bound: words::bound(point.value),
            ohms: point.value.amount(),
            volts: f64::from(point.v.as_microvolts()) / 1e6,
        }
    }
}
