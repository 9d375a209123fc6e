//! Sealed blocks: the one form in which anything is kept in flash or sent over a wire.
//!
//! | bytes | what |
//! | --- | --- |
//! | 0, 1 | [`MAGIC`] |
//! | 2 | the kind: 1 [`Kind::Record`], 2 [`Kind::Kept`], 3 [`Kind::Calibration`], 4 [`Kind::DailyCheck`] |
//! | 3 | the version of the body's layout |
//! | 4, 5 | the length of the whole block |
//! | 6 to 9 | the serial number: of a record its own, else how often the like was kept before |
//! | 10 and on | the body |
//! | the last 4 | [`crc32`] of all before them |
//!
//! Little endian. A block can be found in any row of bytes by its magic, tells how long it is, and
//! is either whole or refused with a [`Damage`]: nothing of a damaged one comes out. No kind number
//! is ever given to anything else. [`wire`] frames blocks for a line that loses and adds bytes.

mod bytes;
mod crc;
pub mod wire;

pub(crate) use bytes::{Reader, Writer, numbered};
pub use crc::crc32;

/// What every block begins with.
pub const MAGIC: [u8; 2] = *b"OW";
/// Bytes before a body.
pub const HEAD: usize = 10;
/// Bytes round a body.
pub const SEAL: usize = HEAD + 4;
/// The longest block.
pub const LONGEST: usize = 1024;

/// What a block holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Kind {
    /// One measurement: [`crate::record::Record`].
    Record,
    /// What must survive a reset: [`crate::kept::Kept`].
    Kept,
    /// Calibration constants.
    Calibration,
    /// A daily check against known parts.
    DailyCheck,
}

numbered! {
    to_number, from_number, Kind {
        1 = Kind::Record,
        2 = Kind::Kept,
        3 = Kind::Calibration,
        4 = Kind::DailyCheck,
    }
}

impl Kind {
    /// All of them, by their numbers.
    pub const ALL: [Self; 4] = [Self::Record, Self::Kept, Self::Calibration, Self::DailyCheck];

    /// Its number in a block.
    #[must_use]
    pub const fn number(self) -> u8 {
        to_number(self)
    }

    /// The kind of a number; `None` where none has it.
    #[must_use]
    pub const fn from_number(number: u8) -> Option<Self> {
        from_number(number)
    }

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Record => "record",
            Self::Kept => "kept",
            Self::Calibration => "calibration",
            Self::DailyCheck => "daily_check",
        }
    }
}

/// Why bytes are refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Damage {
    /// More or fewer bytes than the block says, or than its kind has.
    Length,
    /// It does not begin as a block does.
    Magic,
    /// It is of another kind than was asked for, or of none that is known: this number.
    Kind(u8),
    /// Its layout has a version that is not known here: this one.
    Version(u8),
    /// The check word does not fit: at least one bit is wrong.
    Check,
    /// The field at this byte of the block holds what it never can.
    Field(u16),
    /// A number that is none, or a doubt below zero.
    NotANumber,
    /// The verdict is not the one that reading, limit and rule give.
    Verdict,
    /// A function that measures nothing.
    NothingMeasured,
    /// Parts contradict each other, or something stands where nothing may.
    Contradiction,
}

impl core::fmt::Display for Damage {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Length => "the length is not that of such a block",
            Self::Magic => "no block begins here",
            Self::Kind(number) => return write!(f, "the kind {number} is not the one asked for"),
            Self::Version(number) => return write!(f, "version {number} is not known here"),
            Self::Check => "the check word does not fit",
            Self::Field(at) => return write!(f, "byte {at} holds what it never can"),
            Self::NotANumber => "a number is none, or a doubt is below zero",
            Self::Verdict => "the verdict is not what reading, limit and rule give",
            Self::NothingMeasured => "the function measures nothing",
            Self::Contradiction => "parts contradict each other",
        })
    }
}

impl core::error::Error for Damage {}

/// A whole block, as it stands in a row of bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Block<'a> {
    /// The number of its kind, known here or not.
    pub kind: u8,
    /// The version of the body's layout.
    pub version: u8,
    /// Its serial number.
    pub serial: u32,
    /// What it holds.
    pub body: &'a [u8],
}

impl<'a> Block<'a> {
    /// Opens the block that begins the bytes, whatever follows it.
    ///
    /// # Errors
    /// [`Damage::Length`], [`Damage::Magic`] or [`Damage::Check`].
    pub fn first(bytes: &'a [u8]) -> Result<Self, Damage> {
        let mut reader = Reader::new(bytes);
        let magic = reader.u16().to_le_bytes();
        let (kind, version) = (reader.u8(), reader.u8());
        let (length, serial) = (usize::from(reader.u16()), reader.u32());
        if bytes.len() < SEAL {
            return Err(Damage::Length);
        }
        if magic != MAGIC {
            return Err(Damage::Magic);
        }
        let whole = bytes.get(..length).filter(|_| length <= LONGEST).ok_or(Damage::Length)?;
        let (rest, check) = whole.split_last_chunk().ok_or(Damage::Length)?;
        let body = rest.get(HEAD..).ok_or(Damage::Length)?;
        if crc32(rest) != u32::from_le_bytes(*check) {
            return Err(Damage::Check);
        }
        Ok(Self { kind, version, serial, body })
    }

    /// Opens the block that is all of the bytes.
    ///
    /// # Errors
    /// As [`Block::first`]; [`Damage::Length`] where bytes are left over.
    pub fn all(bytes: &'a [u8]) -> Result<Self, Damage> {
        let block = Self::first(bytes)?;
        if block.len() == bytes.len() { Ok(block) } else { Err(Damage::Length) }
    }

    /// Checks that it is of a kind and version.
    ///
    /// # Errors
    /// [`Damage::Kind`] or [`Damage::Version`].
    pub fn is(&self, kind: Kind, version: u8) -> Result<(), Damage> {
        if self.kind != kind.number() {
            Err(Damage::Kind(self.kind))
        } else if self.version != version {
            Err(Damage::Version(self.version))
        } else {
            Ok(())
        }
    }

    /// Checks that it holds what `whole` does: one thing has one form, and where nothing was
    /// written nothing may stand.
    pub(crate) fn is_written_as(&self, whole: &[u8]) -> Result<(), Damage> {
        let body = whole.get(HEAD..).and_then(|rest| rest.get(..self.body.len()));
        if body == Some(self.body) { Ok(()) } else { Err(Damage::Contradiction) }
    }

    /// Copies the whole block to the beginning of `place`, sealed as it was, and gives its length;
    /// 0 where it does not fit.
    pub fn copy_to(&self, place: &mut [u8]) -> usize {
        let Some(block) = place.get_mut(..self.len()) else { return 0 };
        seal_as(block, [self.kind, self.version], self.serial, |writer| writer.put(self.body));
        block.len()
    }

    /// The length of the whole block.
    #[must_use]
    #[allow(clippy::len_without_is_empty, reason = "no block is empty")]
    pub const fn len(&self) -> usize {
        self.body.len().saturating_add(SEAL)
    }
}

/// Seals a body into `place` and gives the block; `None` where it does not fit.
///
/// ```
/// use ohmwarden_core::block::{Block, Kind, seal};
/// let mut place = [0; 64];
/// let block = seal(Kind::DailyCheck, 1, 7, b"5 ohm reads 5.02", &mut place).unwrap();
/// let opened = Block::all(block).unwrap();
/// assert_eq!(opened.is(Kind::DailyCheck, 1), Ok(()));
/// assert_eq!((opened.serial, opened.body), (7, &b"5 ohm reads 5.02"[..]));
/// ```
#[must_use]
pub fn seal<'a>(
    kind: Kind,
    version: u8,
    serial: u32,
    body: &[u8],
    place: &'a mut [u8],
) -> Option<&'a [u8]> {
    let length = body.len().checked_add(SEAL).filter(|length| *length <= LONGEST)?;
    let block = place.get_mut(..length)?;
    seal_as(block, [kind.number(), version], serial, |writer| writer.put(body));
    Some(block)
}

/// Fills all of `block`: the head, what `fill` writes, the check word.
pub(crate) fn seal_as(
    block: &mut [u8],
    [kind, version]: [u8; 2],
    serial: u32,
    fill: impl FnOnce(&mut Writer<'_>),
) {
    let length = u16::try_from(block.len()).unwrap_or(u16::MAX);
    let Some((rest, check)) = block.split_last_chunk_mut() else { return };
    let mut writer = Writer::new(rest);
    writer.put(&MAGIC);
    writer.put(&[kind, version]);
    writer.u16(length);
    writer.u32(serial);
    fill(&mut writer);
    *check = crc32(rest).to_le_bytes();
}
