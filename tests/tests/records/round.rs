//! There and back: what was written is read, and every bit of it counts.

use ohmwarden_core::block::{Block, Damage, HEAD, Kind, seal};
use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::Record;
use proptest::prelude::*;

use crate::any;

/// Both zeros are equal as numbers and different as bits, so the bytes are compared too.
fn same(record: &Record, bytes: &[u8]) -> Result<(), TestCaseError> {
    let again = Record::from_bytes(bytes);
    prop_assert_eq!(again.as_ref(), Ok(record));
    prop_assert_eq!(&again.map(|again| again.to_bytes())?[..], bytes);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2_000, ..ProptestConfig::default() })]

    #[test]
    fn any_record_comes_back_as_it_was(record in any::record()) {
        same(&record, &record.to_bytes())?;
    }

    #[test]
    fn anything_kept_comes_back_as_it_was(kept in any::kept(), serial: u32) {
        let bytes = kept.to_bytes(serial);
        prop_assert_eq!(Kept::from_bytes(&bytes), Ok(kept));
        prop_assert_eq!(Block::first(&bytes).map(|block| block.serial), Ok(serial));
    }

    /// The seal is right and the contents are anything: what is accepted is written the same again.
    #[test]
    fn no_contents_are_read_as_something_else(
        record in any::record(),
        at in 0_usize..Record::LENGTH - HEAD - 4,
        byte: u8,
    ) {
        let whole = record.to_bytes();
        let mut body = Block::first(&whole)?.body.to_vec();
        body[at] = byte;
        let mut place = [0; Record::LENGTH];
        let sealed = seal(Kind::Record, Record::VERSION, record.serial(), &body, &mut place).unwrap();
        if let Ok(read) = Record::from_bytes(sealed) {
            same(&read, sealed)?;
        }
    }

    #[test]
    fn no_bytes_at_all_are_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(Record::from_bytes(&bytes).is_err());
        prop_assert!(Kept::from_bytes(&bytes).is_err());
        prop_assert!(Block::first(&bytes).is_err());
    }
}

#[test]
fn a_block_tells_its_kind_its_version_and_where_it_ends() {
    let mut place = [0; 40];
    let block = seal(Kind::Calibration, 3, 0x0102_0304, b"constants", &mut place).unwrap();
    assert_eq!(block[..HEAD], *b"OW\x03\x03\x17\x00\x04\x03\x02\x01");
    assert_eq!(block[HEAD..19], *b"constants");
    let opened = Block::all(block).unwrap();
    assert_eq!(opened.is(Kind::Kept, 3), Err(Damage::Kind(3)));
    assert_eq!(opened.is(Kind::Calibration, 2), Err(Damage::Version(3)));
    let mut copy = [0; 40];
    assert_eq!(opened.copy_to(&mut copy), block.len());
    assert_eq!(copy[..block.len()], *block);
    let longer = [block, b"x"].concat();
    assert_eq!(Block::all(&longer), Err(Damage::Length));
    assert_eq!(Block::first(&longer).map(|found| found.len()), Ok(block.len()));
    for length in 0..block.len() {
        assert!(Block::first(&block[..length]).is_err(), "{length} bytes");
    }
}

#[test]
fn a_body_that_does_not_fit_is_not_sealed() {
    assert_eq!(seal(Kind::Kept, 1, 0, &[0; 27], &mut [0; 40]), None);
    assert_eq!(seal(Kind::Kept, 1, 0, &[0; 1_024], &mut [0; 2_048]), None);
}
