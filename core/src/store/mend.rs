//! What a power cut leaves of a page that was being erased, told from a page in use.
//!
//! The library marks the first word of a page when it begins it and the last when it is full, and
//! trusts that an erasure clears the first before the last. A real one may clear them in any order.
//! So before anything is read: a page whose mark is missing in front but not behind, and one that
//! seems blank but is not, are erased again; and of two pages in a row that both seem to be in use
//! the second is the oldest one, which was being erased to make room, so it is erased again.

use core::ops::Range;

use embedded_storage::nor_flash::NorFlash;

use super::flash::FlashError;
use super::{LEAST_PAGES, Trouble};

/// A mark is there when so many bits of it are cleared, as the library counts them.
const MARKED: u32 = 4;
/// Bytes that are read at a time.
const PIECE: usize = 64;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Page {
    Blank,
    InUse,
    Full,
    HalfErased,
}

/// Whether a ring can lie there.
pub(super) fn is_ring<F: NorFlash>(flash: &F, range: &Range<u32>) -> bool {
    let Ok(page) = u32::try_from(F::ERASE_SIZE) else { return false };
    let most = u32::try_from(flash.capacity()).unwrap_or(u32::MAX);
    range.start.is_multiple_of(page)
        && range.end.is_multiple_of(page)
        && range.end <= most
        && page.saturating_mul(LEAST_PAGES) <= range.end.saturating_sub(range.start)
        && F::READ_SIZE <= 32
        && PIECE.is_multiple_of(F::READ_SIZE)
        && F::ERASE_SIZE.is_multiple_of(PIECE)
}

/// Erases again what was being erased when the power went.
pub(super) fn mend<F: NorFlash>(
    flash: &mut F,
    range: &Range<u32>,
) -> Result<(), Trouble<F::Error>> {
    if !is_ring(flash, range) {
        return Err(Trouble::Places);
    }
    let page = u32::try_from(F::ERASE_SIZE).map_err(|_| Trouble::Places)?;
    let starts = || range.clone().step_by(F::ERASE_SIZE);
    for start in starts() {
        if state(flash, start, page).map_err(driver)? == Page::HalfErased {
            erase(flash, start, page)?;
        }
    }
    for start in starts() {
        let after = start.saturating_add(page);
        let next = if after < range.end { after } else { range.start };
        let both = state(flash, start, page).map_err(driver)? == Page::InUse
            && state(flash, next, page).map_err(driver)? == Page::InUse;
        if both {
            erase(flash, next, page)?;
        }
    }
    Ok(())
}

fn erase<F: NorFlash>(flash: &mut F, start: u32, page: u32) -> Result<(), Trouble<F::Error>> {
    flash.erase(start, start.saturating_add(page)).map_err(driver)
}

const fn driver<E>(error: E) -> Trouble<E> {
    Trouble::Flash(FlashError::Driver(error))
}

fn state<F: NorFlash>(flash: &mut F, start: u32, page: u32) -> Result<Page, F::Error> {
    let word = u32::try_from(F::READ_SIZE).unwrap_or(u32::MAX);
    let front = is_marked(flash, start)?;
    let behind = is_marked(flash, start.saturating_add(page).saturating_sub(word))?;
    Ok(match (front, behind) {
        (true, true) => Page::Full,
        (true, false) => Page::InUse,
        (false, true) => Page::HalfErased,
        (false, false) if is_blank(flash, start, page)? => Page::Blank,
        (false, false) => Page::HalfErased,
    })
}

fn is_marked<F: NorFlash>(flash: &mut F, at: u32) -> Result<bool, F::Error> {
    let mut place = [u8::MAX; 32];
    if let Some(word) = place.get_mut(..F::READ_SIZE) {
        flash.read(at, word)?;
    }
    Ok(place.iter().map(|byte| byte.count_zeros()).sum::<u32>() >= MARKED)
}

fn is_blank<F: NorFlash>(flash: &mut F, start: u32, page: u32) -> Result<bool, F::Error> {
    let mut place = [0; PIECE];
    for at in (start..start.saturating_add(page)).step_by(PIECE) {
        flash.read(at, &mut place)?;
        if place.iter().any(|byte| *byte != u8::MAX) {
            return Ok(false);
        }
    }
    Ok(true)
}
