//! wip
use ohmwarden_tests::latency::arrival::*;
use ohmwarden_tests::latency::grid::*;
use ohmwarden_tests::latency::rig::*;
use std::collections::BTreeMap;
fn main() {
    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    for rms in [25.0] {
        for set in [100, 250, 1000] {
            for farads in [0.0, 1e-7, 1e-6] {
                for ohms in [5e3, 1e5, f64::INFINITY] {
                    for series in [Series::Behind(1e3), Series::Behind(1e5), Series::Before(1e5)] {
                        for r in [10.0, 1e3] {
                            let setup = series.setup(set, Load { ohms, farads });
                            let mut out = None;
                            let mut rig = Rig::start(&setup, |net| {
                                out = Some(Outside::put(net, Some(45.0), r)?);
                                Ok(())
                            })
                            .unwrap();
                            let out = out.unwrap();
                            for at in 0..1200 {
                                if at % 20 == 0 && rig.is_on() {
                                    for ph in 0..24 {
                                        let mut f = rig.clone();
                                        let before = f.state();
                                        out.arrive(
                                            &mut f,
                                            &Comes::Alternating {
                                                rms,
                                                hz: 45.0,
                                                phase_deg: ph as f64 * 15.0,
                                            },
                                        );
                                        let e = follow(&mut f, |_| {}).unwrap();
                                        rig.bench.circuit_mut().learn_from(f.bench.circuit());
                                        if e.cause == Some(ohmwarden_core::gate::Cause::Disarmed) {
                                            for _ in 0..11 {
                                                f.step().unwrap();
                                            }
                                            *seen.entry(format!("{rms} V through {r} set {set} {farads:e} {ohms:e} {series} {before:?} -> {:?} {:?}", f.reason(), f.state())).or_insert(0) += 1;
                                        }
                                    }
                                }
                                rig.run_block().unwrap();
                            }
                        }
                    }
                }
            }
        }
    }
    for (k, v) in seen {
        println!("{v} {k}");
    }
}
