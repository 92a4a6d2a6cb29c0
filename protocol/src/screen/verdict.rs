//! Decisions on a plate, and the numbers that they rest on.

use super::parts::{Meaning, Sign};
use super::units::arcsec;
use crate::sheet::words::decision;
use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::{Sloping, ZeroOutcome};

/// A verdict on its plate.
pub(super) fn sign(verdict: Verdict, because: Option<Undecided>, mut parts: Vec<String>) -> Sign {
    parts.extend(because.map(|because| because.words().to_owned()));
    Sign {
        word: plate(verdict),
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
pub fn plate(verdict: Verdict) -> String {
    decision(verdict).to_uppercase()
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
pub fn of_zero(zero: &ZeroOutcome) -> Vec<String> {
    held_against(
        "half angle ",
        zero.half_angle_error_arcsec
            .or_else(|| error_by_residual(zero)),
        zero.half_angle_expanded_arcsec
            .or(zero.residual_expanded_arcsec),
        zero.limits_arcsec,
    )
}

/// An error of the half angle and what is allowed, arc-seconds, each part standing alone; nothing where one of
/// them is not known.
pub(super) fn held_against(
    what: &str,
    value: Option<f64>,
    expanded: Option<f64>,
    limits: Option<[f64; 2]>,
) -> Vec<String> {
    let (Some(value), Some([low, high])) = (value, limits) else {
        return Vec::new();
    };
    let u = expanded.map(|u| format!(" ± {u:.1}")).unwrap_or_default();
    vec![
        format!("{what}{}{u} arcsec", arcsec(value)),
        format!("allowed {}", limits_text([low, high])),
    ]
}

/// Limits of the half angle, arc-seconds.
pub(super) fn limits_text([low, high]: [f64; 2]) -> String {
    // A length's limits are not quite even as angles, which no one sees.
    if format!("{:.1}", -low) == format!("{high:.1}") {
        format!("± {high:.1}")
    } else {
        format!("{} to {}", arcsec(low), arcsec(high))
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
        let parts = of_zero(&zero).concat();
        assert!(parts.contains("+6.2"), "{parts}");
    }
}
