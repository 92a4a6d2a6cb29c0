//! An indicator: what is known of it beside its readings, and what each reading means.
//!
//! The user states some of it. A dial step finds the rest, and every later step uses what it found.

use crate::uncertainty::rectangular;
use crate::{Angle, Length};
use serde::{Deserialize, Serialize};

/// One row of a correction table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Correction {
    /// What the indicator shows.
    pub reading_mm: f64,
    /// What is to be added to it.
    pub add_um: f64,
}

/// An indicator's last check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct IndicatorCheck {
    /// Standard uncertainty of a reading from the indicator itself, after its correction if there is one. How single readings
    /// repeat is not included, because every step finds that for itself.
    pub u_um: f64,
    /// The correction table by rising reading; empty when no correction is wanted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub correction: Vec<Correction>,
    /// Standard deviation of a single reading at one place, where it was read more than once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_sd_um: Option<f64>,
    /// Degrees of freedom of that standard deviation; absent in checks made before they were kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_degrees_of_freedom: Option<f64>,
    /// When it was checked, ns of UTC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked_utc_ns: Option<i64>,
}

impl IndicatorCheck {
    /// Standard deviation of a single reading, mm, with its degrees of freedom. A check made before degrees of freedom were
    /// kept counts with the fewest that are possible.
    pub(crate) fn repeatability_mm(&self) -> Option<(f64, f64)> {
        let degrees_of_freedom = self.repeatability_degrees_of_freedom.unwrap_or(1.0);
        Some((self.repeatability_sd_um? * 1e-3, degrees_of_freedom))
    }

    /// What is to be added to a reading, mm: between two rows in proportion, beyond the table as at its end.
    #[must_use]
    pub fn correction_mm(&self, reading_mm: f64) -> f64 {
        let after = self
            .correction
            .partition_point(|row| row.reading_mm <= reading_mm);
        let before = after.checked_sub(1).and_then(|i| self.correction.get(i));
        let add_um = match (before, self.correction.get(after)) {
            (None, None) => 0.0,
            (Some(row), None) | (None, Some(row)) => row.add_um,
            (Some(low), Some(high)) => {
                let share = (reading_mm - low.reading_mm) / (high.reading_mm - low.reading_mm);
                low.add_um + share * (high.add_um - low.add_um)
            }
        };
        add_um * 1e-3
    }

    /// The reading that this corrected one was shown as, mm: the inverse of adding [`Self::correction_mm`].
    #[must_use]
    pub fn uncorrected_mm(&self, corrected_mm: f64) -> f64 {
        // Each turn divides the error by the correction's slope, which is far below one for any usable indicator.
        (0..8).fold(corrected_mm, |shown, _| {
            corrected_mm - self.correction_mm(shown)
        })
    }
}

/// What is known of the indicator beside its readings.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Indicator {
    /// The cable it speaks through; none when readings are typed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<String>,
    /// One step of its display.
    #[serde(
        rename = "resolution_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub resolution: Option<Length>,
    /// Largest error of indication over the span used, to either side.
    #[serde(
        rename = "error_limit_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub error_limit: Option<Length>,
    /// How readings at one place repeat, as the user states it: the standard deviation of single readings, each approached
    /// again. It counts in addition to the display's step.
    #[serde(
        rename = "repeatability_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub repeatability: Option<Length>,
    /// One division, for readings typed in divisions.
    #[serde(
        rename = "division_mm",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub division: Option<Length>,
    /// Angle of a lever-type indicator's lever to the surface: `true = shown · cos φ`.
    #[serde(
        rename = "lever_angle_deg",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub lever_angle: Option<Angle>,
    /// What a dial step found; it counts instead of the stated limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check: Option<IndicatorCheck>,
}

/// What an indicator adds to the uncertainty of each place it reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IndicatorError {
    /// The component's name in a budget.
    pub component: &'static str,
    /// Standard uncertainty of a reading, mm.
    pub u_mm: f64,
}

impl Indicator {
    /// The indicator's own error: from its last check, else from the stated limit; `None` when neither is known.
    ///
    /// ```
    /// use conewright_metrology::indicator::Indicator;
    /// let stated = Indicator { error_limit: Some("3um".parse()?), ..Indicator::default() };
    /// assert!((stated.error().unwrap().u_mm - 0.003 / 3_f64.sqrt()).abs() < 1e-15);
    /// assert!(Indicator::default().error().is_none());
    /// # Ok::<(), conewright_metrology::QuantityError>(())
    /// ```
    #[must_use]
    pub fn error(&self) -> Option<IndicatorError> {
        let checked = self.check.as_ref().map(|check| IndicatorError {
            component: "the indicator, as checked",
            u_mm: check.u_um * 1e-3,
        });
        checked.or_else(|| {
            self.error_limit.map(|limit| IndicatorError {
                component: "error of the indicator",
                u_mm: rectangular(limit.mm()),
            })
        })
    }

    /// Cosine of the lever's angle, 1 for a plunger: `true = shown · cos φ`.
    #[must_use]
    pub fn lever_factor(&self) -> f64 {
        self.lever_angle.map_or(1.0, Angle::cos)
    }

    /// One step of the display as a true length, mm; 0 where it is not known.
    pub(crate) fn true_step_mm(&self) -> f64 {
        self.resolution.unwrap_or(Length::ZERO).mm() * self.lever_factor()
    }

    /// What a shown value means, mm: the correction of the last check added, then times the lever's cosine.
    #[must_use]
    pub fn true_mm(&self, shown_mm: f64) -> f64 {
        let correction = self
            .check
            .as_ref()
            .map_or(0.0, |check| check.correction_mm(shown_mm));
        (shown_mm + correction) * self.lever_factor()
    }

    /// What it shows for a true length, mm: the inverse of [`Indicator::true_mm`] for the small corrections that a sound
    /// indicator needs.
    #[must_use]
    pub fn shown_mm(&self, true_mm: f64) -> f64 {
        let corrected = true_mm / self.lever_factor();
        self.check
            .as_ref()
            .map_or(corrected, |check| check.uncorrected_mm(corrected))
    }

    /// The corrections made to its readings, in sentences; empty without any.
    #[must_use]
    pub fn corrections(&self) -> Vec<String> {
        let table = self
            .check
            .as_ref()
            .filter(|check| !check.correction.is_empty());
        let table =
            table.map(|_| "readings are corrected by the indicator's last check".to_owned());
        let lever = self.lever_angle.map(|angle| {
            format!(
                "readings are multiplied by {:.4} for a lever at {:.1}° to the surface",
                angle.cos(),
                angle.deg()
            )
        });
        table.into_iter().chain(lever).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corrections_between_and_beyond_the_rows() {
        let row = |reading_mm, add_um| Correction { reading_mm, add_um };
        let check = IndicatorCheck {
            u_um: 0.3,
            correction: vec![row(0.0, 0.0), row(1.0, 2.0), row(2.0, -2.0)],
            repeatability_sd_um: None,
            repeatability_degrees_of_freedom: None,
            checked_utc_ns: None,
        };
        for (reading, um) in [
            (-5.0, 0.0),
            (0.0, 0.0),
            (0.25, 0.5),
            (1.0, 2.0),
            (1.5, 0.0),
            (2.0, -2.0),
            (9.0, -2.0),
        ] {
            assert!(
                (check.correction_mm(reading) - um * 1e-3).abs() < 1e-15,
                "{reading}"
            );
        }
        let indicator = Indicator {
            lever_angle: Some(Angle::from_deg(60.0)),
            check: Some(check),
            ..Indicator::default()
        };
        assert!((indicator.true_mm(1.0) - 0.501).abs() < 1e-12);
        assert_eq!(indicator.error().unwrap().u_mm, 0.3e-3);
        assert_eq!(indicator.corrections().len(), 2);
    }

    /// The printed correction table for lever-type indicators: two figures, 30° and 40° truncated.
    #[test]
    fn the_lever_factors_as_printed() {
        let table = include_str!("../tests/data/lever_factors.csv");
        let mut rows = 0;
        for row in table.lines().skip(1) {
            let mut fields = row.split(',').map(|field| field.parse::<f64>());
            let (Some(Ok(deg)), Some(Ok(printed))) = (fields.next(), fields.next()) else {
                panic!("{row}");
            };
            let lever = Indicator {
                lever_angle: Some(Angle::from_deg(deg)),
                ..Indicator::default()
            };
            let off = lever.lever_factor() - printed;
            assert!((-0.005..0.01).contains(&off), "{deg}°: {off}");
            rows += 1;
        }
        assert_eq!(rows, 6);
    }
}
