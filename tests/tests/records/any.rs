//! Draws any record that can be made.

use ohmwarden_core::date::Date;
use ohmwarden_core::frame::{Function, TimedTest};
use ohmwarden_core::interlock::Lock;
use ohmwarden_core::judge::{Flags, Limit, Reading, Rule, Unit, Value};
use ohmwarden_core::kept::{Kept, OpenLeads};
use ohmwarden_core::measure::{Curve, MOST_POINTS, Point};
use ohmwarden_core::profile::SHUNTS;
use ohmwarden_core::record::{About, Correction, Finding, LeadNull, Origin, Record};
use ohmwarden_core::unit::{Capacitance, Current, Resistance, Temperature, Voltage};
use proptest::prelude::*;

const UNITS: [Unit; 8] = [
    Unit::Ohm,
    Unit::Volt,
    Unit::Ampere,
    Unit::Farad,
    Unit::Hertz,
    Unit::Ratio,
    Unit::Metre,
    Unit::MilliampPerVoltFarad,
];

/// Any finite number, subnormal ones and both zeros included.
fn number() -> impl Strategy<Value = f32> {
    use prop::num::f32::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![NORMAL | SUBNORMAL | ZERO | POSITIVE | NEGATIVE, 0.01_f32..1.0e9]
}

fn value() -> impl Strategy<Value = Value> {
    prop_oneof![
        1 => Just(Value::None),
        4 => number().prop_map(Value::Number),
        1 => number().prop_map(Value::Below),
        1 => number().prop_map(Value::Above),
    ]
}

fn flags() -> impl Strategy<Value = Flags> {
    prop::collection::vec(prop::sample::select(Flags::WORDS), 0..4)
        .prop_map(|some| some.iter().fold(Flags::NONE, |flags, (flag, _)| flags.with(*flag)))
}

fn reading() -> impl Strategy<Value = Reading> {
    let skew = prop_oneof![Just(0.0), 0.0..1.5_f32];
    (value(), prop::sample::select(&UNITS[..]), number(), skew, flags()).prop_map(
        |(value, unit, doubt, skew, flags)| Reading {
            value,
            unit,
            doubt: doubt.abs(),
            skew,
            flags,
        },
    )
}

fn function() -> impl Strategy<Value = Function> {
    let volts = || any::<i32>().prop_map(Voltage::from_microvolts);
    prop_oneof![
        any::<i64>().prop_map(|i| Function::Continuity(Current::from_picoamps(i))),
        volts().prop_map(Function::Insulation),
        Just(Function::Resistance),
        (volts(), prop::sample::select(&TimedTest::ALL[..]))
            .prop_map(|(volts, test)| Function::Timed(volts, test)),
        Just(Function::Volts),
    ]
}

fn finding() -> impl Strategy<Value = Finding> {
    let limit = prop_oneof![number().prop_map(Limit::AtLeast), number().prop_map(Limit::AtMost)];
    let rule = prop_oneof![Just(Rule::Guarded), Just(Rule::Simple)];
    let origin = any::<(u16, u16)>().prop_map(|(limit, source)| Origin { limit, source });
    prop_oneof![
        3 => (reading(), limit, rule, origin).prop_map(|(reading, limit, rule, origin)| {
            Finding::Judged(reading.judge_by(limit, rule), origin)
        }),
        1 => reading().prop_map(Finding::Unjudged),
    ]
}

fn curve() -> impl Strategy<Value = Curve> {
    let point = (value(), any::<i32>(), 1_u16..100, prop::sample::select(&SHUNTS[..]));
    prop::collection::vec(point, 0..=MOST_POINTS).prop_map(|points| {
        let mut seconds = 0;
        let in_order = points.into_iter().map(|(value, v, after, shunt)| {
            seconds += after;
            Point { value, v: Voltage::from_microvolts(v), seconds, shunt }
        });
        in_order.collect()
    })
}

fn about() -> impl Strategy<Value = About> {
    let null = (any::<u64>(), any::<Option<u16>>()).prop_map(|(milliohms, age_days)| LeadNull {
        resistance: Resistance::from_milliohms(milliohms),
        age_days,
    });
    let farads = any::<u32>().prop_map(Capacitance::from_picofarads);
    let options = (prop::option::of(null), prop::option::of(farads), any::<Option<u16>>());
    (options, function(), reading(), 1..=u8::MAX, curve()).prop_map(
        |((null, capacitance, day), function, second, profile, curve)| About {
            day: day.map(Date::from_days),
            function,
            second,
            profile,
            null,
            capacitance,
            curve,
            correction: None,
        },
    )
}

/// Draws any record.
pub(crate) fn record() -> impl Strategy<Value = Record> {
    let correction = (value(), any::<i32>(), any::<u8>()).prop_map(|(raw, milli, rule)| {
        Correction { raw, temperature: Temperature::from_millicelsius(milli), rule }
    });
    (any::<u32>(), finding(), about(), correction).prop_map(
        |(serial, finding, about, correction)| {
            let corrected = finding.reading().flags.any(Flags::TEMPERATURE);
            let about = About { correction: corrected.then_some(correction), ..about };
            Record::of(serial, finding, about).expect("only what a record can hold was drawn")
        },
    )
}

/// Draws anything that can be kept.
pub(crate) fn kept() -> impl Strategy<Value = Kept> {
    let leads = any::<(i32, i64, u32)>().prop_map(|(set, leakage, capacitance)| OpenLeads {
        set: Voltage::from_microvolts(set),
        leakage: Current::from_picoamps(leakage),
        capacitance: Capacitance::from_picofarads(capacitance),
    });
    let lock = prop::option::of(prop::sample::select(&Lock::ALL[..]));
    (any::<(Option<u64>, Option<u16>, bool)>(), prop::option::of(leads), lock).prop_map(
        |((null, day, unfinished), open_leads, lock)| Kept {
            null: null.map(Resistance::from_milliohms),
            null_day: day.map(Date::from_days),
            open_leads,
            lock,
            unfinished,
        },
    )
}
