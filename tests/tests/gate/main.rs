//! Goal: the gate lets the source on only under a fresh permit, and off for each of its reasons.
//!
//! Method: permits cannot be forged, so a [`post::Clerk`] runs an instrument on a load of its own
//! and hands over what it mints, for whatever epoch it is told. The gate under test then gets
//! samples that no circuit need have made: each rule alone, at its threshold, in every spacing.

mod permit;
mod post;
mod rules;
mod set_point;
mod witness;
