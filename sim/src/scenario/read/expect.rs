//! Reads what must hold: `[[expect]]`.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use super::super::key::{Key, range_text};
use super::super::reader::{Entry, Notes, Table};
use super::super::value::{Value, read_list, read_number, read_text};
use super::super::{Known, Scenario};
use crate::expect::{Expect, Expression, Rule, Span, Stays};

const RULES: [&str; 6] = ["within", "never", "always", "eventually", "until", "at"];

/// What the readers of one expectation share.
struct Context<'a, 'n, 't> {
    known: &'a Known,
    scenario: &'a Scenario,
    notes: &'n mut Notes<'t>,
}

/// Reads all expectations into the scenario; they refer to its labels.
pub(super) fn read_expects(
    root: &mut Table<'_, '_>,
    known: &Known,
    scenario: &mut Scenario,
    notes: &mut Notes<'_>,
) {
    let Some(entry) = root.take("expect") else { return };
    let Some(list) = read_list(entry.value, "[[expect]]", notes) else { return };
    let mut expects = Vec::new();
    for value in list.iter() {
        let Some(mut table) = Table::of(value, value.span(), notes) else { continue };
        let mut context = Context { known, scenario, notes };
        let expect = context.expect(&mut table);
        table.finish(notes);
        expects.extend(expect);
    }
    scenario.expects = expects;
}

impl Context<'_, '_, '_> {
    fn expect(&mut self, table: &mut Table<'_, '_>) -> Option<Expect> {
        let note = match table.take("note") {
            None => "",
            Some(entry) => read_text(entry.value, self.notes)?,
        };
        let found: Vec<Entry<'_, '_>> = RULES.iter().filter_map(|rule| table.take(rule)).collect();
        let [rule] = found.as_slice() else {
            self.not_one(table, found.get(1));
            return None;
        };
        let rule = self.rule(table, rule)?;
        Some(Expect { rule, note: note.to_string() })
    }

    fn not_one(&mut self, table: &Table<'_, '_>, second: Option<&Entry<'_, '_>>) {
        match second {
            Some(second) => {
                let message = "an expectation is exactly one rule; this is a second";
                let accepted = alloc::vec!["another [[expect]]".into()];
                self.notes.note(second.key_span.clone(), message, accepted);
            }
            None if table.has_strangers() => {}
            None => {
                let accepted = RULES.iter().map(ToString::to_string).collect();
                let message = "an expectation needs a rule".to_string();
                self.notes.missing(table.span.clone(), message, accepted);
            }
        }
    }

    fn rule(&mut self, table: &mut Table<'_, '_>, rule: &Entry<'_, '_>) -> Option<Rule> {
        match rule.key {
            "never" | "always" => {
                let that = self.expression(rule.value);
                let span = self.span(table);
                let (that, span) = (that?, span?);
                let never = rule.key == "never";
                Some(if never { Rule::Never(that, span) } else { Rule::Always(that, span) })
            }
            "until" => self.until(rule),
            "at" => self.moment(rule),
            _ => self.window(rule),
        }
    }

    fn span(&mut self, table: &mut Table<'_, '_>) -> Option<Span> {
        let after = self.maybe_label(table, "after");
        let before = self.maybe_label(table, "before");
        Some(Span { after: after?, before: before? })
    }

    fn until(&mut self, rule: &Entry<'_, '_>) -> Option<Rule> {
        let mut table = Table::of(rule.value, rule.key_span.clone(), self.notes)?;
        let hold = self.needed(&mut table, "hold");
        let until = self.needed(&mut table, "until");
        table.finish(self.notes);
        Some(Rule::Until { hold: hold?, until: until? })
    }

    fn moment(&mut self, rule: &Entry<'_, '_>) -> Option<Rule> {
        let mut table = Table::of(rule.value, rule.key_span.clone(), self.notes)?;
        let after = self.maybe_label(&mut table, "after");
        let from = self.moment_of(after.as_ref().and_then(|label| label.as_deref()));
        let s = self.length(&mut table, from);
        let that = self.needed(&mut table, "that");
        table.finish(self.notes);
        Some(Rule::At { s: s?, after: after?, that: that? })
    }

    fn window(&mut self, rule: &Entry<'_, '_>) -> Option<Rule> {
        let mut table = Table::of(rule.value, rule.key_span.clone(), self.notes)?;
        let after = match rule.key {
            "within" => table
                .need("after", alloc::vec!["\"LABEL\"".into()])
                .and_then(|entry| self.label(entry.value)),
            _ => None,
        };
        let from = self.moment_of(after.as_deref());
        let s = self.length(&mut table, from);
        let that = self.needed(&mut table, "that");
        let stays = self.stays(&mut table, from);
        table.finish(self.notes);
        let (s, that, stays) = (s?, that?, stays?);
        match rule.key {
            "within" => Some(Rule::Within { after: after?, s, that, stays }),
            _ => Some(Rule::Eventually { s, that, stays }),
        }
    }

    fn stays(&mut self, table: &mut Table<'_, '_>, from: f64) -> Option<Stays> {
        let stays = table.flag("stays", false, self.notes)?;
        let Some(entry) = table.take("until") else {
            return Some(if stays { Stays::ToEnd } else { Stays::No });
        };
        if !stays {
            let message = "until belongs to what stays";
            let accepted = alloc::vec!["stays = true".into()];
            self.notes.note(entry.key_span, message, accepted);
            return None;
        }
        let label = self.label(entry.value)?;
        if self.moment_of(Some(&label)) <= from {
            let message = "this label comes no later than the window opens";
            let accepted = alloc::vec!["a later label".into()];
            self.notes.note(entry.value.span(), message, accepted);
            return None;
        }
        Some(Stays::UntilLabel(label))
    }

    /// Reads the length of a window that opens at `from`; it must end inside the run.
    fn length(&mut self, table: &mut Table<'_, '_>, from: f64) -> Option<f64> {
        let seconds = self.scenario.seconds;
        let key = Key::number("s", 0.0, seconds);
        let entry = table.need("s", key.accepted())?;
        let s = read_number(entry.value, &key, self.notes)?;
        let end = from + s;
        // The sum of two decimal times may pass the third by a rounding.
        if end > seconds + 1.0e-9 {
            let accepted = alloc::vec![range_text(0.0, seconds - from)];
            let message = format!("this ends after the run, which is {seconds} s long");
            self.notes.note(entry.value.span(), message, accepted);
            return None;
        }
        Some(s)
    }

    fn moment_of(&self, label: Option<&str>) -> f64 {
        label.and_then(|label| self.scenario.moment_of(label)).unwrap_or(0.0)
    }

    fn maybe_label(&mut self, table: &mut Table<'_, '_>, key: &str) -> Option<Option<String>> {
        match table.take(key) {
            None => Some(None),
            Some(entry) => self.label(entry.value).map(Some),
        }
    }

    fn label(&mut self, value: Value<'_, '_>) -> Option<String> {
        let label = read_text(value, self.notes)?;
        let labels = self.scenario.labels();
        if labels.contains(&label) {
            return Some(label.to_string());
        }
        let accepted = labels.iter().map(ToString::to_string).collect();
        self.notes.note(value.span(), "no event has this label", accepted);
        None
    }

    fn needed(&mut self, table: &mut Table<'_, '_>, key: &str) -> Option<Expression> {
        let entry = table.need(key, alloc::vec!["\"EXPRESSION\"".into()])?;
        self.expression(entry.value)
    }

    fn expression(&mut self, value: Value<'_, '_>) -> Option<Expression> {
        let text = read_text(value, self.notes)?;
        match Expression::parse(text, self.known.signals) {
            Ok(expression) => Some(expression),
            Err(mistakes) => {
                self.notes.note_inside(value, text, mistakes);
                None
            }
        }
    }
}
