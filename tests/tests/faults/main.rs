//! scratch
mod variants;
use ohmwarden_tests::faults::*;
use ohmwarden_tests::scene::broken;
use rayon::prelude::*;

#[test]
fn print() {
    let _ = std::time::Instant::now();
    let moments = Moments::learn();
    println!("{moments:?}");
    let sound: Vec<Story> = Phase::ALL
        .iter()
        .map(|p| {
            let (r, s) = tell(&p.sound(&moments), p.begins(&moments)).unwrap();
            println!(
                "SOUND {:?}: {:?} {:?} {:?} drives {} broken {:?}",
                p,
                s.signs,
                s.verdicts,
                s.ohms,
                s.drives,
                broken(&r)
            );
            s
        })
        .collect();
    let cases: Vec<Case> = variants::VARIANTS
        .iter()
        .flat_map(|(fault, with)| Phase::ALL.map(|phase| Case { fault, with, phase }))
        .collect();
    let lines: Vec<String> = cases
        .par_iter()
        .map(|c| {
            let s = &sound[Phase::ALL.iter().position(|p| *p == c.phase).unwrap()];
            match tell(&c.scenario(&moments), c.phase.begins(&moments)) {
                Ok((r, t)) => {
                    let minus: Vec<_> = s.beyond(&t).iter().map(|s| s.to_string()).collect();
                    format!(
                        "{c} | {}{:?} -{:?} | {:?} {:?} d{} | v={:.0} live={} end={:?}:{} {:?}",
                        if t.differs(s) { "" } else { "SAME " },
                        t.beyond(s),
                        minus,
                        t.verdicts,
                        t.ohms,
                        t.drives as i64 - s.drives as i64,
                        r.last.terminal_volts,
                        r.last.view.map(|v| v.live).unwrap_or(false),
                        r.last.view.map(|v| v.state.word()),
                        r.last.view.map(|v| v.reason.word()).unwrap_or(""),
                        broken(&r)
                    )
                }
                Err(e) => format!("{c} | DIVERGED {e}"),
            }
        })
        .collect();
    for l in lines {
        println!("{l}");
    }
}
