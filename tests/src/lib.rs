//! What the cross-checks share.
#![no_std]

pub mod stand;
