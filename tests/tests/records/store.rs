//! The store in ordinary use, and what it finds in a flash whose bits have rotted.

use ohmwarden_core::block::{Block, Damage, Kind, seal};
use ohmwarden_core::frame::Function;
use ohmwarden_core::judge::{Limit, Reading, Value};
use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::{About, Finding, Origin, Record};
use ohmwarden_core::store::{PLACE, Places, Store, Trouble, WhenFull};
use ohmwarden_core::unit::{Resistance, Voltage};
use ohmwarden_sim::flash::Nor;
use proptest::prelude::*;

/// Small pages, so that a story of a few records goes round.
pub(crate) const PAGE: usize = 1024;
pub(crate) type Flash = Nor<PAGE, 4>;
/// Pages of all three rings.
pub(crate) const PAGES: usize = 10;
/// Records that fit into the log.
pub(crate) const ROOM: u32 = 4 * 3;

pub(crate) fn places() -> Places {
    let page = |n: u32| n * PAGE as u32;
    Places { log: page(0)..page(4), kept: page(4)..page(7), calibration: page(7)..page(10) }
}

pub(crate) fn open(flash: Flash) -> Store<Flash> {
    Store::open(flash, places()).expect("a store opens")
}

/// The record of a number: no two are alike.
pub(crate) fn record(serial: u32) -> Record {
    let main = Reading {
        value: Value::Number(1.0e6 + serial as f32 * 1.0e4),
        doubt: 1.0e4,
        ..Reading::NONE
    };
    let finding = Finding::Judged(main.judge(Limit::AtLeast(1.1e6)), Origin::default());
    let about =
        About { function: Function::Insulation(Voltage::from_volts(500)), ..About::NOTHING };
    Record::of(serial, finding, about).expect("a record")
}

/// What is kept, by a number.
pub(crate) fn kept(number: u32) -> Kept {
    Kept {
        null: Some(Resistance::from_milliohms(u64::from(number))),
        unfinished: number.is_multiple_of(2),
        ..Kept::NOTHING
    }
}

/// All that a store holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Held {
    pub(crate) records: Vec<Record>,
    pub(crate) damaged: Vec<Damage>,
    pub(crate) kept: Option<Kept>,
    pub(crate) calibration: Option<Vec<u8>>,
}

pub(crate) fn held(store: &mut Store<Flash>) -> Held {
    let mut held = Held::default();
    store
        .records(|record| match record {
            Ok(record) => held.records.push(record),
            Err(damage) => held.damaged.push(damage),
        })
        .expect("the log is read");
    held.kept = store.kept().expect("what is kept is read");
    let mut place = [0; PLACE];
    let constants = store.calibration(&mut place).expect("constants are read");
    held.calibration = constants.map(|block| block.body.to_vec());
    held
}

#[test]
fn a_blank_flash_is_an_empty_store() {
    let mut store = open(Flash::blank(PAGES));
    assert_eq!((held(&mut store), store.next_serial()), (Held::default(), 0));
    assert_eq!(store.into_flash().used(), 0, "opening and reading wrote nothing");
}

#[test]
fn a_full_log_refuses_until_it_is_told_to_overwrite() {
    let mut store = open(Flash::blank(PAGES));
    for serial in 0..ROOM {
        assert_eq!(store.append(&record(serial), WhenFull::Refuse), Ok(()), "{serial}");
    }
    for _ in 0..3 {
        assert_eq!(store.append(&record(ROOM), WhenFull::Refuse), Err(Trouble::Full));
    }
    assert_eq!(held(&mut store).records, (0..ROOM).map(record).collect::<Vec<_>>());
    assert_eq!(store.append(&record(ROOM), WhenFull::OverwriteOldest), Ok(()));
    let mut store = open(store.into_flash().powered());
    assert_eq!(store.next_serial(), ROOM + 1);
    assert_eq!(held(&mut store).records, (3..=ROOM).map(record).collect::<Vec<_>>());
}

#[test]
fn what_is_kept_and_the_constants_outlive_many_rounds() {
    let mut store = open(Flash::blank(PAGES));
    store.calibrate(2, b"constants").unwrap();
    for number in 0..500 {
        store.keep(&kept(number)).unwrap();
        assert_eq!(store.kept(), Ok(Some(kept(number))));
    }
    for number in 0..100_u8 {
        store.calibrate(2, &[number; 300]).unwrap();
        let mut place = [0; PLACE];
        let block = store.calibration(&mut place).unwrap().unwrap();
        assert_eq!((block.version, block.body), (2, &[number; 300][..]));
    }
    assert_eq!(store.kept(), Ok(Some(kept(499))));
}

#[test]
fn what_is_no_whole_block_or_has_another_number_is_not_written() {
    let mut store = open(Flash::blank(PAGES));
    let mut bytes = record(0).to_bytes();
    bytes[40] ^= 1;
    assert_eq!(store.append_block(&bytes, WhenFull::Refuse), Err(Trouble::Damaged(Damage::Check)));
    assert_eq!(store.append(&record(1), WhenFull::Refuse), Err(Trouble::Serial(0)));
    assert_eq!(store.calibrate(1, &[0; 1_020]), Err(Trouble::TooLong));
    assert_eq!(store.into_flash().used(), 0);
}

#[test]
fn records_and_daily_checks_share_the_log() {
    let mut store = open(Flash::blank(PAGES));
    store.append(&record(0), WhenFull::Refuse).unwrap();
    let mut place = [0; 64];
    let check = seal(Kind::DailyCheck, 1, 1, b"5 ohm reads 5.02", &mut place).unwrap();
    store.append_block(check, WhenFull::Refuse).unwrap();
    store.append(&record(2), WhenFull::Refuse).unwrap();
    let mut kinds = Vec::new();
    store.read(|block| kinds.push(block.map(|block| (block.serial, block.kind)))).unwrap();
    assert_eq!(kinds, [Ok((0, 1)), Ok((1, 4)), Ok((2, 1))]);
    assert_eq!(held(&mut store).records, [record(0), record(2)]);
}

#[test]
fn places_that_cannot_be_are_refused() {
    let good = places();
    let bad = [
        Places { log: 0..2 * PAGE as u32, ..good.clone() },
        Places { log: 4..4 + 4 * PAGE as u32, ..good.clone() },
        Places { kept: good.log.clone(), ..good.clone() },
        Places { calibration: 8 * PAGE as u32..11 * PAGE as u32, ..good },
    ];
    for places in bad {
        let told =
            Store::open(Flash::blank(PAGES), places.clone()).map(|store| store.next_serial());
        assert_eq!(told, Err(Trouble::Places), "{places:?}");
    }
}

/// A flash with a full log, something kept and constants.
pub(crate) fn full() -> Flash {
    let mut store = open(Flash::blank(PAGES));
    for serial in 0..ROOM {
        store.append(&record(serial), WhenFull::Refuse).unwrap();
        store.keep(&kept(serial)).unwrap();
    }
    store.calibrate(1, &[7; 200]).unwrap();
    store.into_flash().powered()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 1_000, ..ProptestConfig::default() })]

    /// Bits that rot anywhere: a record is as it was written, or it does not come out.
    #[test]
    fn rotten_bits_never_make_another_record(
        bits in prop::collection::vec(0..PAGES * PAGE * 8, 1..40),
    ) {
        let mut bytes = full().bytes().to_vec();
        for bit in &bits {
            bytes[bit / 8] ^= 1 << (bit % 8);
        }
        let Ok(mut store) = Store::open(Flash::with(bytes), places()) else { return Ok(()) };
        let mut records = Vec::new();
        if store.records(|record| records.extend(record.ok())).is_ok() {
            for found in &records {
                prop_assert_eq!(found, &record(found.serial()));
            }
        }
        if let Ok(Some(found)) = store.kept() {
            prop_assert!((0..ROOM).any(|number| found == kept(number)));
        }
        if let Ok(Some(block)) = store.calibration(&mut [0; PLACE]) {
            prop_assert_eq!(block.body, &[7; 200][..]);
        }
    }
}

/// How many of so many single rotten bits were seen: every one that lies in a block.
#[test]
fn every_rotten_bit_in_a_block_is_found() {
    let clean = full().bytes().to_vec();
    let (mut flipped, mut lost) = (0, 0);
    for at in (0..4 * PAGE).step_by(3) {
        let mut bytes = clean.clone();
        bytes[at] ^= 1 << (at % 8);
        let in_block = (at.saturating_sub(247)..=at).any(|start| {
            let whole = Block::first(&clean[start..]);
            whole.is_ok_and(|block| block.kind == 1 && start + block.len() > at)
        });
        let mut records = Vec::new();
        let mut store = open(Flash::with(bytes));
        store.records(|record| records.extend(record.ok())).unwrap();
        assert!(records.iter().all(|found| *found == record(found.serial())), "byte {at}");
        assert!(records.len() < ROOM as usize || !in_block, "byte {at} was not missed");
        flipped += 1;
        lost += usize::from(in_block);
    }
    println!("{flipped} bits turned one by one, {lost} of them in a record and all of those found");
}
