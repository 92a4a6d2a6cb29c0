//! Quantities as every screen and page writes them: the unit and the number of decimals are chosen here alone.

use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::Sloping;
use metrology::{Angle, Length};

/// Why there is no verdict on the half angle.
pub(crate) const NO_TOLERANCE: &str = "no tolerance stated";
/// Why there is no verdict on a run-out or on an indicator.
pub(crate) const NO_LIMIT: &str = "no limit stated";

/// A verdict as lists and filters write it, and as it is read alone.
const fn names(verdict: Verdict) -> [&'static str; 2] {
    match verdict {
        Verdict::In => ["in", "in tolerance"],
        Verdict::Out => ["out", "out of tolerance"],
        Verdict::Undecided => ["undecided"; 2],
    }
}

/// A verdict in one word, as lists and filters write it.
#[must_use]
pub const fn verdict_word(verdict: Verdict) -> &'static str {
    names(verdict)[0]
}

/// What was decided, without the reason.
#[must_use]
pub const fn decision(verdict: Verdict) -> &'static str {
    names(verdict)[1]
}

/// The verdict in words: what was decided, or why nothing was.
#[must_use]
pub fn verdict(verdict: Verdict, because: Option<Undecided>) -> String {
    let decision = decision(verdict);
    match because.filter(|_| verdict == Verdict::Undecided) {
        Some(because) => format!("{decision}: {}", because.words()),
        None => decision.to_owned(),
    }
}

/// Which way a residual tilts the cone. A residual that is `shown` as zero tilts it neither way.
pub(crate) fn cone(sloping: Option<Sloping>, shown: &str) -> Option<&'static str> {
    sloping
        .filter(|_| shown.contains(|c: char| matches!(c, '1'..='9')))
        .map(|sloping| match sloping {
            Sloping::Steeper => "steeper",
            Sloping::Shallower => "shallower",
        })
}

/// Which way something is tapped.
pub(crate) const fn way(toward: bool) -> &'static str {
    if toward {
        "toward the indicator"
    } else {
        "away from the indicator"
    }
}

/// The unit of a budget's component as it is written.
pub(crate) fn unit(unit: &str) -> &str {
    match unit {
        "um" => "µm",
        other => other,
    }
}

/// A half or included angle: `2.3859440°  2°23'09.4"`.
#[must_use]
pub fn angle(angle: Angle) -> String {
    format!("{:.7}°  {}", angle.deg(), angle.dms(1))
}

/// An error of an angle with its sign: `-12.30"`.
#[must_use]
pub fn arcsec(arcsec: f64) -> String {
    signed(arcsec, 2) + "\""
}

/// A small length with its sign: `+4.20 µm`.
#[must_use]
pub fn um(um: f64) -> String {
    signed(um, 2) + " µm"
}

/// A small length without a sign: `4.20 µm`.
#[must_use]
pub fn plain_um(um: f64) -> String {
    format!("{um:.2} µm")
}

/// A reading with its sign and as many places as the display shows: `+0.0042 mm`.
#[must_use]
pub fn reading(value_mm: f64, resolution: Option<Length>) -> String {
    let places = match resolution.map(Length::mm) {
        Some(step) if step > 0.0 => (-step.log10()).ceil().clamp(0.0, 6.0) as usize,
        _ => 4,
    };
    signed(value_mm, places) + " mm"
}

/// A direction in degrees, with the hour of a clock, twelve at 0°, that it is nearest to: `120° (4 o'clock)`.
#[must_use]
pub fn direction(deg: f64) -> String {
    let deg = deg.rem_euclid(360.0);
    let halves = (deg / 15.0).round() as u32 % 24;
    let hour = if halves < 2 { 12 } else { halves / 2 };
    let half = if halves % 2 == 1 { "half past " } else { "" };
    format!("{deg:.0}° ({half}{hour} o'clock)")
}

/// How many readings lie apart, and what was done about it.
#[must_use]
pub fn outliers(found: usize, rejected: usize) -> String {
    match (found, rejected) {
        (0, _) => "none".to_owned(),
        (found, 0) => format!("{found}, included"),
        (found, rejected) if found == rejected => format!("{found}, left out as asked"),
        (found, rejected) => format!("{found}, {rejected} left out as asked"),
    }
}

/// A cell of a table; empty when the value is not known.
#[must_use]
pub fn cell(value: Option<f64>, places: usize) -> String {
    value.map_or_else(String::new, |value| format!("{value:.places$}"))
}

/// A cell of a table with a sign; empty when the value is not known.
#[must_use]
pub fn signed_cell(value: Option<f64>, places: usize) -> String {
    value.map_or_else(String::new, |value| signed(value, places))
}

/// A number with its sign; what is rounded to zero has none.
#[must_use]
pub fn signed(value: f64, places: usize) -> String {
    let text = format!("{value:+.places$}");
    let zero = text.bytes().all(|b| matches!(b, b'+' | b'-' | b'0' | b'.'));
    if zero {
        text.trim_start_matches(['+', '-']).to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_as_they_are_written() {
        assert_eq!(signed(0.004, 2), "0.00");
        assert_eq!(signed(-0.004, 2), "0.00");
        assert_eq!(signed(-0.006, 2), "-0.01");
        let step = |pm| Some(Length::from_pm(pm));
        assert_eq!(reading(0.0042, step(100_000)), "+0.0042 mm");
        assert_eq!(reading(0.0042, step(1_000_000)), "+0.004 mm");
        assert_eq!(reading(0.0125, step(500_000)), "+0.0125 mm");
        assert_eq!(reading(-1.0, step(1_000_000_000)), "-1 mm");
        assert_eq!(reading(0.0042, None), "+0.0042 mm");
    }

    #[test]
    fn what_is_shown_as_zero_tilts_the_cone_neither_way() {
        let steeper = Some(Sloping::Steeper);
        assert_eq!(cone(steeper, &signed(0.006, 2)), Some("steeper"));
        assert_eq!(cone(steeper, &signed(0.004, 2)), None);
        assert_eq!(cone(Some(Sloping::Shallower), "-1"), Some("shallower"));
        assert_eq!(cone(None, "-1"), None);
    }

    #[test]
    fn directions_are_hours_to_the_half() {
        for (deg, expected) in [
            (0.0, "0° (12 o'clock)"),
            (7.4, "7° (12 o'clock)"),
            (7.6, "8° (half past 12 o'clock)"),
            (120.0, "120° (4 o'clock)"),
            (345.0, "345° (half past 11 o'clock)"),
            (353.0, "353° (12 o'clock)"),
            (-90.0, "270° (9 o'clock)"),
        ] {
            assert_eq!(direction(deg), expected, "{deg}");
        }
    }
}
