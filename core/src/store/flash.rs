//! The board's blocking flash as the one that the library asks for, every write read back.

use core::future::Future;
use core::pin::pin;
use core::task::{Context, Poll, Waker};

use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashError, NorFlashErrorKind};
use embedded_storage_async::nor_flash as wanted;

/// Bytes that are read back at a time: a multiple of every size of word that there is.
const BACK: usize = 64;

/// What goes wrong with a flash.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FlashError<E> {
    /// What its driver reports.
    Driver(E),
    /// What was written is not what is read: worn out, or not blank before.
    Unlike,
}

impl<E: NorFlashError> NorFlashError for FlashError<E> {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::Driver(error) => error.kind(),
            Self::Unlike => NorFlashErrorKind::Other,
        }
    }
}

/// The board's flash, for one operation.
#[derive(Debug)]
pub(super) struct Blocking<'f, F> {
    pub(super) flash: &'f mut F,
    /// While it is only read nothing is written, whatever the library would like to tidy up.
    pub(super) writes: bool,
}

impl<F: NorFlash> ErrorType for Blocking<'_, F> {
    type Error = FlashError<F::Error>;
}

impl<F: NorFlash> wanted::ReadNorFlash for Blocking<'_, F> {
    const READ_SIZE: usize = F::READ_SIZE;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        self.flash.read(offset, bytes).map_err(FlashError::Driver)
    }

    fn capacity(&self) -> usize {
        self.flash.capacity()
    }
}

impl<F: NorFlash> wanted::NorFlash for Blocking<'_, F> {
    const WRITE_SIZE: usize = F::WRITE_SIZE;
    const ERASE_SIZE: usize = F::ERASE_SIZE;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        if self.writes { self.flash.erase(from, to).map_err(FlashError::Driver) } else { Ok(()) }
    }

    async fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        if !self.writes {
            return Ok(());
        }
        self.flash.write(offset, bytes).map_err(FlashError::Driver)?;
        let mut back = [0; BACK];
        let mut at = offset;
        for piece in bytes.chunks(BACK) {
            let back = back.get_mut(..piece.len()).ok_or(FlashError::Unlike)?;
            self.flash.read(at, back).map_err(FlashError::Driver)?;
            if back != piece {
                return Err(FlashError::Unlike);
            }
            at = at.saturating_add(u32::try_from(piece.len()).unwrap_or(u32::MAX));
        }
        Ok(())
    }
}

/// The result of a future that never waits; `None` if it waits after all.
pub(super) fn now<T>(future: impl Future<Output = T>) -> Option<T> {
    match pin!(future).poll(&mut Context::from_waker(Waker::noop())) {
        Poll::Ready(result) => Some(result),
        Poll::Pending => None,
    }
}
