//! The order of a record's fields; what is absent is written as zeros.
//!
//! | byte of the body | what | bytes |
//! | --- | --- | --- |
//! | 0 | which of the things that may be absent are there: [`DAY`] and following | 1 |
//! | 1 | day, in days since 1 January 2000 | 2 |
//! | 3 | function, timed test, test voltage in uV or current in pA | 10 |
//! | 13 | main reading: unit, kind of value, value, doubt, skew, flags | 18 |
//! | 31 | second reading | 18 |
//! | 49 | limit and rule | 6 |
//! | 55 | verdict | 1 |
//! | 56 | number of the limit, of its source | 4 |
//! | 60 | profile | 1 |
//! | 61 | lead null in mohm, its age in days | 10 |
//! | 71 | raw value, temperature in mK on the Celsius scale, number of the rule | 10 |
//! | 81 | capacitance in pF | 4 |
//! | 85 | how many points | 1 |
//! | 86 | the points: seconds, uV, range, kind of value, value | 13 of 12 |

use super::{About, Correction, Finding, LeadNull, Origin, Record, code};
use crate::block::{Block, Damage, Reader, Writer};
use crate::date::Date;
use crate::judge::{Judged, Value};
use crate::measure::{Curve, MOST_POINTS, Point};
use crate::unit::{Capacitance, Resistance, Temperature};

/// The day is known.
const DAY: u8 = 1;
/// A lead null was in use.
const NULL: u8 = 2;
/// Its age is known.
const NULL_AGE: u8 = 4;
/// Corrected to another temperature.
const CORRECTION: u8 = 8;
/// The capacitance is known.
const CAPACITANCE: u8 = 16;
/// Every bit that says something.
const PRESENT: u8 = DAY | NULL | NULL_AGE | CORRECTION | CAPACITANCE;

const fn bit(there: bool, bit: u8) -> u8 {
    if there { bit } else { 0 }
}

impl Record {
    /// Writes the body.
    pub(super) fn write(&self, w: &mut Writer<'_>) {
        let about = &self.about;
        let age = about.null.and_then(|null| null.age_days);
        w.u8(bit(about.day.is_some(), DAY)
            | bit(about.null.is_some(), NULL)
            | bit(age.is_some(), NULL_AGE)
            | bit(about.correction.is_some(), CORRECTION)
            | bit(about.capacitance.is_some(), CAPACITANCE));
        w.u16(about.day.map_or(0, Date::as_days));
        code::put_function(w, about.function);
        code::put_reading(w, &self.finding.reading());
        code::put_reading(w, &about.second);
        self.write_judgement(w);
        w.u8(about.profile);
        w.u64(about.null.map_or(0, |null| null.resistance.as_milliohms()));
        w.u16(age.unwrap_or(0));
        let correction = about.correction;
        code::put_value(w, correction.map_or(Value::None, |correction| correction.raw));
        w.i32(correction.map_or(0, |correction| correction.temperature.as_millicelsius()));
        w.u8(correction.map_or(0, |correction| correction.rule));
        w.u32(about.capacitance.map_or(0, Capacitance::as_picofarads));
        // A curve holds 13 points at most.
        w.u8(u8::try_from(about.curve.len()).unwrap_or(u8::MAX));
        for point in &about.curve {
            code::put_point(w, point);
        }
    }

    fn write_judgement(&self, w: &mut Writer<'_>) {
        let origin = match self.finding {
            Finding::Judged(_, origin) => origin,
            Finding::Unjudged(_) => Origin::default(),
        };
        let judged = self.finding.judged();
        code::put_limit(w, judged.map(|judged| (judged.limit(), judged.rule())));
        w.u8(code::verdict_number(judged.map(Judged::verdict)));
        w.u16(origin.limit);
        w.u16(origin.source);
    }

    /// Reads the body and judges again.
    pub(super) fn read(block: &Block<'_>) -> Result<Self, Damage> {
        let r = &mut Reader::of_body(block.body);
        let present = r.u8();
        if present & !PRESENT != 0 {
            r.wrong_field(1);
        }
        let has = |bit: u8| present & bit != 0;
        let day = Date::from_days(r.u16());
        let function = code::take_function(r);
        let main = code::take_reading(r);
        let second = code::take_reading(r);
        let limit = code::take_limit(r);
        let verdict = r.u8();
        let origin = Origin { limit: r.u16(), source: r.u16() };
        let profile = r.u8();
        let resistance = Resistance::from_milliohms(r.u64());
        let age = r.u16();
        let raw = code::take_value(r);
        let temperature = Temperature::from_millicelsius(r.i32());
        let correction = Correction { raw, temperature, rule: r.u8() };
        let capacitance = Capacitance::from_picofarads(r.u32());
        let curve = read_curve(r);
        r.end()?;
        let finding = match limit {
            Some((limit, rule)) => Finding::Judged(main.judge_by(limit, rule), origin),
            None => Finding::Unjudged(main),
        };
        if verdict != code::verdict_number(finding.judged().map(Judged::verdict)) {
            return Err(Damage::Verdict);
        }
        let null = LeadNull { resistance, age_days: has(NULL_AGE).then_some(age) };
        let about = About {
            day: has(DAY).then_some(day),
            function,
            second,
            profile,
            null: has(NULL).then_some(null),
            correction: has(CORRECTION).then_some(correction),
            capacitance: has(CAPACITANCE).then_some(capacitance),
            curve,
        };
        Ok(Self { serial: block.serial, finding, about })
    }
}

/// Reads all the places for points; those beyond the count are empty, or the form is another one.
fn read_curve(r: &mut Reader<'_>) -> Curve {
    let count = r.u8();
    if usize::from(count) > MOST_POINTS {
        r.wrong_field(1);
    }
    let mut curve = Curve::new();
    for place in 0..MOST_POINTS {
        let point: Point = code::take_point(r);
        if place < usize::from(count) {
            // There are as many places as a curve holds.
            let _fits = curve.push(point);
        }
    }
    curve
}
