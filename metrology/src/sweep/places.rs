//! Where the positions of a sweep come from when they were not marked one by one.

use super::{SweepError, SweepPoint};
use crate::domain::{LARGEST_MM, LARGEST_S, Unusable};

/// A value at a time, s from any start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timed {
    /// When.
    pub time_s: f64,
    /// The value, mm.
    pub value_mm: f64,
}

/// Readings with the places they were taken at, and how many had no place.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The points in the readings' order.
    pub points: Vec<SweepPoint>,
    /// Readings from before the first or after the last known position.
    pub unplaced: usize,
}

fn usable(values: &[Timed], column: &'static str) -> Result<(), SweepError> {
    for (index, value) in values.iter().enumerate() {
        Unusable::check(index + 1, column, value.time_s, LARGEST_S)?;
        Unusable::check(index + 1, column, value.value_mm, LARGEST_MM)?;
    }
    Ok(())
}

/// The indicator's readings placed by a second cable that reports the table's position, both in order of time.
///
/// Between two reports the table is taken to move evenly; before the first and after the last nothing is assumed.
///
/// # Errors
/// A value that is not a number, or no reading at a time at which the position is known.
///
/// ```
/// use conewright_metrology::sweep::{Timed, by_cable};
/// let at = |time_s, value_mm| Timed { time_s, value_mm };
/// let table = [at(0.0, 10.0), at(1.0, 20.0)];
/// let placed = by_cable(&table, &[at(0.25, 0.001), at(1.5, 0.002)])?;
/// assert_eq!((placed.points[0].position_mm, placed.unplaced), (12.5, 1));
/// assert!(by_cable(&[], &[at(0.25, 0.001)]).is_err());
/// # Ok::<(), conewright_metrology::sweep::SweepError>(())
/// ```
pub fn by_cable(positions: &[Timed], readings: &[Timed]) -> Result<Placed, SweepError> {
    usable(positions, "position")?;
    usable(readings, "reading")?;
    let mut points = Vec::with_capacity(readings.len());
    let mut after = 0;
    for reading in readings {
        while positions
            .get(after)
            .is_some_and(|p| p.time_s < reading.time_s)
        {
            after += 1;
        }
        let position_mm = match (
            after.checked_sub(1).map(|i| positions[i]),
            positions.get(after),
        ) {
            (_, Some(now)) if now.time_s == reading.time_s => now.value_mm,
            (Some(before), Some(next)) => {
                let share = (reading.time_s - before.time_s) / (next.time_s - before.time_s);
                before.value_mm + share * (next.value_mm - before.value_mm)
            }
            _ => continue,
        };
        points.push(SweepPoint {
            position_mm,
            reading_mm: reading.value_mm,
        });
    }
    if points.is_empty() {
        let known_s = positions
            .first()
            .zip(positions.last())
            .map(|(a, b)| [a.time_s, b.time_s]);
        return Err(SweepError::NoPosition {
            readings: readings.len(),
            known_s,
        });
    }
    let unplaced = readings.len() - points.len();
    Ok(Placed { points, unplaced })
}

/// The indicator's readings placed by two marks with a steady feed between them; those outside the marks are left out.
///
/// That the feed was steady is an assumption, which the result names.
///
/// # Errors
/// Marks at one time or place, a value that is not a number, or no reading between the marks.
///
/// ```
/// use conewright_metrology::sweep::{Timed, by_steady_feed};
/// let at = |time_s, value_mm| Timed { time_s, value_mm };
/// let placed = by_steady_feed([at(2.0, 0.0), at(4.0, 60.0)], &[at(1.9, 0.0), at(3.0, 0.001)])?;
/// assert_eq!((placed.points[0].position_mm, placed.unplaced), (30.0, 1));
/// assert!(by_steady_feed([at(2.0, 0.0), at(2.0, 60.0)], &[]).is_err());
/// # Ok::<(), conewright_metrology::sweep::SweepError>(())
/// ```
pub fn by_steady_feed(marks: [Timed; 2], readings: &[Timed]) -> Result<Placed, SweepError> {
    usable(&marks, "mark")?;
    let [a, b] = marks;
    let (seconds, way_mm) = (b.time_s - a.time_s, b.value_mm - a.value_mm);
    if seconds == 0.0 || way_mm == 0.0 {
        return Err(SweepError::NoFeed { seconds, way_mm });
    }
    if seconds < 0.0 {
        return by_steady_feed([b, a], readings);
    }
    by_cable(&marks, readings)
}
