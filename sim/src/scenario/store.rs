//! A board that keeps records: how many, what it does when it is full, and when its power goes.

use super::key::Key;

/// The store of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StoreSpec {
    /// Pages of its log, three records each.
    pub pages: u32,
    /// Whether a full one overwrites its oldest page.
    pub overwrite: bool,
}

impl StoreSpec {
    /// How many pages a log may have: no ring does with fewer, and more only take longer to fill.
    pub(super) const PAGES: (u32, u32) = (ohmwarden_core::store::LEAST_PAGES, 64);
    /// Pages where nothing is said.
    pub(super) const USUAL_PAGES: u32 = 4;
}

/// Operations of the flash, words written and parts of a page erased, before its power goes.
pub(super) const CUT_POWER: Key = Key::number("cut_power_in_write", 0.0, 1.0e6);
