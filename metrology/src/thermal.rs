//! Growth by warmth: a part straight from the wheel is longer and thicker than it will be at 20 °C.

use crate::{DomainError, Length};

/// Linear expansion of steel, µm per metre and kelvin. Common practice for tool and bearing steels; a
/// material's own value may differ by a tenth.
pub const STEEL_UM_PER_M_K: f64 = 11.5;

/// Growth in µm of a length that is `over_20_kelvin` warmer (or colder, negative) than the reference
/// temperature of 20 °C (ISO 1): `Δ = a ℓ ΔT`.
///
/// Domain: an expansion of 0 to 100 µm/(m·K), which no solid used for gauges or parts leaves, and a difference
/// within ±[`LARGEST_DIFFERENCE_K`].
///
/// # Errors
/// Which value is out of range.
///
/// ```
/// use conewright_metrology::thermal::{STEEL_UM_PER_M_K, growth_um};
/// let warm = growth_um("40mm".parse()?, 5.0, STEEL_UM_PER_M_K)?;
/// assert!((warm - 2.3).abs() < 1e-12, "5 K on 40 mm is 2.3 µm: let it cool");
/// assert!(growth_um("40mm".parse()?, 5.0, 1150.0).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn growth_um(
    length: Length,
    over_20_kelvin: f64,
    expansion_um_per_m_k: f64,
) -> Result<f64, DomainError> {
    if !(0.0..=LARGEST_EXPANSION_UM_PER_M_K).contains(&expansion_um_per_m_k) {
        return Err(DomainError::new(
            "linear expansion",
            format_args!("{expansion_um_per_m_k} µm/(m·K)"),
            "0 to 100 µm/(m·K)",
        ));
    }
    if !(-LARGEST_DIFFERENCE_K..=LARGEST_DIFFERENCE_K).contains(&over_20_kelvin) {
        return Err(DomainError::new(
            "difference from 20 °C",
            format_args!("{over_20_kelvin} K"),
            "within 200 K of 20 °C, where the expansion may be taken as constant",
        ));
    }
    Ok(length.mm() * 1e-3 * over_20_kelvin * expansion_um_per_m_k)
}

/// The largest expansion that is believed.
pub const LARGEST_EXPANSION_UM_PER_M_K: f64 = 100.0;
/// The largest difference from 20 °C for which one coefficient is used.
pub const LARGEST_DIFFERENCE_K: f64 = 200.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_on_both_sides() {
        let metre = Length::from_um(1_000_000);
        for (kelvin, expansion, allowed) in [
            (200.0, 11.5, true),
            (200.1, 11.5, false),
            (-200.0, 11.5, true),
            (-200.1, 11.5, false),
            (1.0, 0.0, true),
            (1.0, -0.1, false),
            (1.0, 100.0, true),
            (1.0, 100.1, false),
            (f64::NAN, 11.5, false),
            (1.0, f64::NAN, false),
        ] {
            assert_eq!(
                growth_um(metre, kelvin, expansion).is_ok(),
                allowed,
                "{kelvin} {expansion}"
            );
        }
    }
}
