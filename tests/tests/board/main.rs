//! A board with a store, as the scenarios have one: what its flash holds after the run.
//!
//! Goal: the example of a main loop that keeps records loses nothing and doubts nothing. Method: the
//! scenarios of the fixtures are run and their flash is read by core's own store, against a run of
//! the same keys in which nothing goes wrong.

use ohmwarden_core::kept::Kept;
use ohmwarden_core::record::Record;
use ohmwarden_core::store::{Places, Store};
use ohmwarden_sim::flash::Nor;
use ohmwarden_sim::scenario::{Scenario, parse};
use ohmwarden_sim::world::{Observer, Report, Snapshot, StoreEvent, World};
use ohmwarden_tests::scene::broken;

mod cut;
mod full;
mod kept;

const FULL: &str = include_str!("../../../fixtures/scenarios/full-store.toml");
const CUT: &str = include_str!("../../../fixtures/scenarios/power-cut-in-a-write.toml");

/// Bytes of a page of the simulated board.
const PAGE: u32 = 1024;

/// What the board told, by the moment.
#[derive(Debug, Default)]
struct Told(Vec<(f64, StoreEvent)>);

impl Told {
    fn events(&self) -> Vec<StoreEvent> {
        self.0.iter().map(|(_, event)| *event).collect()
    }
}

impl Observer for Told {
    fn store(&mut self, now: &Snapshot, told: StoreEvent) {
        self.0.push((now.seconds, told));
    }
}

fn scenario(text: &str) -> Scenario {
    parse(text).expect("a scenario of the fixtures")
}

/// Runs one case, which breaks no rule, and gives what was told.
fn run(scenario: &Scenario) -> (Report, Told) {
    let mut told = Told::default();
    let world = World::new(scenario, &()).expect("a circuit that can be solved");
    let report = world.run(&mut told).expect("a consistent circuit");
    assert!(broken(&report).is_empty(), "{:?}", broken(&report));
    (report, told)
}

/// All that a flash holds: its records, all of them whole, and what is kept.
fn held(report: &Report, pages: u32) -> (Vec<Record>, Option<Kept>) {
    let bytes = report.flash.clone().expect("a board with a store");
    let page = |n: u32| n * PAGE;
    assert_eq!(bytes.len(), page(pages + 6) as usize);
    let places = Places {
        log: 0..page(pages),
        kept: page(pages)..page(pages + 3),
        calibration: page(pages + 3)..page(pages + 6),
    };
    let flash = Nor::<{ PAGE as usize }, 4>::with(bytes);
    let mut store = Store::open(flash, places).expect("a store opens");
    let mut records = Vec::new();
    store.records(|record| records.push(record.expect("a whole record"))).expect("it is read");
    (records, store.kept().expect("it is read"))
}

fn serials(records: &[Record]) -> Vec<u32> {
    records.iter().map(Record::serial).collect()
}
