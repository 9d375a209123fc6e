//! wip
use clap::Parser;
use ohmwarden_tests::latency::grid::Grid;
use ohmwarden_tests::latency::{
    print,
    rows::{BETWEEN, ROWS},
    run,
};

/// Prints how fast the trip is, and that it leaves passive loads alone.
#[derive(Debug, Parser)]
struct Args {
    /// The whole grid: every millisecond of every ramp.
    #[arg(long)]
    full: bool,
    /// Only this row, counted from 1.
    #[arg(long)]
    row: Option<usize>,
    /// Threads.
    #[arg(long, default_value_t = 2)]
    jobs: usize,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args = Args::parse();
    rayon::ThreadPoolBuilder::new().num_threads(args.jobs).build_global()?;
    let grid = if args.full { Grid::full() } else { Grid::coarse() };
    let rows = match args.row {
        Some(n) => ROWS.get(n - 1..n).ok_or("no such row")?,
        None => ROWS,
    };
    let t = std::time::Instant::now();
    let found = run::run(rows, &grid)?;
    println!("{}\n{}", print::latency(rows, &found), print::causes(rows, &found));
    eprintln!("{:?}", t.elapsed());
    if args.full && args.row.is_none() {
        let found = run::run(BETWEEN, &Grid::between())?;
        println!("{}", print::latency(BETWEEN, &found));
        eprintln!("{:?}", t.elapsed());
    }
    Ok(())
}
