//! Faults of a scenario: each effect goes to where it belongs.

use super::World;
use crate::faults::{Clock, Effect, Loop, Memory, PanelFault, make};
use crate::scenario::FaultCall;

impl World {
    pub(super) fn fault(&mut self, call: &FaultCall) {
        // A call was checked against the same catalogue when the scenario was read.
        let Some(effect) = make(call) else { return };
        self.injected.push((call.spec.name, effect));
        self.apply_effect(&effect, true);
    }

    /// A fault ends: the last one of this name.
    pub(super) fn clear(&mut self, name: &str) {
        let Some(at) = self.injected.iter().rposition(|(known, _)| *known == name) else { return };
        let (_, effect) = self.injected.remove(at);
        self.apply_effect(&effect, false);
    }

    fn apply_effect(&mut self, effect: &Effect, on: bool) {
        match *effect {
            Effect::Actuator(_) | Effect::Sensor(_) | Effect::Supply(_) => {
                self.bench_effect(effect, on)
            }
            Effect::Lead(lead) => {
                use crate::faults::LeadFault;
                if matches!(lead, LeadFault::Open(_)) {
                    self.lead_open = on;
                }
                self.bench_effect(effect, on);
            }
            Effect::Panel(fault) => {
                let place = match fault {
                    PanelFault::TestWelded => &mut self.faults.welded,
                    PanelFault::TestContradicts => &mut self.faults.contradicts,
                    PanelFault::Between => &mut self.faults.between,
                };
                *place = on;
            }
            Effect::Loop(Loop::Stalls { blocks }) if on => self.faults.stalled_blocks = blocks,
            Effect::Loop(Loop::InterruptStops { samples }) if on => {
                self.faults.interrupt_off = samples
            }
            // A stall ends by itself.
            Effect::Loop(_) => {}
            Effect::Clock(Clock::Rate { factor }) => {
                let at_us = self.at_us();
                self.faults.set_clock(at_us, if on { factor } else { 1.0 });
            }
            Effect::Memory(Memory::Forgets) => self.faults.forgets = on,
        }
    }

    fn bench_effect(&mut self, effect: &Effect, on: bool) {
        if on {
            self.bench.apply(effect);
        } else {
            self.bench.clear(effect);
        }
    }
}
