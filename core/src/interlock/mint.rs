//! The one constructor of a permit.

use super::{DriveLevel, Next};
use crate::gate::{Kind, Permit, Polarity};
use crate::unit::Voltage;

/// The numbers that go into a permit, from detect's evidence and from the function.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Start {
    pub(crate) epoch: u32,
    pub(crate) set: Voltage,
    pub(crate) v_start: Voltage,
    pub(crate) widen: Voltage,
    pub(crate) polarity: Polarity,
}

/// Mints the permit that `next` allows, or none.
pub(crate) const fn mint(next: &Next, start: Start) -> Option<Permit> {
    let kind = match next.drive {
        None => return None,
        Some(DriveLevel::High) => Kind::Insulation { widen: start.widen },
        Some(DriveLevel::Low) => Kind::Continuity { polarity: start.polarity },
    };
    Some(Permit { epoch: start.epoch, kind, set: start.set, v_start: start.v_start })
}
