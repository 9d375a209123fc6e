//! Starts the program in a folder of its own.
#![allow(dead_code, reason = "each test target uses its own part of this")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// A scenario that holds: mains on the leads before any key, half a second long.
pub(crate) const LIVE: &str = r#"ohmwarden = 1
why = "Mains on the leads is told."
seconds = 0.8

[start]
function = "volts"

[part.mains.sine]
volts_rms = 230
hertz = 50
across = ["lead.pos", "lead.neg"]

[[expect]]
eventually = { s = 0.7, that = "view.live" }
"#;

/// What came out of one run.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Answer {
    /// Reads the standard output as one JSON value.
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|error| panic!("{error}:\n{}\n{}", self.out, self.err))
    }
}

impl From<Output> for Answer {
    fn from(output: Output) -> Self {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("the program writes text");
        Self {
            code: output.status.code().expect("the program ends by itself"),
            out: text(output.stdout),
            err: text(output.stderr),
        }
    }
}

/// A folder of a test, empty at its beginning.
#[derive(Debug)]
pub(crate) struct Desk(PathBuf);

impl Desk {
    /// Makes the folder of the test with this name.
    pub(crate) fn new(name: &str) -> Self {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        if path.exists() {
            fs::remove_dir_all(&path).expect("the folder of the last run can be removed");
        }
        fs::create_dir_all(&path).expect("a folder can be made");
        Self(path)
    }

    /// Puts a file into it, folders included.
    pub(crate) fn put(&self, name: &str, bytes: impl AsRef<[u8]>) -> &Self {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a file is in a folder")).expect("a folder");
        fs::write(path, bytes).expect("a file can be written");
        self
    }

    /// The path of something in it.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    /// Reads a file in it.
    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// Runs the program in it.
    pub(crate) fn run(&self, args: &[&str]) -> Answer {
        self.command(args).output().expect("the program starts").into()
    }

    /// The program, ready to be started in it.
    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ohmwarden"));
        command.args(args).current_dir(&self.0).env("LC_ALL", "C").stdin(Stdio::null());
        command
    }
}
