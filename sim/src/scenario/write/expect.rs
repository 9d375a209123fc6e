//! Writes expectations.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::fmt::Write;

use super::super::key::number_text;
use super::{Done, quoted};
use crate::expect::{Expect, Expression, Rule, Span, Stays};

/// Writes one `[[expect]]`.
pub(super) fn write_expect(out: &mut String, expect: &Expect) -> Done {
    writeln!(out, "\n[[expect]]")?;
    if !expect.note.is_empty() {
        writeln!(out, "note = {}", quoted(&expect.note))?;
    }
    let that = |that: &Expression| format!("that = {}", quoted(that.text()));
    match &expect.rule {
        Rule::Always(that, span) => {
            writeln!(out, "always = {}", quoted(that.text()))?;
            write_span(out, span)
        }
        Rule::Never(that, span) => {
            writeln!(out, "never = {}", quoted(that.text()))?;
            write_span(out, span)
        }
        Rule::At { s, after, that: what } => {
            let mut keys = alloc::vec![format!("s = {}", number_text(*s)), that(what)];
            keys.extend(after.as_ref().map(|label| format!("after = {}", quoted(label))));
            writeln!(out, "at = {{ {} }}", keys.join(", "))
        }
        Rule::Eventually { s, that: what, stays } => {
            let mut keys = alloc::vec![format!("s = {}", number_text(*s)), that(what)];
            keys.extend(stays_keys(stays));
            writeln!(out, "eventually = {{ {} }}", keys.join(", "))
        }
        Rule::Within { after, s, that: what, stays } => {
            let mut keys = alloc::vec![format!("after = {}", quoted(after))];
            keys.extend([format!("s = {}", number_text(*s)), that(what)]);
            keys.extend(stays_keys(stays));
            writeln!(out, "within = {{ {} }}", keys.join(", "))
        }
        Rule::Until { hold, until } => {
            let (hold, until) = (quoted(hold.text()), quoted(until.text()));
            writeln!(out, "until = {{ hold = {hold}, until = {until} }}")
        }
    }
}

fn write_span(out: &mut String, span: &Span) -> Done {
    for (key, label) in [("after", &span.after), ("before", &span.before)] {
        if let Some(label) = label {
            writeln!(out, "{key} = {}", quoted(label))?;
        }
    }
    Ok(())
}

fn stays_keys(stays: &Stays) -> Vec<String> {
    match stays {
        Stays::No => Vec::new(),
        Stays::ToEnd => alloc::vec!["stays = true".into()],
        Stays::UntilLabel(label) => {
            alloc::vec!["stays = true".into(), format!("until = {}", quoted(label))]
        }
    }
}
