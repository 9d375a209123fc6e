//! Reads `limit`: a number with its side, or the word of a limit in core's table.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use ohmwarden_core::judge::{Limit, Unit};
use ohmwarden_core::limits::{self, Conditions, Entry, NoLimit};
use ohmwarden_core::unit::Temperature;

use super::super::key::{Key, number_text};
use super::super::reader::{Notes, Table};
use super::super::value::read_word;
use super::super::{Bound, LimitOf, LimitSpec, Start};

const NUMBER: Key = Key::number("at_least_ohms", 1.0e-3, 1.0e14);

/// A limit as it stands in the text; what a named one comes to depends on the surroundings.
pub(super) struct Draft {
    what: What,
    guarded: bool,
    span: Range<usize>,
}

enum What {
    Number(Bound, LimitOf),
    Named(&'static Entry<'static>),
}

/// Reads `limit`, which may be absent.
pub(super) fn read_limit(root: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<Draft> {
    let entry = root.take("limit")?;
    let mut table = Table::of(entry.value, entry.key_span.clone(), notes)?;
    let mut found: Vec<What> = Vec::new();
    let mut sides = 0;
    for of in LimitOf::ALL {
        let [least, most] = of.keys();
        for (name, bound) in [(least, Bound::AtLeast as fn(f64) -> Bound), (most, Bound::AtMost)] {
            let number = table.maybe_number(&Key { name, ..NUMBER }, notes);
            sides += usize::from(table.has(name));
            found.extend(number.map(|number| What::Number(bound(number), of)));
        }
    }
    let mut span = entry.key_span.clone();
    if let Some(named) = table.take("named") {
        sides += 1;
        span = named.value.span();
        let words: Vec<&str> = limits::all().map(|limit| limit.word).collect();
        let place = read_word(named.value, &words, notes);
        found.extend(place.and_then(|place| limits::all().nth(place)).map(What::Named));
    }
    let guarded = table.flag("guarded", true, notes);
    let known = table.finish(notes);
    if sides != 1 && known {
        let keys = LimitOf::ALL.iter().flat_map(|of| of.keys()).chain(["named"]);
        let message = "a limit needs exactly one side, or a name".to_string();
        notes.missing(entry.key_span, message, keys.map(|key| format!("{key} = ..")).collect());
    }
    let what = found.pop().filter(|_| sides == 1)?;
    Some(Draft { what, guarded: guarded?, span })
}

impl Draft {
    /// Gives the temperature that readings are to be brought to before they are held against it.
    pub(super) fn at(&self) -> Option<Temperature> {
        match self.what {
            What::Number(..) => None,
            What::Named(entry) => entry.at,
        }
    }

    /// Gives what it comes to; without surroundings, which were wrong then, nothing is said of them.
    pub(super) fn settled(self, start: Option<&Start>, notes: &mut Notes<'_>) -> Option<LimitSpec> {
        let guarded = self.guarded;
        let entry = match self.what {
            What::Number(bound, of) => return Some(LimitSpec { bound, of, guarded, named: None }),
            What::Named(entry) => entry,
        };
        let around = start?.surroundings;
        let temperature = around.warmth.temperature;
        let has = around.bring.map(|bring| bring.to).or(temperature);
        if let Some(at) = entry.at.filter(|at| has != Some(*at)) {
            let degrees = number_text(f64::from(at.as_millicelsius()) / 1.0e3);
            let message = format!("this limit holds at {degrees} C only");
            let there = format!("celsius = {degrees} in [start]");
            let accepted = alloc::vec!["correct = \"..\" in [start]".into(), there];
            notes.note(self.span, message, accepted);
            return None;
        }
        match entry.limit_for(Conditions { temperature, rated: None }) {
            Ok(limit) => {
                let (bound, of) = spoken(limit, entry.of)?;
                Some(LimitSpec { bound, of, guarded, named: Some(entry) })
            }
            Err(why) => {
                notes.note(self.span, why.to_string(), alloc::vec![instead(why)]);
                None
            }
        }
    }
}

/// What helps where a limit has no value.
fn instead(why: NoLimit) -> String {
    match why {
        NoLimit::NoTemperature => "celsius = .. in [start]".into(),
        NoLimit::TooHot => "celsius below 37.8 in [start]".into(),
        NoLimit::NoRatedVoltage => "its value for this winding: at_least_ohms = ..".into(),
    }
}

/// A limit in the words of a scenario; `None` for a quantity that no scenario has a limit of.
fn spoken(limit: Limit, of: Unit) -> Option<(Bound, LimitOf)> {
    let of = LimitOf::ALL.into_iter().find(|known| known.unit() == of)?;
    let bound = match limit {
        Limit::AtLeast(value) => Bound::AtLeast(f64::from(value)),
        Limit::AtMost(value) => Bound::AtMost(f64::from(value)),
    };
    Some((bound, of))
}
