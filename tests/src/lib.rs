//! Helpers shared by the cross-checks.
