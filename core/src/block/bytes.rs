//! Reads and writes numbers in a row of bytes, little endian, without a path to a panic.

use super::{Damage, HEAD};

/// Where a body begins.
const BODY_AT: u16 = 10;
const _: () = assert!(BODY_AT as usize == HEAD);

/// Writes one number after the other; what does not fit any more is dropped.
#[derive(Debug)]
pub(crate) struct Writer<'a> {
    left: &'a mut [u8],
}

impl<'a> Writer<'a> {
    /// Writes into these bytes from their beginning.
    pub(crate) const fn new(bytes: &'a mut [u8]) -> Self {
        Self { left: bytes }
    }

    /// Writes bytes as they are.
    #[inline(never)]
    pub(crate) fn put(&mut self, bytes: &[u8]) {
        let left = core::mem::take(&mut self.left);
        if let Some((here, after)) = left.split_at_mut_checked(bytes.len()) {
            for (place, byte) in here.iter_mut().zip(bytes) {
                *place = *byte;
            }
            self.left = after;
        }
    }

    #[inline(never)]
    pub(crate) fn u8(&mut self, value: u8) {
        self.put(&[value]);
    }

    #[inline(never)]
    pub(crate) fn u16(&mut self, value: u16) {
        self.put(&value.to_le_bytes());
    }

    #[inline(never)]
    pub(crate) fn u32(&mut self, value: u32) {
        self.put(&value.to_le_bytes());
    }

    pub(crate) fn i32(&mut self, value: i32) {
        self.u32(value.cast_unsigned());
    }

    #[inline(never)]
    pub(crate) fn u64(&mut self, value: u64) {
        self.put(&value.to_le_bytes());
    }

    pub(crate) fn i64(&mut self, value: i64) {
        self.u64(value.cast_unsigned());
    }

    pub(crate) fn f32(&mut self, value: f32) {
        self.u32(value.to_bits());
    }
}

/// Reads one number after the other; the first thing that is wrong is kept until the end.
///
/// After a mistake the numbers mean nothing, and [`Reader::end`] says so: nobody has to ask after
/// each of them.
#[derive(Debug)]
pub(crate) struct Reader<'a> {
    left: &'a [u8],
    at: u16,
    damage: Option<Damage>,
}

impl<'a> Reader<'a> {
    /// Reads a block from its beginning.
    pub(crate) const fn new(block: &'a [u8]) -> Self {
        Self { left: block, at: 0, damage: None }
    }

    /// Reads the body of a block; places are still counted from the block's beginning.
    pub(crate) const fn of_body(body: &'a [u8]) -> Self {
        Self { left: body, at: BODY_AT, damage: None }
    }

    /// Keeps what is wrong, if nothing was wrong before.
    pub(crate) fn wrong(&mut self, damage: Damage) {
        self.damage.get_or_insert(damage);
    }

    /// Keeps that the field just read holds what it cannot.
    pub(crate) fn wrong_field(&mut self, length: u16) {
        self.wrong(Damage::Field(self.at.saturating_sub(length)));
    }

    /// Reads as many bytes as there are places.
    #[inline(never)]
    fn take(&mut self, places: &mut [u8]) {
        match self.left.split_at_checked(places.len()) {
            Some((here, after)) => {
                for (place, byte) in places.iter_mut().zip(here) {
                    *place = *byte;
                }
                self.left = after;
                self.at = self.at.saturating_add(u16::try_from(here.len()).unwrap_or(u16::MAX));
            }
            None => self.wrong(Damage::Length),
        }
    }

    fn array<const N: usize>(&mut self) -> [u8; N] {
        let mut bytes = [0; N];
        self.take(&mut bytes);
        bytes
    }

    #[inline(never)]
    pub(crate) fn u8(&mut self) -> u8 {
        let [byte] = self.array();
        byte
    }

    #[inline(never)]
    pub(crate) fn u16(&mut self) -> u16 {
        u16::from_le_bytes(self.array())
    }

    #[inline(never)]
    pub(crate) fn u32(&mut self) -> u32 {
        u32::from_le_bytes(self.array())
    }

    pub(crate) fn i32(&mut self) -> i32 {
        self.u32().cast_signed()
    }

    #[inline(never)]
    pub(crate) fn u64(&mut self) -> u64 {
        u64::from_le_bytes(self.array())
    }

    pub(crate) fn i64(&mut self) -> i64 {
        self.u64().cast_signed()
    }

    pub(crate) fn f32(&mut self) -> f32 {
        f32::from_bits(self.u32())
    }

    /// Reads a byte that stands for one of a few things; `otherwise` where it stands for none.
    pub(crate) fn one_of<T>(&mut self, known: fn(u8) -> Option<T>, otherwise: T) -> T {
        let byte = self.u8();
        known(byte).unwrap_or_else(|| {
            self.wrong_field(1);
            otherwise
        })
    }

    /// Says what was wrong first, or that bytes are left over.
    pub(crate) const fn end(&self) -> Result<(), Damage> {
        match self.damage {
            Some(damage) => Err(damage),
            None if self.left.is_empty() => Ok(()),
            None => Err(Damage::Length),
        }
    }
}

/// Writes both directions between a fieldless enum and the number that stands for it in a block.
///
/// Numbers are for ever: a new variant gets the next one, and a match without it does not compile.
macro_rules! numbered {
    ($vis:vis $to:ident, $from:ident, $type:ty { $($number:literal = $variant:path,)+ }) => {
        $vis const fn $to(value: $type) -> u8 {
            match value { $($variant => $number,)+ }
        }

        $vis const fn $from(number: u8) -> Option<$type> {
            match number { $($number => Some($variant),)+ _ => None }
        }
    };
}

pub(crate) use numbered;
