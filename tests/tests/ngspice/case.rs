//! One netlist in both languages, and the comparison of their waveforms.

use ohmwarden_sim::circuit::{Circuit, NetError, Netlist, PartId, Probe};

use crate::Outcome;
use crate::other::other_simulator;

/// The budget of the design; what is aimed at is a tenth of it.
const WORST_OF_FULL_SCALE: f64 = 1e-3;
const AIM_OF_FULL_SCALE: f64 = 1e-4;
const TIGHT: &str = "reltol=1e-6 abstol=1e-13 vntol=1e-8 chgtol=1e-18 method=gear";

/// One netlist in both languages.
pub(crate) struct Case {
    pub(crate) name: &'static str,
    /// Parts in the other simulator's language; switches are driven from `control` nodes.
    pub(crate) spice: String,
    /// How hard it may try; with hard corners and tight tolerances it creeps.
    pub(crate) options: &'static str,
    /// Its longest time step.
    pub(crate) longest_step: &'static str,
    pub(crate) circuit: Circuit,
    /// The vectors there with the probes here.
    pub(crate) probes: Vec<(&'static str, Probe)>,
    pub(crate) step_seconds: f64,
    pub(crate) steps: usize,
    /// Switchings: before which step, which switch, closed or not.
    pub(crate) events: Vec<(usize, PartId, bool)>,
}

impl Case {
    /// A case that runs for so many steps, with tight tolerances, nothing probed and no switching.
    pub(crate) fn of(
        name: &'static str,
        (net, spice): (Netlist, String),
        (step_seconds, steps): (f64, usize),
    ) -> Result<Self, NetError> {
        Ok(Self {
            name,
            spice,
            options: TIGHT,
            longest_step: "1u",
            circuit: net.build(step_seconds)?,
            probes: Vec::new(),
            step_seconds,
            steps,
            events: Vec::new(),
        })
    }

    /// Runs both and compares every waveform at every step.
    pub(crate) fn compare(mut self) -> Outcome {
        let Some(reference) = other_simulator(&self)? else { return Ok(()) };
        let mut ours = vec![Vec::new(); self.probes.len()];
        for step in 0..self.steps {
            for &(_, part, closed) in self.events.iter().filter(|event| event.0 == step) {
                self.circuit.set_switch(part, closed);
            }
            self.circuit.step()?;
            for (trace, &(_, probe)) in ours.iter_mut().zip(&self.probes) {
                trace.push(self.circuit.probe(probe));
            }
        }
        for (((vector, _), ours), theirs) in self.probes.iter().zip(&ours).zip(&reference) {
            let scale = theirs.iter().fold(0.0_f64, |most, value| most.max(value.abs()));
            assert!(scale > 0.0, "{}: {vector} does not move", self.name);
            let (mut worst, mut at) = (0.0_f64, 0);
            for (step, (one, other)) in ours.iter().zip(theirs).enumerate() {
                if (one - other).abs() > worst {
                    (worst, at) = ((one - other).abs(), step + 1);
                }
            }
            let (worst, seconds) = (worst / scale, at as f64 * self.step_seconds);
            let word = if worst <= AIM_OF_FULL_SCALE { "" } else { ", above the aim" };
            println!(
                "{}: {vector}: worst {worst:.1e} of full scale at {seconds} s{word}",
                self.name
            );
            assert!(
                worst <= WORST_OF_FULL_SCALE,
                "{}: {vector}: {worst:e} at {seconds} s",
                self.name
            );
        }
        Ok(())
    }
}
