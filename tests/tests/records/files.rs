//! The committed files are those that the generator makes.

use std::fs;
use std::path::Path;

#[test]
fn the_generator_still_makes_the_files_in_fixtures() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/records");
    for (name, bytes) in ohmwarden_tests::record_files::all() {
        let kept = fs::read(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(kept == bytes, "{name} has changed: an old file must stay readable");
    }
}
