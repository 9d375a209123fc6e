//! Damage: bits that flip, and contents that were sealed rightly but cannot be.

use ohmwarden_core::block::{Block, Damage, HEAD, Kind, SEAL, seal};
use ohmwarden_core::frame::Function;
use ohmwarden_core::judge::{Flags, Limit, Reading, Value, Verdict};
use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::{About, Correction, Finding, Origin, Record};
use ohmwarden_core::unit::{Resistance, Temperature, Voltage};
use proptest::prelude::*;

use crate::any;

/// Places in a record's body, as its layout says.
const PRESENT: usize = 0;
const FUNCTION: usize = 3;
const TIMED: usize = 4;
const MAIN_UNIT: usize = 13;
const MAIN_KIND: usize = 14;
const MAIN_VALUE: usize = 15;
const MAIN_DOUBT: usize = 19;
const MAIN_FLAGS: usize = 27;
const LIMIT: usize = 49;
const RULE: usize = 54;
const VERDICT: usize = 55;
const ORIGIN: usize = 56;
const PROFILE: usize = 60;
const POINTS: usize = 85;

fn main_reading() -> Reading {
    Reading { value: Value::Number(5.0e6), doubt: 2.0e5, ..Reading::NONE }
}

fn about() -> About {
    About { function: Function::Insulation(Voltage::from_volts(500)), ..About::NOTHING }
}

fn passed() -> Record {
    let judged = main_reading().judge(Limit::AtLeast(1.0e6));
    assert_eq!(judged.verdict(), Verdict::Pass);
    Record::of(7, Finding::Judged(judged, Origin::default()), about()).unwrap()
}

/// The record with other bytes at one place of its body, and a seal that fits.
fn altered(record: &Record, at: usize, bytes: &[u8]) -> Result<Record, Damage> {
    let whole = record.to_bytes();
    let mut body = Block::first(&whole)?.body.to_vec();
    body[at..at + bytes.len()].copy_from_slice(bytes);
    let mut place = [0; Record::LENGTH];
    let sealed = seal(Kind::Record, Record::VERSION, record.serial(), &body, &mut place).unwrap();
    Record::from_bytes(sealed)
}

#[test]
fn a_pass_with_a_spoiling_flag_is_refused() {
    for (flag, word) in Flags::WORDS {
        let told = altered(&passed(), MAIN_FLAGS, &flag.bits().to_le_bytes());
        if Flags::SPOILING.any(*flag) {
            assert_eq!(told, Err(Damage::Verdict), "{word}");
        } else if *flag == Flags::TEMPERATURE {
            assert_eq!(told, Err(Damage::Contradiction), "there is no raw value");
        } else {
            assert_eq!(told.map(|record| record.verdict()), Ok(Some(Verdict::Pass)), "{word}");
        }
    }
}

#[test]
fn a_verdict_that_the_reading_does_not_give_is_refused() {
    for verdict in (0..=u8::MAX).filter(|verdict| *verdict != 1) {
        assert_eq!(altered(&passed(), VERDICT, &[verdict]), Err(Damage::Verdict), "{verdict}");
    }
    assert_eq!(altered(&passed(), MAIN_VALUE, &1.0e6_f32.to_le_bytes()), Err(Damage::Verdict));
    assert_eq!(
        altered(&passed(), LIMIT, &[2]),
        Err(Damage::Verdict),
        "at most instead of at least"
    );
    assert_eq!(altered(&passed(), LIMIT, &[0, 0, 0, 0, 0]), Err(Damage::Verdict), "no limit");
}

#[test]
fn what_is_no_number_is_refused() {
    for number in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
        let undecided = Record::of(
            1,
            Finding::Unjudged(Reading { value: Value::Above(number), ..main_reading() }),
            about(),
        );
        assert_eq!(undecided, Err(Damage::NotANumber));
        let unjudged = Record::of(1, Finding::Unjudged(main_reading()), about()).unwrap();
        for at in [MAIN_VALUE, MAIN_DOUBT] {
            assert_eq!(altered(&unjudged, at, &number.to_le_bytes()), Err(Damage::NotANumber));
        }
    }
    let below_zero = Reading { doubt: -1.0, ..main_reading() };
    assert_eq!(Record::of(1, Finding::Unjudged(below_zero), about()), Err(Damage::NotANumber));
}

#[test]
fn numbers_that_stand_for_nothing_are_refused_at_their_place() {
    for (at, field, byte) in [
        (PRESENT, PRESENT, 0x80),
        (FUNCTION, FUNCTION, 7),
        (MAIN_UNIT, MAIN_UNIT, 8),
        (MAIN_KIND, MAIN_KIND, 4),
        (MAIN_FLAGS + 3, MAIN_FLAGS, 0x80),
        (LIMIT, LIMIT, 3),
        (RULE, RULE, 2),
        (POINTS, POINTS, 14),
    ] {
        let place = u16::try_from(HEAD + field).unwrap();
        assert_eq!(altered(&passed(), at, &[byte]), Err(Damage::Field(place)), "{at}");
    }
    assert_eq!(altered(&passed(), FUNCTION, &[3]), Err(Damage::NothingMeasured), "off");
}

#[test]
fn something_where_nothing_may_stand_is_refused() {
    let unjudged = Record::of(1, Finding::Unjudged(main_reading()), about()).unwrap();
    for (record, at) in [
        (&passed(), TIMED),
        (&passed(), POINTS + 1),
        (&unjudged, LIMIT + 1),
        (&unjudged, RULE),
        (&unjudged, ORIGIN),
    ] {
        assert_eq!(altered(record, at, &[1]), Err(Damage::Contradiction), "{at}");
    }
    assert_eq!(altered(&passed(), PROFILE, &[0]), Err(Damage::Contradiction));
    let correction = Some(Correction {
        raw: Value::Number(4.0e6),
        temperature: Temperature::from_celsius(35),
        rule: 1,
    });
    let without_flag = About { correction, ..about() };
    let finding = Finding::Unjudged(main_reading());
    assert_eq!(Record::of(1, finding, without_flag.clone()), Err(Damage::Contradiction));
    let corrected = Finding::Unjudged(main_reading().flagged(Flags::TEMPERATURE));
    assert!(Record::of(1, corrected, without_flag).is_ok());
}

#[test]
fn every_bit_that_flips_alone_and_every_pair_near_it_is_found() {
    let whole = passed().to_bytes();
    let kept = Kept { null: Some(Resistance::from_milliohms(150)), ..Kept::NOTHING }.to_bytes(3);
    let mut flipped = 0;
    for first in 0..whole.len() * 8 {
        for second in (first..whole.len() * 8).take(64) {
            let mut bytes = whole;
            bytes[first / 8] ^= 1 << (first % 8);
            if second != first {
                bytes[second / 8] ^= 1 << (second % 8);
            }
            assert!(Record::from_bytes(&bytes).is_err(), "bits {first} and {second}");
            flipped += 1;
        }
    }
    for bit in 0..kept.len() * 8 {
        let mut bytes = kept;
        bytes[bit / 8] ^= 1 << (bit % 8);
        assert!(Kept::from_bytes(&bytes).is_err(), "bit {bit}");
        flipped += 1;
    }
    println!("{flipped} patterns of one or two bits, all found");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2_000, ..ProptestConfig::default() })]

    /// Up to 32 bits in a row are always found by a check word of 32 bits; so are these.
    #[test]
    fn a_burst_in_any_record_is_found(
        record in any::record(),
        at in 0..Record::LENGTH - 4,
        burst in 1..=u32::MAX,
    ) {
        let mut bytes = record.to_bytes();
        for (byte, turned) in bytes[at..].iter_mut().zip(burst.to_le_bytes()) {
            *byte ^= turned;
        }
        prop_assert!(Record::from_bytes(&bytes).is_err());
    }
}

#[test]
fn a_pass_that_only_a_lopsided_doubt_gives_comes_back_as_a_pass() {
    // A quarter of doubt, all of it in the current: the low end is 1.45 / 1.41 Mohm, and not 1.45 less
    // 1.64 quarters of itself.
    let value = Value::Number(1.45e6);
    let reading = Reading { value, doubt: 0.3625e6, skew: 0.25, ..Reading::NONE };
    let judged = reading.judge(Limit::AtLeast(1.0e6));
    assert_eq!(judged.verdict(), Verdict::Pass);
    let even = Reading { skew: 0.0, ..reading };
    assert_ne!(even.judge(Limit::AtLeast(1.0e6)).verdict(), Verdict::Pass);
    let record = Record::of(7, Finding::Judged(judged, Origin::default()), about()).unwrap();
    assert_eq!(Record::from_bytes(&record.to_bytes()), Ok(record));
}

#[test]
fn a_record_is_as_long_as_is_promised() {
    assert_eq!(Record::LENGTH, 256);
    assert_eq!(Kept::LENGTH, SEAL + 28);
}
