//! Figures: named results with their unit and their interval.

use super::words;
use crate::evidence::Time;
use crate::said;
use crate::style::Style;
use metrology::setup::Setup;
use metrology::zero::{Sloping, Tap};

/// A named result.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its name, in small letters.
    pub name: String,
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
    /// A quantity, and how it is written.
    Amount(Amount, Style),
    /// Words.
    Words(String),
    /// A moment; each renderer has its own clock to tell it by.
    Moment(Time),
}

/// A number with its unit and its interval. A style writes it in its own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// The number, in `unit`.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
    /// Whether its sign tells something.
    pub signed: bool,
    /// Decimals in this unit.
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

/// The unit of an amount.
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
    fn of(name: String, value: Value) -> Self {
        Self {
            name,
            value,
            more: String::new(),
            aside: false,
        }
    }

    pub(crate) fn amount(name: String, amount: Amount, style: Style) -> Self {
        Self::of(name, Value::Amount(amount, style))
    }

    pub(crate) fn words(name: String, words: impl Into<String>) -> Self {
        Self::of(name, Value::Words(words.into()))
    }

    pub(crate) fn moment(name: String, moment: Time) -> Self {
        Self::of(name, Value::Moment(moment))
    }

    pub(crate) fn more(self, more: impl Into<String>) -> Self {
        Self {
            more: more.into(),
            ..self
        }
    }

    /// It is not of the part.
    pub(crate) fn aside(self) -> Self {
        Self {
            aside: true,
            ..self
        }
    }

    /// A residual, and which way it tilts the cone.
    pub(crate) fn residual(
        arcsec: f64,
        expanded_arcsec: Option<f64>,
        cone: Option<Sloping>,
        style: Style,
    ) -> Self {
        let amount = Amount::signed(arcsec, Unit::Arcsec);
        let tilt = match words::cone(cone, &amount.text(style)) {
            Some(Sloping::Steeper) => said!(style, "cone-steeper"),
            Some(Sloping::Shallower) => said!(style, "cone-shallower"),
            None => String::new(),
        };
        let name = said!(style, "residual-angle");
        Self::amount(name, amount.within(expanded_arcsec), style).more(tilt)
    }

    /// An error of the half angle, where it was measured.
    pub(crate) fn half_angle_error(
        name: String,
        error_arcsec: Option<f64>,
        expanded_arcsec: Option<f64>,
        style: Style,
    ) -> Option<Self> {
        let amount = Amount::signed(error_arcsec?, Unit::Arcsec).within(expanded_arcsec);
        Some(Self::amount(name, amount, style))
    }

    /// What is allowed of the half angle, where a tolerance was stated.
    pub(crate) fn limits(limits_arcsec: Option<[f64; 2]>, style: Style) -> Option<Self> {
        let [low, high] = limits_arcsec?.map(|arcsec| style.arcsec(arcsec));
        let name = said!(style, "half-angle-limits");
        Some(Self::words(name, said!(style, "from-to", low = low, high = high)).aside())
    }

    /// What an error is worth on the part.
    pub(crate) fn over_taper(worth_um: f64, setup: &Setup, style: Style) -> Self {
        let length = setup.taper_length();
        let over = length.map_or_else(String::new, |length| {
            said!(style, "over-length", length = style.length(length))
        });
        let amount = Amount::signed(worth_um, Unit::Um);
        Self::amount(said!(style, "on-diameter-along-taper"), amount, style).more(over)
    }

    /// The next tap.
    pub(crate) fn tap(tap: &Tap, setup: &Setup, style: Style) -> Self {
        let mut more = said!(
            style,
            "tap-to",
            way = words::way(tap.toward, style),
            target = style.read(tap.target_mm, setup.indicator.resolution),
            move = style.micro_signed(tap.move_um)
        );
        let step = setup.indicator.resolution;
        let divisions = style.divisions(tap.move_um, step);
        if let (Some(count), Some(target)) = (divisions, style.on_the_dial(tap.target_mm, step)) {
            let way = words::way(tap.toward, style);
            let told = said!(
                style,
                "tap-divisions",
                count = count,
                way = way,
                target = target
            );
            more.push_str(&format!("\n{told}"));
        }
        if tap.trial {
            more.push_str(&format!("\n{}", said!(style, "tap-trial")));
        }
        if let Some(aim) = words::aim(tap, style) {
            more.push_str(&format!("\n{aim}"));
        }
        let at = said!(style, "at-place", place = tap.station.as_str());
        Self::words(said!(style, "tap"), at).more(more).aside()
    }

    /// The figure in words; a moment as `clock` writes it.
    #[must_use]
    pub fn text(&self, clock: impl Fn(Time) -> String) -> String {
        let value = match &self.value {
            Value::Amount(amount, style) => amount.text(*style),
            Value::Words(words) => words.clone(),
            Value::Moment(time) => clock(*time),
        };
        value + &self.more
    }
}

impl Amount {
    /// An amount that has no sign and describes the readings.
    pub(crate) const fn plain(value: f64, unit: Unit) -> Self {
        Self {
            value,
            unit,
            signed: false,
            places: 2,
            interval: Interval::None,
        }
    }

    /// A difference, whose sign tells something.
    pub(crate) const fn signed(value: f64, unit: Unit) -> Self {
        Self {
            signed: true,
            ..Self::plain(value, unit)
        }
    }

    pub(crate) const fn places(self, places: usize) -> Self {
        Self { places, ..self }
    }

    /// With its expanded uncertainty, which may not be known.
    pub(crate) fn within(self, expanded: Option<f64>) -> Self {
        Self {
            interval: expanded.map_or(Interval::Unknown, Interval::Within),
            ..self
        }
    }

    /// The amount in a style's unit, with what is claimed of the truth.
    #[must_use]
    pub fn text(&self, style: Style) -> String {
        let number = |value: f64, signed: bool| {
            let (value, places) = match self.unit {
                Unit::Um => (style.small(value), style.small_places(self.places)),
                Unit::Mm => return style.long_number(value, self.places),
                _ => (value, self.places),
            };
            if signed {
                style.signed(value, places)
            } else {
                style.number(value, places)
            }
        };
        let plain = |value| number(value, false);
        let unit = self.unit.symbol(style);
        let value = number(self.value, self.signed) + &unit;
        match self.interval {
            Interval::None => value,
            Interval::Unknown => said!(style, "amount-unknown", value = value),
            Interval::Within(u) => {
                let u = plain(u) + &unit;
                said!(style, "amount-within", value = value, u = u)
            }
            Interval::Between([low, high]) => {
                let (low, high) = (plain(low), plain(high) + &unit);
                said!(
                    style,
                    "amount-between",
                    value = value,
                    low = low,
                    high = high
                )
            }
        }
    }
}

impl Unit {
    /// As it follows a number, with the space where one belongs.
    #[must_use]
    pub fn symbol(self, style: Style) -> String {
        match self {
            Self::Um => format!(" {}", style.small_sign()),
            Self::Mm => format!(" {}", style.long_sign()),
            Self::Arcsec => "\"".to_owned(),
            Self::Urad => " µrad".to_owned(),
            Self::Deg => "°".to_owned(),
            Self::Percent => " %".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::style::{Decimal, Language};

    const USUAL: Style = Style::of(metrology::Unit::Mm);

    #[test]
    fn a_residual_of_zero_names_no_side() {
        let text = |arcsec| {
            let figure = Figure::residual(arcsec, None, Some(Sloping::Steeper), USUAL);
            figure.text(|_| String::new())
        };
        assert_eq!(text(0.004), "0.00\", uncertainty not known");
        let steeper = "+0.01\", uncertainty not known, the cone steeper";
        assert_eq!(text(0.006), steeper);
    }

    #[test]
    fn an_amount_claims_what_is_known_and_no_more() {
        let error = Amount::signed(-0.001, Unit::Arcsec);
        assert_eq!(error.text(USUAL), "0.00\"");
        assert_eq!(
            error.within(Some(1.0)).text(USUAL),
            "0.00\" ± 1.00\" (95 %)"
        );
        let stock = Amount::signed(1.5, Unit::Um);
        assert_eq!(
            stock.within(None).text(USUAL),
            "+1.50 µm, uncertainty not known"
        );
        let own = Amount {
            interval: Interval::Between([3.8, 4.6]),
            ..Amount::plain(4.2, Unit::Um)
        };
        assert_eq!(own.text(USUAL), "4.20 µm (3.80 to 4.60 µm, 95 %)");
    }

    /// 2.54 µm are a tenth of a thousandth of an inch.
    #[test]
    fn an_amount_is_told_in_the_styles_unit_sign_and_language() {
        let inch = Style::of(metrology::Unit::In);
        let german = Style {
            decimal: Decimal::Comma,
            language: Language::De,
            ..USUAL
        };
        let stock = Amount::signed(25.4, Unit::Um).within(Some(2.54));
        assert_eq!(stock.text(inch), "+10.00 tenths ± 1.00 tenths (95 %)");
        assert_eq!(stock.text(german), "+25,40 µm ± 2,54 µm (95 %)");
        let unknown = Amount::plain(25.4, Unit::Mm).places(1).within(None);
        assert_eq!(unknown.text(inch), "1.000 in, uncertainty not known");
        assert_eq!(unknown.text(german), "25,4 mm, Unsicherheit nicht bekannt");
    }
}
