//! The grammar: expressions of the test's own, with their own meaning.

use ohmwarden_sim::expect::{Expression, Signals};
use ohmwarden_tests::small_world::{Moment, SIGNALS, STATES};
use proptest::prelude::*;

use crate::{agrees, expression};

/// An expression of the test's own, with its own meaning.
#[derive(Clone, Debug)]
pub(crate) enum Said {
    Flag(&'static str),
    State(usize),
    Compare(&'static str, i32),
    Between(i32, i32),
    Not(Box<Self>),
    And(Box<Self>, Box<Self>),
    Or(Box<Self>, Box<Self>),
}

pub(crate) fn said() -> impl Strategy<Value = Said> {
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
    pub(crate) fn text(&self, bound: u8) -> String {
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

    pub(crate) fn holds(&self, at: &Moment) -> bool {
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

    pub(crate) fn margin(&self, at: &Moment) -> f64 {
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
                // What a range allows is half its width; a single point has the signal's scale.
                let whole = if low < high { (high - low) / 2.0 } else { 10.0 };
                ((volts - low) / whole).min((high - volts) / whole)
            }),
        }
    }
}

fn value(at: &Moment, name: &str) -> Option<f64> {
    at.read(SIGNALS.iter().position(|spec| spec.name == name).expect("a known signal"))
}

pub(crate) fn moment() -> impl Strategy<Value = Moment> {
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

#[test]
fn long_rows_are_no_deep_nesting() {
    let row = ["!gate.open"; 40].join(" && ");
    assert!(expression(&row).now(&Moment::blank()).holds);
    let row = ["leads.volts != 3 V"; 40].join(" || ");
    assert!(expression(&row).now(&Moment::blank().with("leads.volts", 1.0)).holds);
    assert!(Expression::parse(&"!".repeat(30), SIGNALS).is_err());
}
