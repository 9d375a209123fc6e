//! The world that the decision core cannot see: circuit, front end, operator, faults.
//!
//! `no_std` with `alloc`, so that the compiler itself keeps clocks, files, threads, hash order and
//! the platform's maths out: the same scenario gives the same trace to the bit on every machine.
#![no_std]

extern crate alloc;

pub mod circuit;
pub mod expect;
pub mod faults;
pub mod flash;
pub mod frontend;
pub mod scenario;
pub mod world;
