//! Marks under a chart: what happened at which column, and the axis of time.

use crate::layout::three_digits;

/// The most rows that marks may take.
const ROWS_MAX: usize = 4;

/// Places texts under their columns, each `^text` where there is room; tells how many found none.
pub(crate) fn labels(marks: &[(usize, String)], width: usize) -> (Vec<String>, usize) {
    let mut rows: Vec<Vec<char>> = Vec::new();
    let mut left_out = 0;
    for (column, text) in marks {
        let placed = place(&mut rows, *column, text, width);
        left_out += usize::from(!placed);
    }
    let lines = rows.into_iter().map(|row| row.into_iter().collect::<String>());
    (lines.map(|line| line.trim_end().to_owned()).collect(), left_out)
}

/// Puts a text into the first row in which its place is free. Near the right edge it stands to the
/// left of its mark.
fn place(rows: &mut Vec<Vec<char>>, column: usize, text: &str, width: usize) -> bool {
    let length = text.chars().count() + 1;
    let (start, letters): (usize, Vec<char>) = if column + length <= width {
        (column, core::iter::once('^').chain(text.chars()).collect())
    } else if length <= column + 1 {
        (column + 1 - length, text.chars().chain(core::iter::once('^')).collect())
    } else {
        return false;
    };
    let end = start + length;
    let free = |row: &Vec<char>| {
        let around = start.saturating_sub(1)..(end + 1).min(width);
        row.get(around).is_some_and(|cells| cells.iter().all(|cell| *cell == ' '))
    };
    let found = rows.iter().position(free).or_else(|| {
        (rows.len() < ROWS_MAX).then(|| {
            rows.push(vec![' '; width]);
            rows.len() - 1
        })
    });
    let Some(cells) = found.and_then(|row| rows.get_mut(row)?.get_mut(start..end)) else {
        return false;
    };
    cells.copy_from_slice(&letters);
    true
}

/// Draws a row with a mark at each of these columns.
pub(crate) fn crosses(columns: impl Iterator<Item = usize>, width: usize, mark: char) -> String {
    let mut row = vec![' '; width];
    for column in columns {
        if let Some(cell) = row.get_mut(column) {
            *cell = mark;
        }
    }
    row.into_iter().collect::<String>().trim_end().to_owned()
}

/// Draws the axis of time: round moments, each beginning at its column.
pub(crate) fn axis(seconds: f64, width: usize) -> String {
    let step = round_step(seconds, width);
    let mut row = vec![' '; width];
    let mut tick = 0.0_f64;
    while tick * step <= seconds {
        let column = (tick * step / seconds * width as f64) as usize;
        let number = format!("{}", round(tick * step));
        let text = if tick == 0.0 { format!("{number} s") } else { number };
        let letters = core::iter::once('|').chain(text.chars());
        if column + text.len() < width {
            for (cell, letter) in row.iter_mut().skip(column).zip(letters) {
                *cell = letter;
            }
        }
        tick += 1.0;
    }
    row.into_iter().collect::<String>().trim_end().to_owned()
}

/// A step of 1, 2 or 5 that leaves some ten columns between two moments.
fn round_step(seconds: f64, width: usize) -> f64 {
    let least = seconds * 10.0 / width.max(10) as f64;
    let decade = 10.0_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|round| round * decade);
    steps.into_iter().find(|step| *step >= least * (1.0 - 1e-9)).unwrap_or(decade * 10.0)
}

/// Without the digits that adding up steps left behind.
fn round(value: f64) -> f64 {
    three_digits(value).parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(of: &[(usize, &str)]) -> (Vec<String>, usize) {
        let marks: Vec<_> = of.iter().map(|(at, text)| (*at, (*text).to_owned())).collect();
        labels(&marks, 20)
    }

    #[test]
    fn labels_stand_under_their_columns_and_share_a_row_where_they_can() {
        let (rows, left_out) = marks(&[(0, "on"), (10, "off"), (11, "trip")]);
        assert_eq!(rows, ["^on       ^off", "           ^trip"]);
        assert_eq!(left_out, 0);
    }

    #[test]
    fn at_the_right_edge_a_label_stands_to_the_left_of_its_mark() {
        let (rows, _) = marks(&[(19, "release")]);
        assert_eq!(rows, ["            release^"]);
    }

    #[test]
    fn what_finds_no_room_is_counted() {
        let (rows, left_out) = marks(&[(3, "aaaa"); 6]);
        assert_eq!((rows.len(), left_out), (ROWS_MAX, 2));
        let (_, left_out) = marks(&[(10, "longer than the whole line")]);
        assert_eq!(left_out, 1);
    }

    #[test]
    fn the_axis_has_round_moments_at_their_columns() {
        assert_eq!(
            axis(2.0, 40),
            "|0 s      |0.5       |1        |1.5".replace("0.5       |1", "0.5      |1")
        );
        for seconds in [0.001, 0.35, 3.2, 60.0, 720.0] {
            assert!(axis(seconds, 86).starts_with("|0 s"), "{seconds}");
        }
    }
}
