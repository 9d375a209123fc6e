//! What goes wrong with the electronics and the leads, and what is done to the leads on purpose.

use super::Bench;
use super::wiring::{self, lead_ohms};
use crate::circuit::PartId;
use crate::faults::{Actuator, Effect, LeadFault, Sensor};
use crate::scenario::{Lead, Side};

impl Bench {
    /// Lets something happen to the leads.
    pub fn lead(&mut self, lead: &Lead) {
        self.rests = false;
        match *lead {
            Lead::Open(side) => self.wrong.lead(LeadFault::Open(side), true),
            Lead::Join(side) => self.wrong.lead(LeadFault::Open(side), false),
            Lead::Short(on) => self.wrong.lead(LeadFault::Short, on),
            Lead::Swap(on) => self.wrong.lead(LeadFault::Swapped, on),
            Lead::Ohms(ohms) => {
                let leads = &self.handles.leads;
                for part in [leads.pos, leads.neg, leads.pos_to_neg, leads.neg_to_pos] {
                    self.adjust(part, lead_ohms(ohms));
                }
            }
        }
    }

    /// Makes a fault of the electronics, of the leads or of the battery begin.
    ///
    /// Effects on panel, loop, clock and memory are not for the electronics: nothing happens.
    pub fn apply(&mut self, effect: &Effect) {
        self.put(effect, true);
    }

    /// Makes such a fault end.
    pub fn clear(&mut self, effect: &Effect) {
        self.put(effect, false);
    }

    fn put(&mut self, effect: &Effect, on: bool) {
        self.rests = false;
        match *effect {
            Effect::Sensor(sensor) => {
                self.wrong.sensor(sensor, on);
                self.put_sensor(sensor, on);
            }
            Effect::Actuator(actuator) => {
                self.wrong.actuator(actuator, on);
                self.put_actuator(actuator, on);
            }
            Effect::Lead(lead) => {
                self.wrong.lead(lead, on);
                if let LeadFault::Leak { ohms } = lead {
                    self.adjust(
                        self.handles.leads.leak,
                        if on { ohms } else { wiring::APART_OHMS },
                    );
                }
            }
            Effect::Supply(fault) => self.wrong.battery(fault, on),
            Effect::Clock(_) | Effect::Loop(_) | Effect::Memory(_) | Effect::Panel(_) => {}
        }
    }

    fn put_sensor(&mut self, sensor: Sensor, on: bool) {
        match sensor {
            Sensor::DividerOpen { channel } => {
                let top = self.handles.divider_tops[channel.index().min(1)];
                self.adjust(top, if on { wiring::OPEN_OHMS } else { self.params.divider_top_ohms });
            }
            Sensor::NoFilter => {
                for filter in self.handles.filters {
                    // A hundredth of the capacitance: the pole of what stray is left.
                    self.adjust(filter, wiring::FILTER_FARADS * if on { 0.01 } else { 1.0 });
                }
            }
            _ => {}
        }
    }

    fn put_actuator(&mut self, actuator: Actuator, on: bool) {
        match actuator {
            Actuator::DischargeResistor { .. } => {
                self.adjust(self.handles.discharge_resistor, self.discharge_ohms() - 1.0);
            }
            Actuator::RelayTimes { travel_s, bounce_s } => {
                let (travel, bounce) = if on {
                    (travel_s, bounce_s)
                } else {
                    (self.params.relay_travel_s, self.params.relay_bounce_s)
                };
                self.output.set_times(travel, bounce, self.step_seconds);
                self.continuity.set_times(travel, bounce, self.step_seconds);
            }
            _ => {}
        }
    }

    /// Gives the discharge resistance as it is.
    pub(super) fn discharge_ohms(&self) -> f64 {
        self.params.discharge_ohms * self.wrong.discharge_factor
    }

    /// Changes a value; one that the circuit refuses was checked where the fault was read.
    fn adjust(&mut self, part: PartId, value: f64) {
        let changed = self.circuit.set_value(part, value);
        debug_assert!(changed.is_ok(), "{changed:?}");
    }

    /// Says whether the leads are changed over.
    #[must_use]
    pub const fn is_swapped(&self) -> bool {
        self.wrong.swapped
    }

    /// Says whether a lead is off.
    pub(super) const fn is_open(&self, side: Side) -> bool {
        match side {
            Side::Pos => self.wrong.open[0],
            Side::Neg => self.wrong.open[1],
        }
    }
}
