//! Exact decimals: the digits of a text and where the point stands, before any unit is applied.

/// A decimal as written: `digits · 10^-places`, with its sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Decimal {
    pub digits: i128,
    pub places: u32,
}

/// More digits than this are beyond every instrument, and keep the products below in range.
const MAX_DIGITS: usize = 24;

/// Splits a text into its leading decimal and the rest; `None` when no digit leads.
///
/// A comma is taken for the point, since many instruments and users write it. Blanks between sign and
/// digits are allowed (`- 0.012`); a second point, or a point without a digit, is not a decimal.
pub(super) fn split(text: &str) -> Option<(Decimal, &str)> {
    let text = text.trim();
    let (negative, mut rest) = match text.as_bytes().first()? {
        b'-' => (true, text[1..].trim_start()),
        b'+' => (false, text[1..].trim_start()),
        _ => (false, text),
    };
    // The typographic minus is what a copied document holds.
    let negative = match rest.strip_prefix('\u{2212}') {
        Some(after) if rest.len() == text.len() => {
            rest = after.trim_start();
            true
        }
        _ => negative,
    };
    let mut digits: i128 = 0;
    let mut places = 0;
    let mut seen = 0;
    let mut point = false;
    let mut end = 0;
    for (i, c) in rest.bytes().enumerate() {
        match c {
            b'0'..=b'9' => {
                seen += 1;
                if seen > MAX_DIGITS {
                    return None;
                }
                digits = digits * 10 + i128::from(c - b'0');
                places += u32::from(point);
            }
            b'.' | b',' if !point => point = true,
            _ => break,
        }
        end = i + 1;
    }
    if seen == 0 || matches!(rest.as_bytes().get(end), Some(b'.' | b',')) {
        return None;
    }
    let digits = if negative { -digits } else { digits };
    Some((Decimal { digits, places }, rest[end..].trim()))
}

/// A number with an exponent as the decimal that it stands for, with whatever stands behind it: `1e-3mm` is `0.001mm`. `None` where
/// the text is none, or has more digits than an instrument.
pub(super) fn without_exponent(text: &str) -> Option<String> {
    let (number, rest) = split(text)?;
    let after = rest.strip_prefix(['e', 'E'])?;
    let signed = |c: char| c.is_ascii_digit() || matches!(c, '-' | '+');
    let (exponent, unit) = after.split_at(after.find(|c| !signed(c)).unwrap_or(after.len()));
    let places = i64::from(number.places) - exponent.parse::<i64>().ok()?;
    let most = i64::try_from(MAX_DIGITS).ok()?;
    if !(-most..=most).contains(&places) {
        return None;
    }
    let digits = number.digits.unsigned_abs().to_string();
    let sign = if number.digits < 0 { "-" } else { "" };
    let zeros = |n: i64| "0".repeat(usize::try_from(n).unwrap_or(0));
    let size = i64::try_from(digits.len()).ok()?;
    let decimal = if places <= 0 {
        format!("{digits}{}", zeros(-places))
    } else {
        let padded = format!("{}{digits}", zeros(places + 1 - size));
        let (whole, fraction) = padded.split_at(padded.len() - usize::try_from(places).ok()?);
        format!("{whole}.{fraction}")
    };
    Some(format!("{sign}{decimal}{}", unit.trim()))
}

impl Decimal {
    /// The decimal as the nearest `f64`.
    pub(super) fn to_f64(self) -> f64 {
        // Going through the text gives the correctly rounded value for every length.
        format!("{}e-{}", self.digits, self.places)
            .parse()
            .unwrap_or(f64::NAN)
    }

    /// The decimal times a whole number of picometres, when that is a whole number of picometres.
    pub(super) fn times_pm(self, pm: i64) -> Option<i64> {
        let scale = 10_i128.checked_pow(self.places)?;
        let product = self.digits.checked_mul(i128::from(pm))?;
        (product % scale == 0)
            .then(|| i64::try_from(product / scale).ok())
            .flatten()
    }

    /// One unit of the last place, times `pm`; at least a picometre.
    pub(super) fn last_place_pm(self, pm: i64) -> i64 {
        let scale = 10_i64.checked_pow(self.places).unwrap_or(i64::MAX);
        (pm / scale).max(1)
    }
}
