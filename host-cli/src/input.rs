//! The text of an input file, and telling a person what is wrong with one.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use crate::look::Look;
use crate::run::trouble::Trouble;

/// Reads a file as text.
///
/// # Errors
/// It cannot be read, or is no text in UTF-8.
pub(crate) fn read_text(file: &Path) -> Result<Arc<str>, Box<Trouble>> {
    let bytes = fs::read(file)
        .map_err(|error| Trouble::of_file(file, format!("cannot be read: {error}"), &[]))
        .map_err(Box::new)?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let message = format!("this is no text in UTF-8: byte {good} fits nothing");
        Box::new(Trouble::of_file(file, message, &["a text in UTF-8"]))
    })?;
    Ok(text.into())
}

/// Draws what is wrong on the standard error, where it disturbs no other program.
pub(crate) fn tell(troubles: &[Trouble]) {
    let look = Look::of_stderr();
    let mut err = std::io::stderr().lock();
    for trouble in troubles {
        // Whoever closed it does not want to know.
        let _gone = writeln!(err, "{}", trouble.draw(look).trim_end());
    }
    if !troubles.is_empty() {
        let files: BTreeSet<&str> = troubles.iter().map(|trouble| trouble.file.as_str()).collect();
        let inputs = if files.len() == 1 { "input" } else { "inputs" };
        let _gone = writeln!(err, "ohmwarden: {} {inputs} cannot be used", files.len());
    }
}
