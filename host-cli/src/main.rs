//! The command line of Ohmwarden.

mod measure;
mod problem;
mod waveform;

use std::io::{BufWriter, Write, stdout};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use problem::Problem;

/// Replays hazardous situations against the decision core of an insulation tester.
#[derive(Debug, Parser)]
#[command(name = "ohmwarden", version, about)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Measure(measure::Args),
}

fn main() -> ExitCode {
    let program = Program::parse();
    let mut out = BufWriter::new(stdout().lock());
    let code = match program.command {
        Command::Measure(args) => measure::run(&args, &mut out),
    };
    code.and_then(|code| out.flush().map(|()| code).map_err(|error| Problem::output(&error)))
        .unwrap_or_else(|problem| {
            eprintln!("ohmwarden: {problem}");
            problem.exit_code()
        })
}
