//! The record of a committed reading holds all that core knows of it.

use ohmwarden_core::correct::{Rule, Surroundings};
use ohmwarden_core::date::Date;
use ohmwarden_core::frame::Function as Selected;
use ohmwarden_core::judge::{Flags, Limit, Unit, Value};
use ohmwarden_core::limits::by_word;
use ohmwarden_core::profile::{GENERAL, TELECOM};
use ohmwarden_core::record::{Finding, Origin, Record};
use ohmwarden_core::unit::{Temperature, Voltage};
use ohmwarden_sim::scenario::{
    Action, Bound, Button, Function, LimitOf, LimitSpec, ProfileName, Scenario,
};
use ohmwarden_tests::scene::{at, held, insulation, load, scene};

use crate::{around, end};

/// 15 Mohm and 100 nF at 35 C against a limit of the table.
fn insulated() -> Scenario {
    let mut scenario = scene(7.0, insulation(500.0));
    scenario.parts = load(15.0e6, 100.0e-9);
    scenario.events = held(0.6, 4.0);
    scenario.start.surroundings = around(Some(35), Rule::Oil);
    let (bound, of) = (Bound::AtLeast(25.0e6), LimitOf::Ohms);
    scenario.limit = Some(LimitSpec { bound, of, guarded: true, named: by_word("apparatus_250v") });
    scenario
}

fn kept(scenario: &Scenario) -> Record {
    let record = end(scenario, 7).1.expect("a reading was committed");
    assert_eq!(Record::from_bytes(&record.to_bytes()), Ok(record.clone()));
    assert_eq!(record.serial(), 7);
    record
}

#[test]
fn an_insulation_reading_is_kept_with_all_that_is_known_of_it() {
    let (view, record) = (end(&insulated(), 7).0, kept(&insulated()));
    let Finding::Judged(judged, origin) = *record.finding() else { panic!("{record:?}") };
    assert_eq!(Some(judged), view.judged);
    assert_eq!(judged.limit(), Limit::AtLeast(25.0e6));
    // The id of the limit, and the number of its source, ANSI/NETA MTS, Table 100.1.
    assert_eq!(origin, Origin { limit: 10, source: 3 });
    assert!(judged.reading().flags.any(Flags::TEMPERATURE));
    let about = record.about();
    assert_eq!(about.function, Selected::Insulation(Voltage::from_volts(500)));
    assert_eq!((about.day, about.profile), (Date::from_ymd(2026, 1, 1), GENERAL.id));
    assert_eq!((about.null, about.curve.len()), (None, 0));
    let correction = about.correction.expect("it was corrected");
    assert_eq!(correction.raw, view.main.value);
    assert_eq!(correction.temperature, Temperature::from_celsius(35));
    assert_eq!(correction.by_rule(), Some(Rule::Oil));
    let amps = about.second.value.amount().map(f64::from).expect("its current");
    assert!(about.second.unit == Unit::Ampere && (amps * 15.0e6 / 500.0 - 1.0).abs() < 0.05);
    let farads = about.capacitance.expect("it was let down").as_picofarads();
    assert!((97_000..103_000).contains(&farads), "{farads}");
}

#[test]
fn a_reading_without_limit_and_correction_is_kept_as_it_was_read() {
    let mut plain = insulated();
    (plain.limit, plain.start.surroundings) = (None, Surroundings::UNKNOWN);
    let (view, record) = (end(&plain, 7).0, kept(&plain));
    let Finding::Unjudged(reading) = *record.finding() else { panic!("{record:?}") };
    assert_eq!(reading.value, view.main.value);
    assert!(!reading.flags.any(Flags::TEMPERATURE.with(Flags::FROZEN)));
    assert_eq!(record.about().correction, None);
}

/// Nulls the leads on a link, then measures 5 ohm.
fn continuity(then: Function) -> Scenario {
    let mut scenario = scene(12.0, Function::Continuity { amps: 0.2 });
    scenario.profile = ProfileName::Telecom;
    scenario.parts = load(5.0, 0.0);
    scenario.events = vec![
        at(0.1, Action::Lead(ohmwarden_sim::scenario::Lead::Short(true))),
        at(0.6, Action::Press(Button::Null)),
        at(3.0, Action::Release(Button::Null)),
        at(3.5, Action::Lead(ohmwarden_sim::scenario::Lead::Short(false))),
        at(4.0, Action::Select(then)),
    ];
    scenario.events.extend(held(5.0, 8.0));
    scenario
}

#[test]
fn the_null_that_was_taken_off_is_kept_with_its_age() {
    let record = kept(&continuity(Function::Continuity { amps: 0.2 }));
    let null = record.about().null.expect("a null was in use");
    assert_eq!(null.age_days, Some(0));
    assert!((50..200).contains(&null.resistance.as_milliohms()), "{null:?}");
    assert_eq!(record.about().profile, TELECOM.id);
    let Value::Number(ohms) = record.finding().reading().value else { panic!("{record:?}") };
    assert!((ohms - 5.0).abs() < 0.1, "{ohms}");
}

#[test]
fn a_null_that_was_not_taken_off_is_not_kept() {
    let record = kept(&continuity(Function::Resistance));
    assert_eq!((record.about().function, record.about().null), (Selected::Resistance, None));
}

#[test]
fn before_a_reading_and_after_a_reset_there_is_no_record() {
    let mut before = insulated();
    before.seconds = 3.0;
    assert_eq!(end(&before, 7).1, None);
    let mut after = insulated();
    after.events.push(at(6.5, Action::Reset));
    assert_eq!(end(&after, 7).1, None);
}
