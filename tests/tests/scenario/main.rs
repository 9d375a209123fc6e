//! Scenario files: what is read, what is refused and where, what is written back; and scenarios as
//! values: sweeps, storms, timelines.

mod any;
mod any_text;
mod full;
mod refused;
mod storms;
mod sweeps;

use ohmwarden_sim::scenario::{Mistake, Scenario, line_column, parse_with};
use ohmwarden_tests::small_world::KNOWN;

fn read(text: &str) -> Result<Scenario, Vec<Mistake>> {
    parse_with(text, &KNOWN)
}

fn good(text: &str) -> Scenario {
    read(text).unwrap_or_else(|mistakes| panic!("{text}\n{}", told(text, &mistakes)))
}

fn told(text: &str, mistakes: &[Mistake]) -> String {
    let line = |mistake: &Mistake| {
        let (line, column) = line_column(text, mistake.span.start);
        format!("{line}:{column}: {mistake}")
    };
    mistakes.iter().map(line).collect::<Vec<_>>().join("\n")
}
