//! Limits as data: what a reading is held against, and who says so.
//!
//! Each [`Entry`] is a single value in this project's own arrangement, with the published source
//! beside it and how well that source is known here ([`Standing`]). What a whole table of a
//! standard or the maker of the equipment asks for belongs into a user's own entries: the types are
//! the same, and their ids begin at [`OWN_IDS`].
//!
//! Values are in the base unit of what is measured, `f32`, as readings are. Nothing here judges:
//! [`Reading::judge_by`](crate::judge::Reading::judge_by) does, and a qualified person after it.
//! Checked in `tests/tests/published/`.

mod bands;
mod entry;
mod next_step;
mod ratio;
mod source;
mod table;

pub use bands::{ABSORPTION, Band, Bands, DISCHARGE, POLARIZATION};
pub use entry::{Conditions, Depends, Entry, NoLimit, Rated, Remark};
pub use next_step::next_step;
pub use ratio::{Half, INDEX_MOST, NoRatio, RatioKind, ratio};
pub use source::{Source, Standing};

/// The first id of a user's own limits; all below are this project's.
pub const OWN_IDS: u16 = 0x8000;

/// Lists every limit that is built in, in the order of their ids.
pub fn all() -> impl Iterator<Item = &'static Entry<'static>> {
    table::ALL.iter().flat_map(|group| group.iter())
}

/// Finds a built-in limit by the id that a record keeps.
#[must_use]
pub fn by_id(id: u16) -> Option<&'static Entry<'static>> {
    all().find(|entry| entry.id == id)
}

/// Finds a built-in limit by its word.
///
/// ```
/// use ohmwarden_core::judge::Limit;
/// use ohmwarden_core::limits;
/// let entry = limits::by_word("installation_500v").unwrap();
/// assert_eq!(entry.limit, Limit::AtLeast(1.0e6));
/// assert_eq!(limits::by_id(entry.id), Some(entry));
/// ```
#[must_use]
pub fn by_word(word: &str) -> Option<&'static Entry<'static>> {
    all().find(|entry| entry.word == word)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::Limit;

    #[test]
    fn ids_ascend_below_those_of_a_user_and_words_are_told_apart() {
        let mut last = 0;
        for entry in all() {
            assert!(entry.id > last && entry.id < OWN_IDS, "{}", entry.word);
            last = entry.id;
            assert_eq!(by_word(entry.word).map(|found| found.id), Some(entry.id));
            assert!(
                entry
                    .word
                    .bytes()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == b'_')
            );
        }
        assert!(last > 0, "there are limits");
        assert_eq!(by_id(OWN_IDS), None);
        assert_eq!(by_word("Installation_500v"), None);
    }

    #[test]
    fn every_limit_is_a_positive_number_with_a_source() {
        for entry in all() {
            let (Limit::AtLeast(value) | Limit::AtMost(value)) = entry.limit;
            assert!(value > 0.0 && value.is_finite(), "{}", entry.word);
            assert!(!entry.source.cited.is_empty(), "{}", entry.word);
        }
    }

    /// Records keep the numbers of sources too: this list only grows.
    #[test]
    fn a_number_of_a_source_is_never_given_to_another_one() {
        let kept = [
            (1, "BS 7671, 643.3.2, "),
            (2, "BS 7671, 643.3, "),
            (3, "ANSI/NETA MTS, Table 100.1"),
            (4, "IEEE Std 43, as cited"),
            (5, "IEEE Std 43, as quoted"),
            (6, "IEEE Std 43, Tables"),
            (7, "ANSI/NETA MTS, 7.2.2"),
            (8, "US Army SB 740-91-01"),
            (9, "NAVEDTRA 14120"),
            (10, "trade table"),
            (11, "commonly a fall"),
        ];
        let mut used = std::collections::BTreeSet::new();
        for entry in all() {
            let number = entry.source.number;
            let begins = kept.iter().find(|(known, _)| *known == number).map(|(_, cited)| *cited);
            let same = begins.is_some_and(|begins| entry.source.cited.starts_with(begins));
            assert!(same, "{}: {number}", entry.word);
            used.insert(number);
        }
        assert_eq!(used.len(), kept.len());
    }

    /// Records keep ids, so an id means the same limit for ever: this list only grows.
    #[test]
    fn an_id_is_never_given_to_another_limit() {
        let kept = [
            (1, "installation_selv"),
            (2, "installation_500v"),
            (3, "installation_above_500v"),
            (4, "installation_connected"),
            (10, "apparatus_250v"),
            (11, "apparatus_600v"),
            (12, "apparatus_1000v"),
            (13, "apparatus_2500v"),
            (20, "winding_before_1970"),
            (21, "winding_form_wound"),
            (22, "winding_random_wound"),
            (23, "polarization_class_a"),
            (24, "polarization_class_b"),
            (25, "polarization_transformer"),
            (30, "wiring_harness"),
            (31, "telephone_ship"),
            (40, "absorption_ratio"),
            (41, "dielectric_discharge"),
            (42, "voltage_step"),
        ];
        for (id, word) in kept {
            assert_eq!(by_id(id).map(|entry| entry.word), Some(word));
        }
        assert_eq!(all().count(), kept.len(), "a new limit is added to this list too");
    }
}
