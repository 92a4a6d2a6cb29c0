//! An axis: its span in data and on paper, and round numbers to label.

use protocol::style::Style;

/// An axis between two places on paper.
pub struct Axis {
    pub low: f64,
    pub high: f64,
    from: f64,
    to: f64,
    step: f64,
}

impl Axis {
    /// Covers the values with a twentieth of room at each end, and at least a stretch of `least`.
    pub fn over(values: impl Iterator<Item = f64>, from: f64, to: f64, least: f64) -> Self {
        let (low, high) = values
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(v), h.max(v))
            });
        let (low, high) = if low > high {
            (0.0, least)
        } else {
            (low, high)
        };
        let room = ((high - low) * 0.05)
            .max((least - (high - low)) / 2.0)
            .max(0.0);
        Self::between(low - room, high + room, from, to)
    }

    /// From one value to another, as they are.
    pub fn between(low: f64, high: f64, from: f64, to: f64) -> Self {
        let many = ((to - from).abs() / 30.0).clamp(4.0, 8.0);
        Self {
            low,
            high,
            from,
            to,
            step: round_step((high - low) / many),
        }
    }

    pub fn place(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    pub fn ticks(&self) -> impl Iterator<Item = f64> + '_ {
        let first = (self.low / self.step - 1e-9).ceil() as i64;
        let last = (self.high / self.step + 1e-9).floor() as i64;
        (first..=last).map(|i| i as f64 * self.step)
    }

    pub fn tick_text(&self, tick: f64, style: Style) -> String {
        step_text(tick, self.step, style)
    }
}

/// A number with the places that its step needs.
pub fn step_text(value: f64, step: f64, style: Style) -> String {
    let places = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
    // A rounded zero must not be printed as -0.
    let value = if value.abs() < step / 2.0 { 0.0 } else { value };
    style.number(value, places)
}

/// The smallest of 1, 2, 5 times a power of ten that is not below `rough`.
pub fn round_step(rough: f64) -> f64 {
    let power = 10_f64.powf(rough.log10().floor());
    let share = rough / power;
    let factor = if share <= 1.0 {
        1.0
    } else if share <= 2.0 {
        2.0
    } else if share <= 5.0 {
        5.0
    } else {
        10.0
    };
    factor * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        for (rough, step) in [
            (0.7, 1.0),
            (1.0, 1.0),
            (1.4, 2.0),
            (3.0, 5.0),
            (6.0, 10.0),
            (0.013, 0.02),
        ] {
            assert!((round_step(rough) / step - 1.0).abs() < 1e-9, "{rough}");
        }
    }
}
