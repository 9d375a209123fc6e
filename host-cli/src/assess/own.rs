//! A user's own limits, from a TOML file.
//!
//! ```toml
//! ohmwarden = 1
//!
//! [limit.bilge_pump]
//! id = 32768                    # 32768 to 65535; what a record keeps, never used twice
//! about = "bilge pump, winding to frame"
//! at_least = "2 Mohm"           # or at_most; ohm, V, A, F, Hz, or a plain number for a ratio
//! volts = 500                   # the least test voltage; may be left out
//! celsius = 40                  # what readings are corrected to; may be left out
//! source = "the pump's handbook, page 12"
//! edition = "2019"              # may be left out
//! standing = "published"        # secondary, common_practice or from_memory; else secondary
//! remark = "Dry it first."      # may be left out
//! ```

use ohmwarden_core::judge::{Limit, Unit};
use ohmwarden_core::limits::{self, Depends, Entry, OWN_IDS, Remark, Source, Standing};
use ohmwarden_core::unit::{Temperature, Voltage};
use ohmwarden_sim::scenario::{Entry as Given, Key, Mistake, Notes, Table, read_tables, read_text};

use super::amount::Amount;

const VOLTS: Key = Key::number("volts", 1.0, 2_000.0);
const CELSIUS: Key = Key::number("celsius", -40.0, 200.0);

/// A limit of the user.
#[derive(Debug)]
pub(super) struct Own {
    id: u16,
    word: String,
    about: String,
    of: Unit,
    limit: Limit,
    set: Option<Voltage>,
    at: Option<Temperature>,
    source: String,
    edition: String,
    standing: Standing,
    remark: Option<String>,
}

impl Own {
    /// As core knows limits.
    pub(super) fn entry(&self) -> Entry<'_> {
        Entry {
            id: self.id,
            word: &self.word,
            about: &self.about,
            of: self.of,
            limit: self.limit,
            set: self.set,
            at: self.at,
            depends: Depends::Nothing,
            source: Source {
                cited: &self.source,
                edition: &self.edition,
                standing: self.standing,
                number: 0,
            },
            remark: self.remark.as_deref().map(|says| Remark { until: None, says }),
        }
    }
}

/// Reads the text of a file.
///
/// # Errors
/// Everything that is wrong with it.
pub(super) fn read(text: &str) -> Result<Vec<Own>, Vec<Mistake>> {
    read_tables(text, |table, notes| {
        let entry = table.need("limit", vec!["{ NAME = { .. } }, or [limit.NAME]".to_owned()])?;
        let mut limits = Table::of(entry.value, entry.key_span, notes)?;
        let mut own: Vec<Own> = Vec::new();
        for given in limits.take_all() {
            let Some(one) = read_one(&given, notes) else { continue };
            if let Some(first) = own.iter().find(|other| other.id == one.id) {
                let message = format!("id {} is that of {} already", one.id, first.word);
                notes.note(given.key_span, message, vec!["an id of its own".to_owned()]);
            }
            own.push(one);
        }
        Some(own)
    })
}

fn read_one(given: &Given<'_, '_>, notes: &mut Notes<'_>) -> Option<Own> {
    check_word(given, notes);
    let mut table = Table::of(given.value, given.key_span.clone(), notes)?;
    // Asked for first, so that it is missed where it is not there.
    table.need("id", vec![format!("{OWN_IDS} to 65535")]);
    let id = table.count("id", (OWN_IDS.into(), u16::MAX.into()), OWN_IDS.into(), notes);
    let about = table.text("about", notes);
    let limit = read_limit(&mut table, notes);
    let set = table.maybe_number(&VOLTS, notes);
    let at = table.maybe_number(&CELSIUS, notes);
    let source = table.text("source", notes);
    let edition = table.maybe_text("edition", notes);
    let words = Standing::ALL.map(Standing::word);
    let standing = table.word("standing", &words, Some(1), notes);
    let remark = table.maybe_text("remark", notes).map(str::to_owned);
    table.finish(notes);
    let (limit, of) = limit?;
    Some(Own {
        id: u16::try_from(id?).ok()?,
        word: given.key.to_owned(),
        about: about?.to_owned(),
        of,
        limit,
        set: set.map(|volts| Voltage::from_microvolts((volts * 1e6).round() as i32)),
        at: at.map(|celsius| Temperature::from_millicelsius((celsius * 1e3).round() as i32)),
        source: source?.to_owned(),
        edition: edition.unwrap_or_default().to_owned(),
        standing: *Standing::ALL.get(standing?)?,
        remark,
    })
}

fn check_word(given: &Given<'_, '_>, notes: &mut Notes<'_>) {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    if !given.key.chars().all(plain) {
        let accepted = vec!["lower-case letters, digits and _".to_owned()];
        notes.note(given.key_span.clone(), "this cannot be the name of a limit", accepted);
    } else if limits::by_word(given.key).is_some() {
        let accepted = vec!["a name of its own".to_owned()];
        notes.note(given.key_span.clone(), "a built-in limit has this name", accepted);
    }
}

/// Reads the one side that a limit has.
fn read_limit(table: &mut Table<'_, '_>, notes: &mut Notes<'_>) -> Option<(Limit, Unit)> {
    let (least, most) = (table.take("at_least"), table.take("at_most"));
    match (least, most) {
        (Some(least), None) => {
            read_side(&least, notes).map(|(number, unit)| (Limit::AtLeast(number), unit))
        }
        (None, Some(most)) => {
            read_side(&most, notes).map(|(number, unit)| (Limit::AtMost(number), unit))
        }
        _ => {
            let accepted = ["at_least", "at_most"].map(|side| format!("{side} = \"2 Mohm\""));
            let message = "a limit needs exactly one side".to_owned();
            notes.missing(table.span.clone(), message, accepted.into());
            None
        }
    }
}

fn read_side(side: &Given<'_, '_>, notes: &mut Notes<'_>) -> Option<(f32, Unit)> {
    let text = read_text(side.value, notes)?;
    match Amount::read_number(text) {
        Ok((number, unit)) if number > 0.0 => Some((number, unit)),
        Ok(_) => {
            let accepted = vec!["a number above zero".to_owned()];
            notes.note(side.value.span(), "this cannot be a limit", accepted);
            None
        }
        Err(mistake) => {
            notes.note_inside(side.value, text, vec![mistake]);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "ohmwarden = 1\n[limit.pump]\nid = 32768\nabout = \"a pump\"\n\
        at_least = \"2 Mohm\"\nvolts = 500\ncelsius = 40\nsource = \"its handbook, page 12\"\n";

    #[test]
    fn a_limit_of_the_user_is_one_as_those_of_core() {
        let own = read(GOOD).unwrap();
        let entry = own[0].entry();
        assert_eq!((entry.id, entry.word, entry.of), (32_768, "pump", Unit::Ohm));
        assert_eq!(entry.limit, Limit::AtLeast(2.0e6));
        assert_eq!(entry.set, Some(Voltage::from_volts(500)));
        assert_eq!(entry.at, Some(Temperature::from_celsius(40)));
        assert_eq!(entry.source.standing, Standing::Secondary);
    }

    #[test]
    fn mistakes_are_found_where_they_stand() {
        for (from, to, place, message) in [
            ("volts = 500", "volt = 500", "volt = 500", "no such key"),
            ("2 Mohm", "2 Mohms", "Mohms", "no such unit"),
            ("2 Mohm", "2 s", "2 s", "no reading is of this unit"),
            ("2 Mohm", "> 2 Mohm", "> 2 Mohm", "not a bound"),
            ("2 Mohm", "0 ohm", "\"0 ohm", "cannot be a limit"),
            ("source = \"its handbook, page 12\"", "", "pump", "source is missing"),
            ("at_least = \"2 Mohm\"\n", "", "pump", "exactly one side"),
            ("volts", "at_most = \"3 ohm\"\nvolts", "pump", "exactly one side"),
            ("id = 32768\n", "", "pump", "id is missing"),
            ("32768", "7", "7", "id cannot be this"),
            ("limit.pump", "limit.Pump", "Pump", "cannot be the name"),
            ("limit.pump", "limit.wiring_harness", "wiring_harness", "built-in"),
            ("ohmwarden = 1", "ohmwarden = 2", "2", "version"),
            ("celsius = 40", "standing = \"hearsay\"", "\"hearsay", "no such word"),
        ] {
            let text = GOOD.replacen(from, to, 1);
            let told = read(&text).unwrap_err();
            let at = text.find(place).unwrap();
            assert!(
                told.iter().any(|it| it.message.contains(message) && it.span.start == at),
                "{to}: {told:?}"
            );
        }
    }

    #[test]
    fn a_file_that_is_cut_anywhere_is_answered() {
        for at in 0..GOOD.len() {
            assert!(read(&GOOD[..at]).is_ok_and(|all| all.len() == 1) == (at == GOOD.len() - 1));
        }
    }

    #[test]
    fn one_id_is_for_one_limit() {
        let (_, table) = GOOD.split_once('\n').unwrap();
        let told = read(&format!("{GOOD}{}", table.replace("pump", "fan"))).unwrap_err();
        assert!(told[0].message.contains("id 32768 is that of pump"), "{told:?}");
    }
}
