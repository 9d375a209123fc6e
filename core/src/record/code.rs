//! What stands in a record for each thing: numbers are for ever, only ever add.

use crate::block::{Reader, Writer, numbered};
use crate::frame::{Function, TimedTest};
use crate::judge::{Flags, Limit, Reading, Rule, Unit, Value, Verdict, Why};
use crate::measure::Point;
use crate::profile::Shunt;
use crate::unit::{Current, Voltage};

numbered! {
    pub(crate) unit_number, unit_of, Unit {
        0 = Unit::Ohm,
        1 = Unit::Volt,
        2 = Unit::Ampere,
        3 = Unit::Farad,
        4 = Unit::Hertz,
        5 = Unit::Ratio,
        6 = Unit::Metre,
        7 = Unit::MilliampPerVoltFarad,
    }
}

numbered! {
    timed_number, timed_of, TimedTest {
        1 = TimedTest::AbsorptionRatio,
        2 = TimedTest::Discharge,
        3 = TimedTest::Plain,
        4 = TimedTest::PolarizationIndex,
        5 = TimedTest::Steps,
    }
}

numbered! {
    shunt_number, shunt_of, Shunt {
        0 = Shunt::Nanoamps250,
        1 = Shunt::Microamps2,
        2 = Shunt::Microamps25,
        3 = Shunt::Microamps250,
        4 = Shunt::Milliamps2,
        5 = Shunt::Milliamps250,
    }
}

numbered! {
    rule_number, rule_of, Rule {
        0 = Rule::Guarded,
        1 = Rule::Simple,
    }
}

/// The number of a verdict; 0 is that of none.
pub(super) const fn verdict_number(verdict: Option<Verdict>) -> u8 {
    match verdict {
        None => 0,
        Some(Verdict::Pass) => 1,
        Some(Verdict::Fail) => 2,
        Some(Verdict::Undecided(Why::NoReading)) => 3,
        Some(Verdict::Undecided(Why::Flagged)) => 4,
        Some(Verdict::Undecided(Why::GuardBand)) => 5,
        Some(Verdict::Undecided(Why::BoundTooWeak)) => 6,
        Some(Verdict::Undecided(Why::NotANumber)) => 7,
    }
}

/// A kind, then the number or bound; 5 bytes.
pub(super) fn put_value(w: &mut Writer<'_>, value: Value) {
    w.u8(match value {
        Value::None => 0,
        Value::Number(_) => 1,
        Value::Below(_) => 2,
        Value::Above(_) => 3,
    });
    w.f32(value.amount().unwrap_or(0.0));
}

pub(super) fn take_value(r: &mut Reader<'_>) -> Value {
    let kind = r.u8();
    let amount = r.f32();
    match kind {
        0 => Value::None,
        1 => Value::Number(amount),
        2 => Value::Below(amount),
        3 => Value::Above(amount),
        _ => {
            r.wrong_field(5);
            Value::None
        }
    }
}

/// Unit, value, doubt, skew, flags; 18 bytes.
pub(super) fn put_reading(w: &mut Writer<'_>, reading: &Reading) {
    w.u8(unit_number(reading.unit));
    put_value(w, reading.value);
    w.f32(reading.doubt);
    w.f32(reading.skew);
    w.u32(reading.flags.bits());
}

pub(super) fn take_reading(r: &mut Reader<'_>) -> Reading {
    let unit = r.one_of(unit_of, Unit::Ohm);
    let (value, doubt, skew) = (take_value(r), r.f32(), r.f32());
    let flags = Flags::from_bits(r.u32()).unwrap_or_else(|| {
        r.wrong_field(4);
        Flags::NONE
    });
    Reading { value, unit, doubt, skew, flags }
}

/// A kind, the limit, the rule; 6 bytes.
pub(super) fn put_limit(w: &mut Writer<'_>, limit: Option<(Limit, Rule)>) {
    let (kind, amount) = match limit {
        None => (0, 0.0),
        Some((Limit::AtLeast(amount), _)) => (1, amount),
        Some((Limit::AtMost(amount), _)) => (2, amount),
    };
    w.u8(kind);
    w.f32(amount);
    w.u8(limit.map_or(0, |(_, rule)| rule_number(rule)));
}

pub(super) fn take_limit(r: &mut Reader<'_>) -> Option<(Limit, Rule)> {
    let kind = r.u8();
    let amount = r.f32();
    let limit = match kind {
        0 => None,
        1 => Some(Limit::AtLeast(amount)),
        2 => Some(Limit::AtMost(amount)),
        _ => {
            r.wrong_field(5);
            None
        }
    };
    let rule = r.one_of(rule_of, Rule::Guarded);
    limit.map(|limit| (limit, rule))
}

/// A kind, which timed test, and microvolts or picoamperes; 10 bytes.
pub(super) fn put_function(w: &mut Writer<'_>, function: Function) {
    let volts = i64::from(function.test_voltage().as_microvolts());
    let (kind, timed, amount) = match function {
        Function::Between => (0, 0, 0),
        Function::Continuity(current) => (1, 0, current.as_picoamps()),
        Function::Insulation(_) => (2, 0, volts),
        Function::Off => (3, 0, 0),
        Function::Resistance => (4, 0, 0),
        Function::Timed(_, test) => (5, timed_number(test), volts),
        Function::Volts => (6, 0, 0),
    };
    w.u8(kind);
    w.u8(timed);
    w.i64(amount);
}

pub(super) fn take_function(r: &mut Reader<'_>) -> Function {
    let (kind, timed, amount) = (r.u8(), r.u8(), r.i64());
    let volts = i32::try_from(amount).map(Voltage::from_microvolts);
    let function = match (kind, volts, timed_of(timed)) {
        (0, ..) => Some(Function::Between),
        (1, ..) => Some(Function::Continuity(Current::from_picoamps(amount))),
        (2, Ok(volts), _) => Some(Function::Insulation(volts)),
        (3, ..) => Some(Function::Off),
        (4, ..) => Some(Function::Resistance),
        (5, Ok(volts), Some(test)) => Some(Function::Timed(volts, test)),
        (6, ..) => Some(Function::Volts),
        _ => None,
    };
    function.unwrap_or_else(|| {
        r.wrong_field(10);
        Function::Off
    })
}

/// Seconds, voltage, range, value; 12 bytes.
pub(super) fn put_point(w: &mut Writer<'_>, point: &Point) {
    w.u16(point.seconds);
    w.i32(point.v.as_microvolts());
    w.u8(shunt_number(point.shunt));
    put_value(w, point.value);
}

pub(super) fn take_point(r: &mut Reader<'_>) -> Point {
    let seconds = r.u16();
    let v = Voltage::from_microvolts(r.i32());
    let shunt = r.one_of(shunt_of, Shunt::default());
    Point { value: take_value(r), v, seconds, shunt }
}
