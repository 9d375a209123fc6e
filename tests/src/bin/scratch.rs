//! wip
use ohmwarden_tests::latency::pickup::*;
use ohmwarden_tests::latency::rig::Load;
fn main() {
    let l = |ohms, farads| Load { ohms, farads };
    let inf = f64::INFINITY;
    for f in [100e-12, 330e-12, 1e-9, 10e-9] {
        for c in
            couplings(f, &[l(inf, 0.0), l(1e6, 0.0), l(1e5, 0.0), l(inf, 1e-9), l(inf, 100e-9)])
        {
            match c.grow() {
                Ok(g) => println!(
                    "{f:e} set {} {:?} {} Hz: trip {:?} {:?} flagged {:?} swing {:.1}",
                    c.set, c.load, c.hz, g.tripped, g.state, g.flagged_ms, g.swing
                ),
                Err(e) => println!("{c:?} {e}"),
            }
        }
    }
    for c in couplings(10e-9, &[l(inf, 0.0), l(1e6, 0.0), l(1e5, 0.0), l(inf, 1e-9), l(inf, 10e-9)])
    {
        match c.join(96) {
            Ok((p, e)) => println!(
                "join set {} {:?} {} Hz: phase {p} {} {:?}",
                c.set,
                c.load,
                c.hz,
                e.milliseconds(),
                e.cause
            ),
            Err(e) => println!("{c:?} {e}"),
        }
    }
}
