//! An expectation in few words, for a table or a list.

use ohmwarden_sim::expect::{Expect, Rule, Span, Stays};

use crate::layout::quantity;

/// Says what is expected, as short as it can be said without losing anything.
pub(crate) fn short(expect: &Expect) -> String {
    match &expect.rule {
        Rule::Always(that, span) => format!("always {}{}", that.text(), spanned(span)),
        Rule::Never(that, span) => format!("never {}{}", that.text(), spanned(span)),
        Rule::At { s, after: None, that } => format!("at {}: {}", seconds(*s), that.text()),
        Rule::At { s, after: Some(label), that } => {
            format!("{} after {label}: {}", seconds(*s), that.text())
        }
        Rule::Eventually { s, that, stays } => {
            format!("by {}: {}{}", seconds(*s), that.text(), staying(stays))
        }
        Rule::Within { after, s, that, stays } => {
            let text = that.text();
            format!("within {} of {after}: {text}{}", seconds(*s), staying(stays))
        }
        Rule::Until { hold, until } => format!("{} until {}", hold.text(), until.text()),
    }
}

/// A moment as a person would write it: 6 ms, 0.3 s, 3.1 s, without digits that were not given.
fn seconds(s: f64) -> String {
    let (value, unit) = if s > 0.0 && s < 0.1 { (s * 1.0e3, "ms") } else { (s, "s") };
    let rounded: f64 = format!("{value:.9}").parse().unwrap_or(value);
    if rounded == 0.0 && value != 0.0 {
        return quantity(s, "s");
    }
    format!("{rounded} {unit}")
}

fn spanned(span: &Span) -> String {
    let part = |word: &str, label: &Option<String>| {
        label.as_ref().map_or(String::new(), |label| format!(" {word} {label}"))
    };
    part("after", &span.after) + &part("before", &span.before)
}

fn staying(stays: &Stays) -> String {
    match stays {
        Stays::No => String::new(),
        Stays::ToEnd => ", and stays".to_owned(),
        Stays::UntilLabel(label) => format!(", and stays until {label}"),
    }
}

#[cfg(test)]
mod tests {
    use ohmwarden_sim::expect::Expression;
    use ohmwarden_sim::world::SIGNALS;

    use super::*;

    #[test]
    fn every_kind_of_expectation_is_told_with_its_times_and_labels() {
        let that = || Expression::parse("source.off", SIGNALS).unwrap();
        let told = |rule| short(&Expect { rule, note: String::new() });
        let after = "on".to_owned();
        let within = Rule::Within { after, s: 0.006, that: that(), stays: Stays::ToEnd };
        assert_eq!(told(within), "within 6 ms of on: source.off, and stays");
        let span = Span { after: Some("a".to_owned()), before: Some("b".to_owned()) };
        assert_eq!(told(Rule::Never(that(), span)), "never source.off after a before b");
        assert_eq!(told(Rule::Always(that(), Span::default())), "always source.off");
        assert_eq!(told(Rule::At { s: 3.1, after: None, that: that() }), "at 3.1 s: source.off");
        let stays = Stays::UntilLabel("b".to_owned());
        let eventually = Rule::Eventually { s: 0.3, that: that(), stays };
        assert_eq!(told(eventually), "by 0.3 s: source.off, and stays until b");
        assert_eq!(
            told(Rule::Until { hold: that(), until: that() }),
            "source.off until source.off"
        );
    }
}
