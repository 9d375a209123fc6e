//! What counts as a safe end of a case, and whether a run came to it.

use core::fmt::Write as _;

use ohmwarden_sim::world::Report;

use super::phase::Phase;
use super::story::Story;

/// A safe end, or the lack of one that is known and bounded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// One of these signs, and no pass from then on. A reading that was taken before the fault, of
    /// which only the letting down was left, may still pass.
    Stops(&'static [&'static str]),
    /// One of these signs; what is measured after it is sound again and may pass.
    Recovers(&'static [&'static str]),
    /// One of these signs with the next press at the latest, and no pass after it; the running
    /// measurement cannot tell, and may pass.
    NextPress(&'static [&'static str]),
    /// Nothing differs, and the reading is within 1 % of the sound one: there is nothing to tell.
    Harmless,
    /// Nothing differs although the reading is wrong or a protection is gone: it cannot be seen with
    /// this front end. The bounded residual.
    Unseen,
    /// Nothing differs although it could be seen.
    NotCaughtYet,
    /// It is told that voltage is there, and nothing passes.
    Warns,
    /// The voltage from outside is not on the terminals, or held down there; nothing passes and
    /// nothing is called dead.
    NotThere,
}

/// Passes that may be told of a reading that was taken before the fault.
const fn taken_before(phase: Phase) -> usize {
    matches!(phase, Phase::Peek | Phase::Discharge) as usize
}

impl Ends {
    /// What is wrong with a run that should have ended like this; nothing where it did.
    #[must_use]
    pub fn wrong(self, phase: Phase, told: &Story, sound: &Story) -> Option<String> {
        let most = match self {
            Self::Stops(_) => Some(taken_before(phase)),
            Self::NextPress(_) => Some(1),
            Self::Warns | Self::NotThere => Some(0),
            Self::Recovers(_) | Self::Harmless | Self::Unseen | Self::NotCaughtYet => None,
        };
        if most.is_some_and(|most| most < told.passes()) {
            return Some(format!("passes: {:?} of {:?} ohm", told.verdicts, told.ohms));
        }
        match self {
            Self::Stops(signs) | Self::Recovers(signs) | Self::NextPress(signs) => {
                let seen = signs.iter().any(|sign| has(told, sound, sign));
                (!seen).then(|| format!("none of {signs:?} in {:?}", told.beyond(sound)))
            }
            Self::Harmless => differs(told, sound).or_else(|| {
                let apart = told
                    .ohms
                    .iter()
                    .zip(&sound.ohms)
                    .find(|(a, b)| (*a - *b).abs() > 0.01 * b.abs());
                apart.map(|(a, b)| format!("not harmless: {a} ohm for {b}"))
            }),
            Self::Unseen | Self::NotCaughtYet => differs(told, sound),
            Self::Warns => (!told.has("live")).then(|| "no warning".into()),
            Self::NotThere => told.has("dead").then(|| "called dead".into()),
        }
    }
}

/// Whether a sign was seen that a sound instrument does not give; `nothing` for a verdict that did
/// not come.
fn has(told: &Story, sound: &Story, sign: &str) -> bool {
    match sign {
        "nothing" => told.verdicts.len() < sound.verdicts.len(),
        _ => told.has(sign) && !sound.has(sign),
    }
}

/// A list of what cannot be seen is stale as soon as it is seen after all.
fn differs(told: &Story, sound: &Story) -> Option<String> {
    if !told.differs(sound) {
        return None;
    }
    let mut text = format!("stale, it is noticed: {:?}", told.beyond(sound));
    let missing = sound.beyond(told);
    let _ = write!(text, ", without {missing:?}, {:?}, drives {}", told.verdicts, told.drives);
    Some(text)
}

/// What is wrong with the last moment of a run, whatever the fault: the source is off, and what is
/// left on the terminals is safe or warned of.
#[must_use]
pub fn left_unsafe(report: &Report) -> Option<String> {
    let last = &report.last;
    let live = last.view.is_some_and(|view| view.live);
    let on = 50.0e-6 < last.source_amps || last.gate.on;
    let stands = 30.0 < last.terminal_volts.abs() && !live;
    (on || stands)
        .then(|| format!("left at {:.1} V with {:.1e} A", last.terminal_volts, last.source_amps))
}
