//! The electronics as parts of a netlist, round the nodes `lead.pos` and `lead.neg`.
//!
//! ```text
//!   source -- series -- output relay --+-- fuse --+-- sense --+-- lead -- lead.pos
//!     |  C_out                         |          |           |
//!   continuity -- limit -- relay ------+   2 dividers,    `low` channel
//!                                          discharge
//!   (everything returns to term.neg -- lead -- lead.neg)
//! ```
//!
//! The regulator senses before the output relay, so that an open relay cannot let it run away; with
//! the relay closed only the relay and the fuse, 0.1 ohm, stand between that point and the
//! terminals. All nodes of its own begin with `instrument.`.

use crate::circuit::{Circuit, InputId, NetError, Netlist, Node, Part, PartId, Probe, Wave};

use super::params::FrontEndParams;

/// Volts at the current filter for each ampere through the sense resistor of one ohm.
pub(super) const CURRENT_GAIN: f64 = 1_000.0;
const CONTACT_OHMS: f64 = 0.05;
pub(super) const OPEN_OHMS: f64 = 1.0e14;
/// An open lead or the distance between two: nothing at all.
pub(super) const APART_OHMS: f64 = 1.0e16;
pub(super) const FILTER_FARADS: f64 = 10.0e-9;

/// The parts that something acts on.
#[derive(Clone, Debug)]
pub(super) struct Handles {
    pub(super) regulator: PartId,
    pub(super) set: InputId,
    pub(super) limit: InputId,
    pub(super) bias: InputId,
    pub(super) output_relay: PartId,
    pub(super) continuity_volts: InputId,
    pub(super) continuity_gate: PartId,
    pub(super) continuity_relay: PartId,
    /// Forward and reversed.
    pub(super) freewheel: [PartId; 2],
    pub(super) fuse: PartId,
    pub(super) divider_tops: [PartId; 2],
    pub(super) filters: [PartId; 3],
    pub(super) discharge: PartId,
    pub(super) discharge_resistor: PartId,
    pub(super) leads: Leads,
    pub(super) probes: Probes,
}

/// The leads: each end to each clip, the clips to each other, and what leaks between them.
#[derive(Clone, Debug)]
pub(super) struct Leads {
    pub(super) pos: PartId,
    pub(super) neg: PartId,
    pub(super) pos_to_neg: PartId,
    pub(super) neg_to_pos: PartId,
    pub(super) short: PartId,
    pub(super) leak: PartId,
}

/// What is read after each step.
#[derive(Clone, Copy, Debug)]
pub(super) struct Probes {
    pub(super) v: [Probe; 2],
    pub(super) current: Probe,
    pub(super) terminal: Probe,
    pub(super) source: Probe,
    pub(super) lead: Probe,
    pub(super) hv: Probe,
}

/// Adds parts under one prefix.
struct Wiring<'a> {
    net: &'a mut Netlist,
    params: &'a FrontEndParams,
    /// The negative terminal, to which everything returns.
    zero: Node,
}

impl Wiring<'_> {
    fn node(&mut self, name: &str) -> Node {
        self.net.node(&alloc::format!("instrument.{name}"))
    }

    fn add(&mut self, name: &str, part: Part) -> Result<PartId, NetError> {
        self.net.add(&alloc::format!("instrument.{name}"), part)
    }

    fn input(&mut self, name: &str, initial: f64) -> InputId {
        self.net.input(&alloc::format!("instrument.{name}"), initial)
    }

    fn resistor(&mut self, name: &str, ends: [Node; 2], ohms: f64) -> Result<PartId, NetError> {
        self.add(name, Part::Resistor { a: ends[0], b: ends[1], ohms })
    }

    fn switch(&mut self, name: &str, ends: [Node; 2], on_ohms: f64) -> Result<PartId, NetError> {
        let [a, b] = ends;
        self.add(name, Part::Switch { a, b, on_ohms, off_ohms: OPEN_OHMS, closed: false })
    }
}

/// Adds the instrument to the user's netlist and builds the circuit.
pub(super) fn build(
    mut net: Netlist,
    params: &FrontEndParams,
    step_seconds: f64,
) -> Result<(Circuit, Handles), NetError> {
    let zero = net.node("instrument.term.neg");
    let mut wiring = Wiring { net: &mut net, params, zero };
    let handles = wiring.all()?;
    Ok((net.build(step_seconds)?, handles))
}

impl Wiring<'_> {
    fn all(&mut self) -> Result<Handles, NetError> {
        let (joint, inner) = (self.node("joint"), self.node("inner"));
        let term = self.node("term.pos");
        let (regulator, set, limit, output_relay, hv) = self.high_voltage(joint)?;
        let (continuity_volts, continuity_gate, continuity_relay, freewheel) =
            self.continuity(joint)?;
        let on_ohms = self.params.fuse_ohms;
        let fuse = self.add(
            "fuse",
            Part::Switch { a: joint, b: inner, on_ohms, off_ohms: OPEN_OHMS, closed: true },
        )?;
        let bias = self.input("bias", 0.0);
        let (top1, filter1, v1) = self.divider("v", inner, bias, true)?;
        let (top2, filter2, v2) = self.divider("v2", inner, bias, false)?;
        let (filter3, current) = self.current(inner, term)?;
        let drain = self.node("drain");
        let discharge = self.switch("discharge", [inner, drain], 1.0)?;
        let ohms = self.params.discharge_ohms - 1.0;
        let discharge_resistor = self.resistor("discharge_resistor", [drain, self.zero], ohms)?;
        let sense = self.net.find_part("instrument.sense").ok_or(NetError::ForeignProbe)?;
        let leads = self.leads(term)?;
        let probes = Probes {
            v: [v1, v2],
            current,
            terminal: self.net.probe_voltage(term, self.zero),
            source: self.net.probe_currents(&[(regulator, -1.0), (continuity_gate, 1.0)]),
            lead: self.net.probe_current(sense),
            hv: self.net.probe_voltage(hv, self.zero),
        };
        Ok(Handles {
            regulator,
            set,
            limit,
            bias,
            output_relay,
            continuity_volts,
            continuity_gate,
            continuity_relay,
            freewheel,
            fuse,
            divider_tops: [top1, top2],
            filters: [filter1, filter2, filter3],
            discharge,
            discharge_resistor,
            leads,
            probes,
        })
    }

    fn high_voltage(
        &mut self,
        joint: Node,
    ) -> Result<(PartId, InputId, InputId, PartId, Node), NetError> {
        let (hv, sensed, zero) = (self.node("hv"), self.node("sensed"), self.zero);
        let params = self.params;
        let set = self.input("set", 0.0);
        let limit = self.input("limit", params.limit_amps);
        let part = Part::Regulator {
            pos: hv,
            neg: zero,
            sense_pos: sensed,
            sense_neg: zero,
            siemens: params.regulator_siemens,
            set,
            limit,
            limit_per_volt: params.input_siemens(),
            enabled: false,
        };
        let regulator = self.add("regulator", part)?;
        let farads = params.output_farads;
        self.add("c_out", Part::Capacitor { a: hv, b: zero, farads, volts: 0.0 })?;
        self.resistor("bleed", [hv, zero], params.bleed_ohms)?;
        self.resistor("series", [hv, sensed], params.series_ohms)?;
        let relay = self.switch("output_relay", [sensed, joint], CONTACT_OHMS)?;
        Ok((regulator, set, limit, relay, hv))
    }

    fn continuity(
        &mut self,
        joint: Node,
    ) -> Result<(InputId, PartId, PartId, [PartId; 2]), NetError> {
        let (feed, bridge, limited) =
            (self.node("feed"), self.node("bridge"), self.node("limited"));
        let (zero, params) = (self.zero, self.params);
        let volts = self.input("continuity_volts", 0.0);
        let wave = Wave::Input(volts);
        self.add("continuity_source", Part::Source { pos: feed, neg: zero, ohms: 0.1, wave })?;
        let gate = self.switch("continuity_gate", [feed, bridge], CONTACT_OHMS)?;
        let mut freewheel = [gate; 2];
        for (index, name) in ["forward", "reversed"].iter().enumerate() {
            let middle = self.node(name);
            let switch = alloc::format!("{name}_freewheel");
            freewheel[index] = self.switch(&switch, [zero, middle], CONTACT_OHMS)?;
            let (anode, cathode) = if index == 0 { (middle, bridge) } else { (bridge, middle) };
            let volts = params.freewheel_volts;
            let diode = Part::Diode { anode, cathode, volts, on_ohms: 0.1, off_ohms: 1.0e9 };
            self.add(&alloc::format!("{name}_diode"), diode)?;
        }
        let (on_ohms, amps) = (params.continuity_ohms, params.continuity_amps);
        self.add("limiter", Part::CurrentLimit { a: bridge, b: limited, on_ohms, amps })?;
        let relay = self.switch("continuity_relay", [limited, joint], CONTACT_OHMS)?;
        Ok((volts, gate, relay, freewheel))
    }

    fn divider(
        &mut self,
        name: &str,
        inner: Node,
        bias: InputId,
        plus: bool,
    ) -> Result<(PartId, PartId, Probe), NetError> {
        let (tap, zero, params) =
            (self.node(&alloc::format!("{name}.tap")), self.zero, self.params);
        let top =
            self.resistor(&alloc::format!("{name}.top"), [inner, tap], params.divider_top_ohms)?;
        self.resistor(&alloc::format!("{name}.bottom"), [tap, zero], params.divider_bottom_ohms)?;
        let (from, to) = if plus { (zero, tap) } else { (tap, zero) };
        let wave = Wave::Input(bias);
        self.add(&alloc::format!("{name}.bias"), Part::CurrentSource { from, to, wave })?;
        let (filter, probe) = self.filter(name, [tap, zero], params.divider_ratio())?;
        Ok((top, filter, probe))
    }

    fn current(&mut self, inner: Node, term: Node) -> Result<(PartId, Probe), NetError> {
        let ohms = self.params.sense_ohms;
        self.resistor("sense", [inner, term], ohms)?;
        self.filter("current", [inner, term], CURRENT_GAIN / ohms)
    }

    fn filter(
        &mut self,
        name: &str,
        [pos, neg]: [Node; 2],
        gain: f64,
    ) -> Result<(PartId, Probe), NetError> {
        let out = self.node(&alloc::format!("{name}.filtered"));
        let ohms = 1.0 / (core::f64::consts::TAU * self.params.filter_hertz * FILTER_FARADS);
        let buffer = Part::Follower { out, pos, neg, gain, ohms };
        self.add(&alloc::format!("{name}.buffer"), buffer)?;
        let farads = FILTER_FARADS;
        let part = Part::Capacitor { a: out, b: Node::GROUND, farads, volts: 0.0 };
        let capacitor = self.add(&alloc::format!("{name}.pole"), part)?;
        Ok((capacitor, self.net.probe_voltage(out, Node::GROUND)))
    }

    fn leads(&mut self, term: Node) -> Result<Leads, NetError> {
        let (pos, neg) = (self.net.node("lead.pos"), self.net.node("lead.neg"));
        let (zero, params) = (self.zero, self.params);
        let on_ohms = lead_ohms(params.lead_ohms);
        let lead = |a, b, closed| Part::Switch { a, b, on_ohms, off_ohms: APART_OHMS, closed };
        let leads = Leads {
            pos: self.add("lead.pos", lead(term, pos, true))?,
            neg: self.add("lead.neg", lead(zero, neg, true))?,
            pos_to_neg: self.add("lead.pos_to_neg", lead(term, neg, false))?,
            neg_to_pos: self.add("lead.neg_to_pos", lead(zero, pos, false))?,
            short: self.add("lead.short", lead(pos, neg, false))?,
            leak: self.resistor("lead.leak", [term, zero], APART_OHMS)?,
        };
        self.resistor("ground", [zero, Node::GROUND], params.ground_ohms)?;
        if params.ground_farads > 0.0 {
            let farads = params.ground_farads;
            let stray = Part::Capacitor { a: zero, b: Node::GROUND, farads, volts: 0.0 };
            self.add("stray", stray)?;
        }
        Ok(leads)
    }
}

/// Gives the resistance of one lead of a pair; never nothing.
pub(super) fn lead_ohms(pair: f64) -> f64 {
    (0.5 * pair).max(1.0e-3)
}
