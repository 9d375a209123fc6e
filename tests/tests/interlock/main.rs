//! Goal: no state and no input makes the interlock break a rule. Method: try them all.
//!
//! In full that is every state that can be written with every input, some 2.4 thousand million
//! steps; it is done where `OHMWARDEN_FULL=1` is set, in a build with optimisation. Otherwise a
//! selection in which one of each kind stands for its like. Then searches of the graph: what can be
//! reached, what can rest again, what could go on for ever. Canaries at the end: tables with one
//! row broken, each of which the same checks must catch.

mod canaries;
mod graph;
mod lists;
mod rules;

use core::ops::ControlFlow;
use core::sync::atomic::{AtomicU64, AtomicUsize, Ordering::Relaxed};
use std::sync::Mutex;

use ohmwarden_core::interlock::{Input, Next, State, next};

use lists::Selection;
use rules::{Step, broken};

/// A table: core's, or a canary's.
pub(crate) type Table = fn(State, Input) -> Next;

/// Whether everything is asked for.
fn is_full() -> bool {
    std::env::var_os("OHMWARDEN_FULL").is_some_and(|value| value == "1")
}

/// Tries every state with every input on all processors; answers the first step found that breaks
/// a rule, with the name of the rule, and how many steps were tried.
pub(crate) fn search(
    table: Table,
    states: &[State],
    selection: &Selection,
) -> (Option<(&'static str, Step)>, u64) {
    let (at, tried, found) = (AtomicUsize::new(0), AtomicU64::new(0), Mutex::new(None));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some(&from) = states.get(at.fetch_add(1, Relaxed)) {
                    let (worst, count) = search_one(table, from, selection);
                    tried.fetch_add(count, Relaxed);
                    if worst.is_some() {
                        *found.lock().expect("no thread panics with it") = worst;
                        at.store(states.len(), Relaxed);
                    }
                }
            });
        }
    });
    (found.into_inner().expect("no thread panics with it"), tried.into_inner())
}

fn search_one(
    table: Table,
    from: State,
    selection: &Selection,
) -> (Option<(&'static str, Step)>, u64) {
    let (mut worst, mut count) = (None, 0);
    let _flow = selection.each(|on| {
        count += 1;
        let step = Step { from, on, to: table(from, on) };
        match broken(&step) {
            None => ControlFlow::Continue(()),
            Some(rule) => {
                worst = Some((rule, step));
                ControlFlow::Break(())
            }
        }
    });
    (worst, count)
}

#[test]
fn no_state_and_no_input_breaks_a_rule() {
    let (states, selection) = if is_full() {
        (lists::all_states(), Selection::full())
    } else {
        (lists::reduced_states(), Selection::reduced())
    };
    let (worst, tried) = search(next, &states, &selection);
    if let Some((rule, step)) = worst {
        panic!("{rule}: {step:?}");
    }
    assert_eq!(tried, states.len() as u64 * selection.len());
    println!("{tried} steps from {} states", states.len());
}
