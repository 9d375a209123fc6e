//! An open end or a short has a place along the pair, or a reason why not.

use ohmwarden_core::correct::{Located, NoDistance, PairKind, Surroundings};
use ohmwarden_core::judge::Value;
use ohmwarden_sim::scenario::{Function, ProfileName, Scenario};
use ohmwarden_tests::scene::{held, insulation, load, scene};

use crate::end;

/// A line of so many ohms and farads, on a pair of 0.5 mm.
fn line(function: Function, ohms: f64, farads: f64) -> Scenario {
    let mut scenario = scene(7.0, function);
    scenario.profile = ProfileName::Telecom;
    scenario.parts = load(ohms, farads);
    scenario.events = held(0.6, 3.5);
    let pair = PairKind::by_word("0.5mm");
    scenario.start.surroundings = Surroundings { pair, ..Surroundings::UNKNOWN };
    scenario
}

fn place(scenario: &Scenario) -> Result<Located, NoDistance> {
    end(scenario, 1).0.distance.expect("a pair was told")
}

fn metres(located: Result<Located, NoDistance>) -> f64 {
    match located.map(|it| it.distance.value) {
        Ok(Value::Number(metres)) => f64::from(metres),
        other => panic!("{other:?}"),
    }
}

/// 50 nF a kilometre: BT SIN351 as quoted in a public text.
#[test]
fn an_open_is_as_far_away_as_its_capacitance_says() {
    for (nanofarads, expected) in [(50.0, 1_000.0), (100.0, 2_000.0), (200.0, 4_000.0)] {
        let located = place(&line(insulation(100.0), 500.0e6, nanofarads * 1e-9));
        let metres = metres(located);
        assert!((metres / expected - 1.0).abs() < 0.025, "{nanofarads} nF: {metres}");
        let warnings = located.map_or(&[][..], |it| it.warnings).join(" ");
        assert!(warnings.contains("wet pair reads long") && warnings.contains("both ends"));
    }
}

#[test]
fn a_pair_that_leaks_has_no_distance_and_one_that_holds_has() {
    // 150 kohm and 100 nF are 15 ms; 300 kohm are 30 ms.
    let leaks = place(&line(insulation(100.0), 150.0e3, 100.0e-9));
    assert_eq!(leaks, Err(NoDistance::Leaks));
    let holds = metres(place(&line(insulation(100.0), 300.0e3, 100.0e-9)));
    assert!((holds / 2_000.0 - 1.0).abs() < 0.1, "{holds}");
}

/// 168 ohm a kilometre at 20 C; the ground is taken to be at 15 C, which is 2 % less.
#[test]
fn a_short_is_as_far_away_as_its_loop_says() {
    let metres = metres(place(&line(Function::Resistance, 336.0, 0.0)));
    assert!((metres / 2_000.0 / 1.02 - 1.0).abs() < 0.005, "{metres}");
}

#[test]
fn a_loop_that_is_open_has_no_place() {
    let open = place(&line(Function::Resistance, 1.0e9, 0.0));
    assert_eq!(open, Err(NoDistance::Bound));
}

#[test]
fn without_a_pair_nothing_is_placed() {
    let mut plain = line(insulation(100.0), 500.0e6, 100.0e-9);
    plain.start.surroundings = Surroundings::UNKNOWN;
    assert_eq!(end(&plain, 1).0.distance, None);
}
