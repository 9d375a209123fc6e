//! The power goes at every operation of the write of a null and of a record, in the closed loop.

use ohmwarden_core::unit::Resistance;

use super::*;

/// The leads before the null that is cut, and those that it is of, in milliohms.
const OLD: u64 = 300;
const NEW: u64 = 100;

fn is_null(kept: Option<Kept>, milliohms: u64) -> bool {
    let null = kept.and_then(|kept| kept.null).map_or(0, Resistance::as_milliohms);
    milliohms.abs_diff(null) < 20
}

/// What a cut met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Met {
    Null,
    Record,
    Later,
}

/// What the one cut of a run met, by its moment.
fn met(scenario: &Scenario, told: &Told) -> Met {
    let cuts = told.0.iter().filter(|(_, event)| *event == StoreEvent::PowerLost);
    let [moment] = cuts.map(|(s, _)| *s).collect::<Vec<_>>()[..] else { panic!("{told:?}") };
    let before = |label: &str| moment < scenario.moment_of(label).expect("its label");
    match (before("opened"), before("once_more")) {
        (true, _) => Met::Null,
        (false, true) => Met::Record,
        (false, false) => Met::Later,
    }
}

#[test]
fn the_record_is_whole_or_absent_and_the_null_old_or_new() {
    let swept = scenario(CUT);
    let mut sound = swept.case(0).1;
    sound.events.retain(|event| event.label.as_deref() != Some("next"));
    let (all, kept) = held(&run(&sound).0, 3);
    assert_eq!(serials(&all), [0, 1, 2, 3]);
    assert!(is_null(kept, NEW), "{kept:?}");
    let mut counts = [0; 3];
    for case in 0..swept.case_count() {
        let scenario = swept.case(case).1;
        let (report, told) = run(&scenario);
        assert!(report.held(), "case {case}: {:?}", report.expectations);
        let (records, kept) = held(&report, 3);
        assert_eq!(records[..2], all[..2], "case {case}: those before it");
        let whole = match met(&scenario, &told) {
            Met::Null => {
                assert!(is_null(kept, OLD), "case {case}: {kept:?}");
                4
            }
            Met::Record => {
                assert!(is_null(kept, NEW), "case {case}: {kept:?}");
                3
            }
            Met::Later => {
                assert!(is_null(kept, NEW), "case {case}: {kept:?}");
                assert_eq!(records[2], all[2], "case {case}: written before the cut");
                3
            }
        };
        // After a cut record its number goes to the next one.
        assert_eq!(serials(&records), (0..whole).collect::<Vec<_>>(), "case {case}");
        counts[met(&scenario, &told) as usize] += 1;
    }
    // A header of 8 bytes and a block, in words of 4: every operation of both writes was met.
    let words = |block: usize| 2 + block.div_ceil(4);
    assert_eq!(counts[..2], [words(Kept::LENGTH), words(Record::LENGTH)]);
    assert!(counts[2] > 4, "{counts:?}: and the border of a page after them");
}
