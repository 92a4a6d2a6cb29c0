//! Texts of options into values. `flag` is the option as the user types it, for the message.

use crate::near::hint;
use metrology::{Length, QuantityError, Shown, Unit};
use protocol::api::{Code, Refusal};

/// The most planes, stacks or known steps of one step.
const MOST: usize = 100;

/// A refusal of a value, with what to write instead.
pub(super) fn bad(message: impl Into<String>, hint: impl Into<String>) -> Refusal {
    Refusal::new(Code::BadValue, message).hint(hint)
}

/// Reads a length; divisions count where their size is known.
pub(super) fn length(
    flag: &str,
    text: &str,
    example: &str,
    division: Option<Length>,
) -> Result<Length, Refusal> {
    Shown::parse(text, Unit::Mm, division)
        .map(|shown| shown.value)
        .map_err(|e| {
            let hint = match e {
                QuantityError::DivisionUnknown { .. } => {
                    "state the size of a division, `--division 2um`, or write the length itself"
                        .to_owned()
                }
                _ => format!("write it like `{example}`; a bare number is in mm"),
            };
            bad(format!("{flag}: {e}"), hint)
        })
}

/// Reads a length above zero.
pub(super) fn positive(
    flag: &str,
    text: &str,
    example: &str,
    division: Option<Length>,
) -> Result<Length, Refusal> {
    let value = length(flag, text, example, division)?;
    if value > Length::ZERO {
        Ok(value)
    } else {
        Err(bad(
            format!("{flag}: `{text}` is not above zero"),
            format!("write it like `{example}`; a bare number is in mm"),
        ))
    }
}

/// Reads a length above zero where one is stated.
pub(super) fn above_zero(
    flag: &str,
    text: Option<&str>,
    example: &str,
) -> Result<Option<Length>, Refusal> {
    text.map(|text| positive(flag, text, example, None))
        .transpose()
}

/// Reads a length that may be zero and not below.
pub(super) fn not_negative(
    flag: &str,
    text: Option<&str>,
    example: &str,
) -> Result<Option<Length>, Refusal> {
    let Some(text) = text else { return Ok(None) };
    let value = length(flag, text, example, None)?;
    if value >= Length::ZERO {
        Ok(Some(value))
    } else {
        Err(bad(
            format!("{flag}: `{text}` is below zero"),
            format!("write it like `{example}`"),
        ))
    }
}

/// One word of several; letters may be large or small.
pub(super) fn one_of<T: Copy>(flag: &str, text: &str, known: &[(&str, T)]) -> Result<T, Refusal> {
    let word = text.trim();
    if let Some((_, value)) = known
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(word))
    {
        return Ok(*value);
    }
    let names = known.iter().map(|(name, _)| *name);
    let all = names.clone().collect::<Vec<_>>().join(", ");
    Err(Refusal::new(
        Code::UnknownName,
        format!("{flag}: `{word}` is not one of {all}"),
    )
    .hint(hint(word, names, "one of these words")))
}

/// One word of several; the first of them unless one is stated.
pub(super) fn choice<T: Copy>(
    flag: &str,
    text: Option<&str>,
    known: &[(&str, T)],
) -> Result<T, Refusal> {
    one_of(flag, text.unwrap_or(known[0].0), known)
}

/// A whole number from `least` to `most`.
pub(super) fn whole(
    flag: &str,
    text: &str,
    [least, most]: [u32; 2],
    example: &str,
) -> Result<u32, Refusal> {
    let number = text.trim();
    number
        .parse()
        .ok()
        .filter(|n| (least..=most).contains(n))
        .ok_or_else(|| {
            bad(
                format!(
                    "{flag}: `{number}` is out of range: a whole number from {least} to {most}"
                ),
                format!("write it like `{example}`"),
            )
        })
}

/// A number from `least` to `most`; the unit may stand behind it.
pub(super) fn number(
    flag: &str,
    text: &str,
    [least, most]: [f64; 2],
    unit: &[&str],
) -> Result<f64, Refusal> {
    let bare = unit
        .iter()
        .find_map(|unit| text.trim().strip_suffix(unit))
        .unwrap_or(text)
        .trim();
    let shown = unit.first().copied().unwrap_or("");
    bare.replace(',', ".")
        .parse()
        .ok()
        .filter(|value| (least..=most).contains(value))
        .ok_or_else(|| {
            bad(
                format!(
                    "{flag}: `{}` is out of range: a number from {least} to {most} {shown}",
                    text.trim()
                ),
                format!("a bare number is in {shown}"),
            )
        })
}

/// Lengths of which no two are one.
pub(super) fn distinct(
    flag: &str,
    texts: &[String],
    read: impl Fn(&str) -> Result<Length, Refusal>,
) -> Result<Vec<Length>, Refusal> {
    if texts.len() > MOST {
        return Err(bad(
            format!(
                "{flag}: {} lengths are stated, and {MOST} is the most",
                texts.len()
            ),
            "take the rest in a further step",
        ));
    }
    let mut found: Vec<Length> = Vec::with_capacity(texts.len());
    for text in texts {
        let value = read(text)?;
        if found.contains(&value) {
            return Err(bad(
                format!("{flag}: {value} is stated twice"),
                "leave one of them out",
            ));
        }
        found.push(value);
    }
    Ok(found)
}
