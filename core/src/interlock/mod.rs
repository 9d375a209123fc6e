//! The state machine that alone decides whether anything may be driven: one pure, total function.
//!
//! [`next`] is a `const fn` over small finite data, one `match`, one row a line. Numbers stay in
//! detect's evidence and timers enter as booleans, so that the whole machine can be enumerated,
//! model-checked and printed. Nothing outside calls for a drive: a [`crate::gate::Permit`] is minted
//! here alone, from what `next` allowed and from what was proved.
//!
//! Order of precedence in every state: a trip, then the key let go, then a fault, then a supply too
//! low, then a limit, then time. Exercised completely by `tests/tests/interlock/`.
#![deny(clippy::float_arithmetic)]

mod input;
mod mint;
mod next;
mod reason;
mod state;

pub use input::{Asked, Input, Press, Proof, Store, Trip};
pub(crate) use mint::{Start, mint};
pub use next::{Next, next};
pub use reason::{Lock, Reason};
pub use state::{DriveLevel, State, Then};
