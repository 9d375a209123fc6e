//! Any body sealed as what is kept: what is read is written the same again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use ohmwarden_core::block::{Kind, seal};
use ohmwarden_core::kept::Kept;

fuzz_target!(|bytes: &[u8]| {
    let _ = Kept::from_bytes(bytes);
    let mut place = [0; 1024];
    let Some(block) = seal(Kind::Kept, Kept::VERSION, 7, bytes, &mut place) else { return };
    if let Ok(kept) = Kept::from_bytes(block) {
        assert_eq!(kept.to_bytes(7)[..], *block);
    }
});
