//! Absorption of an insulation as series R-C branches whose currents add up to a power law.
//!
//! Dielectrics answer a step of voltage with a current that falls as `t^-n` (the law of Curie and
//! von Schweidler). Two branches a decade follow it within half a percent; their weights are the
//! least-squares fit of the relative current from 0.2 s to 1000 s, so that ratios of resistances at
//! two moments come out of the circuit as `(t2/t1)^n`. The last branch is slower than the others
//! together: it stands for all that would come later.

use alloc::format;

use crate::circuit::dense::Matrix;
use crate::circuit::{NetError, Netlist, Node, Part as Element};

/// Two branches a decade from 0.1 s.
const BRANCHES: usize = 10;
/// Moments of the fit.
const MOMENTS: u32 = 100;
/// First and last of them, as powers of ten.
const FROM: f64 = -0.698_970_004_336_018_8;
const TO: f64 = 3.0;

/// How the charge of an absorption is spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Branch {
    /// Time constant, in seconds.
    tau: f64,
    /// Its part of the charge that comes back within some minutes.
    share: f64,
}

/// Adds the branches of an absorption that holds `absorption` of the charge of `farads`.
pub(super) fn add(
    net: &mut Netlist,
    name: &str,
    (a, b): (Node, Node),
    (farads, absorption, n): (f64, f64, f64),
) -> Result<(), NetError> {
    if absorption <= 0.0 {
        return Ok(());
    }
    for (k, Branch { tau, share }) in branches(n).into_iter().enumerate() {
        let part = farads * absorption * share;
        // Through so much nothing flows that anyone could see.
        if part <= 0.0 || tau / part > 1.0e15 {
            continue;
        }
        let inner = net.node(&format!("{name}.absorb{k}"));
        let ohms = Element::Resistor { a, b: inner, ohms: tau / part };
        net.add(&format!("{name}.absorb{k}.ohms"), ohms)?;
        let cap = Element::Capacitor { a: inner, b, farads: part, volts: 0.0 };
        net.add(&format!("{name}.absorb{k}.cap"), cap)?;
    }
    Ok(())
}

/// Gives the branches for the exponent `n`, the fastest first.
fn branches(n: f64) -> [Branch; BRANCHES] {
    let taus = taus();
    let weights = fit(&taus, n);
    // The last one's charge comes back too late to count.
    let whole: f64 = weights.iter().take(BRANCHES - 1).sum();
    core::array::from_fn(|k| Branch { tau: taus[k], share: weights[k] / whole })
}

fn taus() -> [f64; BRANCHES] {
    core::array::from_fn(|k| {
        let last = if k + 1 == BRANCHES { 2.0 } else { 1.0 };
        last * libm::pow(10.0, k as f64 / 2.0 - 1.0)
    })
}

/// The charges whose currents `c / tau * exp(-t / tau)` add up to `t^-n`.
fn fit(taus: &[f64; BRANCHES], n: f64) -> [f64; BRANCHES] {
    let mut normal = Matrix::zeros(BRANCHES, BRANCHES);
    let mut right = Matrix::zeros(BRANCHES, 1);
    for moment in 0..MOMENTS {
        let share = f64::from(moment) / f64::from(MOMENTS - 1);
        let t = libm::pow(10.0, FROM + (TO - FROM) * share);
        // Scaled by `tau^n`, so that all unknowns are of one size.
        let row = taus.map(|tau| libm::exp(-t / tau) * libm::pow(t / tau, n));
        for (k, value) in row.into_iter().enumerate() {
            right.row_mut(k)[0] += value;
            for (sum, other) in normal.row_mut(k).iter_mut().zip(row) {
                *sum += value * other;
            }
        }
    }
    // Ten different exponentials are independent; were they not, nothing would be absorbed.
    let solved = normal.solve(right).unwrap_or_else(|_| Matrix::zeros(BRANCHES, 1));
    core::array::from_fn(|k| solved[(k, 0)] * libm::pow(taus[k], 1.0 - n))
}

#[cfg(test)]
mod tests {
    use super::{branches, fit, taus};

    #[test]
    fn the_currents_add_up_to_the_power_law() {
        for n in [0.3, 0.4, 0.5, 0.65, 0.8, 1.0, 1.2] {
            let taus = taus();
            let charges = fit(&taus, n);
            for k in 0..=340 {
                let t = libm::pow(10.0, -0.5 + f64::from(k) / 100.0);
                let current: f64 =
                    taus.iter().zip(charges).map(|(tau, c)| c / tau * libm::exp(-t / tau)).sum();
                let error = current * libm::pow(t, n) - 1.0;
                assert!(error.abs() < 0.006, "n = {n}, t = {t}: {error}");
            }
        }
    }

    #[test]
    fn every_branch_is_a_capacitor_that_could_be_built() {
        for n in [0.3, 0.5, 0.8, 1.0, 1.2] {
            assert!(branches(n).iter().all(|branch| branch.share > 0.0), "n = {n}");
            let whole: f64 = branches(n).iter().take(9).map(|branch| branch.share).sum();
            assert!((whole - 1.0).abs() < 1.0e-12);
        }
    }
}
