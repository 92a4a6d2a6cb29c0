//! Numbers of the live view that are the same in every unit.

use crate::style::Style;

/// An angle in arc-seconds, with as many decimals as can matter. Nothing is `+0`, never `-0`: its room is that of any other
/// value.
#[must_use]
pub fn arcsec(value: f64, style: Style) -> String {
    style.with_sign(value, usize::from(value.abs() < 999.95))
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
        let style = Style::default();
        assert_eq!(arcsec(0.0, style), "+0.0");
        assert_eq!(arcsec(-0.04, style), "+0.0");
        assert_eq!(arcsec(-1234.5, style), "-1234");
    }

    #[test]
    fn ages_as_said() {
        assert_eq!(
            [3.6, 119.0, 600.0, 8000.0].map(age),
            ["4 s", "119 s", "10 min", "2 h"]
        );
    }
}
