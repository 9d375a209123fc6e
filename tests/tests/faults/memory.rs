//! A memory that forgets: the lead null is absent after a reset, never wrong.

use ohmwarden_sim::scenario::{Action, Button, Function, Part, Scenario, StoreSpec};
use ohmwarden_tests::scene::{LEADS, at, broken, fault, part, run, scene, sort};

/// Shorted leads are nulled, and then the instrument is reset.
fn nulled_and_reset() -> Scenario {
    let mut scenario = scene(6.0, Function::Continuity { amps: 0.2 });
    scenario.parts = vec![part("bar", LEADS, Part::Resistor { ohms: 0.01 })];
    scenario.events = vec![
        at(0.6, Action::Press(Button::Null)),
        at(4.0, Action::Release(Button::Null)),
        at(5.0, Action::Reset),
    ];
    scenario
}

#[test]
fn a_lead_null_outlives_a_reset_or_is_absent_but_never_wrong() {
    let sound = run(&nulled_and_reset(), None).expect("a consistent circuit");
    let null = sound.last.null_ohms.expect("a null that outlives the reset");
    assert!((0.1..0.2).contains(&null), "{null} ohm for leads of 0.1 ohm and a bar of 0.01");
    let mut scenario = nulled_and_reset();
    scenario.events.push(at(4.5, Action::Fault(fault("memory_lost"))));
    sort(&mut scenario);
    let mut stored = scenario.clone();
    stored.start.store = Some(StoreSpec { pages: 3, overwrite: false });
    let forgot = run(&stored, None).expect("a consistent circuit");
    assert_eq!(forgot.last.null_ohms, None, "nor is it found in a store that is lost");
    let lost = run(&scenario, None).expect("a consistent circuit");
    assert_eq!(lost.last.null_ohms, None);
    assert!(broken(&lost).is_empty(), "{:?}", broken(&lost));
}
