//! The run in words: each event, each closing of the gate, each change of state with its reason.

use std::io::{self, Write};

use super::{Moment, Picture};
use crate::layout::{Cell, quantity, table, wrapped};
use crate::look::Look;

/// Of a longer story the first and the last lines are told.
const FIRST: usize = 44;
const LAST: usize = 16;

/// The least that a sentence is broken to.
const SENTENCE_LEAST: usize = 30;

/// One line of the story.
struct Line {
    seconds: f64,
    what: &'static str,
    /// The label of an event, or the word of a reason.
    name: String,
    sentence: String,
    is_state: bool,
}

/// Writes the story.
///
/// # Errors
/// What the writer reports.
pub(crate) fn write(picture: &Picture, look: Look, out: &mut dyn Write) -> io::Result<()> {
    let moments = &picture.moments;
    let count = moments.len();
    let (first, last) = if count <= FIRST + LAST { (count, 0) } else { (FIRST, LAST) };
    let (before, rest) = moments.split_at(first);
    let (between, after) = rest.split_at(count - first - last);
    // What was not kept is never left out.
    let kept = between.iter().filter(|(_, it)| matches!(it, Moment::Store(_)));
    let kept: Vec<&(f64, Moment)> = kept.collect();
    let left_out = between.len() - kept.len();
    let (from, to) = (first, first + kept.len());
    let told = before.iter().chain(kept).chain(after);
    let lines: Vec<Line> = told.map(|(seconds, moment)| line(*seconds, moment)).collect();
    let name = lines.iter().map(|line| line.name.chars().count()).max().unwrap_or(0);
    // Two blanks, the time, the state and the name, two blanks apart.
    let room = look.width.saturating_sub(name + 30).max(SENTENCE_LEAST);
    let rows = |lines: &[Line]| -> Vec<Vec<Cell>> {
        lines.iter().flat_map(|line| rows(line, room, look)).collect()
    };
    table(&rows(&lines[..from]), "  ", out)?;
    if from < lines.len() {
        writeln!(out, "  .. {left_out} more ..")?;
        table(&rows(&lines[from..to]), "  ", out)?;
        if from < to {
            writeln!(out, "  ..")?;
        }
        table(&rows(&lines[to..]), "  ", out)?;
    }
    Ok(())
}

fn line(seconds: f64, moment: &Moment) -> Line {
    let name = String::new();
    match moment {
        Moment::Event { label, what: sentence } => Line {
            seconds,
            what: "> event",
            name: label.clone().unwrap_or_default(),
            sentence: sentence.clone(),
            is_state: false,
        },
        Moment::GateClosed { volts } => {
            let sentence = format!("the gate closed by itself, at {}", quantity(*volts, "V"));
            Line { seconds, what: "x gate", name, sentence, is_state: false }
        }
        Moment::Store(told) => {
            Line { seconds, what: "+ store", name, sentence: told.to_string(), is_state: false }
        }
        Moment::Change(change) => {
            let reason = change.reason.map(|reason| (reason.word(), reason.sentence()));
            let (word, sentence) = reason.unwrap_or_default();
            Line {
                seconds,
                what: change.to.word(),
                name: word.to_owned(),
                sentence: sentence.to_owned(),
                is_state: true,
            }
        }
    }
}

/// A line, its sentence broken where it is too long.
fn rows(line: &Line, room: usize, look: Look) -> Vec<Vec<Cell>> {
    let mut sentences = wrapped(&line.sentence, room).into_iter();
    let what = Cell::left(line.what);
    let what = if line.is_state { what.painted(|text| look.head(text)) } else { what };
    let mut rows = vec![vec![
        Cell::right(format!("{:.4} s", line.seconds)),
        what,
        Cell::left(line.name.clone()),
        Cell::left(sentences.next().unwrap_or_default()),
    ]];
    let empty = || Cell::left("");
    rows.extend(sentences.map(|rest| vec![empty(), empty(), empty(), Cell::left(rest)]));
    rows
}

#[cfg(test)]
mod tests {
    use ohmwarden_core::commands::Event as Change;
    use ohmwarden_core::interlock::{Reason, State};
    use ohmwarden_sim::world::StoreEvent;

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
    fn no_word_of_a_sentence_is_lost_on_a_narrow_terminal() {
        let mut picture = Picture::new(10, 1.0);
        picture.moments.push((0.25, change(Reason::Tripped)));
        let mut out = Vec::new();
        write(&picture, Look { width: 60, ..PLAIN }, &mut out).unwrap();
        let story = String::from_utf8(out).unwrap();
        assert!(story.lines().all(|line| line.chars().count() <= 72), "{story}");
        let words: Vec<&str> = story.split_whitespace().collect();
        assert!(Reason::Tripped.sentence().split(' ').all(|word| words.contains(&word)), "{story}");
    }

    #[test]
    fn a_reading_that_is_not_kept_is_told() {
        let mut picture = Picture::new(10, 1.0);
        picture.moments.push((0.5, Moment::Store(StoreEvent::Kept(8))));
        picture.moments.push((0.75, Moment::Store(StoreEvent::Full)));
        let story = told(&picture);
        for part in ["0.5000 s  + store", "kept as record 8", "full: this reading is not kept"] {
            assert!(story.contains(part), "{part}: {story}");
        }
    }

    #[test]
    fn of_a_long_story_the_middle_is_counted() {
        let mut picture = Picture::new(10, 1.0);
        picture.moments = vec![(0.5, change(Reason::Charged)); 100];
        let story = told(&picture);
        assert_eq!(story.lines().count(), FIRST + LAST + 1);
        assert!(story.contains(".. 40 more .."), "{story}");
    }

    #[test]
    fn of_a_long_story_no_reading_that_is_not_kept_is_left_out() {
        let mut picture = Picture::new(10, 1.0);
        picture.moments = vec![(0.5, change(Reason::Charged)); 100];
        picture.moments[60] = (0.6, Moment::Store(StoreEvent::Full));
        let story = told(&picture);
        assert!(story.contains(".. 39 more ..") && story.contains("not kept"), "{story}");
    }
}
