//! A hash of everything that core was given and answered.

use ohmwarden_core::block::crc32;
use ohmwarden_core::commands::{Bias, Commands, Discharge, Relay};
use ohmwarden_core::frame::{BLOCK, Sample};
use ohmwarden_core::gate::GateOut;
use ohmwarden_core::unit::Voltage;

/// FNV-1a over 64-bit words: cheap, and any change of any bit changes it.
///
/// Samples wait for their block to end: what was just written in parts would make a word that is
/// read back at once wait for the writing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Digest {
    sum: u64,
    waiting: [(Option<Sample>, GateOut); BLOCK],
    filled: usize,
}

impl Digest {
    /// Nothing taken in yet: the offset basis of FNV-1a.
    pub(super) fn new() -> Self {
        let waiting = [(None, GateOut::default()); BLOCK];
        Self { sum: 0xcbf2_9ce4_8422_2325, waiting, filled: 0 }
    }

    pub(super) fn value(mut self) -> u64 {
        self.settle();
        self.sum
    }

    const fn word(&mut self, word: u64) {
        self.sum = (self.sum ^ word).wrapping_mul(0x0000_0100_0000_01b3);
        self.sum ^= self.sum >> 29;
    }

    #[inline]
    pub(super) fn sample(&mut self, sample: Option<Sample>, gate: GateOut) {
        if let Some(place) = self.waiting.get_mut(self.filled) {
            *place = (sample, gate);
            self.filled += 1;
        }
        if self.filled == BLOCK {
            self.settle();
        }
    }

    /// Takes in what waits, in its order.
    fn settle(&mut self) {
        let waiting = self.waiting;
        for (sample, gate) in waiting.iter().take(self.filled) {
            let codes = sample.map_or(u64::MAX, |s| {
                let [v, v2, i, g] =
                    [s.v, s.v2, s.i, s.i_gate].map(|c| u64::from(c.cast_unsigned()));
                v | v2 << 16 | i << 32 | g << 48
            });
            self.word(codes);
            let low = sample.map_or(0, |s| u64::from(s.low.cast_unsigned()));
            let set = u64::from(gate.set_point.as_microvolts().cast_unsigned());
            self.word(set | low << 32 | u64::from(gate.on) << 63);
        }
        self.filled = 0;
    }

    /// What a board's flash holds at the end.
    pub(super) fn image(&mut self, bytes: &[u8]) {
        self.settle();
        self.word(u64::from(crc32(bytes)));
    }

    pub(super) fn commands(&mut self, commands: &Commands) {
        self.settle();
        let view = commands.view();
        let bit = u64::from;
        self.word(
            view.state.index() as u64
                | u64::from(commands.shunt().index()) << 8
                | (commands.tone().index() as u64) << 16
                | bit(commands.discharge() == Discharge::Closed) << 24
                | bit(commands.output_relay() == Relay::Closed) << 25
                | bit(commands.bias() == Bias::On) << 26
                | bit(commands.supply_token()) << 27
                | bit(commands.keep_power()) << 28
                | bit(view.live) << 29
                | bit(view.claims_dead) << 30
                | bit(commands.permit_epoch().is_some()) << 31
                | u64::from(view.main.flags.bits()) << 32,
        );
        let reading = view.main.value.amount().map_or(u32::MAX, f32::to_bits);
        let volts = view.volts.map_or(i32::MIN, Voltage::as_microvolts);
        self.word(u64::from(volts.cast_unsigned()) | u64::from(reading) << 32);
        for byte in view.reason.word().bytes() {
            self.word(u64::from(byte));
        }
    }
}
