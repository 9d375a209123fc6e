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

#[cfg(test)]
mod tests {
    use super::*;

    fn told(signs: &[&str], verdicts: &[&'static str]) -> Story {
        let mut story = Story::default();
        story.signs = signs.iter().map(|sign| (*sign).into()).collect();
        story.verdicts = verdicts.to_vec();
        story.ohms = verdicts.iter().map(|_| 20.0e6).collect();
        story
    }

    #[test]
    fn a_stop_needs_its_sign_and_no_pass_of_what_was_read_after_the_fault() {
        let sound = told(&["rest:released"], &["pass", "pass"]);
        let ends = Ends::Stops(&["locked:clock"]);
        let locked = told(&["locked:clock"], &[]);
        assert_eq!(ends.wrong(Phase::Hold, &locked, &sound), None);
        assert!(ends.wrong(Phase::Hold, &told(&["rest:low"], &[]), &sound).is_some());
        let passed = told(&["locked:clock"], &["pass"]);
        assert!(ends.wrong(Phase::Hold, &passed, &sound).is_some());
        assert_eq!(ends.wrong(Phase::Discharge, &passed, &sound), None, "it was read before");
        let twice = told(&["locked:clock"], &["pass", "pass"]);
        assert!(ends.wrong(Phase::Discharge, &twice, &sound).is_some());
        assert!(Ends::NextPress(&["locked:clock"]).wrong(Phase::Hold, &passed, &sound).is_none());
    }

    #[test]
    fn a_sign_that_a_sound_instrument_gives_as_well_is_no_sign() {
        let sound = told(&["rest:released"], &["pass", "pass"]);
        let same = told(&["rest:released"], &[]);
        let ends = Ends::Recovers(&["rest:released"]);
        assert!(ends.wrong(Phase::Hold, &same, &sound).is_some());
        assert!(Ends::Stops(&["nothing"]).wrong(Phase::Hold, &same, &sound).is_none());
        assert!(Ends::Stops(&["nothing"]).wrong(Phase::Hold, &sound, &sound).is_some());
    }

    #[test]
    fn what_cannot_be_seen_is_stale_once_it_is_seen() {
        let sound = told(&["rest:released"], &["pass", "pass"]);
        let seen = told(&["rest:released", "flag:clipped"], &["pass", "pass"]);
        let fewer = told(&[], &["pass", "pass"]);
        for ends in [Ends::Unseen, Ends::NotCaughtYet, Ends::Harmless] {
            assert_eq!(ends.wrong(Phase::Hold, &sound, &sound), None);
            assert!(ends.wrong(Phase::Hold, &seen, &sound).is_some());
            assert!(ends.wrong(Phase::Hold, &fewer, &sound).is_some());
        }
        let mut off = sound.clone();
        off.ohms[1] *= 1.02;
        assert_eq!(Ends::Unseen.wrong(Phase::Hold, &off, &sound), None);
        assert!(Ends::Harmless.wrong(Phase::Hold, &off, &sound).is_some());
    }

    #[test]
    fn mains_is_warned_of_or_not_there() {
        let sound = told(&["live"], &[]);
        let quiet = told(&[], &[]);
        assert_eq!(Ends::Warns.wrong(Phase::RestThenMains, &sound, &sound), None);
        assert!(Ends::Warns.wrong(Phase::RestThenMains, &quiet, &sound).is_some());
        assert_eq!(Ends::NotThere.wrong(Phase::RestThenMains, &quiet, &sound), None);
        let dead = told(&["dead"], &[]);
        assert!(Ends::NotThere.wrong(Phase::RestThenMains, &dead, &sound).is_some());
    }
}
