//! Where a number comes from, and how well that is known here.

/// How far a source was followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Standing {
    /// A page of the source itself was read.
    Published,
    /// Other texts cite it so; the source itself was not read.
    Secondary,
    /// The trade does so; no source was found.
    CommonPractice,
    /// Recalled, and not confirmed by any text.
    FromMemory,
}

impl Standing {
    /// All of them, from the best known to the least.
    pub const ALL: [Self; 4] =
        [Self::Published, Self::Secondary, Self::CommonPractice, Self::FromMemory];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Secondary => "secondary",
            Self::CommonPractice => "common_practice",
            Self::FromMemory => "from_memory",
        }
    }

    /// Says what it is worth, for a report.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Published => "read in a public extract of the source; no conformity claimed",
            Self::Secondary => {
                "secondary source, not checked against the standard, no conformity claimed"
            }
            Self::CommonPractice => "common practice, without a published source",
            Self::FromMemory => "from memory, not confirmed: check it before it counts",
        }
    }
}

/// The source of a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Source<'a> {
    /// What is cited: standard, handbook or text, with clause or table.
    pub cited: &'a str,
    /// Which edition or year; empty where none is known.
    pub edition: &'a str,
    /// How far it was followed.
    pub standing: Standing,
    /// What a record keeps of it; 0 where no limit of the table stands on it. A number is never
    /// used again for another source.
    pub number: u16,
}

impl Source<'_> {
    /// A source of this project's own table.
    #[must_use]
    pub(crate) const fn new(
        cited: &'static str,
        edition: &'static str,
        standing: Standing,
    ) -> Source<'static> {
        Source { cited, edition, standing, number: 0 }
    }
}

impl Source<'static> {
    /// The same source with the number that a record keeps.
    #[must_use]
    pub(crate) const fn numbered(self, number: u16) -> Self {
        Self { number, ..self }
    }
}
