//! The outputs of a state, put together at the end of a step.

use super::Instrument;
use crate::commands::{Bias, Commands, Discharge, Event, Relay};
use crate::detect::Circuit;
use crate::frame::{Frame, Function};
use crate::gate::{Permit, Polarity};
use crate::interlock::{Lock, Next, Start, State, mint};
use crate::judge::{Flags, Parts, Reading, Unit, Value};
use crate::measure::timed;
use crate::profile::Scale;
use crate::tone::Tone;
use crate::unit::Voltage;
use crate::view::{Progress, View};

/// A proof is this old at the most when it is called the class of the terminals.
const CLASS_GOOD_MS: u32 = 60_000;

impl Instrument {
    pub(super) fn commands(
        &mut self,
        frame: &Frame<'_>,
        decided: &Next,
        event: Option<Event>,
    ) -> Commands {
        let permit = self.permit(frame, decided);
        self.expects_drive = permit.is_some();
        let second_path = decided.drive.is_some()
            || matches!(self.state, State::Peek { .. })
            || self.retests_source();
        self.token = second_path && !self.token;
        let asks = self.prover.asks();
        let view = self.view();
        Commands {
            permit,
            supply_token: self.token,
            discharge: if self.discharge_on() { Discharge::Closed } else { Discharge::Open },
            continuity: self.continuity_path(),
            relay: if asks.relay || self.joins_output() { Relay::Closed } else { Relay::Open },
            bias: if asks.bias { Bias::On } else { Bias::Off },
            shunt: self.shunt(),
            tone: self.tone(&view),
            view,
            keep_power: self.keeps_power(&view),
            event,
            committed: false,
            kept: self.kept,
        }
    }

    fn permit(&self, frame: &Frame<'_>, decided: &Next) -> Option<Permit> {
        let low = matches!(self.state, State::ContRun | State::Nulling);
        if low && self.gap.is_open() {
            return None;
        }
        let polarity = if low { self.continuity.polarity() } else { Polarity::Forward };
        let widen =
            self.proved.filter(|p| p.class == Circuit::Induced).map_or(Voltage::ZERO, |p| p.peak);
        let start = Start {
            epoch: frame.seen.gate.epoch,
            set: self.set_voltage(),
            v_start: self.v_start(),
            widen,
            polarity,
        };
        mint(decided, start)
    }

    const fn joins_output(&self) -> bool {
        matches!(
            self.state,
            State::Ramp { .. }
                | State::Drive { .. }
                | State::Peek { .. }
                | State::TimedDrive { .. }
                | State::Discharging { .. }
        )
    }

    const fn continuity_path(&self) -> Option<Polarity> {
        match self.state {
            // A current that has not died away would kick: the path stays closed, locked or not.
            State::ContRun | State::Nulling | State::Unwind => Some(self.continuity.polarity()),
            State::Locked { .. } if self.unwinds => Some(self.continuity.polarity()),
            _ => None,
        }
    }

    fn view(&mut self) -> View {
        let level = self.live.level();
        let quiet_state = self.is_quiet_state();
        let alternating = quiet_state && level.dc.abs() < level.ac;
        let safe = self.profile.safe;
        let driving = match self.state {
            State::Ramp { .. }
            | State::Drive { .. }
            | State::Peek { .. }
            | State::TimedDrive { .. }
            | State::Discharging { .. } => true,
            // A charge of ours, or what absorption brings back of it.
            _ => {
                let ours = self.kept.unfinished || self.recovers;
                ours && !self.live.is_live()
                    && safe < self.block.v.abs()
                    && !self.stands_as_proved()
            }
        };
        View {
            state: self.state,
            reason: self.reason,
            function: self.function,
            volts: if self.health.is_blind() {
                None
            } else if !quiet_state || level.samples == 0 {
                Some(self.block.v)
            } else if alternating {
                Some(level.rms)
            } else {
                Some(level.dc)
            },
            alternating,
            hz: self.evidence.hz.filter(|_| alternating),
            live: self.says_live(),
            driving,
            circuit: self.told.filter(|_| self.class_holds()),
            evidence: self.evidence,
            main: self.main_reading(alternating),
            second: self.second_reading(),
            timed: self.timed_progress(),
            capacitance: self.capacitance(),
            judged: self.judged,
            claims_dead: self.claims_dead(),
        }
    }

    /// Whether the class that was told still describes the terminals.
    fn class_holds(&self) -> bool {
        match self.told {
            None => false,
            Some(Circuit::Dead | Circuit::Charged) => {
                self.timing.since_told < CLASS_GOOD_MS && !self.live.is_live()
            }
            Some(_) => true,
        }
    }

    fn claims_dead(&self) -> bool {
        let quiet = &self.profile.quiet;
        let level = self.live.level();
        matches!(self.state, State::Rest)
            && self.told == Some(Circuit::Dead)
            && self.class_holds()
            && self.path.is_proved()
            && self.block.v.abs() < quiet.dc
            && self.block.v2(&self.profile.front_end).abs() < quiet.dc
            && level.ac < quiet.ac
            && level.samples > 0
            && !self.health.is_blind()
    }

    fn main_reading(&mut self, alternating: bool) -> Reading {
        let frozen = Flags::NONE.with_if(Flags::FROZEN, self.state.drive().is_none());
        match self.function {
            Function::Volts | Function::Off | Function::Between => self.volts_reading(alternating),
            Function::Insulation(_)
            | Function::Timed(..)
            | Function::Continuity(_)
            | Function::Resistance => {
                if self.says_live() {
                    // A live event withdraws what was measured before it.
                    self.volts_reading(alternating)
                } else {
                    self.pending.flagged(frozen.with_if(Flags::DISTURBED, self.disturbed()))
                }
            }
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "a reading has four digits, f32 has seven")]
    fn volts_reading(&mut self, alternating: bool) -> Reading {
        let level = self.live.level();
        let v = if alternating { level.rms } else { level.dc };
        let adjusted = self.adjusted();
        let read = v.as_microvolts() as f32 / 1.0e6;
        // What alternates has no zero to be taken off.
        let volts = adjusted.corrected(Scale::Volts, read)
            - if alternating { adjusted.corrected(Scale::Volts, 0.0) } else { 0.0 };
        let unknown = level.samples == 0 || self.health.is_blind();
        let value = if unknown { Value::None } else { Value::Number(volts) };
        let flags = adjusted.flags().with_if(Flags::CLIPPED, level.clipped > 0);
        let doubt = self.doubt(Scale::Volts, volts);
        Reading { value, unit: Unit::Volt, doubt, skew: 0.0, flags }
    }

    /// The doubt of what a scale shows. Every block asks for that of the same one.
    #[inline(never)]
    fn doubt(&mut self, scale: Scale, shown: f32) -> f32 {
        let whole = match self.doubt {
            Some((of, whole)) if of == scale => whole,
            _ => Parts::shown(&self.adjusted(), scale).whole(),
        };
        self.doubt = Some((scale, whole));
        whole.at(shown)
    }

    /// At once, and not only with the next reading.
    fn disturbed(&self) -> bool {
        matches!(self.state, State::Drive { .. } | State::TimedDrive { .. })
            && self.insulation.is_disturbed()
    }

    fn second_reading(&mut self) -> Reading {
        if self.says_live() {
            return Reading::NONE;
        }
        match self.current_beside() {
            Ok((scale, amps)) => current(amps, self.doubt(scale, amps)),
            Err(other) => other,
        }
    }

    /// The quantity beside the last reading, whatever stands on the terminals now.
    pub(super) fn beside(&self) -> Reading {
        match self.current_beside() {
            Ok((scale, amps)) => current(amps, Parts::shown(&self.adjusted(), scale).at(amps)),
            Err(other) => other,
        }
    }

    /// The current of the last reading with its scale, or what stands in its place.
    fn current_beside(&self) -> Result<(Scale, f32), Reading> {
        match self.function {
            Function::Timed(..) if self.pending.unit != Unit::Ohm => Err(self.insulation.reading()),
            Function::Insulation(_) | Function::Timed(..) => {
                let amps = self.insulation.leakage().ok_or(Reading::NONE)?;
                Ok((Scale::Amps(self.insulation.shunt()), amps))
            }
            Function::Continuity(_) | Function::Resistance => {
                Ok((Scale::Amps(self.continuity.shunt()), self.continuity.current()))
            }
            Function::Volts | Function::Off | Function::Between => Err(Reading::NONE),
        }
    }

    fn timed_progress(&self) -> Option<Progress> {
        let Function::Timed(_, test) = self.function else { return None };
        let points = self.curve().len();
        Some(Progress {
            test,
            elapsed: self.timed.elapsed(),
            length: timed::length(test, &self.profile.times),
            points: u8::try_from(points).unwrap_or(u8::MAX),
            refused: self.refused,
        })
    }

    fn tone(&self, view: &View) -> Tone {
        if view.live {
            return Tone::Live;
        }
        if view.driving {
            return Tone::Driving;
        }
        let joined = matches!(self.state, State::ContRun) && self.continuity.is_joined();
        if joined { Tone::Joined } else { Tone::Silent }
    }

    fn keeps_power(&self, view: &View) -> bool {
        view.live
            || view.driving
            || self.state.drive().is_some()
            || matches!(
                self.state,
                State::Unwind | State::Settle { .. } | State::Locked { why: Lock::DriveStuck }
            )
    }
}

const fn current(amps: f32, doubt: f32) -> Reading {
    Reading { value: Value::Number(amps), unit: Unit::Ampere, doubt, ..Reading::NONE }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Calibration;
    use crate::date::Date;
    use crate::profile::GENERAL;
    use crate::signal::SampleRate;

    #[test]
    fn what_is_shown_is_doubted_by_the_constants_and_the_scale_that_were_asked_for_last() {
        let mut instrument = Instrument::new(&GENERAL, SampleRate::DEFAULT);
        let adjusted = Calibration::as_specified(Date::FIRST, Date::FIRST).ok();
        assert!(adjusted.is_some());
        let mut doubts = [0.0; 2];
        for (calibration, place) in [None, adjusted].into_iter().zip(&mut doubts) {
            instrument.set_calibration(calibration);
            for scale in [Scale::Low, Scale::Volts] {
                let afresh = Parts::shown(&instrument.adjusted(), scale).at(500.0);
                *place = instrument.doubt(scale, 500.0);
                assert_eq!((*place, instrument.doubt(scale, 500.0)), (afresh, afresh), "{scale:?}");
            }
        }
        let [absent, adjusted] = doubts;
        assert!(adjusted < absent, "{adjusted} {absent}");
    }
}
