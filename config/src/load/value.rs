//! Values of the configuration: lengths, angles, times, choices, each with what was expected in its place.

use super::mistake::Problem;
use super::section::{Value, kind_of};
use crate::near::nearest;
use metrology::taper::{HALF_ANGLE_DOMAIN, check_half_angle};
use metrology::{Angle, Length, QuantityError, Unit};
use toml::de::DeValue;

/// A value of another kind than the one that belongs there.
pub(super) fn mismatch(value: &Value<'_>, expected: &str) -> Problem {
    Problem::new(format!("found {}", kind_of(value))).expected(expected)
}

pub(super) fn text<'a>(value: &'a Value<'a>) -> Result<&'a str, Problem> {
    value
        .get_ref()
        .as_str()
        .ok_or_else(|| mismatch(value, "a text in quotation marks"))
}

pub(super) fn boolean(value: &Value<'_>) -> Result<bool, Problem> {
    value
        .get_ref()
        .as_bool()
        .ok_or_else(|| mismatch(value, "true or false"))
}

/// A text, or a bare number with the digits that it was written with: `0.001` stays a decimal.
pub(super) fn written<'a>(value: &'a Value<'a>, expected: &str) -> Result<&'a str, Problem> {
    match value.get_ref() {
        DeValue::String(text) => Ok(text),
        DeValue::Float(number) => Ok(number.as_str()),
        DeValue::Integer(number) if number.radix() == 10 => Ok(number.as_str()),
        _ => Err(mismatch(value, expected)),
    }
}

const LENGTH: &str = "a length such as 12.5 (mm), \"2.5um\" or \"0.0001in\"";

/// A length; a bare number is in `bare`.
pub(super) fn length_in(bare: Unit) -> impl Fn(&Value<'_>) -> Result<Length, Problem> {
    move |value| {
        let text = written(value, LENGTH)?;
        Length::parse(text, bare).map_err(|e| unread(&e).expected(LENGTH))
    }
}

/// A length; a bare number is in millimetres.
pub(super) fn length(value: &Value<'_>) -> Result<Length, Problem> {
    length_in(Unit::Mm)(value)
}

/// A length above zero; a bare number is in `bare`.
pub(super) fn positive_in(bare: Unit) -> impl Fn(&Value<'_>) -> Result<Length, Problem> {
    move |value| match length_in(bare)(value)? {
        length if length > Length::ZERO => Ok(length),
        length => {
            Err(Problem::new(format!("{length} is not above zero")).expected("a length above zero"))
        }
    }
}

/// A length above zero; a bare number is in millimetres.
pub(super) fn positive(value: &Value<'_>) -> Result<Length, Problem> {
    positive_in(Unit::Mm)(value)
}

const ANGLE: &str = "an angle such as \"1.431deg\", \"1d25m51s\" or \"40urad\"";

/// An angle.
pub(super) fn angle(value: &Value<'_>) -> Result<Angle, Problem> {
    text(value)
        .map_err(|_| mismatch(value, ANGLE))?
        .parse()
        .map_err(|e| unread(&e).expected(ANGLE))
}

/// What is wrong with a quantity, without the list of what is known: that stands in what was expected.
pub(super) fn unread(error: &QuantityError) -> Problem {
    Problem::new(match error {
        QuantityError::UnknownUnit { text, unit, .. } => {
            format!("`{text}` has the unknown unit `{unit}`")
        }
        QuantityError::Unreadable { text, .. } => format!("`{text}` cannot be read"),
        QuantityError::DivisionUnknown { text } => {
            format!("`{text}` is in divisions, and a length is needed here")
        }
        QuantityError::OutOfDomain { .. } | QuantityError::Exponent { .. } => error.to_string(),
    })
}

/// The half angle of a cone: above 0° and below 90°.
pub(super) fn half_angle(value: &Value<'_>) -> Result<Angle, Problem> {
    let half = angle(value)?;
    check_half_angle(half).map_err(|_| {
        Problem::new(format!("no cone has a half angle of {}°", half.deg()))
            .expected(format!("a half angle {HALF_ANGLE_DOMAIN}"))
    })
}

/// A time in seconds: a bare number, `"0.2s"` or `"200ms"`, from `least` to `most`.
pub(super) fn seconds(least: f64, most: f64) -> impl Fn(&Value<'_>) -> Result<f64, Problem> {
    move |value| {
        let expected =
            format!("a time of {least} s to {most} s such as 1.5, \"1.5s\" or \"200ms\"");
        let text = written(value, &expected)?.trim();
        let (number, unit_s) = if let Some(number) = text.strip_suffix("ms") {
            (number, 1e-3)
        } else {
            (text.strip_suffix('s').unwrap_or(text), 1.0)
        };
        match number.trim().parse::<f64>() {
            // Division by a power of ten is rounded once; a product with 1e-3 would be rounded twice.
            Ok(number) if (least..=most).contains(&(number * unit_s)) => {
                Ok(if unit_s < 1.0 { number / 1e3 } else { number })
            }
            Ok(_) => Err(Problem::new(format!("`{text}` is out of range")).expected(expected)),
            Err(_) => Err(Problem::new(format!("`{text}` is not a time")).expected(expected)),
        }
    }
}

/// A number above zero without a unit.
pub(super) fn factor(value: &Value<'_>) -> Result<f64, Problem> {
    const EXPECTED: &str = "a number above zero such as 1 or 0.5";
    let text = written(value, EXPECTED)?;
    match text.trim().parse::<f64>() {
        Ok(number) if number > 0.0 && number.is_finite() => Ok(number),
        _ => Err(Problem::new(format!("`{text}` is not a factor")).expected(EXPECTED)),
    }
}

/// A whole number from `least` to `most`.
pub(super) fn whole(least: i64, most: i64) -> impl Fn(&Value<'_>) -> Result<i64, Problem> {
    move |value| {
        let expected = format!("a whole number from {least} to {most}");
        let number = value
            .get_ref()
            .as_integer()
            .ok_or_else(|| mismatch(value, &expected))?;
        i64::from_str_radix(number.as_str(), number.radix())
            .ok()
            .filter(|number| (least..=most).contains(number))
            .ok_or_else(|| Problem::new(format!("{number} is out of range")).expected(expected))
    }
}

/// One of several words. A whole number stands for the word with its digits.
pub(super) fn choice<T: Copy>(words: &[(&str, T)]) -> impl Fn(&Value<'_>) -> Result<T, Problem> {
    move |value| {
        let known = || words.iter().map(|(word, _)| *word);
        let expected = format!("one of {}", known().collect::<Vec<_>>().join(", "));
        let text = written(value, &expected)?;
        words
            .iter()
            .find(|(word, _)| word.eq_ignore_ascii_case(text.trim()))
            .map(|(_, meaning)| *meaning)
            .ok_or_else(|| {
                Problem::new(format!("`{text}` is not known"))
                    .expected(expected)
                    .near(nearest(text, known()))
            })
    }
}

/// A list of values. A mistake in one is placed at that one.
pub(super) fn list<'a, T>(
    expected: &'static str,
    read: impl Fn(&'a Value<'a>) -> Result<T, Problem>,
) -> impl Fn(&'a Value<'a>) -> Result<Vec<T>, Problem> {
    move |value| {
        let items = value
            .get_ref()
            .as_array()
            .ok_or_else(|| mismatch(value, expected))?;
        items
            .iter()
            .map(|item| read(item).map_err(|problem| problem.at(item.span())))
            .collect()
    }
}

/// The units of length by their names.
pub(super) const UNITS: [(&str, Unit); 3] = [("mm", Unit::Mm), ("um", Unit::Um), ("in", Unit::In)];
