//! The command line of Ohmwarden.

mod assess;
mod calibrate;
mod caution;
mod explain;
mod input;
mod layout;
mod look;
mod measure;
mod nearest;
mod output;
mod problem;
mod run;
mod sheet;
mod waveform;

use std::io::{BufWriter, Write, stdout};
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use output::Patient;
use problem::Problem;

/// Replays hazardous situations against the decision core of an insulation tester.
#[derive(Debug, Parser)]
#[command(name = "ohmwarden", version, about, after_help = caution::LONG)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Run(run::Args),
    Explain(explain::Args),
    Measure(measure::Args),
    Assess(Box<assess::Args>),
    Calibrate(calibrate::Args),
}

fn main() -> ExitCode {
    let program = Program::parse();
    let mut out = BufWriter::new(Patient::new(stdout().lock()));
    let code = match program.command {
        Command::Run(args) => run::run(&args, &mut out),
        Command::Explain(args) => explain::run(&args, &mut out),
        Command::Measure(args) => measure::run(&args, &mut out),
        Command::Assess(args) => assess::run(&args, &mut out),
        Command::Calibrate(args) => calibrate::run(&args, &mut out),
    };
    code.and_then(|code| out.flush().map(|()| code).map_err(|error| Problem::output(&error)))
        .unwrap_or_else(|problem| {
            // Whoever closed the standard error does not want to know.
            let _gone = writeln!(std::io::stderr(), "ohmwarden: {problem}");
            problem.exit_code()
        })
}
