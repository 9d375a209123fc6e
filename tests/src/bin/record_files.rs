//! Writes the files in `fixtures/records` anew.

use std::path::Path;
use std::{fs, io};

fn main() -> io::Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/records");
    fs::create_dir_all(&folder)?;
    for (name, bytes) in ohmwarden_tests::record_files::all() {
        fs::write(folder.join(name), &bytes)?;
        println!("{name}: {} bytes", bytes.len());
    }
    Ok(())
}
