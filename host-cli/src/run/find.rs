//! Which files are meant: a file is itself, a folder is every scenario in it.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::trouble::Trouble;

/// The ending of a scenario in a folder.
const ENDING: &str = "toml";

/// A file to be read, and the name that its scenario goes by.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Found {
    pub(crate) file: PathBuf,
    pub(crate) name: String,
}

/// Finds all files, in the order of the paths and sorted inside a folder, each of them once.
pub(crate) fn find(paths: &[PathBuf]) -> (Vec<Found>, Vec<Trouble>) {
    let (mut files, mut troubles) = (Vec::new(), Vec::new());
    for path in paths {
        match fs::metadata(path) {
            Err(error) => troubles.push(Trouble::of_file(
                path,
                format!("cannot be read: {error}"),
                &["a scenario file", "a folder with scenarios"],
            )),
            Ok(found) if found.is_dir() => {
                let before = files.len();
                walk(path, path, &mut files, &mut troubles);
                if files.len() == before {
                    let message = "no scenario is in this folder";
                    troubles.push(Trouble::of_file(path, message, &["a folder with files *.toml"]));
                }
            }
            Ok(_) => files.push(Found { name: name_of(path), file: path.clone() }),
        }
    }
    let mut seen = BTreeSet::new();
    files.retain(|found| seen.insert(found.file.clone()));
    distinct(&mut files);
    (files, troubles)
}

/// Walks a folder; links to folders are not followed, so that a loop of them ends.
fn walk(folder: &Path, root: &Path, files: &mut Vec<Found>, troubles: &mut Vec<Trouble>) {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            troubles.push(Trouble::of_file(folder, format!("cannot be read: {error}"), &[]));
            return;
        }
    };
    let mut paths: Vec<PathBuf> =
        entries.filter_map(Result::ok).map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        if path.is_dir() {
            if !path.is_symlink() {
                walk(&path, root, files, troubles);
            }
        } else if path.extension().is_some_and(|ending| ending == ENDING) {
            let inside = path.strip_prefix(root).unwrap_or(&path).with_extension("");
            let name = inside.display().to_string().replace('\\', "/");
            files.push(Found { name, file: path });
        }
    }
}

fn name_of(path: &Path) -> String {
    path.file_stem()
        .map_or_else(|| path.display().to_string(), |stem| stem.to_string_lossy().into_owned())
}

/// Numbers names that stand for more than one file, so that no result hides another.
fn distinct(files: &mut [Found]) {
    let mut used: BTreeSet<String> = BTreeSet::new();
    for found in files {
        let name = core::mem::take(&mut found.name);
        let numbered = (2..).map(|number| format!("{name}-{number}"));
        found.name = core::iter::once(name.clone())
            .chain(numbered)
            .find(|candidate| !used.contains(candidate))
            .unwrap_or(name);
        used.insert(found.name.clone());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_name_never_stands_for_two_files() {
        let found = |file: &str| Found { name: "a".to_owned(), file: file.into() };
        let mut files = [found("x/a.toml"), found("y/a.toml"), found("z/a.toml")];
        distinct(&mut files);
        let names: Vec<_> = files.iter().map(|found| found.name.as_str()).collect();
        assert_eq!(names, ["a", "a-2", "a-3"]);
    }

    #[test]
    fn a_path_that_is_not_there_is_told_and_the_others_are_found() {
        let here = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
        let (files, troubles) = find(&["no/such/path".into(), here.clone(), here]);
        assert_eq!(files.len(), 1);
        assert_eq!(files[0].name, "Cargo");
        assert_eq!(troubles.len(), 1);
        assert!(troubles[0].place().contains("no/such/path"));
    }
}
