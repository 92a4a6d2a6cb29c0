//! Figures in words, as the page writes them.

use crate::layout::signed;

/// An angle's error with its sign.
pub fn arcsec(arcsec: f64) -> String {
    signed(arcsec, 2) + "″"
}

/// A value with its expanded uncertainty, where that is known.
pub fn plus_minus(value: f64, expanded: Option<f64>, unit: &str) -> String {
    let expanded = expanded.map_or_else(
        || ", uncertainty not known".to_owned(),
        |expanded| format!(" ± {expanded:.2}{unit}"),
    );
    format!("{}{unit}{expanded}", signed(value, 2))
}

/// Limits of an angle's error.
pub fn limits([low, high]: [f64; 2]) -> String {
    format!("{} to {}", arcsec(low), arcsec(high))
}

/// A length without a sign, in micrometres.
pub fn plain_um(um: f64) -> String {
    format!("{um:.2} µm")
}

/// An amount with the limits between which it lies, where they are known.
pub fn between(amount: f64, limits: Option<[f64; 2]>, unit: &str) -> String {
    let limits = limits.map_or_else(String::new, |[low, high]| {
        format!(" (95 %: {low:.2} to {high:.2} {unit})")
    });
    format!("{amount:.2} {unit}{limits}")
}

/// A direction, with the hour of a clock that it is nearest to.
pub fn direction(deg: f64) -> String {
    let hour = (deg / 30.0).round().rem_euclid(12.0) as u32;
    let hour = if hour == 0 { 12 } else { hour };
    format!("{deg:.0}°, about {hour} o'clock")
}

/// How many of so many readings were drawn.
pub fn drawn(readings: usize, points: usize) -> String {
    if points < readings {
        format!(
            "Of {readings} readings {points} are drawn: the smallest and the largest of each column, so that nothing that \
             stands out is lost."
        )
    } else {
        format!("All {readings} readings are drawn.")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hour_goes_round() {
        for (deg, hour) in [(0.0, 12), (14.0, 12), (16.0, 1), (120.0, 4), (350.0, 12)] {
            assert!(direction(deg).ends_with(&format!("about {hour} o'clock")));
        }
    }

    #[test]
    fn what_is_not_known_is_said() {
        assert_eq!(plus_minus(-0.001, Some(1.0), "″"), "0.00″ ± 1.00″");
        assert_eq!(plus_minus(1.5, None, "″"), "+1.50″, uncertainty not known");
        assert_eq!(between(2.0, None, "µm"), "2.00 µm");
    }
}
