//! Limit deviations of gauge blocks by grade and length.

use super::{Block, Grade};
use crate::{DomainError, Length};

/// What ISO 3650 allows a block of a length and grade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BlockLimits {
    /// t_e: the length at any point of the face may deviate from nominal by this to either side.
    pub deviation: Length,
    /// t_v: the length may vary by this over the face.
    pub variation: Length,
}

/// The shortest block of ISO 3650's table.
pub const SHORTEST: Length = Length::from_um(500);
/// The longest block of ISO 3650's table.
pub const LONGEST: Length = Length::from_um(1_000_000);

/// Upper end of the length class in mm (held by the class), then t_e and t_v in hundredths of a micrometre for
/// the grades K, 0, 1 and 2.
///
/// Source: ISO 3650; grades 0, 1 and 2 from a DIN 861 table stated to correspond with it, grade K from memory.
const LIMITS: [(i64, [[i64; 2]; 4]); 16] = [
    (10, [[20, 5], [12, 10], [20, 16], [45, 30]]),
    (25, [[30, 5], [14, 10], [30, 16], [60, 30]]),
    (50, [[40, 6], [20, 10], [40, 18], [80, 30]]),
    (75, [[50, 6], [25, 12], [50, 18], [100, 35]]),
    (100, [[60, 7], [30, 12], [60, 20], [120, 35]]),
    (150, [[80, 8], [40, 14], [80, 20], [160, 40]]),
    (200, [[100, 9], [50, 16], [100, 25], [200, 40]]),
    (250, [[120, 10], [60, 16], [120, 25], [240, 45]]),
    (300, [[140, 10], [70, 18], [140, 25], [280, 50]]),
    (400, [[180, 12], [90, 20], [180, 30], [360, 50]]),
    (500, [[220, 14], [110, 25], [220, 35], [440, 60]]),
    (600, [[260, 16], [130, 25], [260, 40], [500, 70]]),
    (700, [[300, 18], [150, 30], [300, 45], [600, 70]]),
    (800, [[340, 20], [170, 30], [340, 50], [650, 80]]),
    (900, [[380, 20], [190, 35], [380, 50], [750, 90]]),
    (1000, [[420, 25], [200, 40], [420, 60], [800, 100]]),
];

impl Grade {
    /// The limits of ISO 3650 for a block of this grade and nominal length.
    ///
    /// # Errors
    /// A length outside the table, which goes from 0.5 mm to 1000 mm.
    ///
    /// ```
    /// use conewright_metrology::blocks::Grade;
    /// assert_eq!(Grade::One.limits("25mm".parse()?)?.deviation, "0.3um".parse()?);
    /// assert_eq!(Grade::One.limits("25.5mm".parse()?)?.deviation, "0.4um".parse()?);
    /// assert!(Grade::One.limits("0.4mm".parse()?).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn limits(self, nominal: Length) -> Result<BlockLimits, DomainError> {
        let column = match self {
            Self::K => 0,
            Self::Zero => 1,
            Self::One => 2,
            Self::Two => 3,
        };
        LIMITS
            .iter()
            .find(|(to_mm, _)| nominal <= Length::from_um(to_mm * 1000))
            .filter(|_| nominal >= SHORTEST)
            .map(|(_, by_grade)| {
                let [deviation, variation] =
                    by_grade[column].map(|hundredths| Length::from_pm(hundredths * 10_000));
                BlockLimits {
                    deviation,
                    variation,
                }
            })
            .ok_or_else(|| {
                DomainError::new(
                    "gauge block length",
                    nominal,
                    "0.5 mm to 1000 mm, the table of ISO 3650",
                )
            })
    }
}

impl Block {
    /// The length by its calibration, or the nominal one where there is none.
    ///
    /// ```
    /// use conewright_metrology::blocks::Block;
    /// let block = Block { nominal: "25mm".parse()?, deviation: Some("-0.07um".parse()?), u: None };
    /// assert_eq!(block.length().to_string(), "24.99993 mm");
    /// # Ok::<(), conewright_metrology::QuantityError>(())
    /// ```
    #[must_use]
    pub fn length(&self) -> Length {
        self.nominal + self.deviation.unwrap_or_default()
    }

    /// Standard uncertainty of its length in µm: the calibration's, else `t_e/√3` of its grade (a length
    /// anywhere within the limits is as likely as another: JCGM 100, 4.3.7). None when neither is known.
    ///
    /// ```
    /// use conewright_metrology::blocks::{Block, Grade};
    /// let block = Block { nominal: "25mm".parse()?, deviation: None, u: None };
    /// assert!((block.u_um(Some(Grade::One)).unwrap() - 0.173).abs() < 0.001);
    /// assert_eq!(block.u_um(None), None, "neither calibration nor grade");
    /// # Ok::<(), conewright_metrology::QuantityError>(())
    /// ```
    #[must_use]
    pub fn u_um(&self, grade: Option<Grade>) -> Option<f64> {
        self.u.map(Length::um).or_else(|| {
            let limits = grade?.limits(self.nominal).ok()?;
            Some(limits.deviation.um() / 3_f64.sqrt())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_ends_at_half_a_millimetre_and_a_metre() {
        let pm = Length::from_pm(1);
        for (nominal, allowed) in [
            (SHORTEST, true),
            (SHORTEST - pm, false),
            (LONGEST, true),
            (LONGEST + pm, false),
            (Length::ZERO, false),
            (-SHORTEST, false),
        ] {
            assert_eq!(Grade::Two.limits(nominal).is_ok(), allowed, "{nominal}");
        }
    }
}
