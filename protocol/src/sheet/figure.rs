//! Figures: named results with their unit and their interval.

use super::words::{self, signed};
use crate::evidence::Time;
use metrology::setup::Setup;
use metrology::zero::{Sloping, Tap};
use std::fmt;

/// A named result.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its name, in small letters.
    pub name: &'static str,
    /// What it is.
    pub value: Value,
    /// What follows the value, in words; may be empty.
    pub more: String,
    /// Whether it tells how the readings were taken and what to do next, and not how the part is.
    pub aside: bool,
}

/// What a figure is.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A quantity.
    Amount(Amount),
    /// Words.
    Words(String),
    /// A moment; each renderer has its own clock to tell it by.
    Moment(Time),
}

/// A number with its unit and its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// The number, in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
    /// Whether its sign tells something.
    pub signed: bool,
    /// Decimals.
    pub places: usize,
    /// What is claimed of the truth.
    pub interval: Interval,
}

/// What is claimed of the truth that an amount stands for, at 95 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Interval {
    /// Nothing is asked: the amount describes the readings.
    None,
    /// It cannot be told.
    Unknown,
    /// The expanded uncertainty, in the amount's unit.
    Within(f64),
    /// Lower and upper limit, in the amount's unit.
    Between([f64; 2]),
}

/// A unit as it is written behind a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Micrometres.
    Um,
    /// Millimetres.
    Mm,
    /// Arc-seconds.
    Arcsec,
    /// Microradians.
    Urad,
    /// Degrees.
    Deg,
    /// Per cent.
    Percent,
}

impl Figure {
    pub(super) fn amount(name: &'static str, amount: Amount) -> Self {
        Self {
            name,
            value: Value::Amount(amount),
            more: String::new(),
            aside: false,
        }
    }

    pub(super) fn words(name: &'static str, words: impl Into<String>) -> Self {
        Self {
            name,
            value: Value::Words(words.into()),
            more: String::new(),
            aside: false,
        }
    }

    pub(super) fn more(self, more: impl Into<String>) -> Self {
        Self {
            more: more.into(),
            ..self
        }
    }

    /// It is not of the part.
    pub(super) fn aside(self) -> Self {
        Self {
            aside: true,
            ..self
        }
    }

    /// A residual, and which way it tilts the cone.
    pub(super) fn residual(
        arcsec: f64,
        expanded_arcsec: Option<f64>,
        cone: Option<Sloping>,
    ) -> Self {
        let amount = Amount::signed(arcsec, Unit::Arcsec);
        let tilt = words::cone(cone, &amount.to_string());
        Self::amount("residual angle", amount.within(expanded_arcsec))
            .more(tilt.map_or_else(String::new, |tilt| format!(", the cone {tilt}")))
    }

    /// An error of the half angle, where it was measured.
    pub(super) fn half_angle_error(
        name: &'static str,
        error_arcsec: Option<f64>,
        expanded_arcsec: Option<f64>,
    ) -> Option<Self> {
        let amount = Amount::signed(error_arcsec?, Unit::Arcsec).within(expanded_arcsec);
        Some(Self::amount(name, amount))
    }

    /// What is allowed of the half angle, where a tolerance was stated.
    pub(super) fn limits(limits_arcsec: Option<[f64; 2]>) -> Option<Self> {
        let [low, high] = limits_arcsec?.map(words::arcsec);
        let name = "limits of the half angle's error";
        Some(Self::words(name, format!("{low} to {high}")).aside())
    }

    /// What an error is worth on the part.
    pub(super) fn over_taper(worth_um: f64, setup: &Setup) -> Self {
        let length = setup.taper_length();
        let over = length.map_or_else(String::new, |length| format!(", over {length}"));
        Self::amount(
            "on diameter along the taper",
            Amount::signed(worth_um, Unit::Um),
        )
        .more(over)
    }

    /// The next tap.
    pub(super) fn tap(tap: &Tap, setup: &Setup) -> Self {
        let mut more = format!(
            ", {}, to {} ({})",
            words::way(tap.toward),
            words::reading(tap.target_mm, setup.indicator.resolution),
            words::um(tap.move_um)
        );
        if tap.trial {
            more.push_str("\na trial: where the set-up turns is not known yet");
        }
        if let Some(aim) = tap.aim_words() {
            more.push_str(&format!("\n{aim}"));
        }
        Self::words("tap", format!("at {}", tap.station))
            .more(more)
            .aside()
    }

    /// The figure in words; a moment as `clock` writes it.
    #[must_use]
    pub fn text(&self, clock: impl Fn(Time) -> String) -> String {
        let value = match &self.value {
            Value::Amount(amount) => amount.to_string(),
            Value::Words(words) => words.clone(),
            Value::Moment(time) => clock(*time),
        };
        value + &self.more
    }
}

impl Amount {
    /// An amount that has no sign and describes the readings.
    pub(super) const fn plain(value: f64, unit: Unit) -> Self {
        Self {
            value,
            unit,
            signed: false,
            places: 2,
            interval: Interval::None,
        }
    }

    /// A difference, whose sign tells something.
    pub(super) const fn signed(value: f64, unit: Unit) -> Self {
        Self {
            signed: true,
            ..Self::plain(value, unit)
        }
    }

    pub(super) const fn places(self, places: usize) -> Self {
        Self { places, ..self }
    }

    /// With its expanded uncertainty, which may not be known.
    pub(super) fn within(self, expanded: Option<f64>) -> Self {
        Self {
            interval: expanded.map_or(Interval::Unknown, Interval::Within),
            ..self
        }
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (unit, places) = (self.unit.symbol(), self.places);
        if self.signed {
            write!(f, "{}{unit}", signed(self.value, places))?;
        } else {
            write!(f, "{:.places$}{unit}", self.value)?;
        }
        match self.interval {
            Interval::None => Ok(()),
            Interval::Unknown => f.write_str(", uncertainty not known"),
            Interval::Within(u) => write!(f, " ± {u:.places$}{unit} (95 %)"),
            Interval::Between([low, high]) => {
                write!(f, " ({low:.places$} to {high:.places$}{unit}, 95 %)")
            }
        }
    }
}

impl Unit {
    /// As it follows a number, with the space where one belongs.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Um => " µm",
            Self::Mm => " mm",
            Self::Arcsec => "\"",
            Self::Urad => " µrad",
            Self::Deg => "°",
            Self::Percent => " %",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_residual_of_zero_names_no_side() {
        let text = |arcsec| {
            let figure = Figure::residual(arcsec, None, Some(Sloping::Steeper));
            figure.text(|_| String::new())
        };
        assert_eq!(text(0.004), "0.00\", uncertainty not known");
        let steeper = "+0.01\", uncertainty not known, the cone steeper";
        assert_eq!(text(0.006), steeper);
    }

    #[test]
    fn an_amount_claims_what_is_known_and_no_more() {
        let error = Amount::signed(-0.001, Unit::Arcsec);
        assert_eq!(error.to_string(), "0.00\"");
        assert_eq!(
            error.within(Some(1.0)).to_string(),
            "0.00\" ± 1.00\" (95 %)"
        );
        let stock = Amount::signed(1.5, Unit::Um);
        assert_eq!(
            stock.within(None).to_string(),
            "+1.50 µm, uncertainty not known"
        );
        let own = Amount {
            interval: Interval::Between([3.8, 4.6]),
            ..Amount::plain(4.2, Unit::Um)
        };
        assert_eq!(own.to_string(), "4.20 µm (3.80 to 4.60 µm, 95 %)");
    }
}
