//! wip
use ohmwarden_tests::latency::pickup::*;
use ohmwarden_tests::latency::rig::Load;
fn main() {
    let c = Coupling { farads: 330e-12, hz: 50.0, set: 500, load: Load { ohms: 1e6, farads: 0.0 } };
    println!("{:?}", c.grow());
}
