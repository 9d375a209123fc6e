//! Any body sealed as a record: what is read is written the same again, and passes no spoilt one.
#![no_main]

use libfuzzer_sys::fuzz_target;
use ohmwarden_core::block::{Kind, seal};
use ohmwarden_core::judge::{Flags, Verdict};
use ohmwarden_core::record::Record;

fuzz_target!(|bytes: &[u8]| {
    let _ = Record::from_bytes(bytes);
    let mut place = [0; 1024];
    let Some(block) = seal(Kind::Record, Record::VERSION, 7, bytes, &mut place) else { return };
    if let Ok(record) = Record::from_bytes(block) {
        assert_eq!(record.to_bytes()[..], *block);
        let spoilt = record.finding().reading().flags.any(Flags::SPOILING);
        assert!(!(spoilt && record.verdict() == Some(Verdict::Pass)));
    }
});
