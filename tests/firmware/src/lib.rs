//! What the images share: the way out, counting, and a bench round core.
//!
//! No formatting, no allocation, and a panic handler that calls a function which does not exist:
//! if the compiler could not rule every panic out, the image does not link.
#![no_std]

pub mod bench;
pub mod count;
pub mod report;
pub mod stack;
#[path = "../../src/stand.rs"]
pub mod stand;

use core::panic::PanicInfo;

unsafe extern "C" {
    /// Stands nowhere. The linker names this symbol when something may still panic.
    fn a_panic_is_reachable() -> !;
}

unsafe extern "C" {
    /// Where an interrupt goes that nobody takes.
    fn DefaultHandler();
}

/// The vectors beyond those that every Cortex-M has: the linker wants one at least.
#[unsafe(link_section = ".vector_table.interrupts")]
#[unsafe(no_mangle)]
pub static __INTERRUPTS: [unsafe extern "C" fn(); 1] = [DefaultHandler];

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    // SAFETY: never linked, so never called.
    unsafe { a_panic_is_reachable() }
}
