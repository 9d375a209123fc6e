//! What an instrument wakes with comes out of the flash, the constants too.

use ohmwarden_core::calibration::Standing;
use ohmwarden_core::frame::Function;
use ohmwarden_core::judge::{Flags, Unit};
use ohmwarden_core::unit::Voltage;
use ohmwarden_sim::scenario::{Action, Button, StoreSpec};
use ohmwarden_tests::scene::{at, held as pressed, insulation, load, mains, scene};

use super::*;

/// A cable tested, a reset, and the cable tested again.
fn tested(standing: Standing) -> Scenario {
    let mut scenario = scene(13.0, insulation(500.0));
    scenario.start.calibration = standing;
    scenario.start.store = Some(StoreSpec { pages: 3, overwrite: false });
    scenario.parts = load(50.0e6, 100.0e-9);
    let reset = vec![at(6.0, Action::Reset)];
    scenario.events = [pressed(0.6, 4.0), reset, pressed(7.0, 10.4)].concat();
    scenario
}

#[test]
fn constants_are_found_after_a_reset_as_they_stood_before_it() {
    for standing in [Standing::Valid, Standing::Due, Standing::Absent, Standing::Damaged] {
        let (records, _) = held(&run(&tested(standing)).0, 3);
        assert_eq!(serials(&records), [0, 1], "{standing:?}");
        let lacks = matches!(standing, Standing::Absent | Standing::Damaged);
        for record in records {
            let flags = record.finding().reading().flags;
            assert_eq!(flags.any(Flags::UNCALIBRATED), lacks, "{standing:?}");
            assert_eq!(flags.any(Flags::CALIBRATION_DUE), standing == Standing::Due);
        }
    }
}

#[test]
fn the_record_of_an_insulation_test_says_what_was_measured_and_how() {
    let (report, told) = run(&tested(Standing::Valid));
    let (records, kept) = held(&report, 3);
    let first = &records[0];
    assert_eq!(first.verdict(), None, "there is no limit");
    let reading = first.finding().reading();
    let amount = reading.value.amount().expect("a number");
    assert!((48.0e6..52.0e6).contains(&amount), "{amount}");
    assert!(!reading.flags.any(Flags::FROZEN), "a record is always of its own time");
    let about = first.about();
    assert_eq!(about.function, Function::Insulation(Voltage::from_volts(500)));
    assert_eq!(about.null, None, "no lead null is taken off an insulation");
    let picofarads = about.capacitance.expect("a store that was let down").as_picofarads();
    assert!((95_000..105_000).contains(&picofarads), "{picofarads} pF");
    assert_eq!(kept, Some(Kept::NOTHING), "begun, let down, and both written");
    assert_eq!(told.events(), [StoreEvent::Kept(0), StoreEvent::Kept(1)]);
}

#[test]
fn the_record_of_a_timed_test_has_its_points_and_its_ratio() {
    let mut scenario = scenario(include_str!("../../../fixtures/scenarios/dry-cable-dar.toml"));
    scenario.start.store = Some(StoreSpec { pages: 3, overwrite: false });
    let (report, _) = run(&scenario);
    let (records, _) = held(&report, 3);
    let [record] = &records[..] else { panic!("{records:?}") };
    assert!(!report.curve.is_empty());
    assert_eq!(record.about().curve, report.curve);
    assert_eq!(record.finding().reading().unit, Unit::Ratio);
    assert_eq!(record.about().second.unit, Unit::Ohm);
}

#[test]
fn what_comes_and_goes_at_rest_makes_no_second_record() {
    let mut scenario = tested(Standing::Valid);
    scenario.events.truncate(2);
    scenario.parts.extend(mains(230.0, 50.0, 1.0, false));
    let (open, close) = (Action::Open("joins".into()), Action::Close("joins".into()));
    // Leads that touch a cable are not taken for leads in the air: refused, and still at rest.
    let null = [Action::Press(Button::Null), Action::Release(Button::Null)];
    scenario.events.extend([at(6.0, null[0].clone()), at(6.5, null[1].clone())]);
    scenario.events.extend([at(7.0, close), at(8.5, open)]);
    let (report, told) = run(&scenario);
    assert!(["null_refused", "live_ac"].iter().all(|why| report.reached.reasons.contains(why)));
    assert_eq!(report.last.view.map(|view| view.state.word()), Some("rest"));
    assert_eq!(told.events(), [StoreEvent::Kept(0)]);
}

#[test]
fn a_reset_in_a_drive_finds_the_mark_of_it_in_the_flash() {
    let mut scenario = tested(Standing::Valid);
    scenario.events.truncate(1);
    scenario.events.push(at(3.0, Action::Reset));
    scenario.seconds = 3.0005;
    let (records, kept) = held(&run(&scenario).0, 3);
    assert_eq!((records.len(), kept.map(|kept| kept.unfinished)), (0, Some(true)));
}
