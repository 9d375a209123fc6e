//! Places a value on a logarithmic bar.

use micromath::F32Ext;

/// Gives the place of `value` on a logarithmic scale: 0 at `least`, 100 at `greatest`.
///
/// For the eye only: it is never part of a result. Held at both ends; 0 where an argument is not a
/// number, not positive, or the scale is empty. `micromath` takes the logarithm of ratios above 1
/// alone: below 1 it is off by a twentieth of a decade, above by 1/35 000 (pinned by a test).
///
/// ```
/// use ohmwarden_core::text::log_position;
/// assert_eq!(log_position(1e6, 1e4, 1e8), 50);
/// assert_eq!(log_position(f32::NAN, 1e4, 1e8), 0);
/// ```
#[must_use]
pub fn log_position(value: f32, least: f32, greatest: f32) -> u8 {
    let usable = value > least && least > 0.0 && greatest > least && greatest.is_finite();
    if !usable {
        return 0;
    }
    if value >= greatest {
        return 100;
    }
    percent(F32Ext::log10(value / least) / F32Ext::log10(greatest / least))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a float becomes an integer held at the bounds, and is clamped before"
)]
fn percent(part: f32) -> u8 {
    (part.clamp(0.0, 1.0) * 100.0 + 0.5) as u8
}

#[cfg(test)]
mod tests {
    use super::{F32Ext, log_position};

    /// The largest error of `micromath` in decades, over `steps` ratios from `from` to `to`.
    fn worst(from: f32, to: f32, steps: u16) -> f32 {
        let ratios = (0..=steps)
            .map(|step| from * libm::powf(to / from, f32::from(step) / f32::from(steps)));
        ratios.map(|ratio| (F32Ext::log10(ratio) - libm::log10f(ratio)).abs()).fold(0.0, f32::max)
    }

    #[test]
    fn the_logarithm_may_be_used_above_one_and_not_below() {
        let (below, above) = (worst(0.5, 0.999, 10_000), worst(1.0, 1e24, 60_000));
        std::println!("decades off: below 1 {below}, above 1 {above}");
        assert!(below > 0.05, "{below}: the ratio need not be above 1 any more");
        assert!(above < 6e-5, "{above}");
    }

    #[test]
    fn every_place_is_the_nearest_percent_of_the_exact_logarithm() {
        for (least, greatest) in [(0.01_f32, 100.0_f32), (1e3, 2e11), (1.0, 1.5), (1e-12, 1e12)] {
            for step in 0..=1_000_u16 {
                let part = f32::from(step) / 1_000.0;
                let value = least * libm::powf(greatest / least, part);
                let place = f32::from(log_position(value, least, greatest));
                let error = (place - 100.0 * part).abs();
                assert!(error < 0.52, "{value} of {least}..{greatest}: {place}");
            }
        }
    }

    #[test]
    fn the_ends_hold_and_nonsense_is_at_the_bottom() {
        for (value, least, greatest, place) in [
            (0.0, 1.0, 10.0, 0),
            (1.0, 1.0, 10.0, 0),
            (10.0, 1.0, 10.0, 100),
            (f32::INFINITY, 1.0, 10.0, 100),
            (5.0, 10.0, 1.0, 0),
            (5.0, 0.0, 10.0, 0),
            (-5.0, -10.0, 10.0, 0),
            (5.0, 1.0, f32::INFINITY, 0),
            (5.0, f32::NAN, 10.0, 0),
        ] {
            assert_eq!(log_position(value, least, greatest), place, "{value} {least} {greatest}");
        }
    }
}
