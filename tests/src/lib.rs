//! Helpers shared by the cross-checks.

pub mod latency;
