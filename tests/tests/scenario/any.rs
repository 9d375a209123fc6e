//! Any scenario is written so that it reads back the same, and any damage is told inside the text.

use ohmwarden_sim::scenario::{KINDS, Takes, write};
use proptest::prelude::*;

use crate::any_text::{Tape, any_text};
use crate::{good, read};

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_scenario_reads_back_from_what_was_written(
        numbers in prop::collection::vec(any::<u32>(), 64..256),
    ) {
        let text = any_text(&mut Tape { numbers: &numbers, next: 0 }).expect("a text");
        let scenario = read(&text);
        prop_assert!(scenario.is_ok(), "{text}\n{scenario:#?}");
        let scenario = good(&text);
        let written = write(&scenario);
        let again = read(&written);
        prop_assert!(again.is_ok(), "{written}\n{again:#?}");
        prop_assert_eq!(again, Ok(scenario.clone()));
        // A case of it, with its storm turned to events, is a scenario like any other.
        let case = scenario.case(scenario.case_count() - 1).1.settled();
        prop_assert_eq!(read(&write(&case)), Ok(case));
    }

    #[test]
    fn any_damage_to_a_text_gives_a_scenario_or_mistakes_inside_it(
        numbers in prop::collection::vec(any::<u32>(), 64..96), at in any::<prop::sample::Index>(),
        length in 0..9_usize, with in "[a-z\\[\\]{}=\"0-9.\n]{0,4}",
    ) {
        let mut text = any_text(&mut Tape { numbers: &numbers, next: 0 }).expect("a text");
        let start = at.index(text.len());
        text.replace_range(start..(start + length).min(text.len()), &with);
        if let Err(mistakes) = read(&text) {
            prop_assert!(!mistakes.is_empty());
            for mistake in mistakes {
                prop_assert!(text.get(mistake.span.clone()).is_some(), "{mistake:?}");
            }
        }
    }
}

#[test]
fn every_kind_of_part_can_be_written_and_read_with_its_defaults() {
    for kind in KINDS {
        let needed: Vec<String> = kind
            .keys
            .iter()
            .filter_map(|key| match (key.name, key.takes) {
                ("width_s", _) => Some("width_s = 0.001".into()),
                ("strike_volts", _) => Some("strike_volts = 100".into()),
                (name, Takes::Number { greatest, default: None, .. }) => {
                    Some(format!("{name} = {:e}", greatest.min(50.0)))
                }
                (name, Takes::Text) => Some(format!("{name} = \"a\"")),
                _ => None,
            })
            .collect();
        let text = format!(
            "ohmwarden = 1\nwhy = \"w\"\nseconds = 1\n[part.p.{}]\n{}\n\
             across = [\"lead.pos\", \"lead.neg\"]\n",
            kind.name,
            needed.join("\n")
        );
        let scenario = good(&text);
        assert_eq!(scenario.parts[0].part.kind(), kind.name);
        assert_eq!(good(&write(&scenario)), scenario);
    }
}

#[test]
fn every_default_is_inside_its_own_range() {
    for key in KINDS.iter().flat_map(|kind| kind.keys) {
        if let Takes::Number { least, greatest, default } = key.takes {
            assert!(least < greatest, "{}", key.name);
            assert!(default.is_none_or(|value| key.admits(value)), "{}", key.name);
        }
    }
}
