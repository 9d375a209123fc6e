//! Tells the tests whether they run at speed: the profile that keeps the checks on is as fast as a
//! release, so `debug_assertions` does not say it.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rustc-check-cfg=cfg(optimised)");
    if std::env::var("OPT_LEVEL").is_ok_and(|level| level == "3") {
        println!("cargo::rustc-cfg=optimised");
    }
}
