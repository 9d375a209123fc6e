//! Random streams: one for each consumer, named by what uses it.
//!
//! The name goes into the seed, so that a new consumer does not move the numbers of the others.

use rand_core::RngCore;
use rand_pcg::Pcg64Mcg;

/// Opens the stream of this name under this seed.
#[must_use]
pub fn stream(seed: u64, name: &str) -> Pcg64Mcg {
    let mut state = seed ^ fnv1a(name);
    let high = mixed(&mut state);
    let low = mixed(&mut state);
    Pcg64Mcg::new((u128::from(high) << 64) | u128::from(low))
}

/// The 64-bit FNV-1a hash: offset basis and prime of RFC 9923 (from memory).
fn fnv1a(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// One step of the `SplitMix64` generator, to spread a seed over a whole state.
fn mixed(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Draws an evenly spread number from 0 to below 1, with 53 bits.
#[must_use]
pub fn unit(rng: &mut Pcg64Mcg) -> f64 {
    (rng.next_u64() >> 11) as f64 / 9_007_199_254_740_992.0
}

/// Draws one of `count` places, evenly to within 2^-32; 0 where `count` is 0.
#[must_use]
pub fn below(rng: &mut Pcg64Mcg, count: u32) -> u32 {
    let wide = (rng.next_u64() >> 32) * u64::from(count);
    (wide >> 32) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_of_one_seed_differ_by_name_and_repeat_by_name() {
        let first = |seed, name| stream(seed, name).next_u64();
        assert_eq!(first(7, "noise"), first(7, "noise"));
        assert_ne!(first(7, "noise"), first(7, "storm"));
        assert_ne!(first(7, "noise"), first(8, "noise"));
    }

    #[test]
    fn places_are_all_reached_and_none_beyond() {
        let mut rng = stream(1, "places");
        let mut seen = [0_u32; 5];
        for _ in 0..5_000 {
            seen[below(&mut rng, 5) as usize] += 1;
        }
        assert!(seen.iter().all(|count| (850..1150).contains(count)), "{seen:?}");
        let mean = (0..10_000).map(|_| unit(&mut rng)).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.02, "{mean}");
    }
}
