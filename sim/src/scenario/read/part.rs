//! Reads the circuit: `[part.NAME.KIND]`.

use alloc::collections::BTreeMap;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::ops::Range;

use super::super::part::{KINDS, NamedPart, Part};
use super::super::reader::{Entry, Notes, Table};
use super::super::value::{check_name, read_list, read_text};

/// The nodes that exist without being named anywhere else.
const FIXED_NODES: [&str; 3] = ["lead.pos", "lead.neg", "ground"];

/// A node as a part names it, with its place.
type Terminal = (String, Range<usize>);

/// Reads all parts, in the order of the text.
pub(super) fn read_parts(root: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Vec<NamedPart> {
    let Some(entry) = root.take("part") else { return Vec::new() };
    let Some(mut table) = Table::of(entry.value, entry.key_span, notes) else { return Vec::new() };
    let mut parts = Vec::new();
    let mut terminals: Vec<Terminal> = Vec::new();
    for entry in table.take_all() {
        parts.extend(read_part(&entry, &mut terminals, notes));
    }
    lonely_nodes(&terminals, notes);
    parts
}

fn read_part(
    entry: &Entry<'_, '_>,
    terminals: &mut Vec<Terminal>,
    notes: &mut Notes<'_>,
) -> Option<NamedPart> {
    let named = check_name(entry.key, entry.key_span.clone(), notes);
    let kinds = Table::of(entry.value, entry.key_span.clone(), notes)?.take_all();
    let words = || KINDS.iter().map(|kind| kind.name.to_string()).collect::<Vec<String>>();
    let [kind] = kinds.as_slice() else {
        let message = format!("{} needs exactly one kind: [part.{0}.KIND]", entry.key);
        notes.note(entry.key_span.clone(), message, words());
        return None;
    };
    let mut table = match KINDS.iter().any(|known| known.name == kind.key) {
        true => Table::of(kind.value, kind.key_span.clone(), notes)?,
        false => {
            notes.note(kind.key_span.clone(), "no such kind of part", words());
            return None;
        }
    };
    let across = read_across(&mut table, terminals, notes);
    let part = Part::read(kind.key, &mut table, notes);
    table.finish(notes);
    if let Some((message, accepted)) = part.as_ref().and_then(Part::contradiction) {
        notes.note(kind.key_span.clone(), message, alloc::vec![accepted.into()]);
    }
    let part = NamedPart { name: entry.key.to_string(), across: across?, part: part? };
    named.then_some(part)
}

fn read_across(
    table: &mut Table<'_, '_>,
    terminals: &mut Vec<Terminal>,
    notes: &mut Notes<'_>,
) -> Option<[String; 2]> {
    const TWO: &str = "[\"NODE\", \"NODE\"]";
    let entry = table.need("across", alloc::vec![TWO.into()])?;
    let list = read_list(entry.value, TWO, notes)?;
    let [first, second] = list.iter().collect::<Vec<_>>()[..] else {
        notes.note(entry.value.span(), "a part is across two nodes", alloc::vec![TWO.into()]);
        return None;
    };
    let first = read_node(read_text(first, notes), first.span(), notes);
    let second = read_node(read_text(second, notes), second.span(), notes);
    let (first, second) = (first?, second?);
    if first.0 == second.0 {
        let accepted = alloc::vec!["two different nodes".into()];
        notes.note(entry.value.span(), "both ends are at one node", accepted);
        return None;
    }
    terminals.extend([first.clone(), second.clone()]);
    Some([first.0, second.0])
}

fn read_node(name: Option<&str>, span: Range<usize>, notes: &mut Notes<'_>) -> Option<Terminal> {
    let name = name?;
    if FIXED_NODES.contains(&name) {
        return Some((name.to_string(), span));
    }
    if name.contains('.') {
        let accepted = FIXED_NODES.iter().map(ToString::to_string).collect();
        notes.note(span, "no such node", accepted);
        return None;
    }
    check_name(name, span.clone(), notes).then(|| (name.to_string(), span))
}

/// A node that only one terminal names leads nowhere: nearly always a misspelling.
fn lonely_nodes(terminals: &[Terminal], notes: &mut Notes<'_>) {
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for (name, _) in terminals {
        *counts.entry(name).or_insert(0) += 1;
    }
    for (name, span) in terminals {
        if FIXED_NODES.contains(&name.as_str()) || counts.get(name.as_str()) != Some(&1) {
            continue;
        }
        let others = counts.keys().filter(|other| *other != name && !FIXED_NODES.contains(other));
        let accepted = FIXED_NODES.iter().chain(others).map(ToString::to_string).collect();
        notes.note(span.clone(), "nothing else joins this node", accepted);
    }
}
