//! Bands over time: names that hold for a while, and lines that are on or off.

/// Draws one band of names: `|rest  |prove|drive`; a stretch too short for its name shows what fits.
pub(crate) fn names(of: &[Option<&str>], unicode: bool) -> String {
    let edge = if unicode { '\u{2502}' } else { '|' };
    let mut band = String::new();
    for run in of.chunk_by(|one, next| one == next) {
        let Some(name) = run.first().copied().flatten() else {
            band.extend(run.iter().map(|_| ' '));
            continue;
        };
        band.push(edge);
        let room = run.len() - 1;
        let shown: String = name.chars().take(room).collect();
        band.push_str(&format!("{shown:<room$}"));
    }
    band.trim_end().to_owned()
}

/// Draws one line: a block where it is on, a point where it is off.
pub(crate) fn line(of: impl Iterator<Item = bool>, unicode: bool) -> String {
    let (on, off) = if unicode { ('\u{2586}', '\u{b7}') } else { ('#', '.') };
    of.map(|is| if is { on } else { off }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_stands_where_it_begins_and_a_short_stretch_keeps_its_width() {
        let mut of = vec![Some("rest"); 8];
        of.extend([Some("prove"); 3]);
        of.extend([None; 2]);
        of.push(Some("drive"));
        let band = names(&of, false);
        assert_eq!(band, "|rest   |pr  |");
        assert_eq!(band.chars().count(), of.len());
    }

    #[test]
    fn a_line_shows_on_and_off() {
        assert_eq!(line([false, true, true, false].into_iter(), false), ".##.");
    }
}
