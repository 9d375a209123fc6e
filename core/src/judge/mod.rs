//! From a number to a verdict: flags, bounds, guard band.
//!
//! A verdict comes from [`Reading::judge`] alone, so a flagged reading cannot be passed and an
//! over-range one cannot be a number. The guard band follows the idea of JCGM 106 (guarded
//! acceptance): a limit is met only if it is met with 95 % confidence, one-sided, `g = 1.64 u`.

mod budget;
mod flags;
mod reading;
mod verdict;

pub use budget::{Budget, COVER, Held, Parts, Whole, smallest_proving};
pub(crate) use budget::{CONTACTS, root};
pub use flags::Flags;
pub use reading::{Reading, Unit, Value};
pub use verdict::{Criterion, Judged, Limit, Rule, Verdict, Why};
