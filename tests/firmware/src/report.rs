//! Writes names and whole numbers to whoever runs the emulator, without `core::fmt`.

use cortex_m_semihosting::{debug, nr, syscall1};

/// Prints `name value` on a line.
pub fn line(name: &[u8], value: u32) {
    pair(name, b"", value);
}

/// Prints a name of two parts, and its value, on a line.
pub fn pair(first: &[u8], second: &[u8], value: u32) {
    let mut text = [0_u8; 64];
    let (used, end) = text.split_at_mut(63);
    end.fill(0);
    let mut free = used.iter_mut();
    for letter in first.iter().chain(second) {
        if let Some(place) = free.next() {
            *place = *letter;
        }
    }
    let mut power = 1_000_000_000_u32;
    let mut begun = false;
    if let Some(place) = free.next() {
        *place = b' ';
    }
    while power > 0 {
        let digit = (value / power % 10) as u8;
        begun |= digit > 0 || power == 1;
        if begun && let Some(place) = free.next() {
            *place = b'0' + digit;
        }
        power /= 10;
    }
    if let Some(place) = free.next() {
        *place = b'\n';
    }
    write(&text);
}

/// Writes a text that ends in a zero byte.
fn write(text: &[u8; 64]) {
    // SAFETY: the host reads from this address up to the zero byte, which `line` leaves room for.
    unsafe { syscall1(nr::WRITE0, text.as_ptr() as usize) };
}

/// Ends the emulation: good, or not.
pub fn end(good: bool) -> ! {
    debug::exit(if good { debug::EXIT_SUCCESS } else { debug::EXIT_FAILURE });
    loop {
        cortex_m::asm::nop();
    }
}
