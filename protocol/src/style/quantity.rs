//! Quantities in a style.

use super::{Decimal, Language, Style};
use metrology::blocks::{Kit, engraved_in};
use metrology::tolerance::Tolerance;
use metrology::{Angle, Length, Unit};

/// How small lengths are written.
struct Small {
    /// So many of the unit in a micrometre.
    per_um: f64,
    sign: &'static str,
    /// Decimals that its numbers have less than those of a micrometre.
    fewer: usize,
}

/// A small length in inches is told in tenths of a thousandth, as toolrooms do (common practice): 2.54 µm, so that the same
/// decimals tell about the same. In German a tenth is one of a millimetre, so there it is millionths.
const fn small(style: Style) -> Small {
    match (style.unit, style.language) {
        (Unit::Mm | Unit::Um, _) => Small {
            per_um: 1.0,
            sign: "µm",
            fewer: 0,
        },
        (Unit::In, Language::En) => Small {
            per_um: 1.0 / 2.54,
            sign: "tenths",
            fewer: 0,
        },
        (Unit::In, Language::De) => Small {
            per_um: 1.0 / 0.0254,
            sign: "µin",
            fewer: 2,
        },
    }
}

/// Inches have so many decimals where millimetres have some, and no more than [`MOST_INCH`].
const MORE_INCH: usize = 2;
/// Hundred-thousandths: a quarter of a micrometre.
const MOST_INCH: usize = 5;

/// Numbers.
impl Style {
    /// A number as it was written with a point.
    #[must_use]
    pub fn written(self, number: String) -> String {
        match self.decimal {
            Decimal::Point => number,
            Decimal::Comma => number.replace('.', ","),
        }
    }

    /// A number.
    #[must_use]
    pub fn number(self, value: f64, places: usize) -> String {
        self.written(format!("{value:.places$}"))
    }

    /// A number with as many decimals as it has.
    #[must_use]
    pub fn exact(self, value: f64) -> String {
        self.written(value.to_string())
    }

    /// A number with its sign; what is rounded to zero has none.
    #[must_use]
    pub fn signed(self, value: f64, places: usize) -> String {
        let text = format!("{value:+.places$}");
        let zero = text.bytes().all(|b| matches!(b, b'+' | b'-' | b'0' | b'.'));
        if zero {
            self.written(text.trim_start_matches(['+', '-']).to_owned())
        } else {
            self.written(text)
        }
    }

    /// A number with its sign; zero is `+0`, never `-0`: its room is that of any other value.
    #[must_use]
    pub fn with_sign(self, value: f64, places: usize) -> String {
        let text = self.signed(value, places);
        if text.starts_with(['+', '-']) {
            text
        } else {
            format!("+{text}")
        }
    }

    /// A cell of a table; empty when the value is not known.
    #[must_use]
    pub fn cell(self, value: Option<f64>, places: usize) -> String {
        value.map_or_else(String::new, |value| self.number(value, places))
    }
}

/// Angles.
impl Style {
    /// An error of an angle with its sign: `-12.30"`.
    #[must_use]
    pub fn arcsec(self, arcsec: f64) -> String {
        self.signed(arcsec, 2) + "\""
    }

    /// A half or included angle: `2.3859440°  2°23'09.4"`.
    #[must_use]
    pub fn angle(self, angle: Angle) -> String {
        format!("{}  {}", self.degrees(angle), self.dms(angle))
    }

    /// Decimal degrees to a thousandth of an arc-second.
    #[must_use]
    pub fn degrees(self, angle: Angle) -> String {
        self.written(angle.to_string())
    }

    /// Degrees, minutes and seconds.
    #[must_use]
    pub fn dms(self, angle: Angle) -> String {
        self.written(angle.dms(1))
    }
}

/// Lengths: planes, diameters, distances.
impl Style {
    /// The unit of lengths that are not small.
    #[must_use]
    pub const fn long_sign(self) -> &'static str {
        match self.unit {
            Unit::Mm | Unit::Um => "mm",
            Unit::In => "in",
        }
    }

    /// A length, mm, in the unit of [`Self::long_sign`].
    #[must_use]
    pub fn long(self, mm: f64) -> f64 {
        match self.unit {
            Unit::Mm | Unit::Um => mm,
            Unit::In => mm * Unit::Mm.pm() as f64 / Unit::In.pm() as f64,
        }
    }

    /// A length, mm, as a number; `places` are those of millimetres.
    #[must_use]
    pub fn long_number(self, mm: f64, places: usize) -> String {
        let places = match self.unit {
            Unit::Mm | Unit::Um => places,
            Unit::In => (places + MORE_INCH).min(MOST_INCH),
        };
        self.number(self.long(mm), places)
    }

    /// The same with its unit.
    #[must_use]
    pub fn long_text(self, mm: f64, places: usize) -> String {
        format!("{} {}", self.long_number(mm, places), self.long_sign())
    }

    /// A length without its unit: exact in millimetres, to a hundred-thousandth in inches.
    #[must_use]
    pub fn length_number(self, length: Length) -> String {
        self.written(match self.unit {
            Unit::Mm | Unit::Um => length.decimal(Unit::Mm),
            Unit::In => {
                let inches = format!("{:.MOST_INCH$}", length.inches());
                inches
                    .trim_end_matches('0')
                    .trim_end_matches('.')
                    .to_owned()
            }
        })
    }

    /// A length: `30 mm`, `1.1811 in`.
    #[must_use]
    pub fn length(self, length: Length) -> String {
        format!("{} {}", self.length_number(length), self.long_sign())
    }

    /// A step of a display, a limit of error: a length that may be below what [`Self::length`] tells.
    #[must_use]
    pub fn fine(self, length: Length) -> String {
        /// A millionth.
        const SHORT: usize = "0.000001".len();
        let exact = length.decimal(Unit::In);
        match self.unit {
            Unit::Mm | Unit::Um => self.length(length),
            Unit::In if exact.len() <= SHORT => format!("{} in", self.written(exact)),
            Unit::In => self.micro(length.um()),
        }
    }

    /// What stands on the blocks of a stack, with the unit that it is in: `2 + 1.16 + 1.003 mm`, `.500 + .121 + .1005 in`.
    #[must_use]
    pub fn engraved(self, blocks: &[Length], kit: Option<&Kit>) -> String {
        let unit = kit.map_or_else(|| engraved_in(blocks.iter().copied()), Kit::unit);
        format!("{} {}", self.sum(blocks, unit), unit.sign())
    }

    /// The same, with the unit only where it is another than that of the lengths around it.
    #[must_use]
    pub fn blocks(self, blocks: &[Length], kit: Option<&Kit>) -> String {
        let unit = kit.map_or_else(|| engraved_in(blocks.iter().copied()), Kit::unit);
        if unit.sign() == self.long_sign() {
            self.sum(blocks, unit)
        } else {
            format!("{} {}", self.sum(blocks, unit), unit.sign())
        }
    }

    fn sum(self, blocks: &[Length], unit: Unit) -> String {
        let blocks: Vec<String> = blocks
            .iter()
            .map(|block| self.block(*block, unit))
            .collect();
        blocks.join(" + ")
    }

    /// Inch blocks have a point, at least three decimals and no zero before it (common practice).
    fn block(self, block: Length, unit: Unit) -> String {
        let exact = block.decimal(unit);
        if unit != Unit::In {
            return self.written(exact);
        }
        let (whole, places) = exact.split_once('.').unwrap_or((&exact, ""));
        let whole = if whole == "0" { "" } else { whole };
        format!("{whole}.{places:0<3}")
    }

    /// A tolerance as it was stated, in this style's unit.
    #[must_use]
    pub fn tolerance(self, tolerance: Tolerance) -> String {
        match tolerance {
            Tolerance::OnDiameter(length) if self.inches() => self.fine(length),
            Tolerance::Slope { rise, over } if self.inches() => {
                format!("{} / {}", self.fine(rise), self.length(over))
            }
            other => self.written(other.to_string()),
        }
    }
}

/// Small lengths: errors, worths, uncertainties.
impl Style {
    /// The unit of small lengths.
    #[must_use]
    pub const fn small_sign(self) -> &'static str {
        small(self).sign
    }

    /// A small length, given in µm, as a number of [`Self::small_sign`].
    #[must_use]
    pub fn small(self, um: f64) -> f64 {
        um * small(self).per_um
    }

    /// Decimals of a small length, where micrometres have so many.
    #[must_use]
    pub const fn small_places(self, places: usize) -> usize {
        places.saturating_sub(small(self).fewer)
    }

    /// A small length as a number; `places` are those of micrometres.
    #[must_use]
    pub fn micro_number(self, um: f64, places: usize) -> String {
        self.number(self.small(um), self.small_places(places))
    }

    /// The same with its sign.
    #[must_use]
    pub fn micro_signed_number(self, um: f64, places: usize) -> String {
        self.signed(self.small(um), self.small_places(places))
    }

    /// A small length without a sign: `4.20 µm`.
    #[must_use]
    pub fn micro(self, um: f64) -> String {
        self.micro_text(um, 2)
    }

    /// The same with some decimals.
    #[must_use]
    pub fn micro_text(self, um: f64, places: usize) -> String {
        format!("{} {}", self.micro_number(um, places), self.small_sign())
    }

    /// A small length with its sign: `+4.20 µm`.
    #[must_use]
    pub fn micro_signed(self, um: f64) -> String {
        format!("{} {}", self.micro_signed_number(um, 2), self.small_sign())
    }

    /// A cell of a table; empty when the value is not known.
    #[must_use]
    pub fn micro_cell(self, um: Option<f64>, places: usize) -> String {
        um.map_or_else(String::new, |um| self.micro_number(um, places))
    }

    /// A cell of a table with a sign; empty when the value is not known.
    #[must_use]
    pub fn micro_signed_cell(self, um: Option<f64>, places: usize) -> String {
        um.map_or_else(String::new, |um| self.micro_signed_number(um, places))
    }

    /// A small length with its sign: finer where it is short.
    #[must_use]
    pub fn small_signed(self, um: f64) -> String {
        let value = self.small(um);
        let places = if value.abs() < 9.995 { 2 } else { 1 };
        self.with_sign(value, self.small_places(places))
    }

    /// The same without a sign, for what has none.
    #[must_use]
    pub fn small_plain(self, um: f64) -> String {
        let text = self.small_signed(um.abs());
        text.trim_start_matches('+').to_owned()
    }

    /// A small length with its sign and its unit.
    #[must_use]
    pub fn signed_um(self, um: f64) -> String {
        format!("{} {}", self.small_signed(um), self.small_sign())
    }

    /// The same without a sign, for what has none.
    #[must_use]
    pub fn um(self, um: f64) -> String {
        format!("{} {}", self.small_plain(um), self.small_sign())
    }

    /// The size of a small length with the decimals that a display with this step has.
    #[must_use]
    pub fn small_size(self, um: f64, resolution: Option<Length>) -> String {
        let places = match self.unit {
            // A tenth is the fourth decimal of an inch.
            Unit::In => self.small_places(self.places(resolution).saturating_sub(4)),
            Unit::Mm | Unit::Um => Self::of(Unit::Um).places(resolution),
        };
        self.number(self.small(um).abs(), places)
    }
}

#[cfg(test)]
mod tests;
