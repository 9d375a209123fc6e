//! `--readings`: a CSV file of readings, one a row.
//!
//! The first line names the columns, in any order; those of [`COLUMNS`] are known and only `value`
//! is needed. An empty field takes what the command line says. Lines that begin with `#` and empty
//! lines count for nothing. A row that cannot be used stops no other row.

use ohmwarden_core::judge::{Flags, Limit, Reading};
use ohmwarden_sim::scenario::Mistake;

use super::amount::{self, Amount, Doubt, whole};
use super::book::Book;
use super::cells::{Cell, lines};
use super::outcome::{Against, Outcome, Request, judge};

/// The columns that are known.
const COLUMNS: [&str; 10] = [
    "name", "value", "doubt", "limit", "at_least", "at_most", "volts", "celsius", "correct",
    "flags",
];

/// What came of a sheet.
#[derive(Debug, Default)]
pub(super) struct Sheet<'b> {
    /// The rows that could be judged, with their lines, from 1.
    pub(super) rows: Vec<(usize, Outcome<'b>)>,
    /// What is wrong with the others.
    pub(super) mistakes: Vec<Mistake>,
}

/// What a row takes where a field is empty.
#[derive(Clone, Debug)]
pub(super) struct Defaults<'b> {
    pub(super) request: Request<'b>,
    pub(super) doubt: Option<Doubt>,
}

/// Judges every row.
pub(super) fn assess<'b>(text: &str, book: &'b Book, defaults: &Defaults<'b>) -> Sheet<'b> {
    let mut sheet = Sheet::default();
    let mut lines = lines(text).into_iter();
    let Some((_, head)) = lines.next() else {
        let message = "there is no line that names the columns";
        sheet.mistakes.push(Mistake { accepted: names(), ..whole("", message) });
        return sheet;
    };
    let columns = match columns(&head) {
        Ok(columns) => columns,
        Err(mistakes) => return Sheet { mistakes, ..sheet },
    };
    for (number, cells) in lines {
        let row = Row { columns: &columns, cells: &cells, book };
        match row.judged(number, defaults) {
            Ok(outcome) => sheet.rows.push((number, outcome)),
            Err(mistakes) => sheet.mistakes.extend(mistakes),
        }
    }
    if sheet.rows.is_empty() && sheet.mistakes.is_empty() {
        let accepted = vec!["a line for each reading".to_owned()];
        let end = text.len()..text.len();
        let message = "there is no reading below the names of the columns";
        sheet.mistakes.push(Mistake { span: end, accepted, ..whole("", message) });
    }
    sheet
}

fn names() -> Vec<String> {
    COLUMNS.map(str::to_owned).into()
}

/// Reads the head: which column is which of [`COLUMNS`].
fn columns(head: &[Cell<'_>]) -> Result<Vec<&'static str>, Vec<Mistake>> {
    let mut found: Vec<&'static str> = Vec::new();
    let mut mistakes = Vec::new();
    for cell in head {
        match COLUMNS.into_iter().find(|name| *name == cell.text) {
            Some(name) if found.contains(&name) => {
                mistakes.push(cell.mistake("this column stands here twice", Vec::new()));
            }
            Some(name) => found.push(name),
            None => mistakes.push(cell.mistake("no such column here", names())),
        }
    }
    if mistakes.is_empty() && !found.contains(&"value") {
        let accepted = vec!["value".to_owned()];
        mistakes.extend(head.first().map(|it| it.mistake("no column is named value", accepted)));
    }
    if mistakes.is_empty() { Ok(found) } else { Err(mistakes) }
}

/// A row under its columns.
struct Row<'r, 't, 'b> {
    columns: &'r [&'static str],
    cells: &'r [Cell<'t>],
    book: &'b Book,
}

impl<'b> Row<'_, '_, 'b> {
    fn judged(&self, line: usize, defaults: &Defaults<'b>) -> Result<Outcome<'b>, Vec<Mistake>> {
        let (first, last) = match (self.cells.first(), self.cells.last()) {
            (Some(first), Some(last)) => (*first, *last),
            _ => return Err(Vec::new()),
        };
        if self.cells.len() != self.columns.len() {
            let message = format!("{} fields in this row", self.cells.len());
            let accepted = vec![format!("{}, one for each column", self.columns.len())];
            let span = first.start..last.span().end;
            return Err(vec![Mistake { span, accepted, ..first.mistake(message, Vec::new()) }]);
        }
        let request = self.request(line, defaults)?;
        judge(request).map_err(|told| {
            let at = self.field("value").unwrap_or(first);
            vec![at.mistake(told.found, vec![told.accepted.replace("--", "column or --")])]
        })
    }

    /// A field that is not empty.
    fn field(&self, name: &str) -> Option<Cell<'_>> {
        let place = self.columns.iter().position(|column| *column == name)?;
        self.cells.get(place).copied().filter(|cell| !cell.text.is_empty())
    }

    /// Reads a field; notes what is wrong with it.
    fn read<T>(
        &self,
        name: &str,
        mistakes: &mut Vec<Mistake>,
        read: impl Fn(&str) -> Result<T, Mistake>,
    ) -> Option<T> {
        let cell = self.field(name)?;
        read(cell.text).map_err(|mistake| mistakes.push(cell.moved(mistake))).ok()
    }

    fn request(&self, line: usize, defaults: &Defaults<'b>) -> Result<Request<'b>, Vec<Mistake>> {
        let mut mistakes = Vec::new();
        let mut request = defaults.request.clone();
        request.name = self.field("name").map_or(format!("line {line}"), |it| it.text.to_owned());
        request.reading = self.reading(request.reading.flags, defaults.doubt, &mut mistakes);
        if let Some(against) = self.against(&mut mistakes) {
            request.against = Some(against);
        }
        request.volts = self.read("volts", &mut mistakes, amount::volts).or(request.volts);
        let celsius = self.read("celsius", &mut mistakes, amount::celsius);
        request.warmth.temperature = celsius.or(request.warmth.temperature);
        if let Some(rule) = self.read("correct", &mut mistakes, amount::correction) {
            request.correct = Some((rule, request.correct.and_then(|(_, to)| to)));
        }
        if request.against.is_none() && mistakes.is_empty() {
            let accepted = ["limit", "at_least", "at_most", "--limit WORD"].map(str::to_owned);
            let at = self.cells.first().map(|cell| {
                cell.mistake("this row has nothing to be judged against", accepted.into())
            });
            mistakes.extend(at);
        }
        if mistakes.is_empty() { Ok(request) } else { Err(mistakes) }
    }

    fn reading(&self, flags: Flags, doubt: Option<Doubt>, mistakes: &mut Vec<Mistake>) -> Reading {
        let Some(cell) = self.field("value") else {
            let accepted = vec!["a number with its unit".to_owned()];
            let place = self.columns.iter().position(|column| *column == "value");
            let empty = place.and_then(|place| self.cells.get(place));
            mistakes.extend(empty.map(|it| it.mistake("there is no value", accepted)));
            return Reading::NONE;
        };
        let Some(amount) = self.read("value", mistakes, Amount::read) else {
            return Reading::NONE;
        };
        let own = self.read("doubt", mistakes, Doubt::read).or(doubt);
        let told = own.map(|doubt| doubt.of(amount));
        if told == Some(None) {
            let at = self.field("doubt").unwrap_or(cell);
            let accepted = vec![format!("a share in %, or {}", amount.unit.symbol())];
            mistakes.push(at.mistake("the doubt is of another unit than the value", accepted));
        }
        let of_row = self.read("flags", mistakes, |text| {
            text.split('+')
                .try_fold(Flags::NONE, |all, word| Ok(all.with(amount::flag(word.trim())?)))
        });
        Reading {
            value: amount.value,
            unit: amount.unit,
            doubt: told.flatten().unwrap_or(0.0),
            skew: 0.0,
            flags: flags.with(of_row.unwrap_or(Flags::NONE)),
        }
    }

    fn against(&self, mistakes: &mut Vec<Mistake>) -> Option<Against<'b>> {
        let given: Vec<Cell<'_>> =
            ["limit", "at_least", "at_most"].iter().filter_map(|name| self.field(name)).collect();
        if let [_, second, ..] = given[..] {
            let accepted = vec!["one of limit, at_least, at_most".to_owned()];
            mistakes.push(second.mistake("a row has one limit", accepted));
            return None;
        }
        let book = self.book;
        let named = |text: &str| book.find(text, 0..text.len()).map(Against::Entry);
        let least = |text: &str| {
            Amount::read_number(text).map(|(it, unit)| Against::Number(Limit::AtLeast(it), unit))
        };
        let most = |text: &str| {
            Amount::read_number(text).map(|(it, unit)| Against::Number(Limit::AtMost(it), unit))
        };
        self.read("limit", mistakes, named)
            .or_else(|| self.read("at_least", mistakes, least))
            .or_else(|| self.read("at_most", mistakes, most))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(text: &str) -> Sheet<'static> {
        let book: &'static Book = Box::leak(Box::default());
        assess(text, book, &Defaults { request: Request::default(), doubt: None })
    }

    #[test]
    fn good_rows_are_judged_whatever_the_others_are() {
        let text = "name,value,limit\na,1.5 Mohm,installation_500v\nb,1.5 Mohms,installation_500v\n\
            # not this\n\nc, 0.99Mohm ,installation_500v\n";
        let sheet = sheet(text);
        let rows: Vec<_> =
            sheet.rows.iter().map(|(line, it)| (*line, it.name.as_str(), it.word())).collect();
        assert_eq!(rows, [(2, "a", "pass"), (6, "c", "fail")]);
        let [mistake] = &sheet.mistakes[..] else { panic!("{:?}", sheet.mistakes) };
        assert_eq!(&text[mistake.span.clone()], "Mohms");
    }

    #[test]
    fn mistakes_are_found_where_they_stand() {
        for (text, place, message) in [
            ("", "", "no line that names the columns"),
            ("value,limt\n", "limt", "no such column"),
            ("value,value\n", "value", "twice"),
            ("name\na\n", "name", "no column is named value"),
            ("value,at_least\n", "", "no reading below"),
            ("value,at_least\n1 ohm\n", "1 ohm", "1 fields"),
            ("value,at_least\n,1 ohm\n", "", "there is no value"),
            ("value,name\n1 ohm,x\n", "1 ohm", "nothing to be judged against"),
            ("value,at_least,at_most\n1 ohm,1 ohm,2 ohm\n", "2 ohm", "one limit"),
            ("value,at_least\n1 ohm,1 V\n", "1 ohm", "which the limit is not of"),
            ("value,at_least,doubt\n1 ohm,1 ohm,1 V\n", "1 V", "another unit"),
            ("value,at_least,flags\n1 ohm,1 ohm,risng\n", "risng", "no such flag"),
            ("value,at_least,celsius\n1 ohm,1 ohm,x\n", "x", "cannot be used"),
            ("value,limit\n1 ohm,wiring_harnes\n", "wiring_harnes", "no such limit"),
            ("value,limit\n1 Gohm,wiring_harness\n", "1 Gohm", "depends on the temperature"),
        ] {
            let told = sheet(text);
            assert!(told.rows.is_empty(), "{text}");
            let found = told.mistakes.iter().find(|it| it.message.contains(message));
            let mistake = found.unwrap_or_else(|| panic!("{text}: {:?}", told.mistakes));
            assert_eq!(&text[mistake.span.clone()], place, "{text}");
        }
    }

    #[test]
    fn a_sheet_that_is_cut_anywhere_is_answered() {
        let text =
            "\u{feff}name,value,at_least,flags\r\n\u{e9}t\u{e9},>5 Mohm,1 Mohm,rising+standing\n";
        for at in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
            let told = sheet(&text[..at]);
            assert!(!told.rows.is_empty() || !told.mistakes.is_empty(), "{at}");
            let inside = |span: &core::ops::Range<usize>| text[..at].get(span.clone()).is_some();
            assert!(told.mistakes.iter().all(|it| inside(&it.span)), "{at}: {:?}", told.mistakes);
        }
    }

    #[test]
    fn what_a_row_does_not_say_the_command_line_does() {
        let book = Book::default();
        let against = book.find("installation_500v", 0..0).ok().map(Against::Entry);
        let request = Request { against, ..Request::default() };
        let defaults = Defaults { request, doubt: Some(Doubt::Share(0.03)) };
        let sheet = assess("value,doubt\n1.02 Mohm,\n1.02 Mohm,0%\n", &book, &defaults);
        let words: Vec<_> = sheet.rows.iter().map(|(_, it)| it.word()).collect();
        assert_eq!(words, ["undecided", "pass"]);
    }
}
