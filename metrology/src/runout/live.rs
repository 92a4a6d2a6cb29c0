//! Run-out while it is read: one more reading costs the same however many there were.

use crate::fit::LimaconSums;

/// The sums of readings round a turn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RunoutSums {
    sums: LimaconSums,
    extremes: Option<[f64; 2]>,
    points: usize,
}

/// What the sums tell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunoutSoFar {
    /// How many readings.
    pub points: usize,
    /// Largest minus smallest.
    pub tir_um: f64,
    /// Eccentricity and its high spot in degrees, once three directions are known.
    pub centre: Option<(f64, f64)>,
}

impl RunoutSums {
    /// Adds a reading, with its angle where that is known.
    pub fn push(&mut self, angle_deg: Option<f64>, reading_mm: f64) {
        self.points += 1;
        let [low, high] = self.extremes.unwrap_or([reading_mm; 2]);
        self.extremes = Some([low.min(reading_mm), high.max(reading_mm)]);
        if let Some(deg) = angle_deg {
            let (sin, cos) = deg.to_radians().sin_cos();
            self.sums.push(cos, sin, reading_mm);
        }
    }

    /// What the readings tell so far; `None` before the first.
    ///
    /// ```
    /// use conewright_metrology::runout::RunoutSums;
    /// let mut sums = RunoutSums::default();
    /// for (deg, mm) in [(0.0, 0.0), (90.0, 0.005), (180.0, 0.0), (270.0, -0.005)] {
    ///     sums.push(Some(deg), mm);
    /// }
    /// let so_far = sums.so_far().unwrap();
    /// let (eccentricity_um, high_spot_deg) = so_far.centre.unwrap();
    /// assert!((so_far.tir_um - 10.0).abs() < 1e-9 && (eccentricity_um - 5.0).abs() < 1e-9);
    /// assert!((high_spot_deg - 90.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn so_far(&self) -> Option<RunoutSoFar> {
        let [low, high] = self.extremes?;
        let centre = self.sums.solve().ok();
        Some(RunoutSoFar {
            points: self.points,
            tir_um: (high - low) * 1e3,
            centre: centre.map(|fit| (fit.eccentricity() * 1e3, fit.high_spot().deg())),
        })
    }
}
