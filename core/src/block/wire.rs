//! Frames for a line that loses and adds bytes: byte stuffing after Cheshire and Baker.
//!
//! A frame is a zero, the block with every zero stuffed away, a zero (S. Cheshire, M. Baker:
//! Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on Networking 7(2), 1999; commonly
//! cited, secondary). After any damage the next zero begins anew, so one broken frame never takes
//! another with it. The block brings its own kind, length and check word, so there is nothing else
//! in a frame. What a byte costs: one in 254, and three a frame.

use super::{Block, Damage};

/// The longest run that one code byte tells of.
const RUN: usize = 254;

/// The length that `bytes` of a block have as a frame, at most.
#[must_use]
pub const fn longest(bytes: usize) -> usize {
    bytes.saturating_add(bytes / RUN).saturating_add(3)
}

/// Writes a block as a frame and gives the frame; `None` where it does not fit.
///
/// ```
/// use ohmwarden_core::block::wire;
/// assert_eq!(wire::frame(&[1, 0, 0, 2], &mut [0; 8]), Some(&[0, 2, 1, 1, 2, 2, 0][..]));
/// ```
#[must_use]
pub fn frame<'a>(block: &[u8], place: &'a mut [u8]) -> Option<&'a [u8]> {
    let mut out = Stuffing { place, length: 0, code_at: 0, code: 1 };
    out.push(0)?;
    out.begin()?;
    for byte in block {
        if *byte != 0 {
            out.push(*byte)?;
            out.code = out.code.saturating_add(1);
        }
        if *byte == 0 || out.code == u8::MAX {
            out.end()?;
            out.begin()?;
        }
    }
    out.end()?;
    out.push(0)?;
    let Stuffing { place, length, .. } = out;
    place.get(..length)
}

/// A frame while it is written: `code` is one more than the bytes of the run that began last.
struct Stuffing<'a> {
    place: &'a mut [u8],
    length: usize,
    code_at: usize,
    code: u8,
}

impl Stuffing<'_> {
    fn push(&mut self, byte: u8) -> Option<()> {
        *self.place.get_mut(self.length)? = byte;
        self.length = self.length.saturating_add(1);
        Some(())
    }

    /// Leaves the place for the code of a run.
    fn begin(&mut self) -> Option<()> {
        (self.code_at, self.code) = (self.length, 1);
        self.push(0)
    }

    fn end(&mut self) -> Option<()> {
        *self.place.get_mut(self.code_at)? = self.code;
        Some(())
    }
}

/// Takes the stuffing out of what stands between two zeros, in place, and gives the bytes.
///
/// # Errors
/// [`Damage::Length`] where a run goes beyond the end, [`Damage::Field`] at a zero.
pub fn unstuff(between: &mut [u8]) -> Result<&[u8], Damage> {
    let (mut from, mut to) = (0_usize, 0_usize);
    let mut zero = false;
    while let Some(code) = between.get(from).copied() {
        let after = from.saturating_add(1);
        let run = usize::from(code).checked_sub(1).ok_or_else(|| zero_at(from))?;
        if zero {
            *between.get_mut(to).ok_or(Damage::Length)? = 0;
            to = to.saturating_add(1);
        }
        for at in (after..).take(run) {
            let byte = between.get(at).copied().ok_or(Damage::Length)?;
            if byte == 0 {
                return Err(zero_at(at));
            }
            *between.get_mut(to).ok_or(Damage::Length)? = byte;
            to = to.saturating_add(1);
        }
        from = after.saturating_add(run);
        zero = run < RUN;
    }
    between.get(..to).ok_or(Damage::Length)
}

/// A zero where stuffing leaves none.
fn zero_at(at: usize) -> Damage {
    Damage::Field(u16::try_from(at).unwrap_or(u16::MAX))
}

/// Takes one byte after the other from a line and gives each block that comes out whole.
#[derive(Clone, Debug)]
pub struct Receiver<const N: usize> {
    bytes: heapless::Vec<u8, N>,
    too_long: bool,
}

impl<const N: usize> Receiver<N> {
    /// Nothing received. `N` bounds the stuffed block: [`longest`] of the longest block.
    #[must_use]
    pub const fn new() -> Self {
        Self { bytes: heapless::Vec::new(), too_long: false }
    }

    /// Takes the next byte; a zero ends a frame, and what came out of it is given to `taker`.
    ///
    /// Nothing between two zeros is no frame and is not told of.
    pub fn take(&mut self, byte: u8, taker: impl FnOnce(Result<Block<'_>, Damage>)) {
        if byte != 0 {
            self.too_long |= self.bytes.push(byte).is_err();
            return;
        }
        if self.too_long {
            taker(Err(Damage::Length));
        } else if !self.bytes.is_empty() {
            taker(open(&mut self.bytes));
        }
        self.bytes.clear();
        self.too_long = false;
    }
}

impl<const N: usize> Default for Receiver<N> {
    fn default() -> Self {
        Self::new()
    }
}

/// Opens the block in what stands between two zeros, in place.
///
/// # Errors
/// As [`unstuff`] and [`Block::all`].
pub fn open(between: &mut [u8]) -> Result<Block<'_>, Damage> {
    Block::all(unstuff(between)?)
}
