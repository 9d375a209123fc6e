//! What a scenario came to over all of its cases.

use core::time::Duration;
use std::path::PathBuf;

use ohmwarden_sim::world::Reached;

use super::expectation;
use super::load::Loaded;
use super::play::{Case, Defect};
use super::score::{Entry, Subject};

/// The result of one scenario.
#[derive(Debug)]
pub(crate) struct Summary {
    pub(crate) name: String,
    pub(crate) file: PathBuf,
    pub(crate) why: String,
    /// How many cases were wanted.
    pub(crate) cases: usize,
    /// How many were played; fewer only where a person asked to stop.
    pub(crate) played: usize,
    /// Rules first, then expectations: the worst of all cases each.
    pub(crate) entries: Vec<Entry>,
    /// A short text of each expectation.
    pub(crate) expectations: Vec<Text>,
    /// Cases that did not come to their end.
    pub(crate) defects: Vec<(usize, Defect)>,
    /// Of the trace of a single case; of all digests in their order for several.
    pub(crate) digest: u64,
    pub(crate) reached: Reached,
    /// The swept values of the worst case.
    pub(crate) swept: Vec<(String, f64)>,
    /// Simulated time of all cases, seconds.
    pub(crate) simulated: f64,
    /// Time that the cases took, on whatever thread.
    pub(crate) took: Duration,
}

/// An expectation for a reader.
#[derive(Clone, Debug)]
pub(crate) struct Text {
    pub(crate) short: String,
    pub(crate) note: String,
}

impl Summary {
    /// Sums up cases in the order of their indices.
    pub(crate) fn of(loaded: &Loaded, wanted: usize, cases: Vec<Case>) -> Self {
        let scenario = &loaded.scenario;
        let text = |expect| Text { short: expectation::short(expect), note: expect.note.clone() };
        let mut summary = Self {
            name: loaded.name.clone(),
            file: loaded.file.clone(),
            why: scenario.why.clone(),
            cases: wanted,
            played: cases.len(),
            entries: Vec::new(),
            expectations: scenario.expects.iter().map(text).collect(),
            defects: Vec::new(),
            digest: combined(cases.iter().map(|case| case.digest)),
            reached: Reached::default(),
            swept: Vec::new(),
            simulated: scenario.seconds * cases.len() as f64,
            took: Duration::ZERO,
        };
        for case in cases {
            summary.take(case);
        }
        summary.swept = summary.worst_case().map_or(Vec::new(), |case| scenario.case(case).0);
        summary
    }

    fn take(&mut self, case: Case) {
        self.reached.merge(&case.reached);
        self.took += case.took;
        if self.entries.is_empty() {
            self.entries = case.entries;
        } else {
            for (all, one) in self.entries.iter_mut().zip(&case.entries) {
                all.merge(one);
            }
        }
        self.defects.extend(case.defect.map(|defect| (case.index, defect)));
    }

    /// Whether every rule and every expectation held in every case, and every case was played.
    pub(crate) fn held(&self) -> bool {
        self.played == self.cases
            && self.defects.is_empty()
            && self.entries.iter().all(Entry::is_fine)
    }

    /// The entry that came closest to breaking.
    pub(crate) fn worst(&self) -> Option<&Entry> {
        self.entries.iter().min_by(|one, other| one.urgency(other))
    }

    /// The case to look at: one that did not end, or the one of the worst entry.
    pub(crate) fn worst_case(&self) -> Option<usize> {
        let defect = self.defects.first().map(|(case, _)| *case);
        defect.or_else(|| self.worst().map(|entry| entry.case))
    }

    /// The name of an entry: that of the rule, or a short text of the expectation.
    pub(crate) fn name_of(&self, entry: &Entry) -> &str {
        match entry.subject {
            Subject::Rule(rule) => rule.word(),
            Subject::Expectation(place) => {
                self.expectations.get(place).map_or("", |text| text.short.as_str())
            }
        }
    }
}

/// One digest stands for itself; of several it is FNV-1a over their bytes, so that order counts.
fn combined(digests: impl ExactSizeIterator<Item = u64>) -> u64 {
    const OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0000_0100_0000_01b3;
    let single = digests.len() == 1;
    digests.fold(OFFSET, |sum, digest| {
        if single {
            return digest;
        }
        let mix = |sum: u64, byte: u8| (sum ^ u64::from(byte)).wrapping_mul(PRIME);
        digest.to_be_bytes().into_iter().fold(sum, mix)
    })
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A summary of six cases with these entries.
    pub(crate) fn summary(name: &str, entries: Vec<Entry>) -> Summary {
        Summary {
            name: name.to_owned(),
            file: format!("{name}.toml").into(),
            why: "For a test.".to_owned(),
            cases: 6,
            played: 6,
            entries,
            expectations: Vec::new(),
            defects: Vec::new(),
            digest: 1,
            reached: Reached::default(),
            swept: vec![("phase".to_owned(), 45.0)],
            simulated: 12.0,
            took: Duration::from_millis(10),
        }
    }

    #[test]
    fn a_case_that_did_not_end_or_was_not_played_is_never_held() {
        let mut some = summary("a", Vec::new());
        assert!(some.held());
        some.played = 5;
        assert!(!some.held());
        some.played = 6;
        let defect = Defect { name: "sim_diverged", words: String::new() };
        some.defects.push((4, defect));
        assert!(!some.held());
        assert_eq!(some.worst_case(), Some(4));
    }

    #[test]
    fn a_single_digest_stands_for_itself_and_the_order_of_several_counts() {
        assert_eq!(combined([7].into_iter()), 7);
        assert_ne!(combined([1, 2].into_iter()), combined([2, 1].into_iter()));
        assert_ne!(combined([1, 2].into_iter()), combined([1, 3].into_iter()));
    }
}
