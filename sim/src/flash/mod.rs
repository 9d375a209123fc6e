//! A simulated NOR flash whose power can go at any moment of any write or erasure: for the board of a
//! scenario, and for every test of the store.
//!
//! Writing clears bits a word at a time and never sets one; erasing sets those of a page, in
//! [`CHUNKS`] steps. When the steps that were granted are used up, what was going on is left half
//! done, and nothing is written any more.

use alloc::vec;
use alloc::vec::Vec;

use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash, check_erase, check_read,
    check_write,
};

/// Steps of the erasure of one page.
pub const CHUNKS: usize = 16;

/// What a power cut leaves of the word or of the page that it happened in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// The word is blank; the page is erased from its beginning on.
    Clean,
    /// The word has any of its bits cleared; the page is erased from its end on.
    Behind,
    /// The word has any of its bits cleared; of the page each bit is set by itself, as cells lose
    /// their charge. The number draws which.
    Bits(u8),
}

impl Cut {
    /// Some that all differ.
    pub const ALL: [Self; 4] = [Self::Clean, Self::Behind, Self::Bits(1), Self::Bits(2)];

    const fn draws(self) -> u64 {
        match self {
            Self::Clean => 1,
            Self::Behind => 2,
            Self::Bits(number) => 3 + number as u64,
        }
    }
}

/// The flash: pages of `PAGE` bytes, words of `WORD` bytes.
#[derive(Clone, Debug)]
pub struct Nor<const PAGE: usize, const WORD: usize> {
    bytes: Vec<u8>,
    granted: u64,
    used: u64,
    cut_off: bool,
    cut: Cut,
    chance: u64,
}

/// Why it refuses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NorError {
    /// The power is gone.
    NoPower,
    /// Not at the border of a word or page, or beyond the end.
    Misplaced(NorFlashErrorKind),
}

impl NorFlashError for NorError {
    fn kind(&self) -> NorFlashErrorKind {
        match self {
            Self::NoPower => NorFlashErrorKind::Other,
            Self::Misplaced(kind) => *kind,
        }
    }
}

impl<const PAGE: usize, const WORD: usize> Nor<PAGE, WORD> {
    /// A blank flash of so many pages.
    #[must_use]
    pub fn blank(pages: usize) -> Self {
        Self::with(vec![u8::MAX; pages * PAGE])
    }

    /// A flash that holds these bytes.
    #[must_use]
    pub const fn with(bytes: Vec<u8>) -> Self {
        Self { bytes, granted: u64::MAX, used: 0, cut_off: false, cut: Cut::Clean, chance: 1 }
    }

    /// What it holds.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Steps that were used since power came.
    #[must_use]
    pub const fn used(&self) -> u64 {
        self.used
    }

    /// The power lasts for so many steps from now on.
    pub const fn cut_after(&mut self, steps: u64, cut: Cut) {
        self.chance =
            steps.wrapping_mul(8).wrapping_add(cut.draws()).wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
        (self.granted, self.used, self.cut) = (steps, 0, cut);
    }

    /// Whether the power went in the middle of something; nothing is written until it is back.
    #[must_use]
    pub const fn is_cut(&self) -> bool {
        self.cut_off
    }

    /// The same flash with power for so many steps from now on.
    #[must_use]
    pub fn powered_for(&self, steps: u64, cut: Cut) -> Self {
        let mut flash = self.powered();
        flash.cut_after(steps, cut);
        flash
    }

    /// The same flash with power for ever.
    #[must_use]
    pub fn powered(&self) -> Self {
        Self::with(self.bytes.clone())
    }

    /// Whether there is power for one more step.
    fn step(&mut self) -> bool {
        let there = self.used < self.granted;
        self.used += u64::from(there);
        self.cut_off = !there;
        there
    }

    /// A byte of chance (xorshift).
    fn any(&mut self) -> u8 {
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        self.chance.to_le_bytes()[3]
    }

    /// Erases so many of the chunks of a page, in the order of the cut.
    fn erase_chunks(&mut self, start: usize, chunks: usize) {
        let size = PAGE / CHUNKS * chunks;
        match self.cut {
            Cut::Clean => self.bytes[start..start + size].fill(u8::MAX),
            Cut::Behind => self.bytes[start + PAGE - size..start + PAGE].fill(u8::MAX),
            Cut::Bits(_) => {
                for at in start..start + PAGE {
                    for bit in 0..8 {
                        let set = usize::from(self.any()) * CHUNKS < chunks * 256;
                        self.bytes[at] |= u8::from(set) << bit;
                    }
                }
            }
        }
    }
}

impl<const PAGE: usize, const WORD: usize> ErrorType for Nor<PAGE, WORD> {
    type Error = NorError;
}

impl<const PAGE: usize, const WORD: usize> ReadNorFlash for Nor<PAGE, WORD> {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), NorError> {
        check_read(self, offset, bytes.len()).map_err(NorError::Misplaced)?;
        let offset = offset as usize;
        bytes.copy_from_slice(&self.bytes[offset..offset + bytes.len()]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl<const PAGE: usize, const WORD: usize> NorFlash for Nor<PAGE, WORD> {
    const WRITE_SIZE: usize = WORD;
    const ERASE_SIZE: usize = PAGE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), NorError> {
        check_erase(self, from, to).map_err(NorError::Misplaced)?;
        for start in (from as usize..to as usize).step_by(PAGE) {
            for done in 0..CHUNKS {
                if !self.step() {
                    self.erase_chunks(start, done);
                    return Err(NorError::NoPower);
                }
            }
            self.bytes[start..start + PAGE].fill(u8::MAX);
        }
        Ok(())
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), NorError> {
        check_write(self, offset, bytes.len()).map_err(NorError::Misplaced)?;
        for (word, at) in bytes.chunks(WORD).zip((offset as usize..).step_by(WORD)) {
            let powered = self.step();
            if !powered && self.cut == Cut::Clean {
                return Err(NorError::NoPower);
            }
            for (byte, at) in word.iter().zip(at..) {
                let late = if powered { 0 } else { self.any() };
                self.bytes[at] &= byte | late;
            }
            if !powered {
                // One word was torn, and there is no power for another.
                self.cut = Cut::Clean;
                return Err(NorError::NoPower);
            }
        }
        Ok(())
    }
}
