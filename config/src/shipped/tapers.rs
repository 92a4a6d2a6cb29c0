//! The standard tapers.

use super::rows;
use metrology::taper::Taper;
use metrology::{Angle, Length, QuantityError};
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct Row {
    name: String,
    /// `1:n` or `7:24`, on diameter. The half angle comes from this column and from nothing else: the
    /// diameters are rounded, and angles in print are often wrong (3° "per side" for a Morse taper).
    ratio: String,
    gauge_diameter: Option<String>,
    small_diameter: Option<String>,
    length: Option<String>,
    source: String,
}

impl Row {
    fn taper(self) -> Result<Taper, QuantityError> {
        let length = |text: Option<String>| text.as_deref().map(str::parse::<Length>).transpose();
        Ok(Taper {
            half_angle: self.ratio.parse::<Angle>()?,
            gauge_diameter: length(self.gauge_diameter)?,
            small_diameter: length(self.small_diameter)?,
            length: length(self.length)?,
            name: self.name,
            source: self.source,
        })
    }
}

/// The shipped tapers, by system and number, each with its source.
///
/// `morse-0` to `morse-7`, `metric-4` …, `bs-1` to `bs-18`, `jarno-2` to `jarno-20`, `b-6` to `b-24`,
/// `7:24-30` to `7:24-60`, and the general ratios `1:3` to `1:500` of ISO 1119.
#[must_use]
pub fn shipped_tapers() -> &'static [Taper] {
    static TAPERS: OnceLock<Vec<Taper>> = OnceLock::new();
    TAPERS.get_or_init(|| {
        rows::<Row>("tapers.csv", include_str!("../../data/tapers.csv"))
            .into_iter()
            .map(|row| {
                let name = row.name.clone();
                row.taper()
                    .unwrap_or_else(|e| panic!("the shipped taper {name} is broken: {e}"))
            })
            .collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taper(name: &str) -> &'static Taper {
        shipped_tapers().iter().find(|t| t.name == name).unwrap()
    }

    /// Two diameters and a length, where a source prints all three, agree with the ratio to 0.05 mm: the
    /// small ends are printed to a tenth of a millimetre.
    #[test]
    fn diameters_and_length_agree_with_the_ratio() {
        let mut checked = 0;
        for t in shipped_tapers() {
            if let (Some(big), Some(small), Some(length)) =
                (t.gauge_diameter, t.small_diameter, t.length)
            {
                let computed = big.mm() - length.mm() / t.half_angle.ratio_n();
                assert!(
                    (computed - small.mm()).abs() <= 0.05,
                    "{}: {computed}",
                    t.name
                );
                checked += 1;
            }
        }
        // 7 Morse, 7 metric, 19 Jarno, 7 short Morse, 7 of 7:24.
        assert_eq!(checked, 47);
    }

    /// Taper per foot as ASME B5.10 prints it, against the ratio that is used: they agree to one half of the
    /// last place printed.
    #[test]
    fn ratios_agree_with_the_printed_taper_per_foot() {
        for (name, printed, last_place) in [
            ("morse-0", 0.624_60, 1e-5),
            ("morse-1", 0.598_58, 1e-5),
            ("morse-2", 0.599_41, 1e-5),
            ("morse-3", 0.602_35, 1e-5),
            ("morse-4", 0.623_26, 1e-5),
            ("morse-5", 0.631_51, 1e-5),
            ("morse-6", 0.625_65, 1e-5),
            ("morse-7", 0.624_00, 1e-5),
            ("bs-1", 0.502_00, 1e-5),
            ("bs-4", 0.502_40, 1e-5),
            ("bs-5", 0.501_60, 1e-5),
            ("bs-6", 0.503_29, 1e-5),
            ("bs-7", 0.501_47, 1e-5),
            ("bs-9", 0.500_85, 1e-5),
            ("bs-10", 0.516_12, 1e-5),
            ("bs-12", 0.499_73, 1e-5),
            ("bs-13", 0.500_20, 1e-5),
            ("bs-18", 0.500_00, 1e-5),
            ("jarno-5", 0.600, 1e-3),
        ] {
            let n = taper(name).half_angle.ratio_n();
            // The ratio is itself rounded to 0.001: that is worth 12/n² · 0.0005 in/ft.
            let allowed = last_place / 2.0 + 12.0 / (n * n) * 0.0005;
            assert!(
                (12.0 / n - printed).abs() <= allowed,
                "{name}: {}",
                12.0 / n
            );
        }
    }

    /// ISO 1119 as printed in GOST R 53440-2009 Table 1 and GB/T 157-2001 Table 2: included angles to 0.0001″.
    #[test]
    fn general_ratios_have_the_printed_included_angles() {
        for (name, d, m, s) in [
            ("1:3", 18, 55, 28.7199),
            ("1:4", 14, 15, 0.1177),
            ("1:5", 11, 25, 16.2706),
            ("1:6", 9, 31, 38.2202),
            ("1:8", 7, 9, 9.6075),
            ("1:10", 5, 43, 29.3176),
            ("1:15", 3, 49, 5.8975),
            ("1:20", 2, 51, 51.0925),
            ("1:50", 1, 8, 45.1586),
            ("1:100", 0, 34, 22.6309),
            ("1:500", 0, 6, 52.5295),
        ] {
            let printed = f64::from(d * 3600 + m * 60) + s;
            let included = 2.0 * taper(name).half_angle.arcsec();
            assert!((included - printed).abs() < 1e-4, "{name}: {included}");
        }
    }

    /// *Common practice*, no source: a number 2 Morse half angle is 1.431°, and a short B16 ends at 14.5 mm.
    #[test]
    fn figures_of_the_trade() {
        assert!((taper("morse-2").half_angle.deg() - 1.431).abs() < 5e-4);
        assert_eq!(taper("b-16").small_diameter, Some("14.5".parse().unwrap()));
        // ASME B5.10 prints the gauge diameter of number 2 as 0.700 in.
        assert_eq!(
            taper("morse-2").gauge_diameter,
            Some("0.700in".parse().unwrap())
        );
    }

    /// The half angle of a Morse taper is that of the number it was cut from.
    #[test]
    fn short_morse_tapers_have_the_angle_of_their_base() {
        for (short, base) in [
            ("b-6", 1),
            ("b-10", 1),
            ("b-12", 1),
            ("b-16", 2),
            ("b-18", 2),
            ("b-22", 3),
            ("b-24", 3),
        ] {
            assert_eq!(
                taper(short).half_angle,
                taper(&format!("morse-{base}")).half_angle
            );
        }
    }

    #[test]
    fn names_are_said_once_and_every_entry_has_a_source() {
        let mut names: Vec<_> = shipped_tapers().iter().map(|t| &t.name).collect();
        names.sort();
        let all = names.len();
        names.dedup();
        assert_eq!(names.len(), all);
        assert!(shipped_tapers().iter().all(|t| !t.source.is_empty()));
    }
}
