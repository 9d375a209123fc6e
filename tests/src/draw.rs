//! Scenarios drawn at random: loads, sources, keys, functions, leads, resets, storms, faults.
//!
//! Each draw is one plain [`Scenario`] that can be written to a file and replayed. What is left out
//! is left out here, with its reason, and nowhere else.

use ohmwarden_core::frame::TimedTest;
use ohmwarden_sim::faults::CATALOGUE;
use ohmwarden_sim::scenario::{
    Action, Bound, Button, Event, FaultCall, Function, Lead, LimitOf, LimitSpec, NamedPart, Param,
    Part, ProfileName, Scenario, Side, Storm, StormKey, Takes,
};
use proptest::prelude::*;

use crate::scene::{LEADS, at, insulation, joins, part, scene, sort};

/// Length of a drawn run, seconds.
const SECONDS: f64 = 6.0;

/// Draws situations in which the instrument itself is sound.
pub fn sound() -> impl Strategy<Value = Scenario> {
    profile().prop_flat_map(|profile| function(profile).prop_flat_map(move |f| world(profile, f)))
}

/// Draws situations in which one thing of the instrument breaks at some moment.
pub fn broken() -> impl Strategy<Value = Scenario> {
    (sound(), fault(), 0.0..5.0_f64, prop::option::weighted(0.2, 0.05..2.0_f64)).prop_map(
        |(mut scenario, fault, s, cleared)| {
            let name = fault.spec.name.to_string();
            scenario.events.push(at(s, Action::Fault(fault)));
            scenario.events.extend(cleared.map(|after| at(s + after, Action::Clear(name))));
            sort(&mut scenario);
            scenario
        },
    )
}

fn profile() -> impl Strategy<Value = ProfileName> {
    prop_oneof![
        4 => Just(ProfileName::General),
        2 => Just(ProfileName::Telecom),
        1 => Just(ProfileName::LowVoltage),
        1 => Just(ProfileName::Wet),
    ]
}

fn volts(profile: ProfileName) -> BoxedStrategy<f64> {
    match profile {
        ProfileName::LowVoltage => (10..=100_u32).prop_map(f64::from).boxed(),
        ProfileName::Telecom => prop_oneof![Just(50.0), Just(100.0), Just(250.0)].boxed(),
        ProfileName::General | ProfileName::Wet => {
            prop_oneof![Just(50.0), Just(100.0), Just(250.0), Just(500.0), Just(1_000.0)].boxed()
        }
    }
}

fn function(profile: ProfileName) -> BoxedStrategy<Function> {
    prop_oneof![
        6 => volts(profile).prop_map(insulation),
        1 => volts(profile)
            .prop_map(|volts| Function::Insulation { volts, timed: Some(TimedTest::AbsorptionRatio) }),
        2 => Just(Function::Continuity { amps: 0.2 }),
        1 => Just(Function::Resistance),
        1 => Just(Function::Volts),
    ]
    .boxed()
}

const fn is_low(function: Function) -> bool {
    matches!(function, Function::Continuity { .. } | Function::Resistance)
}

/// Between two values, every factor as likely as every other.
fn spread(from: f64, to: f64) -> impl Strategy<Value = f64> {
    (from.ln()..to.ln()).prop_map(f64::exp)
}

fn world(profile: ProfileName, function: Function) -> impl Strategy<Value = Scenario> {
    let what = (load(function), prop::option::weighted(0.6, source()), charge());
    let who = (keys(), prop::option::weighted(0.1, storm()), leads());
    let when = (
        prop::collection::vec((0.0..5.5_f64, self::function(profile)), 0..=1),
        prop::option::weighted(0.1, 0.3..5.0_f64),
        any::<u32>(),
    );
    (what, who, when).prop_map(move |((load, source, charge), (keys, storm, leads), when)| {
        let (selects, reset, seed) = when;
        let mut drawn = scene(SECONDS, function);
        drawn.profile = profile;
        drawn.seed = u64::from(seed);
        drawn.limit = Some(limit(function));
        drawn.storm = storm;
        drawn.parts = load;
        drawn.parts.extend(charge);
        if let Some((parts, events)) = source {
            drawn.parts.extend(parts);
            drawn.events.extend(events);
        }
        drawn.events.extend(keys);
        drawn.events.extend(leads);
        drawn.events.extend(selects.into_iter().map(|(s, f)| at(s, Action::Select(f))));
        drawn.events.extend(reset.map(|s| at(s, Action::Reset)));
        drawn.events.retain(|event| event.s < SECONDS);
        // To a tenth of a millisecond, as a person would write it.
        drawn.events.iter_mut().for_each(|event| event.s = (event.s * 1.0e4).round() / 1.0e4);
        sort(&mut drawn);
        drawn
    })
}

fn limit(function: Function) -> LimitSpec {
    let bound = if is_low(function) { Bound::AtMost(1.0) } else { Bound::AtLeast(1.0e6) };
    LimitSpec { bound, of: LimitOf::Ohms, guarded: true, named: None }
}

fn load(function: Function) -> BoxedStrategy<Vec<NamedPart>> {
    if is_low(function) {
        let coil = prop::option::weighted(0.2, (spread(1.0e-3, 5.0), 1.0..100.0_f64));
        let bar = prop_oneof![spread(1.0e-2, 1.0e3), Just(1.0e9)];
        return (bar, coil).prop_map(|(ohms, coil)| conductor(ohms, coil)).boxed();
    }
    let ohms = prop_oneof![4 => spread(5.0e3, 1.0e10), 1 => Just(1.0e13)];
    let farads = prop_oneof![4 => spread(1.0e-11, 5.0e-6), 1 => Just(1.0e-12)];
    let absorption = prop_oneof![3 => Just(0.0), 1 => 0.0..0.15_f64];
    (ohms, farads, absorption)
        .prop_map(|(ohms, farads, absorption)| {
            let cable = Part::Insulation { ohms, farads, absorption, absorption_n: 0.8 };
            vec![part("load", LEADS, cable)]
        })
        .boxed()
}

fn conductor(ohms: f64, coil: Option<(f64, f64)>) -> Vec<NamedPart> {
    let Some((henries, ohms)) = coil else {
        return vec![part("load", LEADS, Part::Resistor { ohms })];
    };
    vec![
        part("load", ["lead.pos", "coil"], Part::Resistor { ohms }),
        part("winding", ["coil", "lead.neg"], Part::Inductor { henries, amps: 0.0 }),
    ]
}

/// A store that is charged before anybody comes.
fn charge() -> impl Strategy<Value = Option<NamedPart>> {
    let store = (spread(1.0e-9, 5.0e-6), -1_000.0..1_000.0_f64);
    prop::option::weighted(0.15, store).prop_map(|store| {
        store.map(|(farads, volts)| part("store", LEADS, Part::Capacitor { farads, volts }))
    })
}

/// A source and its comings and goings.
fn source() -> impl Strategy<Value = (Vec<NamedPart>, Vec<Event>)> {
    let ohms = prop_oneof![Just(0.5), Just(10.0), Just(1.0e3), spread(1.0, 2.0e6)];
    let moves = prop::collection::vec(prop_oneof![0.002..0.05_f64, 0.05..3.0_f64], 0..4);
    let what = (feed(), ohms, any::<bool>(), 0.0..5.0_f64, any::<bool>(), moves);
    what.prop_map(|(feed, ohms, closed, first, turned, moves)| {
        let across = if turned { ["lead.neg", "street"] } else { ["street", "lead.neg"] };
        let mut parts = feed.parts(ohms, across);
        parts.push(joins(closed));
        (parts, comings(closed, first, &moves))
    })
}

fn comings(closed: bool, first: f64, moves: &[f64]) -> Vec<Event> {
    let (mut s, mut closed) = (first, closed);
    let mut events = Vec::new();
    for wait in core::iter::once(&0.0).chain(moves) {
        s += wait;
        let name = String::from("joins");
        events.push(at(s, if closed { Action::Open(name) } else { Action::Close(name) }));
        closed = !closed;
    }
    events
}

#[derive(Clone, Debug)]
enum Feed {
    Sine { volts_rms: f64, hertz: f64, phase_deg: f64 },
    Dc { volts: f64 },
    Pickup { farads: f64, volts_rms: f64, hertz: f64 },
    Pulse { volts: f64, width_s: f64, period_s: f64 },
}

fn feed() -> impl Strategy<Value = Feed> {
    let hertz = || prop_oneof![Just(50.0), Just(60.0), Just(50.0 / 3.0), 15.0..450.0_f64];
    prop_oneof![
        4 => (5.0..690.0_f64, hertz(), 0.0..360.0_f64)
            .prop_map(|(volts_rms, hertz, phase_deg)| Feed::Sine { volts_rms, hertz, phase_deg }),
        3 => (-600.0..600.0_f64).prop_map(|volts| Feed::Dc { volts }),
        2 => (spread(5.0e-11, 2.0e-8), 100.0..400.0_f64, hertz())
            .prop_map(|(farads, volts_rms, hertz)| Feed::Pickup { farads, volts_rms, hertz }),
        1 => (50.0..3_000.0_f64, 2.0e-4..0.05_f64, 0.1..2.0_f64)
            .prop_map(|(volts, width_s, period_s)| Feed::Pulse { volts, width_s, period_s }),
    ]
}

impl Feed {
    fn parts(self, ohms: f64, across: [&str; 2]) -> Vec<NamedPart> {
        let source = match self {
            Self::Sine { volts_rms, hertz, phase_deg } => {
                Part::Sine { volts_rms, hertz, phase_deg, ohms, harmonics: Vec::new() }
            }
            Self::Dc { volts } => Part::Dc { volts, ohms },
            Self::Pickup { farads, volts_rms, hertz } => {
                Part::Pickup { farads, volts_rms, hertz, phase_deg: 0.0 }
            }
            Self::Pulse { volts, width_s, period_s } => {
                Part::Pulse { volts, width_s, period_s, delay_s: 0.0, ohms }
            }
        };
        let stray = Part::Resistor { ohms: 1.0e12 };
        vec![part("feed", across, source), part("stray", ["street", "lead.neg"], stray)]
    }
}

/// Presses of the test key, mostly as people do them, sometimes with null or hold beside.
fn keys() -> impl Strategy<Value = Vec<Event>> {
    let press =
        (prop_oneof![0.01..0.2_f64, 0.2..2.0_f64], prop_oneof![0.01..0.2_f64, 0.2..4.0_f64]);
    let presses = prop::collection::vec(press, 0..4);
    let other = prop_oneof![Just(Button::Null), Just(Button::Hold)];
    let others = prop::collection::vec((other, 0.0..5.5_f64, 0.02..2.0_f64), 0..2);
    (presses, others).prop_map(|(presses, others)| {
        let mut events = Vec::new();
        let mut s = 0.3;
        for (up, down) in presses {
            events.push(at(s + up, Action::Press(Button::Test)));
            events.push(at(s + up + down, Action::Release(Button::Test)));
            s += up + down;
        }
        for (button, from, length) in others {
            events.push(at(from, Action::Press(button)));
            events.push(at(from + length, Action::Release(button)));
        }
        events
    })
}

fn storm() -> impl Strategy<Value = Storm> {
    (spread(1.0, 50.0), 0.0..3.0_f64, 0.2..3.0_f64).prop_map(|(rate, from_s, length)| Storm {
        events_per_second: rate,
        from_s,
        to_s: from_s + length,
        keys: StormKey::ALL.to_vec(),
    })
}

/// A lead that comes off, and perhaps comes on again; leads that are changed over.
fn leads() -> impl Strategy<Value = Vec<Event>> {
    let side = prop_oneof![Just(Side::Pos), Just(Side::Neg)];
    let off = (side, 0.0..5.0_f64, prop::option::of(0.01..2.0_f64)).prop_map(|(side, s, back)| {
        let mut events = vec![at(s, Action::Lead(Lead::Open(side)))];
        events.extend(back.map(|after| at(s + after, Action::Lead(Lead::Join(side)))));
        events
    });
    let swap = (0.0..5.0_f64).prop_map(|s| vec![at(s, Action::Lead(Lead::Swap(true)))]);
    prop_oneof![8 => Just(Vec::new()), 2 => off, 1 => swap]
}

/// One fault of the catalogue with its defaults, or with numbers from its range.
fn fault() -> impl Strategy<Value = FaultCall> {
    let shares = prop::collection::vec(prop::option::of(0.0..1.0_f64), 3);
    (0..CATALOGUE.len(), shares).prop_map(|(index, shares)| {
        let spec = &CATALOGUE[index].spec;
        let mut call = FaultCall::plain(spec);
        for ((key, share), (_, value)) in spec.params.iter().zip(shares).zip(&mut call.params) {
            match (key.takes, share) {
                (Takes::Number { least, greatest, default }, Some(share)) => {
                    *value = Param::Number(drawn_number(least, greatest, default, share));
                }
                (Takes::Word { accepted, .. }, Some(share)) => {
                    let index = (share * accepted.len() as f64) as usize;
                    *value = Param::Word(accepted[index.min(accepted.len() - 1)].into());
                }
                _ => {}
            }
        }
        call
    })
}

/// Half of the draws near the default, where the fault is what its name says.
fn drawn_number(least: f64, greatest: f64, default: Option<f64>, share: f64) -> f64 {
    let whole = least + share * (greatest - least);
    let near = default.map(|default| default * (0.5 + share));
    if share < 0.5 { near.unwrap_or(whole).clamp(least, greatest) } else { whole }
}
