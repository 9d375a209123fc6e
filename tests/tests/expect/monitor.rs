//! Any rule over any trace: the online monitor says what the definition says.

use ohmwarden_sim::expect::{Now, Rule, Span, Stays};
use proptest::prelude::*;

use crate::said::said;
use crate::trace::{quarter, trace};
use crate::worked::{
    margins, same, scored, worked_always, worked_once, worked_stays, worked_until,
};
use crate::{SAME, expression};

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
