//! How deep a call goes, by paint: fill what lies below, call, look how far it was overwritten.

use core::hint::black_box;

use cortex_m::register::msp;

/// Painted below the stack pointer; nothing here goes deeper.
const BYTES: usize = 4_096;
/// Left alone just below the stack pointer, for the frame that paints.
const MARGIN: usize = 64;
const PAINT: u32 = 0xa5c3_5a3c;

/// Runs `call` and answers with it how many bytes of stack it took.
#[inline(never)]
pub fn depth<R>(call: impl FnOnce() -> R) -> (R, u32) {
    let top = msp::read() as usize;
    paint(top);
    let answer = apart(call);
    (answer, looked(top))
}

/// Keeps the frame of `call` apart from that of the one who measures.
#[inline(never)]
fn apart<R>(call: impl FnOnce() -> R) -> R {
    black_box(call())
}

#[inline(always)]
fn paint(top: usize) {
    let mut at = top - MARGIN;
    while at > top - BYTES {
        at -= 4;
        // SAFETY: free memory below the stack pointer of a single stack, aligned; nothing else
        // runs meanwhile, because every interrupt of the image is pended by hand.
        unsafe { core::ptr::write_volatile(at as *mut u32, PAINT) };
    }
}

#[inline(always)]
fn looked(top: usize) -> u32 {
    let mut at = top - BYTES;
    // SAFETY: as above; reading what was painted.
    while at < top && unsafe { core::ptr::read_volatile(at as *const u32) } == PAINT {
        at += 4;
    }
    (top - at) as u32
}
