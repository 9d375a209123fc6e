//! The world that the decision core cannot see.
#![no_std]
extern crate alloc;
pub mod expect;
pub mod scenario;
