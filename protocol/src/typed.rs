//! What a typed reading must be before it is evidence: within an instrument's reach, and with all digits that it shows.
//!
//! A display shows the same number of digits each time, so a reading with fewer than one before it was not typed as shown,
//! and its last digit does not tell the display's step.

use crate::api::{Code, Refusal};
use crate::plan::StepKind;
use metrology::{Length, Shown, Unit};

/// Refuses a reading that no instrument of this step shows.
///
/// # Errors
/// [`Code::BadValue`] with the value and the limit.
pub fn within_reach(kind: StepKind, text: &str, value: Length) -> Result<(), Refusal> {
    let limit = kind.farthest_reading();
    if (-limit..=limit).contains(&value) {
        return Ok(());
    }
    let message = format!(
        "the reading `{text}` is {value}, beyond anything that is read here: within {limit} of zero"
    );
    Err(Refusal::new(Code::BadValue, message).hint("check the unit: a bare number is in mm"))
}

/// Whether this is a zero typed without decimals, which is short for any number of them.
#[must_use]
pub fn is_bare_zero(text: &str, shown: Shown) -> bool {
    shown.value == Length::ZERO && !text.contains(['.', ','])
}

/// Refuses a reading with fewer digits than the `finest` typed before it in the step. Not to be asked where the display's
/// step is stated.
///
/// # Errors
/// [`Code::BadValue`], with what to type.
pub fn all_digits(text: &str, shown: Shown, finest: Option<Length>) -> Result<(), Refusal> {
    // Steps of one unit are powers of ten apart; a reading in another unit is not short of digits.
    let fewer = |finest: &Length| {
        (1..=12).any(|places| {
            Some(shown.resolution.pm()) == finest.pm().checked_mul(10_i64.pow(places))
        })
    };
    let Some(finest) = finest.filter(fewer) else {
        return Ok(());
    };
    if is_bare_zero(text, shown) {
        return Ok(());
    }
    let text = text.trim();
    let digits = |finest: Length| {
        let unit = [Unit::Mm, Unit::In]
            .into_iter()
            .find(|unit| unit.pm() % finest.pm() == 0)?;
        let places = finest.decimal(unit).split_once('.')?.1.len();
        let value = shown.value.decimal(unit);
        let (whole, fraction) = value.split_once('.').unwrap_or((&value, ""));
        let sign = if unit == Unit::In { "in" } else { "" };
        Some(format!(", as in `{whole}.{fraction:0<places$}{sign}`"))
    };
    let message = format!(
        "the reading `{text}` shows steps of {}, and one before it in this step shows {finest}",
        shown.resolution
    );
    Err(Refusal::new(Code::BadValue, message).hint(format!(
        "type all digits that the instrument shows{}; or state its step: `--resolution {}mm`",
        digits(finest).unwrap_or_default(),
        finest.decimal(Unit::Mm)
    )))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_has_all_the_digits_of_the_one_before() {
        for (before, text, typed) in [
            ("0.0105", "0.01", Some("`0.0100`")),
            ("0.0105", "-12", Some("`-12.0000`")),
            ("0.0105", "0.0", Some("`0.0000`")),
            ("0.0105", "0.0100", None),
            ("0.0105", "0.01005", None),
            ("0.0105", "0", None),
            ("0.0105", "-0mm", None),
            ("0.0005in", "0.001in", Some("`0.0010in`")),
            ("0.00005in", "0.00010in", None),
            ("0.0127", "0.0005in", None),
            ("10.5um", "10um", Some("`0.0100`")),
        ] {
            let shown = |text| Shown::parse(text, Unit::Mm, None).unwrap();
            let found = all_digits(text, shown(text), Some(shown(before).resolution));
            match typed {
                None => assert_eq!(found, Ok(()), "{before} {text}"),
                Some(typed) => {
                    let refusal = found.unwrap_err();
                    assert!(refusal.message.contains(text), "{refusal:?}");
                    let hint = refusal.hint.unwrap();
                    assert!(
                        hint.contains(typed) && hint.contains("--resolution"),
                        "{hint}"
                    );
                }
            }
            assert_eq!(all_digits(text, shown(text), None), Ok(()), "the first");
        }
    }

    #[test]
    fn no_instrument_reads_beyond_its_reach() {
        let check = |kind, text: &str| {
            within_reach(kind, text, Length::parse(text, Unit::Mm).unwrap()).map_err(|r| r.message)
        };
        assert_eq!(check(StepKind::Zero, "1000"), Ok(()));
        assert_eq!(check(StepKind::Zero, "-1000"), Ok(()));
        let said = check(StepKind::Zero, "1000.001").unwrap_err();
        assert!(
            said.contains("1000.001 mm") && said.contains("1000 mm"),
            "{said}"
        );
        assert!(check(StepKind::Dial, "-5000").is_err());
        assert_eq!(check(StepKind::Size, "1500"), Ok(()));
        assert!(check(StepKind::Size, "10001").is_err());
    }
}
