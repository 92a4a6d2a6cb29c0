//! Numbers as they are shown: in the user's unit, with as many decimals as the display has.

use crate::sheet::words;
use metrology::{Length, Unit};

/// The unit in which readings are shown, and the small one for what is left and what it is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Units(pub Unit);

impl Default for Units {
    fn default() -> Self {
        Self(Unit::Mm)
    }
}

/// Microinches in a micrometre.
const UIN_PER_UM: f64 = 1.0 / 0.0254;

impl Units {
    /// The unit of readings.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        self.0.sign()
    }

    /// The unit of small lengths.
    #[must_use]
    pub const fn small_sign(self) -> &'static str {
        match self.0 {
            Unit::Mm | Unit::Um => "µm",
            Unit::In => "µin",
        }
    }

    /// Decimals of a reading whose display has this step.
    #[must_use]
    pub fn places(self, resolution: Option<Length>) -> usize {
        // Without a step, what an indicator for this work shows at least.
        let (unknown, most) = match self.0 {
            Unit::Mm => (3, 5),
            Unit::Um => (0, 2),
            Unit::In => (5, 6),
        };
        let Some(resolution) = resolution.filter(|r| r.pm() > 0) else {
            return unknown;
        };
        let exact = resolution.decimal(self.0);
        let exact = exact.split_once('.').map_or(0, |(_, places)| places.len());
        if exact <= most {
            return exact;
        }
        // A metric step has no short decimal in inches: the place that it lies in.
        let step = resolution.pm() as f64 / self.0.pm() as f64;
        ((-step.log10()).ceil().max(0.0) as usize).min(most)
    }

    /// A reading with its sign, as its display would show it; `finer` by some places for a mean.
    #[must_use]
    pub fn reading(self, mm: f64, resolution: Option<Length>, finer: usize) -> String {
        let value = mm * Unit::Mm.pm() as f64 / self.0.pm() as f64;
        signed(value, self.places(resolution) + finer)
    }

    /// A small length, given in µm, as a number of [`Self::small_sign`].
    #[must_use]
    pub fn small(self, um: f64) -> f64 {
        match self.0 {
            Unit::Mm | Unit::Um => um,
            Unit::In => um * UIN_PER_UM,
        }
    }

    /// A small length with its sign: finer where it is short.
    #[must_use]
    pub fn small_signed(self, um: f64) -> String {
        let value = self.small(um);
        let places = match self.0 {
            Unit::In => 0,
            _ if value.abs() < 9.995 => 2,
            _ => 1,
        };
        signed(value, places)
    }

    /// The same without a sign, for what has none.
    #[must_use]
    pub fn small_plain(self, um: f64) -> String {
        self.small_signed(um.abs())
            .trim_start_matches('+')
            .to_owned()
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
        let places = match self.0 {
            Unit::In => 0,
            _ => Self(Unit::Um).places(resolution),
        };
        format!("{:.places$}", self.small(um).abs())
    }
}

/// A value with its sign; nothing is `+0`, never `-0`: its room is that of any other value.
#[must_use]
pub fn signed(value: f64, places: usize) -> String {
    let text = words::signed(value, places);
    if text.starts_with(['+', '-']) {
        text
    } else {
        format!("+{text}")
    }
}

/// An angle in arc-seconds, with as many decimals as can matter.
#[must_use]
pub fn arcsec(value: f64) -> String {
    signed(value, usize::from(value.abs() < 999.95))
}

/// An age as a person would say it.
#[must_use]
pub fn age(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7_200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.0} h", s / 3_600.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_places_as_the_display_has() {
        for (resolution, mm, um, inch) in [
            ("0.01", 2, 0, 4),
            ("0.001", 3, 0, 5),
            ("0.002", 3, 0, 5),
            ("0.0005", 4, 1, 5),
            ("0.0001", 4, 1, 6),
            ("0.0001in", 5, 2, 4),
            ("0.00005in", 5, 2, 5),
            ("1", 0, 0, 2),
        ] {
            let places = |unit| Units(unit).places(resolution.parse().ok());
            let all = [Unit::Mm, Unit::Um, Unit::In].map(places);
            assert_eq!(all, [mm, um, inch], "{resolution}");
        }
        assert_eq!(Units(Unit::Mm).places(None), 3);
        assert_eq!(Units(Unit::Mm).places(Some(Length::ZERO)), 3);
    }

    #[test]
    fn a_reading_in_each_unit() {
        // 1 in = 25.4 mm exactly: 0.0254 mm is 0.001 in.
        let step: Length = "0.0001in".parse().unwrap();
        assert_eq!(Units(Unit::In).reading(0.0254, Some(step), 0), "+0.0010");
        assert_eq!(
            Units(Unit::Mm).reading(0.0254, Some(Length::from_um(1)), 1),
            "+0.0254"
        );
        assert_eq!(
            Units(Unit::Um).reading(-0.0254, Some(Length::from_um(1)), 0),
            "-25"
        );
        assert_eq!(Units(Unit::In).small_signed(2.54), "+100");
    }

    #[test]
    fn nothing_is_never_minus() {
        assert_eq!(signed(-0.0004, 3), "+0.000");
        assert_eq!(signed(-0.0006, 3), "-0.001");
        assert_eq!(signed(0.0, 1), "+0.0");
        assert_eq!(arcsec(-1234.5), "-1234");
    }

    #[test]
    fn ages_as_said() {
        assert_eq!(
            [3.6, 119.0, 600.0, 8000.0].map(age),
            ["4 s", "119 s", "10 min", "2 h"]
        );
    }
}
