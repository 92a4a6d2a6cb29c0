//! Numbers of the live view that are the same in every unit.

use crate::style::Style;

/// A value with its sign; nothing is `+0`, never `-0`: its room is that of any other value.
#[must_use]
pub fn signed(value: f64, places: usize) -> String {
    Style::default().with_sign(value, places)
}

/// An angle in arc-seconds, with as many decimals as can matter.
#[must_use]
pub fn arcsec(value: f64) -> String {
    signed(value, usize::from(value.abs() < 999.95))
}

/// An age as a person would say it.
#[must_use]
pub fn age(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7_200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.0} h", s / 3_600.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_never_minus() {
        assert_eq!(signed(0.0, 1), "+0.0");
        assert_eq!(arcsec(-0.04), "+0.0");
        assert_eq!(arcsec(-1234.5), "-1234");
    }

    #[test]
    fn ages_as_said() {
        assert_eq!(
            [3.6, 119.0, 600.0, 8000.0].map(age),
            ["4 s", "119 s", "10 min", "2 h"]
        );
    }
}
