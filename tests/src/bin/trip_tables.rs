//! Prints how fast the trip is and that it leaves passive loads alone; fails where a promise is not
//! kept. What the tables mean stands in [`ohmwarden_tests::latency`].

use core::error::Error;
use std::process::ExitCode;

use clap::{Parser, ValueEnum};
use ohmwarden_tests::latency::grid::Grid;
use ohmwarden_tests::latency::low::{self, Low};
use ohmwarden_tests::latency::passive::{self, Passive};
use ohmwarden_tests::latency::pickup::{self, HEAVY_LOADS, LIGHT_LOADS, OTHER_LOADS, TOLD_LOADS};
use ohmwarden_tests::latency::rows::{BETWEEN, ROWS, Row};
use ohmwarden_tests::latency::{TELL_MS, print, run};

/// Prints how fast the trip is, and that it leaves passive loads alone.
#[derive(Debug, Parser)]
struct Args {
    /// Every millisecond of every ramp, 48 phases, more voltages, more seeds; an hour of two cores.
    #[arg(long)]
    full: bool,
    /// Only this row of the latency table, counted from 1.
    #[arg(long)]
    row: Option<usize>,
    /// Only this table.
    #[arg(long, value_enum)]
    table: Option<Table>,
    /// Threads.
    #[arg(long, default_value_t = 2)]
    jobs: usize,
}

/// One of the tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Table {
    /// How fast the trip is.
    Latency,
    /// Passive loads.
    Passive,
    /// Pick-up.
    Pickup,
    /// What arrives in a continuity drive.
    Continuity,
}

fn main() -> Result<ExitCode, Box<dyn Error>> {
    let args = Args::parse();
    rayon::ThreadPoolBuilder::new().num_threads(args.jobs).build_global()?;
    let rows = match args.row {
        Some(n) => n.checked_sub(1).and_then(|n| ROWS.get(n..=n)).ok_or("no such row")?,
        None => ROWS,
    };
    let wanted = |table| match (args.table, args.row) {
        (Some(only), _) => only == table,
        (None, Some(_)) => table == Table::Latency,
        (None, None) => true,
    };
    let mut kept = true;
    if wanted(Table::Latency) {
        kept &= latency(rows, &if args.full { Grid::full() } else { Grid::coarse() })?;
        if args.full && args.row.is_none() {
            kept &= latency(BETWEEN, &Grid::between())?;
        }
    }
    if wanted(Table::Passive) {
        kept &= loads(args.full)?;
    }
    if wanted(Table::Pickup) {
        kept &= pick_up()?;
    }
    if wanted(Table::Continuity) {
        let found = low::run(&if args.full { Low::full() } else { Low::coarse() })?;
        println!("{}", print::low(&found));
        kept &= found.iter().all(|one| one.late == 0);
    }
    Ok(if kept { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn latency(rows: &[Row], grid: &Grid) -> Result<bool, Box<dyn Error>> {
    let found = run::run(rows, grid)?;
    println!("{}\n{}", print::latency(rows, &found), print::causes(rows, &found));
    Ok(found.iter().all(run::Found::is_kept))
}

fn loads(full: bool) -> Result<bool, Box<dyn Error>> {
    let outcomes = passive::run(&if full { Passive::full() } else { Passive::coarse() })?;
    println!("{}", print::passive(&outcomes));
    if full {
        println!("For information, beyond the profile's noise, and with a protection that rings:");
        for table in [Passive::beyond(), Passive::unstable()] {
            println!("{}", print::passive(&passive::run(&table)?));
        }
    }
    Ok(passive::trips(&outcomes) == 0)
}

fn pick_up() -> Result<bool, Box<dyn Error>> {
    const MAINS: &[f64] = &[50.0, 60.0];
    let grow = |farads, loads| pickup::grow(&pickup::couplings(farads, loads, MAINS));
    let small = grow(330.0e-12, &TOLD_LOADS)?;
    let others = grow(330.0e-12, &OTHER_LOADS)?;
    print!("{}", print::grown("330 pF grow in hold", &small));
    print!("{}", print::grown("330 pF, larger loads and plateaus", &others));
    print!("{}", print::grown("1 nF, for information", &grow(1.0e-9, &TOLD_LOADS)?));
    let join = |loads| pickup::join(&pickup::couplings(10.0e-9, loads, &[45.0, 50.0, 60.0, 65.0]));
    print!("{}", print::joined("10 nF join, load 1 Mohm and more", &join(&LIGHT_LOADS)?, 10.0));
    print!("{}", print::joined("10 nF join, heavier, for information", &join(&HEAVY_LOADS)?, 10.0));
    Ok(small.iter().chain(&others).all(|one| one.tripped.is_none())
        && small.iter().all(|one| one.flagged_ms.is_some_and(|ms| ms <= TELL_MS)))
}
