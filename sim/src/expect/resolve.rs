//! From the syntax tree to the checked one: names are found, dimensions compared.
//!
//! All mistakes of an expression are collected, each with its place inside the text.

use alloc::string::{String, ToString};
use alloc::vec::Vec;
use alloc::{format, vec};
use core::ops::Range;

use super::grammar::{self, Literal, Stop, Syntax, Test, Token};
use super::signal::{Dimension, SignalSpec, find_signal};
use super::tree::{Atom, Tree};
use super::unit::{read_unit, scaled, units_of};
use crate::scenario::Mistake;

/// Reads and checks an expression.
///
/// # Errors
/// All mistakes found, with spans inside `text`.
pub(super) fn resolve(text: &str, specs: &'static [SignalSpec]) -> Result<Tree, Vec<Mistake>> {
    let syntax =
        grammar::read(text).map_err(|stop| vec![syntax_mistake(text, &stop, "expression")])?;
    let mut checker = Checker { text, specs, mistakes: Vec::new() };
    match checker.tree(&syntax) {
        Some(tree) if checker.mistakes.is_empty() => Ok(tree),
        _ => Err(checker.mistakes),
    }
}

/// Says where a text could not go on; `of` names what it was read as.
pub(super) fn syntax_mistake(text: &str, stop: &Stop, of: &str) -> Mistake {
    let rest = text.get(stop.at..).unwrap_or_default();
    let found = first_piece(rest);
    let end = format!("the end of the {of}");
    let said = if found.is_empty() { end.as_str() } else { found };
    let accepted: Vec<String> = stop.accepted.iter().map(ToString::to_string).collect();
    Mistake {
        span: stop.at..stop.at.saturating_add(found.len()),
        found: found.into(),
        message: format!("the {of} cannot go on with {said}"),
        accepted,
    }
}

/// The word, number or symbol at the start of the text, for the message.
fn first_piece(rest: &str) -> &str {
    let is_word = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
    let end = match rest.chars().next() {
        None => 0,
        Some(first) if is_word(first) => rest.find(|c| !is_word(c)).unwrap_or(rest.len()),
        Some(_) => rest.find(|c: char| is_word(c) || c.is_whitespace()).unwrap_or(rest.len()),
    };
    rest.get(..end).unwrap_or_default()
}

struct Checker<'t> {
    text: &'t str,
    specs: &'static [SignalSpec],
    mistakes: Vec<Mistake>,
}

impl Checker<'_> {
    fn tree(&mut self, syntax: &Syntax) -> Option<Tree> {
        match syntax {
            Syntax::Atom(signal, test) => self.atom(signal, test),
            Syntax::Not(inner) => self.tree(inner).map(Tree::negated),
            Syntax::All(parts) => self.trees(parts).map(Tree::All),
            Syntax::Any(parts) => self.trees(parts).map(Tree::Any),
        }
    }

    fn trees(&mut self, parts: &[Syntax]) -> Option<Vec<Tree>> {
        let trees: Vec<Option<Tree>> = parts.iter().map(|part| self.tree(part)).collect();
        trees.into_iter().collect()
    }

    fn atom(&mut self, name: &Token, test: &Test) -> Option<Tree> {
        let Some(signal) = find_signal(self.specs, &name.text) else {
            let names = self.specs.iter().map(|spec| spec.name.to_string()).collect();
            self.note(name.span.clone(), names, "no such signal".into());
            return None;
        };
        let spec = self.specs.get(signal)?;
        match (test, spec.dimension) {
            (Test::Bare, Dimension::Bool) => Some(Tree::Atom(Atom::flag(signal))),
            (Test::Is(word), Dimension::Word(words)) => {
                let place = self.place(word, words, spec)?;
                Some(Tree::Atom(Atom::word(signal, place)))
            }
            (_, Dimension::Bool | Dimension::Word(_))
            | (Test::Bare | Test::Is(_) | Test::CompareWord, _) => {
                self.wrong_test(name, spec);
                None
            }
            (Test::Compare(sign, literal), dimension) => {
                let limit = self.literal(literal, None, dimension)?;
                Some(Tree::Atom(Atom::compare(signal, *sign, limit, spec.scale)))
            }
            (Test::In(low, high), dimension) => self.between(signal, spec, dimension, low, high),
        }
    }

    fn between(
        &mut self,
        signal: usize,
        spec: &SignalSpec,
        dimension: Dimension,
        from: &Literal,
        to: &Literal,
    ) -> Option<Tree> {
        let low = self.literal(from, to.unit.as_ref(), dimension);
        let high = self.literal(to, None, dimension);
        let (low, high) = (low?, high?);
        if low > high {
            let span = from.span().start..to.span().end;
            let message = "the range ends below its start".to_string();
            self.note(span, vec!["the lower end first".into()], message);
            return None;
        }
        // A range says itself what it allows: half its width is the whole of its margin.
        let half = (high - low) / 2.0;
        let scale = if half > 0.0 { half } else { spec.scale };
        Some(Tree::Atom(Atom::inside(signal, low, high, scale)))
    }

    fn place(&mut self, word: &Token, words: &[&str], spec: &SignalSpec) -> Option<usize> {
        let place = words.iter().position(|known| *known == word.text);
        if place.is_none() {
            let accepted = words.iter().map(ToString::to_string).collect();
            let message = format!("{} is never this word", spec.name);
            self.note(word.span.clone(), accepted, message);
        }
        place
    }

    /// Says how this signal is asked.
    fn wrong_test(&mut self, name: &Token, spec: &SignalSpec) {
        let accepted: Vec<String> = match spec.dimension {
            Dimension::Bool => vec![spec.name.into(), format!("!{}", spec.name)],
            Dimension::Word(words) => {
                words.iter().map(|word| format!("{} is {word}", spec.name)).collect()
            }
            dimension => {
                let unit = if dimension == Dimension::Ratio { "%" } else { dimension.unit() };
                vec![format!("{} > 1 {unit}", spec.name), format!("{} in 1..2 {unit}", spec.name)]
            }
        };
        let message = format!("{} is {}; it is not asked so", spec.name, spec.dimension.noun());
        self.note(name.span.clone(), accepted, message);
    }

    /// Reads a literal in the signal's dimension; a missing unit may come from the other end of a
    /// range.
    fn literal(
        &mut self,
        literal: &Literal,
        fallback: Option<&Token>,
        wanted: Dimension,
    ) -> Option<f64> {
        let unit = literal.unit.as_ref().or(fallback);
        let power = match unit {
            None if wanted == Dimension::Ratio => 0,
            None => {
                let message = format!("this number is {}: it needs a unit", wanted.noun());
                self.wrong_unit(literal.span(), wanted, message);
                return None;
            }
            Some(unit) => self.power(unit, wanted)?,
        };
        let value = scaled(&literal.digits.text, power);
        if value.is_none() {
            let message = "this number is too large".to_string();
            self.note(literal.span(), Vec::new(), message);
        }
        value
    }

    fn power(&mut self, unit: &Token, wanted: Dimension) -> Option<i32> {
        match read_unit(&unit.text) {
            Some((dimension, power)) if dimension == wanted => Some(power),
            Some((dimension, _)) => {
                let message =
                    format!("this is {}, but the signal is {}", dimension.noun(), wanted.noun());
                self.wrong_unit(unit.span.clone(), wanted, message);
                None
            }
            None => {
                let message = "no such unit".to_string();
                self.wrong_unit(unit.span.clone(), wanted, message);
                None
            }
        }
    }

    fn wrong_unit(&mut self, span: Range<usize>, wanted: Dimension, message: String) {
        let accepted = units_of(wanted).iter().map(ToString::to_string).collect();
        self.note(span, accepted, message);
    }

    fn note(&mut self, span: Range<usize>, accepted: Vec<String>, message: String) {
        let found = self.text.get(span.clone()).unwrap_or_default().into();
        self.mistakes.push(Mistake { span, found, accepted, message });
    }
}
