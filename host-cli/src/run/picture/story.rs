//! The run in words: each event, each closing of the gate, each change of state with its reason.

use std::io::{self, Write};

use ohmwarden_core::commands::Event as Change;

use super::{Moment, Picture};
use crate::layout::{Cell, cut, quantity, table};
use crate::look::Look;

/// Of a longer story the first and the last lines are told.
const FIRST: usize = 44;
const LAST: usize = 16;

/// Writes the story.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(picture: &Picture, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let moments = &picture.moments;
    let row = |(seconds, moment): &(f64, Moment)| row(*seconds, moment, look);
    if moments.len() <= FIRST + LAST {
        return table(&moments.iter().map(row).collect::<Vec<_>>(), "  ", out);
    }
    let (first, rest) = moments.split_at(FIRST);
    let (left_out, last) = rest.split_at(rest.len() - LAST);
    table(&first.iter().map(row).collect::<Vec<_>>(), "  ", out)?;
    writeln!(out, "  .. {} more ..", left_out.len())?;
    table(&last.iter().map(row).collect::<Vec<_>>(), "  ", out)
}

fn row(seconds: f64, moment: &Moment, look: Look) -> Vec<Cell> {
    let time = Cell::right(format!("{seconds:.4} s"));
    match moment {
        Moment::Event { label, what } => {
            let name = label.clone().unwrap_or_default();
            vec![time, Cell::left("> event"), Cell::left(name), Cell::left(what.clone())]
        }
        Moment::GateClosed { volts } => {
            let words = format!("the gate closed by itself, at {}", quantity(*volts, "V"));
            vec![time, Cell::left("x gate"), Cell::left(""), Cell::left(words)]
        }
        Moment::Change(change) => change_row(time, change, look),
    }
}

fn change_row(time: Cell, change: &Change, look: Look) -> Vec<Cell> {
    let (word, sentence) =
        change.reason.map_or(("", ""), |reason| (reason.word(), reason.sentence()));
    // Time, state and reason take some fifty columns.
    let sentence = cut(sentence, look.width.saturating_sub(48).max(40));
    vec![
        time,
        Cell::left(change.to.word()).painted(|text| look.head(text)),
        Cell::left(word),
        Cell::left(sentence),
    ]
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::interlock::{Reason, State};

    use super::*;

    const PLAIN: Look = Look { width: 100, colour: false, unicode: false };

    fn told(picture: &Picture) -> String {
        let mut out = Vec::new();
        write(picture, PLAIN, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    fn change(reason: Reason) -> Moment {
        let from = State::Drive { restarts: 0 };
        let to = State::Inhibited { why: reason };
        Moment::Change(Change { from, to, reason: Some(reason) })
    }

    #[test]
    fn a_change_is_told_with_time_state_reason_and_sentence() {
        let mut picture = Picture::new(10, 1.0);
        picture.moments.push((0.25, change(Reason::LiveAc)));
        let story = told(&picture);
        for part in ["0.2500 s", "inhibited", "live_ac", Reason::LiveAc.sentence()] {
            assert!(story.contains(part), "{part}: {story}");
        }
    }

    #[test]
    fn of_a_long_story_the_middle_is_counted() {
        let mut picture = Picture::new(10, 1.0);
        picture.moments = vec![(0.5, change(Reason::LiveDc)); 100];
        let story = told(&picture);
        assert_eq!(story.lines().count(), FIRST + LAST + 1);
        assert!(story.contains(".. 40 more .."), "{story}");
    }
}
