//! Prints the exact sums of converter codes, and the level that core makes of them.
//!
//! Reads whole numbers of 16 bits from standard input, one window a line; answers with one JSON
//! object a line. A code is worth 65 536 pA, so that levels come out in 65 536ths of a code.

use std::io::{self, BufRead, Write};
use std::process::ExitCode;

use ohmwarden_core::signal::{Channel, Sums};
use ohmwarden_core::unit::Current;

fn main() -> ExitCode {
    let channel = Channel::<Current>::new(Current::from_picoamps(65_536), 1);
    let mut out = io::stdout().lock();
    for (number, line) in (1..).zip(io::stdin().lock().lines()) {
        let codes = line.map_err(|error| error.to_string()).and_then(|line| {
            let code = |word: &str| word.parse::<i16>().map_err(|e| format!("`{word}`: {e}"));
            line.split_whitespace().map(code).collect::<Result<Vec<i16>, String>>()
        });
        let codes = match codes {
            Ok(codes) => codes,
            Err(problem) => {
                eprintln!("line {number}: found {problem}; accepted are codes of 16 bits");
                return ExitCode::from(2);
            }
        };
        if writeln!(out, "{}", told(&codes, &channel)).is_err() {
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}

fn told(codes: &[i16], channel: &Channel<Current>) -> serde_json::Value {
    let mut sums = Sums::EMPTY;
    for block in codes.chunks(10) {
        sums.merge(&Sums::of_block(block.iter().copied()));
    }
    let level = sums.level(channel);
    serde_json::json!({
        "samples": sums.samples(), "sum": sums.sum(), "squares": sums.squares(),
        "dc": level.dc.as_picoamps(), "ac": level.ac.as_picoamps(),
        "min": level.min.as_picoamps(), "max": level.max.as_picoamps(),
    })
}
