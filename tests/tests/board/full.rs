//! A log that is full refuses, says so and loses nothing, until somebody allows it to overwrite.

use ohmwarden_core::frame::Function;
use ohmwarden_core::judge::Verdict;
use ohmwarden_sim::scenario::StoreSpec;

use super::*;

/// The scenario up to the moment at which overwriting is allowed.
fn refusing(pages: u32) -> Scenario {
    let mut scenario = scenario(FULL);
    scenario.seconds = scenario.moment_of("allowed").expect("its label");
    scenario.events.retain(|event| event.s < scenario.seconds);
    scenario.expects.clear();
    scenario.start.store = Some(StoreSpec { pages, overwrite: false });
    scenario
}

#[test]
fn what_a_full_store_refuses_is_told_and_what_it_holds_stays() {
    let (small, told) = run(&refusing(3));
    let nine = (0..9).map(StoreEvent::Kept);
    assert_eq!(told.events(), nine.clone().chain([StoreEvent::Full]).collect::<Vec<_>>());
    let (large, told) = run(&refusing(4));
    assert_eq!(told.events(), nine.chain([StoreEvent::Kept(9)]).collect::<Vec<_>>());
    let ((small, _), (large, _)) = (held(&small, 3), held(&large, 4));
    assert_eq!(serials(&large), (0..10).collect::<Vec<_>>());
    assert_eq!(small, large[..9], "a store with room holds the same nine and the tenth");
}

#[test]
fn a_store_changes_nothing_of_what_core_decides() {
    let with = run(&refusing(3)).0;
    let mut without = refusing(3);
    without.start.store = None;
    let without = run(&without).0;
    assert_eq!(without.flash, None);
    assert_eq!(with.last.view, without.last.view);
    assert_eq!(with.rules, without.rules);
}

#[test]
fn a_board_that_may_overwrite_from_the_start_never_says_full() {
    let mut scenario = refusing(3);
    scenario.start.store = Some(StoreSpec { pages: 3, overwrite: true });
    let (report, told) = run(&scenario);
    assert_eq!(told.events(), (0..10).map(StoreEvent::Kept).collect::<Vec<_>>());
    assert_eq!(serials(&held(&report, 3).0), [3, 4, 5, 6, 7, 8, 9]);
}

#[test]
fn only_the_oldest_page_makes_room() {
    let (report, told) = run(&scenario(FULL));
    let (records, _) = held(&report, 3);
    assert_eq!(serials(&records), [3, 4, 5, 6, 7, 8, 9]);
    assert_eq!(told.events().last(), Some(&StoreEvent::Kept(9)));
    for record in &records {
        assert_eq!(record.verdict(), Some(Verdict::Pass));
        assert!(matches!(record.about().function, Function::Continuity(_)));
        let amount = record.finding().reading().value.amount().expect("a number");
        // Half an ohm, and the pair of leads of 0.1 ohm that belongs to the instrument.
        assert!((0.58..0.62).contains(&amount), "{amount}");
    }
}
