//! Any contents of the flash: opening, reading and writing end with an answer.
//!
//! Only a flash that is wrong from the beginning can refuse for good, and then it says so.
#![no_main]

extern crate alloc;

#[path = "../../../sim/src/flash/mod.rs"]
mod flash;

use flash::Nor;
use libfuzzer_sys::fuzz_target;
use ohmwarden_core::kept::Kept;
use ohmwarden_core::store::{Places, Store};

const PAGE: usize = 256;

fuzz_target!(|bytes: &[u8]| {
    let mut image = bytes.to_vec();
    image.resize(9 * PAGE, 0xFF);
    let page = |n: u32| n * PAGE as u32;
    let places =
        Places { log: page(0)..page(3), kept: page(3)..page(6), calibration: page(6)..page(9) };
    let Ok(mut store) = Store::open(Nor::<PAGE, 4>::with(image), places) else { return };
    let _ = store.read(|_| {});
    let _ = store.kept();
    let kept = Kept { unfinished: true, ..Kept::NOTHING };
    if store.keep(&kept).is_ok() {
        assert_eq!(store.kept(), Ok(Some(kept)));
    }
});
