//! What the trade calls a ratio: bands with a word each. None of them is from a standard.

use super::source::{Source, Standing};

/// A word for all values below a bound.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Band {
    /// Values below this, and not below that of the band before.
    pub below: f32,
    /// What the trade calls them.
    pub word: &'static str,
}

/// The bands of one quantity, from the least values to the greatest.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Bands {
    /// The bands; the last one has no upper end.
    pub bands: [Band; 4],
    /// Where they come from.
    pub source: Source<'static>,
}

/// Ten minutes over one. The step at 4 is no number of IEEE 43.
pub const POLARIZATION: Bands = Bands {
    bands: bands([(1.0, "bad"), (2.0, "questionable"), (4.0, "good")], "very good"),
    source: Source::new(
        "trade table, cited in technical articles; not of IEEE 43",
        "",
        Standing::Secondary,
    ),
};

/// One minute over half a minute. Some tables begin "good" at 1.4.
pub const ABSORPTION: Bands = Bands {
    bands: bands([(1.0, "bad"), (1.25, "questionable"), (1.6, "good")], "very good"),
    source: Source::new("trade table; no standard found", "", Standing::FromMemory),
};

/// Dielectric discharge, in mA/(V F).
pub const DISCHARGE: Bands = Bands {
    bands: bands([(2.0, "good"), (4.0, "questionable"), (7.0, "poor")], "bad"),
    source: Source::new("trade table; no standard found", "", Standing::FromMemory),
};

const fn bands(three: [(f32, &'static str); 3], last: &'static str) -> [Band; 4] {
    let [(a, one), (b, two), (c, three)] = three;
    [
        Band { below: a, word: one },
        Band { below: b, word: two },
        Band { below: c, word: three },
        Band { below: f32::INFINITY, word: last },
    ]
}

impl Bands {
    /// Gives the word for a value; `None` for what is not a finite number.
    ///
    /// ```
    /// use ohmwarden_core::limits::POLARIZATION;
    /// assert_eq!(POLARIZATION.word(0.8333), Some("bad"));
    /// assert_eq!(POLARIZATION.word(2.0), Some("good"));
    /// ```
    #[must_use]
    pub fn word(&self, value: f32) -> Option<&'static str> {
        self.bands.iter().find(|band| value < band.below).map(|band| band.word)
    }
}
