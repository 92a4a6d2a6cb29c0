//! Decisions on a plate, and the numbers that they rest on.

use super::parts::{Meaning, Sign};
use super::units::arcsec;
use crate::said;
use crate::sheet::words::{because as reason, decided};
use crate::style::Style;
use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::{Sloping, ZeroOutcome};

/// A verdict on its plate.
pub(crate) fn sign(
    verdict: Verdict,
    because: Option<Undecided>,
    mut parts: Vec<String>,
    style: Style,
) -> Sign {
    parts.extend(because.map(|because| reason(because, style)));
    Sign {
        word: plate(verdict, style),
        meaning: match verdict {
            Verdict::In => Meaning::Good,
            Verdict::Out => Meaning::Bad,
            Verdict::Undecided => Meaning::Doubtful,
        },
        parts,
    }
}

/// A verdict as it stands on its plate.
#[must_use]
pub fn plate(verdict: Verdict, style: Style) -> String {
    decided(verdict, style).to_uppercase()
}

/// The residual as the error of the half angle that it makes, positive for a steeper cone: its own sign is that of the slope.
fn error_by_residual(zero: &ZeroOutcome) -> Option<f64> {
    let residual = zero.residual_arcsec?;
    Some(match zero.cone {
        Some(Sloping::Steeper) => residual.abs(),
        Some(Sloping::Shallower) => -residual.abs(),
        None => residual,
    })
}

/// The numbers that a zero step's verdict rests on, each standing alone.
#[must_use]
pub fn of_zero(zero: &ZeroOutcome, style: Style) -> Vec<String> {
    held_against(
        zero.half_angle_error_arcsec
            .or_else(|| error_by_residual(zero)),
        zero.half_angle_expanded_arcsec
            .or(zero.residual_expanded_arcsec),
        zero.limits_arcsec,
        style,
    )
}

/// An error of the half angle and what is allowed, arc-seconds, each part standing alone; nothing where one of
/// them is not known.
pub(crate) fn held_against(
    value: Option<f64>,
    expanded: Option<f64>,
    limits: Option<[f64; 2]>,
    style: Style,
) -> Vec<String> {
    let (Some(value), Some([low, high])) = (value, limits) else {
        return Vec::new();
    };
    let u = expanded.map_or_else(String::new, |u| format!(" ± {}", style.number(u, 1)));
    let error = arcsec(value, style) + &u;
    vec![
        said!(style, "live-half-angle", error = error),
        said!(
            style,
            "live-allowed",
            limits = limits_text([low, high], style)
        ),
    ]
}

/// Limits of the half angle, arc-seconds.
pub(crate) fn limits_text([low, high]: [f64; 2], style: Style) -> String {
    // A length's limits are not quite even as angles, which no one sees.
    if format!("{:.1}", -low) == format!("{high:.1}") {
        format!("± {}", style.number(high, 1))
    } else {
        let (low, high) = (arcsec(low, style), arcsec(high, style));
        said!(style, "from-to", low = low, high = high)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Length;
    use metrology::setup::{BigEnd, IndicatorSide, Sense, Setup};
    use metrology::zero::{ZeroMark, outcome};

    /// On the opposite side a falling reading is a steeper cone: the verdict's number is that of the cone.
    #[test]
    fn the_number_beside_the_verdict_has_the_verdict_s_sign() {
        let setup = Setup {
            taper: metrology::taper::Taper::from_half_angle(
                "1:12",
                "1:12".parse().unwrap(),
                "ISO 1119",
            )
            .ok(),
            length: Some("30mm".parse().unwrap()),
            tolerance: Some("+AT4".parse().unwrap()),
            sense: Some(Sense {
                big_end: BigEnd::A,
                indicator: IndicatorSide::Opposite,
            }),
            ..Setup::default()
        };
        // 30 µrad, 6.2″.
        let marks = [("A", 0.0, 0.0), ("B", 80.0, -0.0024), ("A", 0.0, 0.0)];
        let marks = marks.map(|(station, position_mm, value_mm)| ZeroMark {
            round: 1,
            station: station.to_owned(),
            position_mm,
            value_mm,
            sd_mm: Some(1e-4),
            readings: 20,
            resolution: Length::from_pm(100_000),
            time_s: None,
            clamped: false,
            setting: 0,
        });
        let zero = outcome(&setup, &marks).unwrap();
        assert_eq!(zero.verdict, Some(Verdict::In));
        assert_eq!(zero.cone, Some(Sloping::Steeper));
        let parts = of_zero(&zero, Style::default()).concat();
        assert!(parts.contains("+6.2"), "{parts}");
    }
}
