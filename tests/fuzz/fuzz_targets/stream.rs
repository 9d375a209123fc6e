//! Any bytes over a line, then a frame: nothing panics, and the frame after a zero comes out.
#![no_main]

use libfuzzer_sys::fuzz_target;
use ohmwarden_core::block::wire::{Receiver, frame, longest};
use ohmwarden_core::block::{Kind, seal};

const MOST: usize = longest(1024);

fuzz_target!(|bytes: &[u8]| {
    let mut receiver = Receiver::<MOST>::new();
    for byte in bytes {
        receiver.take(*byte, |_| {});
    }
    let (mut place, mut framed) = ([0; 1024], [0; MOST]);
    let body = &bytes[..bytes.len().min(1_000)];
    let block = seal(Kind::Kept, 1, 7, body, &mut place).expect("it fits");
    let mut came = false;
    for byte in frame(block, &mut framed).expect("it fits") {
        receiver.take(*byte, |found| came |= found.is_ok_and(|found| found.body == body));
    }
    assert!(came);
});
