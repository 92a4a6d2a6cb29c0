//! Readings in a style: with the decimals that their display has.

use super::Style;
use metrology::{Length, Unit};

/// The places behind the point that a step needs.
fn places_of(step: f64, most: usize) -> usize {
    ((-step.log10()).ceil().max(0.0) as usize).min(most)
}

impl Style {
    /// The unit of readings.
    #[must_use]
    pub const fn sign(self) -> &'static str {
        self.unit.sign()
    }

    /// Decimals of a reading whose display has this step.
    #[must_use]
    pub fn places(self, resolution: Option<Length>) -> usize {
        // Without a step, what an indicator for this work shows at least.
        let (unknown, most) = match self.unit {
            Unit::Mm => (3, 5),
            Unit::Um => (0, 2),
            Unit::In => (5, 6),
        };
        let Some(resolution) = resolution.filter(|r| r.pm() > 0) else {
            return unknown;
        };
        let exact = resolution.decimal(self.unit);
        let exact = exact.split_once('.').map_or(0, |(_, places)| places.len());
        if exact <= most {
            return exact;
        }
        // A metric step has no short decimal in inches: the place that it lies in.
        places_of(resolution.pm() as f64 / self.unit.pm() as f64, most)
    }

    /// A reading, mm, in the unit of readings.
    #[must_use]
    pub fn shown(self, mm: f64) -> f64 {
        mm * Unit::Mm.pm() as f64 / self.unit.pm() as f64
    }

    /// A reading with its sign, as its display would show it; `finer` by some places for a mean.
    #[must_use]
    pub fn reading(self, mm: f64, resolution: Option<Length>, finer: usize) -> String {
        self.with_sign(self.shown(mm), self.places(resolution) + finer)
    }

    /// A reading with its sign, its unit, and as many places as the display shows: `+0.0042 mm`.
    #[must_use]
    pub fn read(self, mm: f64, resolution: Option<Length>) -> String {
        let (unknown, most) = match self.unit {
            Unit::Mm => (4, 6),
            Unit::Um => (1, 3),
            Unit::In => (5, 6),
        };
        let step = resolution.map(|step| step.pm() as f64 / self.unit.pm() as f64);
        let places = match step {
            Some(step) if step > 0.0 => places_of(step, most),
            _ => unknown,
        };
        format!("{} {}", self.signed(self.shown(mm), places), self.sign())
    }
}
