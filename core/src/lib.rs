//! Every decision that a hand-held insulation and continuity tester makes, and no I/O.
//!
//! Such an instrument drives up to 1000 V, or 200 mA, into whatever its two leads touch. This
//! library decides whether it may, whether it must stop, when the charge is out again, and whether
//! a number deserves trust. Samples and keys go in, commands and a view come out.
//!
//! ```text
//!           interrupt, every sample                     main loop, every block of 10 samples
//!   Option<Sample {v, v2, i, i_gate, low}>          Frame {samples, panel, elapsed, supply, seen}
//!           |                                                   |
//!           v        epoch, cause, v and i at closing           v
//!      Gate::sample ------------ seen.gate ----------->  Instrument::step
//!           |   ^                                          signal     codes to exact sums to levels
//!           |   |                                          detect     levels to proofs, class, evidence
//!           v   |                                          interlock  next(state, input), permits
//!    source on/off,   arm(Permit) or disarm()              measure    ranges, nulls, readings
//!    set point              |                              judge      flags, bounds, verdict
//!                           +---- Commands {permit, supply token, discharge, continuity path,
//!                                 output relay, bias, shunt, tone, view, keep-power, event, kept}
//! ```
//!
//! Modules, in the order in which data flows: [`mod@unit`], [`frame`], [`signal`], [`gate`],
//! [`detect`], [`interlock`], [`measure`], [`judge`], [`view`], [`commands`]; beside them
//! [`profile`] and [`hazard`] (the numbers), [`calibration`] (what they were adjusted to), [`kept`]
//! (what survives a reset), [`record`] (what is kept of a measurement), [`block`] (both as bytes),
//! [`tone`], [`text`], [`limits`] and [`mod@correct`] (what a reading is held against, and at which
//! temperature and length), and [`invariants`] (what must always hold, for a simulator to watch).
//!
//! # What a board has to do
//!
//! In the interrupt, for every sample: `let out = GATE.sample(sample)`, then put `out.on` on the
//! source pin and `out.set_point` on the converter that sets the source; nothing else may switch
//! the source. In the main loop, for every block: `let mut commands = instrument.step(&frame)`,
//! then `GATE.follow(commands.take_permit())`, then the other lines.
//!
//! What outlives a power cut is the board's to keep: [`Commands::kept`] when it differs from what was
//! stored, and the record of a measurement ([`Instrument::record`]) when [`Commands::committed`]
//! says that there is one. At power-up it hands back what was kept ([`Instrument::wake`]), the
//! constants ([`Instrument::set_calibration`]) and the day ([`Instrument::set_today`]); a limit, a
//! temperature and a kind of cable pair come from whoever measures. The feature `store` keeps all
//! of it in flash, whatever moment the power goes.
//!
//! By itself the hardware must have: a second way to cut the source that falls 20 ms after
//! [`Commands::supply_token`] stops toggling, a passive bleed, and both dividers on the terminal
//! side of every fuse. Without those this core keeps none of its promises.
//!
//! # What is not here
//!
//! No drivers, no clock, no allocation, no unsafe code, no path to a panic, and no claim of
//! certification. It never claims that a circuit is safe to touch. What two leads cannot know it
//! does not guess: two leads on one phase read 0 V, and a direct source of our own polarity close
//! to our own voltage is found only by a short look with the source off.
#![no_std]

#[cfg(test)]
extern crate std;

pub mod block;
pub mod calibration;
pub mod commands;
pub mod correct;
pub mod date;
pub mod detect;
pub mod frame;
pub mod gate;
pub mod hazard;
mod instrument;
pub mod interlock;
pub mod invariants;
pub mod judge;
pub mod kept;
pub mod limits;
pub mod measure;
pub mod profile;
pub mod record;
pub mod signal;
#[cfg(feature = "store")]
pub mod store;
pub mod text;
pub mod tone;
pub mod unit;
pub mod view;
mod wide;

pub use commands::Commands;
pub use instrument::Instrument;
