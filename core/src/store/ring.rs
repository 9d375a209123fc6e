//! One ring of pages: blocks in the order in which they were written.

use core::ops::Range;

use embedded_storage::nor_flash::NorFlash;
use sequential_storage::Error;
use sequential_storage::cache::Cache;
use sequential_storage::queue::{QueueConfig, QueueStorage};

use super::flash::{Blocking, FlashError, now};
use super::mend::is_ring;
use crate::block::{Block, Damage, LONGEST};

/// The longest block, and up to a word of the widest flash behind it.
pub const PLACE: usize = LONGEST + 32;

/// Why a store could not do what was asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Trouble<E> {
    /// The log is full.
    Full,
    /// The number of the block is not the next one, which is this.
    Serial(u32),
    /// What was to be written, or was read, is damaged.
    Damaged(Damage),
    /// The block does not fit into a page, or is longer than any block.
    TooLong,
    /// The places do not fit the flash or each other.
    Places,
    /// The pages are in a state that writing here does not lead to; only erasing them helps.
    Pages,
    /// What the flash reports.
    Flash(FlashError<E>),
}

impl<E: core::fmt::Debug> core::fmt::Display for Trouble<E> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Full => f.write_str("the log is full"),
            Self::Serial(next) => write!(f, "the next number is {next}"),
            Self::Damaged(damage) => damage.fmt(f),
            Self::TooLong => f.write_str("the block does not fit into a page"),
            Self::Places => f.write_str("the places do not fit the flash or each other"),
            Self::Pages => f.write_str("the pages are in a state that only erasing them helps"),
            Self::Flash(FlashError::Driver(error)) => write!(f, "the flash reports {error:?}"),
            Self::Flash(FlashError::Unlike) => {
                f.write_str("the flash does not read as it was written")
            }
        }
    }
}

impl<E: core::fmt::Debug> core::error::Error for Trouble<E> {}

/// One ring, for one operation.
pub(super) struct Ring<'f, F: NorFlash> {
    flash: &'f mut F,
    range: &'f Range<u32>,
}

impl<'f, F: NorFlash> Ring<'f, F> {
    /// The ring at a place.
    pub(super) fn of(flash: &'f mut F, range: &'f Range<u32>) -> Result<Self, Trouble<F::Error>> {
        if is_ring(flash, range) { Ok(Self { flash, range }) } else { Err(Trouble::Places) }
    }

    fn queue(
        &mut self,
        writes: bool,
    ) -> Result<
        QueueStorage<Blocking<'_, F>, impl sequential_storage::cache::CacheImpl<()>>,
        Trouble<F::Error>,
    > {
        let config = QueueConfig::try_new(self.range.clone()).map_err(|_| Trouble::Places)?;
        let flash = Blocking { flash: &mut *self.flash, writes };
        Ok(QueueStorage::new(flash, config, Cache::new_uncached()))
    }

    /// Writes a block behind the others.
    pub(super) fn push(&mut self, block: &[u8], overwrite: bool) -> Result<(), Trouble<F::Error>> {
        settled(now(self.queue(true)?.push(block, overwrite)))
    }

    /// Hands every block to `reader`, the oldest first.
    pub(super) fn each(
        &mut self,
        mut reader: impl FnMut(Result<Block<'_>, Damage>),
    ) -> Result<(), Trouble<F::Error>> {
        let mut queue = self.queue(false)?;
        let mut entries = settled(now(queue.iter()))?;
        let mut place = [0; PLACE];
        while let Some(entry) = settled(now(entries.next(&mut place)))? {
            reader(Block::first(&entry));
        }
        Ok(())
    }

    /// The last whole block, in `place`.
    pub(super) fn last<'p>(
        &mut self,
        place: &'p mut [u8; PLACE],
    ) -> Result<Option<Block<'p>>, Trouble<F::Error>> {
        // Numbers tell the last one, whatever the pages say: 2^31 of them is more than a flash bears.
        let mut last: Option<u32> = None;
        let mut length = 0;
        self.each(|block| {
            let Ok(block) = block else { return };
            let newer = |last: u32| block.serial.wrapping_sub(last).cast_signed() > 0;
            if last.is_none_or(newer) {
                last = Some(block.serial);
                length = block.copy_to(place);
            }
        })?;
        Ok(last.and_then(|_| Block::first(place.get(..length)?).ok()))
    }
}

fn settled<T, E>(result: Option<Result<T, Error<FlashError<E>>>>) -> Result<T, Trouble<E>> {
    match result {
        Some(Ok(done)) => Ok(done),
        Some(Err(Error::Storage { value, .. })) => Err(Trouble::Flash(value)),
        Some(Err(Error::FullStorage)) => Err(Trouble::Full),
        Some(Err(Error::ItemTooBig)) => Err(Trouble::TooLong),
        Some(Err(_)) | None => Err(Trouble::Pages),
    }
}
