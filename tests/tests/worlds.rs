//! Situations that nobody thought of: drawn at random, run twice, no rule may break.
//!
//! The draws are of [`draw`]: once with a sound instrument, once with one fault. Every case comes
//! from its own number, so that any of them can be drawn again. A case that breaks a rule is made
//! smaller while it still breaks that rule, and written to `target/worlds/` as a scenario that
//! `ohmwarden run` replays. `OHMWARDEN_CASES` says how many; a plain debug run takes few.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use ohmwarden_core::invariants::Rule;
use ohmwarden_sim::scenario::{Scenario, write};
use ohmwarden_tests::draw;
use ohmwarden_tests::scene::{broken, run};
use proptest::strategy::{BoxedStrategy, Strategy, ValueTree};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use rayon::prelude::*;

/// Tries at making a case smaller.
const SHRINKS: u32 = 120;
/// Cases of one kind that are written and told in full.
const TOLD: usize = 3;

/// What a case broke: the first rule in the order of the rules, or something worse.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fault {
    Broke(Rule),
    Diverged,
    Differs,
}

fn cases() -> u32 {
    let few = if cfg!(debug_assertions) { 30 } else { 2_000 };
    std::env::var("OHMWARDEN_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(few)
}

fn outcome(scenario: &Scenario) -> Option<Fault> {
    let Ok(report) = run(scenario, None) else { return Some(Fault::Diverged) };
    let first = report.rules.iter().find(|(_, margin)| margin.held() == Some(false));
    if let Some((rule, _)) = first {
        return Some(Fault::Broke(*rule));
    }
    let again = run(scenario, None).map(|again| again.digest);
    (again != Ok(report.digest)).then_some(Fault::Differs)
}

/// The case of a number: the same on every machine.
fn drawn(strategy: &BoxedStrategy<Scenario>, number: u32) -> impl ValueTree<Value = Scenario> {
    let mut seed = [0; 32];
    seed[..4].copy_from_slice(&number.to_le_bytes());
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &seed);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    strategy.new_tree(&mut runner).expect("a strategy without filters")
}

/// Makes a case smaller while it fails in the same way.
fn shrunk(mut tree: impl ValueTree<Value = Scenario>, fault: &Fault) -> Scenario {
    let mut least = tree.current();
    let mut smaller = tree.simplify();
    for _ in 0..SHRINKS {
        if !smaller {
            break;
        }
        let now = tree.current();
        smaller = if outcome(&now).as_ref() == Some(fault) {
            least = now;
            tree.simplify()
        } else {
            tree.complicate()
        };
    }
    least
}

fn check(name: &str, strategy: impl Fn() -> BoxedStrategy<Scenario> + Sync) {
    let failed: Vec<(u32, Fault)> = (0..cases())
        .into_par_iter()
        .filter_map(|number| {
            let scenario = drawn(&strategy(), number).current();
            outcome(&scenario).map(|fault| (number, fault))
        })
        .collect();
    if failed.is_empty() {
        return;
    }
    let mut kinds: BTreeMap<Fault, Vec<u32>> = BTreeMap::new();
    for (number, fault) in failed {
        kinds.entry(fault).or_default().push(number);
    }
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../target/worlds");
    fs::create_dir_all(&folder).expect("target is a folder that can be written to");
    for (fault, numbers) in &kinds {
        println!("{fault:?}: {} cases: {numbers:?}", numbers.len());
        numbers.par_iter().take(TOLD).for_each(|number| {
            let least = shrunk(drawn(&strategy(), *number), fault);
            let path = folder.join(format!("{name}-{number}.toml"));
            fs::write(&path, write(&least)).expect("target is a folder that can be written to");
            let what = run(&least, None).map_or_else(|e| vec![e.to_string()], |r| broken(&r));
            println!("  {}: {what:?}", path.display());
        });
    }
    panic!("{} kinds of failure", kinds.len());
}

#[test]
fn no_rule_breaks_in_any_drawn_world_and_every_run_repeats() {
    check("sound", || draw::sound().boxed());
}

#[test]
fn no_rule_breaks_with_any_one_fault_in_any_drawn_world() {
    check("broken", || draw::broken().boxed());
}
