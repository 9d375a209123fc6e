//! Expectations: the online monitors against definitions worked over whole traces, and the grammar
//! against a second evaluator.

mod small_world;

use ohmwarden_sim::expect::{
    Expect, Expression, Fired, Monitor, Now, Outcome, Rule, Signals, Span, Stays,
};
use proptest::prelude::*;
use small_world::{Moment, SIGNALS, STATES};

/// The distance of samples, seconds.
const STEP: f64 = 1.0e-3;
/// The rounding that times may carry, as the monitors allow it.
const SAME: f64 = 1.0e-9;

// ---- expressions

/// An expression of the test's own, with its own meaning.
#[derive(Clone, Debug)]
enum Said {
    Flag(&'static str),
    State(usize),
    Compare(&'static str, i32),
    Between(i32, i32),
    Not(Box<Self>),
    And(Box<Self>, Box<Self>),
    Or(Box<Self>, Box<Self>),
}

fn said() -> impl Strategy<Value = Said> {
    let leaf = prop_oneof![
        prop::sample::select(vec!["gate.open", "source.off"]).prop_map(Said::Flag),
        (0..STATES.len()).prop_map(Said::State),
        (prop::sample::select(vec!["<", "<=", ">", ">=", "==", "!="]), -3..4)
            .prop_map(|(sign, limit)| Said::Compare(sign, limit)),
        (-3..4, 0..4).prop_map(|(low, width)| Said::Between(low, low + width)),
    ];
    leaf.prop_recursive(3, 16, 2, |inner| {
        prop_oneof![
            inner.clone().prop_map(|a| Said::Not(Box::new(a))),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| Said::And(Box::new(a), Box::new(b))),
            (inner.clone(), inner).prop_map(|(a, b)| Said::Or(Box::new(a), Box::new(b))),
        ]
    })
}

impl Said {
    /// Writes it with no more brackets than needed; `bound` is how tightly the outside binds.
    fn text(&self, bound: u8) -> String {
        let (text, own) = match self {
            Self::Flag(name) => ((*name).to_string(), 3),
            Self::State(place) => (format!("state is {}", STATES[*place]), 3),
            Self::Compare(sign, limit) => (format!("leads.volts {sign} {limit} V"), 3),
            Self::Between(low, high) => (format!("leads.volts in {low}000 mV..{high} V"), 3),
            Self::Not(a) => (format!("!{}", a.text(3)), 3),
            Self::And(a, b) => (format!("{} && {}", a.text(2), b.text(2)), 2),
            Self::Or(a, b) => (format!("{}||{}", a.text(1), b.text(1)), 1),
        };
        if own < bound { format!("( {text} )") } else { text }
    }

    fn holds(&self, at: &Moment) -> bool {
        let read = |name: &str| value(at, name);
        match self {
            Self::Flag(name) => read(name) == Some(1.0),
            Self::State(place) => read("state") == Some(*place as f64),
            Self::Compare(sign, limit) => read("leads.volts").is_some_and(|volts| {
                let limit = f64::from(*limit);
                match *sign {
                    "<" => volts < limit,
                    "<=" => volts <= limit,
                    ">" => volts > limit,
                    ">=" => volts >= limit,
                    "==" => volts == limit,
                    _ => volts != limit,
                }
            }),
            Self::Between(low, high) => read("leads.volts")
                .is_some_and(|volts| (f64::from(*low)..=f64::from(*high)).contains(&volts)),
            Self::Not(a) => !a.holds(at),
            Self::And(a, b) => a.holds(at) && b.holds(at),
            Self::Or(a, b) => a.holds(at) || b.holds(at),
        }
    }

    fn margin(&self, at: &Moment) -> f64 {
        let yes = |holds: bool| if holds { 1.0 } else { -1.0 };
        match self {
            Self::Not(a) => -a.margin(at),
            Self::And(a, b) => a.margin(at).min(b.margin(at)),
            Self::Or(a, b) => a.margin(at).max(b.margin(at)),
            Self::Flag(_) | Self::State(_) => yes(self.holds(at)),
            Self::Compare(sign, limit) => value(at, "leads.volts").map_or(-1.0, |volts| {
                let over = (volts - f64::from(*limit)) / 10.0;
                match *sign {
                    "<" | "<=" => -over,
                    ">" | ">=" => over,
                    "==" => -over.abs(),
                    _ => over.abs(),
                }
            }),
            Self::Between(low, high) => value(at, "leads.volts").map_or(-1.0, |volts| {
                let (low, high) = (f64::from(*low), f64::from(*high));
                ((volts - low) / 10.0).min((high - volts) / 10.0)
            }),
        }
    }
}

fn value(at: &Moment, name: &str) -> Option<f64> {
    at.read(SIGNALS.iter().position(|spec| spec.name == name).expect("a known signal"))
}

fn moment() -> impl Strategy<Value = Moment> {
    let volts = prop::option::weighted(0.8, (-4..5_i32).prop_map(f64::from));
    let flag = || prop::option::weighted(0.9, any::<bool>());
    (volts, flag(), flag(), 0..STATES.len()).prop_map(|(volts, open, off, state)| {
        let mut at = Moment::blank().with("state", state as f64);
        for (name, flag) in [("gate.open", open), ("source.off", off)] {
            if let Some(flag) = flag {
                at = at.with(name, f64::from(u8::from(flag)));
            }
        }
        match volts {
            Some(volts) => at.with("leads.volts", volts),
            None => at,
        }
    })
}

/// A margin never contradicts the truth; at zero only the truth tells.
fn agrees(holds: bool, margin: f64) -> bool {
    if holds { margin >= 0.0 } else { margin <= 0.0 }
}

fn expression(text: &str) -> Expression {
    Expression::parse(text, SIGNALS).unwrap_or_else(|mistakes| panic!("{text}: {mistakes:?}"))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_expression_says_what_its_words_say(said in said(), at in moment()) {
        let now = expression(&said.text(0)).now(&at);
        prop_assert_eq!(now.holds, said.holds(&at), "{}", said.text(0));
        prop_assert_eq!(now.margin, said.margin(&at), "{}", said.text(0));
        prop_assert!(agrees(now.holds, now.margin));
    }

    #[test]
    fn any_text_is_read_or_refused_inside_itself(text in "[a-z.!&|()<>=0-9 VmA%\"]{0,40}") {
        if let Err(mistakes) = Expression::parse(&text, SIGNALS) {
            prop_assert!(!mistakes.is_empty());
            for mistake in mistakes {
                prop_assert!(text.get(mistake.span.clone()).is_some(), "{mistake:?}");
            }
        }
    }
}

// ---- monitors

/// A trace and two labelled moments in it.
#[derive(Clone, Debug)]
struct Trace {
    moments: Vec<Moment>,
    first: f64,
    second: f64,
}

impl Trace {
    fn times(&self) -> impl Iterator<Item = f64> + '_ {
        (0..self.moments.len()).map(|place| place as f64 * STEP)
    }

    fn last(&self) -> f64 {
        (self.moments.len() - 1) as f64 * STEP
    }

    fn nows(&self, that: &Expression) -> Vec<(f64, Now)> {
        self.times().zip(self.moments.iter().map(|at| that.now(at))).collect()
    }

    /// When a label is told: at the first sample not before it; never where the trace ends first.
    fn told(&self, moment: f64) -> Option<f64> {
        (moment <= self.last()).then_some(moment)
    }

    fn run(&self, rule: &Rule) -> Outcome {
        let expect = Expect { rule: rule.clone(), note: String::new() };
        let mut monitor = Monitor::new(&expect, &["first", "second"]);
        let labels = [self.first, self.second];
        let mut before = f64::NEG_INFINITY;
        for (t, at) in self.times().zip(&self.moments) {
            let mut fired: Vec<Fired> = labels
                .iter()
                .enumerate()
                .filter(|(_, seconds)| **seconds > before && **seconds <= t)
                .map(|(label, seconds)| Fired { label, seconds: *seconds })
                .collect();
            fired.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
            monitor.step(t, at, &fired);
            before = t;
        }
        monitor.finish()
    }
}

/// Moments fall on quarters of a sample, so that ties with samples are tried.
fn quarter() -> impl Strategy<Value = f64> {
    (0..80_u32).prop_map(|quarters| f64::from(quarters) * STEP / 4.0)
}

fn trace() -> impl Strategy<Value = Trace> {
    (prop::collection::vec(moment(), 1..24), quarter(), quarter())
        .prop_map(|(moments, first, second)| Trace { moments, first, second })
        .prop_filter("two moments", |trace| trace.first != trace.second)
}

/// What a whole trace says: held, margin in scales or seconds.
type Worked = Option<(bool, f64)>;

fn worked_always(nows: &[(f64, Now)]) -> Worked {
    let margin = nows.iter().map(|(_, now)| now.margin).reduce(f64::min)?;
    Some((nows.iter().all(|(_, now)| now.holds), margin))
}

fn worked_until(hold: &[(f64, Now)], until: &[(f64, Now)]) -> Worked {
    let at = |j: usize| {
        let before = || hold[..j].iter().map(|(_, now)| now);
        let holds = until[j].1.holds && before().all(|now| now.holds);
        (holds, before().fold(until[j].1.margin, |least, now| least.min(now.margin)))
    };
    let all: Vec<(bool, f64)> = (0..until.len()).map(at).collect();
    let best = all.iter().map(|(_, margin)| *margin).reduce(f64::max)?;
    Some((all.iter().any(|(holds, _)| *holds), best))
}

/// Time to spare of a window that asks for one true sample.
fn worked_once(nows: &[(f64, Now)], opening: f64, length: f64) -> Worked {
    let deadline = opening + length;
    let last = nows.last()?.0;
    let interval = if nows.len() > 1 { STEP } else { 0.0 };
    let first = nows.iter().find(|(t, now)| *t >= opening && now.holds).map(|(t, _)| *t);
    match first {
        Some(t) if t <= deadline + SAME => Some((true, (deadline - t).max(0.0))),
        Some(t) => Some((false, deadline - t)),
        None if last + interval + SAME < deadline => None,
        None => Some((false, (deadline - last).min(0.0))),
    }
}

/// Time to spare of a window after which it must stay until `stop`.
fn worked_stays(nows: &[(f64, Now)], opening: f64, length: f64, stop: Option<f64>) -> Worked {
    let last = nows.last()?.0;
    let interval = if nows.len() > 1 { STEP } else { 0.0 };
    let stop = stop.filter(|stop| *stop > opening);
    let end = stop.unwrap_or(last);
    let deadline = (opening + length).min(stop.unwrap_or(f64::INFINITY));
    if stop.is_none() && last + interval + SAME < deadline {
        return None;
    }
    let inside: Vec<&(f64, Now)> =
        nows.iter().filter(|(t, _)| *t >= opening && stop.is_none_or(|stop| *t < stop)).collect();
    let row = inside.iter().rev().take_while(|(_, now)| now.holds).last().map(|(t, _)| *t);
    match row {
        Some(t) if t <= deadline + SAME => Some((true, (deadline - t).max(0.0))),
        row => Some((false, (deadline - row.unwrap_or(end)).min(0.0))),
    }
}

fn same(outcome: &Outcome, worked: Worked) -> Result<(), TestCaseError> {
    prop_assert_eq!(outcome.held, worked.map(|(held, _)| held), "{:?}", outcome);
    let margins = outcome.margin.zip(worked.map(|(_, margin)| margin));
    prop_assert_eq!(outcome.margin.is_some(), worked.is_some());
    if let Some((told, worked)) = margins {
        prop_assert!((told - worked).abs() < 1.0e-12, "{told} {worked}");
    }
    if let (Some(held), Some(score)) = (outcome.held, outcome.score) {
        prop_assert!(agrees(held, score), "{outcome:?}");
    }
    Ok(())
}

/// The score of a window: to spare as a part of it, or the worse of lateness and margin.
fn scored(outcome: &Outcome, length: f64, margins: &[f64], join: fn(f64, f64) -> f64) -> bool {
    let (Some(held), Some(spare)) = (outcome.held, outcome.margin) else {
        return outcome.score.is_none();
    };
    let time = if length > 0.0 { spare / length } else { spare };
    let value = margins.iter().copied().reduce(join).unwrap_or(0.0).min(0.0);
    let worked = if held { time } else { time.min(value) };
    outcome.score.is_some_and(|score| (score - worked).abs() < 1.0e-9)
}

/// The margins of the samples from `from`, up to `to` or beyond it.
fn margins(nows: &[(f64, Now)], within: impl Fn(f64) -> bool) -> Vec<f64> {
    nows.iter().filter(|(t, _)| within(*t)).map(|(_, now)| now.margin).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn always_and_never_are_the_least_over_their_span(
        said in said(), trace in trace(), after in any::<bool>(), before in any::<bool>(),
    ) {
        let that = expression(&said.text(0));
        let inside = |t: f64| (!after || t >= trace.first) && (!before || t < trace.second);
        let mut nows = trace.nows(&that);
        nows.retain(|(t, _)| inside(*t));
        let scale = that.unit().map_or(1.0, |(_, scale)| scale);
        let span = Span {
            after: after.then(|| "first".into()),
            before: before.then(|| "second".into()),
        };
        let always = trace.run(&Rule::Always(that.clone(), span.clone()));
        prop_assert_eq!(always.exercised as usize, nows.len());
        same(&always, worked_always(&nows).map(|(held, m)| (held, m * scale)))?;
        let never = trace.run(&Rule::Never(that, span));
        let opposite: Vec<(f64, Now)> = nows.iter().map(|(t, now)| (*t, now.opposite())).collect();
        same(&never, worked_always(&opposite).map(|(held, m)| (held, m * scale)))?;
    }

    #[test]
    fn until_is_the_best_moment_of_the_least_before_it(
        hold in said(), until in said(), trace in trace(),
    ) {
        let (hold, until) = (expression(&hold.text(0)), expression(&until.text(0)));
        let worked = worked_until(&trace.nows(&hold), &trace.nows(&until));
        let unit = hold.unit().filter(|unit| until.unit() == Some(*unit));
        let scale = unit.map_or(1.0, |(_, scale)| scale);
        let outcome = trace.run(&Rule::Until { hold, until });
        same(&outcome, worked.map(|(held, margin)| (held, margin * scale)))?;
    }

    #[test]
    fn at_looks_at_the_first_sample_not_before_its_moment(
        said in said(), trace in trace(), s in quarter(), relative in any::<bool>(),
    ) {
        let that = expression(&said.text(0));
        let due = if relative { trace.told(trace.first).map(|first| first + s) } else { Some(s) };
        let sample = due.and_then(|due| {
            trace.nows(&that).into_iter().find(|(t, _)| *t >= due - SAME)
        });
        let scale = that.unit().map_or(1.0, |(_, scale)| scale);
        let after = relative.then(|| "first".into());
        let outcome = trace.run(&Rule::At { s, after, that });
        same(&outcome, sample.map(|(_, now)| (now.holds, now.margin * scale)))?;
        prop_assert_eq!(outcome.at_seconds, sample.map(|(t, _)| t));
    }

    #[test]
    fn within_tells_the_time_to_spare(said in said(), trace in trace(), s in quarter()) {
        let that = expression(&said.text(0));
        let nows = trace.nows(&that);
        let worked = trace.told(trace.first).and_then(|first| worked_once(&nows, first, s));
        let stays = Stays::No;
        let within = Rule::Within { after: "first".into(), s, that: that.clone(), stays };
        same(&trace.run(&within), worked)?;
        let eventually = Rule::Eventually { s, that, stays: Stays::No };
        let outcome = trace.run(&eventually);
        same(&outcome, worked_once(&nows, 0.0, s))?;
        let inside = margins(&nows, |t| t <= s + SAME);
        prop_assert!(scored(&outcome, s, &inside, f64::max), "{outcome:?}");
    }

    #[test]
    fn within_that_stays_counts_from_when_it_came_for_good(
        said in said(), trace in trace(), s in quarter(), to_label in any::<bool>(),
    ) {
        let that = expression(&said.text(0));
        let nows = trace.nows(&that);
        let stop = trace.told(trace.second).filter(|_| to_label);
        let worked =
            trace.told(trace.first).and_then(|first| worked_stays(&nows, first, s, stop));
        let stays =
            if to_label { Stays::UntilLabel("second".into()) } else { Stays::ToEnd };
        let within = Rule::Within { after: "first".into(), s, that: that.clone(), stays: stays.clone() };
        same(&trace.run(&within), worked)?;
        let eventually = Rule::Eventually { s, that, stays };
        let outcome = trace.run(&eventually);
        same(&outcome, worked_stays(&nows, 0.0, s, stop))?;
        let stop = stop.filter(|stop| *stop > 0.0).unwrap_or(f64::INFINITY);
        let behind = margins(&nows, |t| t > s.min(stop) + SAME && t < stop);
        prop_assert!(scored(&outcome, s, &behind, f64::min), "{outcome:?}");
    }
}

// ---- cases that chance does not reach

/// Runs a rule over `leads.volts`, one value a sample, with the label "go" at these moments.
fn run(rule: Rule, volts: &[f64], go: &[f64]) -> Outcome {
    let expect = Expect { rule, note: String::new() };
    let mut monitor = Monitor::new(&expect, &["go"]);
    let mut before = f64::NEG_INFINITY;
    for (place, volts) in volts.iter().enumerate() {
        let t = place as f64 * STEP;
        let new = go.iter().filter(|moment| **moment > before && **moment <= t);
        let fired: Vec<Fired> = new.map(|seconds| Fired { label: 0, seconds: *seconds }).collect();
        monitor.step(t, &Moment::blank().with("leads.volts", *volts), &fired);
        before = t;
    }
    monitor.finish()
}

fn within(s: f64, that: &str, stays: Stays) -> Rule {
    Rule::Within { after: "go".into(), s, that: expression(that), stays }
}

#[test]
fn a_label_that_comes_again_opens_another_window_and_the_worst_is_told() {
    let high = "leads.volts > 5 V";
    // To spare: 3 ms the first time, 1 ms the second, 2 ms the third.
    let volts = [0.0, 9.0, 0.0, 0.0, 0.0, 0.0, 9.0, 0.0, 0.0, 0.0, 9.0];
    let outcome = run(within(0.004, high, Stays::No), &volts, &[0.0, 0.003, 0.008]);
    assert_eq!((outcome.held, outcome.exercised), (Some(true), 3));
    assert!((outcome.margin.unwrap() - 0.001).abs() < 1.0e-12, "{outcome:?}");
    assert_eq!(outcome.at_seconds, Some(0.006));
    // The second is missed.
    let outcome = run(within(0.002, high, Stays::No), &volts, &[0.0, 0.003, 0.008]);
    assert_eq!(outcome.held, Some(false));
    assert!((outcome.margin.unwrap() + 0.001).abs() < 1.0e-12, "{outcome:?}");
}

#[test]
fn a_label_that_comes_inside_its_window_asks_for_one_true_sample_for_both() {
    let volts = [0.0, 0.0, 0.0, 9.0, 0.0, 0.0, 0.0, 0.0];
    let rule = within(0.004, "leads.volts > 5 V", Stays::No);
    let outcome = run(rule, &volts, &[0.0, 0.002]);
    assert_eq!((outcome.held, outcome.exercised), (Some(true), 2));
    assert!((outcome.margin.unwrap() - 0.001).abs() < 1.0e-12, "{outcome:?}");
}

#[test]
fn a_moment_that_comes_again_is_looked_at_again() {
    let at =
        || Rule::At { s: 0.001, after: Some("go".into()), that: expression("leads.volts > 5 V") };
    let volts = [0.0, 9.0, 7.0, 1.0, 3.0, 2.0];
    let told = |go: &[f64]| {
        let outcome = run(at(), &volts, go);
        (outcome.held, outcome.margin, outcome.at_seconds, outcome.exercised)
    };
    assert_eq!(told(&[0.0]), (Some(true), Some(4.0), Some(0.001), 1));
    assert_eq!(told(&[0.0, 0.001]), (Some(true), Some(2.0), Some(0.002), 2));
    assert_eq!(told(&[0.0, 0.002, 0.003]), (Some(false), Some(-4.0), Some(0.003), 3));
    assert_eq!(told(&[0.0, 0.0005]), (Some(true), Some(2.0), Some(0.002), 2));
    // A label that comes again before the moment moves it.
    assert_eq!(told(&[0.0001, 0.0009]), (Some(true), Some(2.0), Some(0.002), 1));
}

#[test]
fn what_must_stay_is_ended_by_the_next_opening() {
    let volts = [0.0, 9.0, 9.0, 9.0, 0.0, 0.0, 9.0, 9.0, 9.0];
    let rule = || within(0.003, "leads.volts > 5 V", Stays::ToEnd);
    let outcome = run(rule(), &volts, &[0.0, 0.004]);
    assert_eq!((outcome.held, outcome.exercised), (Some(true), 2));
    assert!((outcome.margin.unwrap() - 0.001).abs() < 1.0e-12, "{outcome:?}");
    // Without the second opening the fall at 4 ms breaks the first one.
    assert_eq!(run(rule(), &volts, &[0.0]).held, Some(false));
}

#[test]
fn at_a_margin_of_zero_the_truth_is_still_told() {
    // At 2 V true by nothing, at 0 V false by nothing.
    let that = "leads.volts in 0 V..2 V && leads.volts != 0 V";
    let always = || Rule::Always(expression(that), Span::default());
    assert_eq!(run(always(), &[2.0, 2.0], &[]).held, Some(true));
    assert_eq!(run(always(), &[2.0, 0.0], &[]).held, Some(false));
    assert_eq!(run(always(), &[0.0, 2.0], &[]).held, Some(false));
    let never = Rule::Never(expression("leads.volts == 0 V || leads.volts < 0 V"), Span::default());
    assert_eq!(run(never, &[1.0, 0.0], &[]).held, Some(false));
}

#[test]
fn nothing_that_was_not_reached_is_told_as_held() {
    let rules = [
        within(0.004, "leads.volts > 5 V", Stays::No),
        within(0.004, "leads.volts > 5 V", Stays::ToEnd),
        Rule::At { s: 0.0, after: Some("go".into()), that: expression("leads.volts > 5 V") },
        Rule::Always(
            expression("leads.volts > 5 V"),
            Span { after: Some("go".into()), before: None },
        ),
    ];
    for rule in rules {
        let outcome = run(rule.clone(), &[9.0; 4], &[]);
        assert_eq!((outcome.held, outcome.exercised), (None, 0), "{rule:?}");
        assert_eq!((outcome.margin, outcome.score, outcome.at_seconds), (None, None, None));
    }
    let unknown = Monitor::new::<&str>(
        &Expect { rule: within(1.0, "gate.open", Stays::No), note: String::new() },
        &[],
    );
    assert_eq!(unknown.finish().held, None);
}

#[test]
fn a_margin_is_told_in_the_unit_of_the_signals_or_in_scales() {
    let told = |that: &str| {
        let outcome = run(Rule::Always(expression(that), Span::default()), &[20.0], &[]);
        (outcome.unit, outcome.margin.unwrap(), outcome.score.unwrap())
    };
    assert_eq!(told("leads.volts < 50 V"), ("V", 30.0, 3.0));
    assert_eq!(told("leads.volts < 50 V && !(leads.volts > 1 kV)"), ("V", 30.0, 3.0));
    assert_eq!(told("leads.volts < 50 V || gate.open"), ("scale", 3.0, 3.0));
    // An endless reading has a margin that can be written down.
    let open = Moment::blank().with("reading.value", f64::INFINITY);
    assert_eq!(expression("reading.value > 1 Mohm").now(&open).margin, 1.0e6);
    let missing = Moment::blank().with("reading.value", f64::NAN);
    assert!(!expression("reading.value > 1 Mohm").now(&missing).holds);
    assert!(!expression("reading.value != 1 Mohm").now(&missing).holds);
    assert!(expression("!(reading.value > 1 Mohm)").now(&missing).holds);
}

#[test]
fn long_rows_are_no_deep_nesting() {
    let row = ["!gate.open"; 40].join(" && ");
    assert!(expression(&row).now(&Moment::blank()).holds);
    let row = ["leads.volts != 3 V"; 40].join(" || ");
    assert!(expression(&row).now(&Moment::blank().with("leads.volts", 1.0)).holds);
    assert!(Expression::parse(&"!".repeat(30), SIGNALS).is_err());
}
