//! Finds blocks in a copy of the flash or in a stream, and what is damaged between them.
//!
//! A block is found by its magic and its check word wherever it stands, so the size of pages and
//! words need not be known, and one damaged page takes nothing else with it. Of a store's pages
//! that leaves, between the blocks: blank bytes (all ones), marks and fillings (zeros), and the
//! eight bytes of a header before each block. Anything else is damage.

use core::fmt;
use core::ops::Range;

use ohmwarden_core::block::{Block, Damage, Kind, LONGEST, MAGIC, SEAL, wire};
use ohmwarden_core::calibration::Calibration;
use ohmwarden_core::calibration::daily::Daily;
use ohmwarden_core::date::Date;
use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::Record;
use serde::Serialize;

use super::What;

/// Bytes that the store's library writes before each block, not counting blank ones.
const HEADER: usize = 8;
/// So many blank bytes or zeros in a row divide two damages: more than a record holds.
const APART: usize = 192;

/// Everything that was found.
#[derive(Clone, Debug)]
pub(super) struct Findings {
    pub(super) what: What,
    /// Records and where they begin: by their numbers in an image, as they came in a stream.
    pub(super) records: Vec<(usize, Record)>,
    /// The latest of what was kept, with its number.
    pub(super) kept: Option<(u32, Kept)>,
    /// Whole blocks of other kinds.
    pub(super) others: Vec<Other>,
    /// Older blocks of what was kept.
    pub(super) older: usize,
    pub(super) damaged: Vec<Part>,
}

/// A whole block of another kind.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Other {
    pub(super) offset: usize,
    pub(super) kind: String,
    pub(super) version: u8,
    pub(super) serial: u32,
    pub(super) bytes: usize,
    /// What it holds, in words; empty where the kind is not known here.
    pub(super) says: String,
}

/// A part that is damaged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Part {
    pub(super) offset: usize,
    pub(super) length: usize,
    pub(super) reason: String,
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { offset, length, reason } = self;
        let bytes = if *length == 1 { "byte" } else { "bytes" };
        write!(f, "damaged at byte {offset}, {length} {bytes}: {reason}")
    }
}

impl Findings {
    const fn none(what: What) -> Self {
        Self {
            what,
            records: Vec::new(),
            kept: None,
            others: Vec::new(),
            older: 0,
            damaged: Vec::new(),
        }
    }

    /// How many blocks were whole.
    pub(super) fn whole(&self) -> usize {
        self.records.len() + usize::from(self.kept.is_some()) + self.older + self.others.len()
    }

    fn damage(&mut self, place: Range<usize>, reason: impl fmt::Display) {
        let (offset, length) = (place.start, place.len());
        self.damaged.push(Part { offset, length, reason: reason.to_string() });
    }

    /// Takes a block whose check word fits.
    fn take(&mut self, place: Range<usize>, block: &Block<'_>) {
        match Kind::from_number(block.kind) {
            Some(Kind::Record) => match Record::of_block(block) {
                Ok(record) => self.records.push((place.start, record)),
                Err(damage) => self.damage(place, damage),
            },
            Some(Kind::Kept) => match Kept::of_block(block) {
                Ok(kept) => self.take_kept(block.serial, kept),
                Err(damage) => self.damage(place, damage),
            },
            kind => match inside(kind, block.body) {
                Ok(says) => self.others.push(Other {
                    offset: place.start,
                    kind: kind.map_or(format!("kind {}", block.kind), |k| k.word().to_owned()),
                    version: block.version,
                    serial: block.serial,
                    bytes: block.body.len(),
                    says,
                }),
                Err(reason) => self.damage(place, reason),
            },
        }
    }

    fn take_kept(&mut self, serial: u32, kept: Kept) {
        self.older += usize::from(self.kept.is_some());
        let newer = |(last, _): &(u32, Kept)| serial.wrapping_sub(*last).cast_signed() > 0;
        if self.kept.as_ref().is_none_or(newer) {
            self.kept = Some((serial, kept));
        }
    }
}

/// What constants or a daily check hold, in words.
fn inside(kind: Option<Kind>, body: &[u8]) -> Result<String, String> {
    match kind {
        Some(Kind::Calibration) => {
            let calibration = Calibration::from_bytes(body).map_err(|unfit| unfit.to_string())?;
            let day = |day: Option<Date>| day.map_or("--".to_owned(), |day| day.to_string());
            Ok(format!("made {}, due {}", day(calibration.made()), day(calibration.due())))
        }
        Some(Kind::DailyCheck) => {
            let check = Daily::from_bytes(body).ok_or("a daily check that does not read back")?;
            let day = check.date().map_or("no day known".to_owned(), |day| day.to_string());
            Ok(format!("{day}, {} steps, {}", check.steps().len(), check.result().word()))
        }
        Some(Kind::Record | Kind::Kept) | None => Ok(String::new()),
    }
}

/// Finds frames between zeros.
pub(super) fn in_stream(bytes: &[u8]) -> Findings {
    let mut found = Findings::none(What::Stream);
    let mut start = 0;
    for piece in bytes.split(|byte| *byte == 0) {
        let place = start..start + piece.len();
        start = place.end + 1;
        if piece.is_empty() {
            continue;
        }
        match wire::open(&mut piece.to_vec()) {
            Ok(block) => found.take(place, &block),
            Err(damage) => found.damage(place, damage),
        }
    }
    found
}

/// Finds blocks wherever they stand.
pub(super) fn in_image(bytes: &[u8]) -> Findings {
    let mut found = Findings::none(What::Image);
    let mut gap = 0;
    let mut at = 0;
    while at < bytes.len() {
        match Block::first(&bytes[at..]) {
            Ok(block) => {
                between(bytes, gap..at, true, &mut found);
                gap = at + block.len();
                found.take(at..gap, &block);
                at = gap;
            }
            Err(_) => at += 1,
        }
    }
    between(bytes, gap..bytes.len(), false, &mut found);
    found.records.sort_by_key(|(_, record)| record.serial());
    found.damaged.sort_by_key(|part| part.offset);
    found
}

/// Tells what is damaged in a gap between blocks.
fn between(bytes: &[u8], gap: Range<usize>, block_follows: bool, found: &mut Findings) {
    let mut from = gap.start;
    for at in gap.clone() {
        if at < from {
            continue;
        }
        if let Some((length, damage)) = broken_block(&bytes[at..]) {
            remains(bytes, from..at, true, found);
            from = (at + length).min(gap.end);
            found.damage(at..from, damage);
        }
    }
    remains(bytes, from..gap.end, block_follows, found);
}

/// The length and the damage of what begins as a block of a known kind does.
fn broken_block(bytes: &[u8]) -> Option<(usize, Damage)> {
    let [one, two, kind, _, low, high, ..] = *bytes else { return None };
    let length = usize::from(u16::from_le_bytes([low, high]));
    let known = [one, two] == MAGIC && Kind::from_number(kind).is_some();
    let damage = Block::first(bytes).err()?;
    (known && (SEAL..=LONGEST).contains(&length)).then_some((length, damage))
}

/// Tells what is left of a gap once blanks, marks, fillings and a header are taken off.
fn remains(bytes: &[u8], gap: Range<usize>, header: bool, found: &mut Findings) {
    let mut gap = gap;
    if header {
        let blanks = bytes[gap.clone()].iter().rev().take_while(|byte| **byte == 0xFF).count();
        let end = gap.end - blanks.min(32 - HEADER);
        gap.end = end.saturating_sub(HEADER).max(gap.start);
    }
    let odd = |at: &usize| !matches!(bytes[*at], 0x00 | 0xFF);
    let mut odd = gap.filter(odd).peekable();
    while let Some(first) = odd.next() {
        let mut last = first;
        while let Some(next) = odd.next_if(|next| next - last < APART) {
            last = next;
        }
        found.damage(first..last + 1, "no block begins here");
    }
}
