//! The power goes at every step of a story, and once more at steps of the recovery.
//!
//! After each cut: every committed record is there, the one that was being written is whole or
//! absent, none is there twice, what is kept and the constants are the old or the new ones, and
//! the store goes on. Only the page that the log was told to overwrite may be gone.

use embedded_storage::nor_flash::NorFlash;
use ohmwarden_core::store::{Store, WhenFull};
use ohmwarden_sim::flash::Cut;

use crate::store::{Flash, Held, PAGES, ROOM, held, kept, open, places, record};

/// One step of the story.
#[derive(Clone, Copy, Debug)]
enum Step {
    Append(WhenFull),
    Keep(u32),
    Calibrate(u8),
}

/// Records until the log is full, one that is refused, then once round and a little more; in
/// between something is kept, so often that its ring goes round too, and constants are written.
fn story() -> Vec<Step> {
    let mut story = Vec::new();
    for n in 0..2 * ROOM + 3 {
        let full = if n <= ROOM { WhenFull::Refuse } else { WhenFull::OverwriteOldest };
        story.push(Step::Append(full));
        story.extend([Step::Keep(3 * n), Step::Keep(3 * n + 1), Step::Keep(3 * n + 2)]);
        if n % 2 == 0 {
            story.push(Step::Calibrate(n as u8));
        }
    }
    story
}

/// Takes one step; whether it was taken to its end.
fn take<F: NorFlash>(store: &mut Store<F>, step: Step) -> bool {
    match step {
        Step::Append(full) => store.append(&record(store.next_serial()), full).is_ok(),
        Step::Keep(number) => store.keep(&kept(number)).is_ok(),
        Step::Calibrate(number) => store.calibrate(1, &[number; 250]).is_ok(),
    }
}

/// Holds what was found against what was there before the step and after it.
fn check(found: &Held, before: &Held, after: &Held, place: &dyn Fn() -> String) {
    assert!(found.damaged.is_empty(), "{}: {:?}", place(), found.damaged);
    let in_order = found.records.windows(2).all(|two| two[0].serial() < two[1].serial());
    assert!(in_order, "{}: twice, or out of order", place());
    for one in &found.records {
        let known = before.records.contains(one) || after.records.contains(one);
        assert!(known, "{}: {} was never written", place(), one.serial());
    }
    for one in before.records.iter().filter(|one| after.records.contains(one)) {
        assert!(found.records.contains(one), "{}: {} is lost", place(), one.serial());
    }
    assert!(found.kept == before.kept || found.kept == after.kept, "{}: kept", place());
    let constants = &found.calibration;
    assert!(
        *constants == before.calibration || *constants == after.calibration,
        "{}: constants",
        place()
    );
}

/// Opens the store and looks; then it must take a record, something to keep and constants.
fn reboot(flash: &Flash, before: &Held, after: &Held, place: &dyn Fn() -> String) -> Held {
    let mut store =
        Store::open(flash.powered(), places()).unwrap_or_else(|e| panic!("{}: {e}", place()));
    let found = held(&mut store);
    check(&found, before, after, place);
    let next = store.next_serial();
    let last = found.records.last().map_or(0, |last| last.serial() + 1);
    assert_eq!(next, last, "{}", place());
    for step in [Step::Append(WhenFull::OverwriteOldest), Step::Keep(9_999), Step::Calibrate(99)] {
        assert!(take(&mut store, step), "{}: {step:?} is refused afterwards", place());
    }
    let on = held(&mut open(store.into_flash().powered()));
    assert_eq!(on.records.last(), Some(&record(next)), "{}", place());
    assert_eq!((on.kept, on.calibration), (Some(kept(9_999)), Some(vec![99; 250])), "{}", place());
    found
}

/// Cuts the recovery and the record after it; every `stride`th step of it.
fn cut_again(flash: &Flash, cut: Cut, stride: usize, place: &dyn Fn() -> String) -> usize {
    let (whole, found, after) = {
        let mut store = open(flash.powered());
        let found = held(&mut store);
        assert!(take(&mut store, Step::Append(WhenFull::OverwriteOldest)));
        let after = held(&mut store);
        (store.into_flash().used(), found, after)
    };
    let mut cuts = 0;
    for steps in (0..whole).step_by(stride) {
        let mut left = flash.powered_for(steps, cut);
        if let Ok(mut store) = Store::open(&mut left, places()) {
            let next = record(store.next_serial());
            assert!(store.append(&next, WhenFull::OverwriteOldest).is_err());
        }
        let place = || format!("{}, then {steps} steps into the recovery", place());
        reboot(&left, &found, &after, &place);
        cuts += 1;
    }
    cuts
}

#[test]
fn no_power_cut_loses_or_doubles_anything() {
    let mut flash = Flash::blank(PAGES);
    let (mut cuts, mut again, mut refused) = (0, 0, 0);
    for (number, step) in story().into_iter().enumerate() {
        let mut store = open(flash.powered());
        let before = held(&mut store);
        refused += usize::from(!take(&mut store, step));
        let after = held(&mut store);
        let done = store.into_flash();
        for steps in 0..done.used() {
            for cut in Cut::ALL {
                let mut left = flash.powered_for(steps, cut);
                let mut store = Store::open(&mut left, places()).expect("nothing is to be mended");
                assert!(!take(&mut store, step), "the power was to go");
                let place = || format!("step {number}, {step:?}, after {steps} steps, {cut:?}");
                reboot(&left, &before, &after, &place);
                cuts += 1;
                if cuts % 61 == 0 {
                    again += cut_again(&left, cut, 7, &place);
                }
            }
        }
        flash = done.powered();
    }
    println!("{cuts} power cuts, {again} more in a recovery; {refused} record was refused as full");
    assert_eq!(refused, 1, "the log was full once");
    assert!(cuts >= 10_000 && again >= 1_000, "{cuts} and {again} are too few");
}
