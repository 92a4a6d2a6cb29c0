//! Where the angle of each reading comes from.

use super::{Period, RunoutError, RunoutPoint, TimedReading, period};
use crate::domain::{LARGEST_S, Unusable};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Readings of one plane with their angles, in radians and going on from turn to turn, in the order they were read.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Angled {
    pub angles: Vec<f64>,
    pub y: Vec<f64>,
    /// The turn that each reading belongs to, from 0.
    pub turn: Vec<usize>,
    /// Rows of the table, from 1.
    pub rows: Vec<usize>,
    /// Whole turns that the readings cover, at least 1.
    pub turns: usize,
    pub period: Option<Period>,
    /// Readings that lie outside the marked turns.
    pub unplaced: usize,
}

impl Angled {
    /// The readings but those at some indices, which rise.
    pub(super) fn without(&self, indices: &[usize]) -> Self {
        let mut out = indices.iter().peekable();
        let kept: Vec<usize> = (0..self.y.len())
            .filter(|i| out.next_if(|o| *o == i).is_none())
            .collect();
        Self {
            angles: kept.iter().map(|i| self.angles[*i]).collect(),
            y: kept.iter().map(|i| self.y[*i]).collect(),
            turn: kept.iter().map(|i| self.turn[*i]).collect(),
            rows: kept.iter().map(|i| self.rows[*i]).collect(),
            turns: self.turns,
            period: self.period.clone(),
            unplaced: self.unplaced,
        }
    }
}

/// Times closer than this (s) are one moment: no cable sends so fast.
const LEAST_STEP_S: f64 = 1e-9;

/// Angles closer than this (degrees) are one place.
const SAME_DEG: f64 = 1e-6;

/// How many different places there are round the turn.
pub(super) fn distinct(angles: &[f64]) -> usize {
    let mut places: Vec<i64> = angles
        .iter()
        .map(|a| (a.rem_euclid(TAU) * 1e6).round() as i64)
        .collect();
    places.sort_unstable();
    places.dedup();
    places.len()
}

/// Readings at angles that were marked or given.
pub(super) fn given(points: &[(usize, &RunoutPoint)]) -> Result<Angled, RunoutError> {
    for (row, point) in points {
        if !(0.0..=360.0).contains(&point.angle_deg) {
            return Err(RunoutError::AngleBeyondTurn {
                row: *row,
                angle_deg: point.angle_deg,
            });
        }
    }
    let degrees: Vec<f64> = points.iter().map(|(_, p)| p.angle_deg).collect();
    let (unwound, turn) = unwound(&degrees).unwrap_or_else(|| by_repetition(&degrees));
    Ok(Angled {
        angles: unwound.iter().map(|deg| deg.to_radians()).collect(),
        y: points.iter().map(|(_, p)| p.reading_mm).collect(),
        turns: turn.iter().max().map_or(1, |last| last + 1),
        turn,
        rows: points.iter().map(|(row, _)| *row).collect(),
        period: None,
        unplaced: 0,
    })
}

/// Angles of a part that was turned one way, with each passing of the start counted on; `None` when it went to and fro.
fn unwound(degrees: &[f64]) -> Option<(Vec<f64>, Vec<usize>)> {
    let steps = || {
        degrees.windows(2).map(|pair| {
            let step = pair[1] - pair[0];
            // The short way round.
            step - 360.0 * (step / 360.0).round()
        })
    };
    let way = if steps().filter(|s| *s > 0.0).count() >= steps().filter(|s| *s < 0.0).count() {
        1.0
    } else {
        -1.0
    };
    // A step of half a turn may have gone either way.
    if steps().any(|step| step * way < 0.0 || step.abs() > 180.0 - SAME_DEG) {
        return None;
    }
    let first = degrees.first().copied()?;
    let mut unwound = vec![first];
    for pair in degrees.windows(2) {
        let step = (way * (pair[1] - pair[0])).rem_euclid(360.0);
        // 360° after 0° has gone all round, and so has nothing else.
        let step = if step == 0.0 && pair[1] != pair[0] {
            360.0
        } else {
            step
        };
        let step = if pair[0] == 360.0 && pair[1] == 0.0 {
            0.0
        } else {
            step
        };
        unwound.push(unwound[unwound.len() - 1] + way * step);
    }
    let turn = unwound
        .iter()
        .map(|deg| {
            let gone = (way * (deg - first) + SAME_DEG) / 360.0;
            gone.max(0.0) as usize
        })
        .collect::<Vec<_>>();
    // A last reading that closes the turn belongs to it.
    let whole = way * (unwound[unwound.len() - 1] - first);
    let closing = (whole / 360.0).round() as usize;
    let closes = closing > 0 && (whole - 360.0 * closing as f64).abs() < SAME_DEG;
    let turn = turn
        .into_iter()
        .map(|t| if closes && t == closing { t - 1 } else { t })
        .collect();
    Some((unwound, turn))
}

/// Marks in any order: the second time at a place is the second turn.
fn by_repetition(degrees: &[f64]) -> (Vec<f64>, Vec<usize>) {
    let mut at: BTreeMap<i64, usize> = BTreeMap::new();
    let turn: Vec<usize> = degrees
        .iter()
        .map(|deg| {
            let place = (deg.rem_euclid(360.0) / SAME_DEG).round() as i64;
            let seen = at.entry(place).or_default();
            *seen += 1;
            *seen - 1
        })
        .collect();
    let on = degrees
        .iter()
        .zip(&turn)
        .map(|(deg, turn)| deg + 360.0 * *turn as f64)
        .collect();
    (on, turn)
}

fn rising(readings: &[(usize, &TimedReading)]) -> Result<(), RunoutError> {
    match readings
        .windows(2)
        .find(|pair| pair[1].1.time_s - pair[0].1.time_s < LEAST_STEP_S)
    {
        Some(pair) => Err(RunoutError::TimeOrder { row: pair[1].0 }),
        None => Ok(()),
    }
}

/// Readings placed by one mark at the start of each turn and one at the end of the last; each turn is taken as steady.
pub(super) fn by_marks(
    readings: &[(usize, &TimedReading)],
    marks_s: &[f64],
) -> Result<Angled, RunoutError> {
    rising(readings)?;
    for (index, mark) in marks_s.iter().enumerate() {
        Unusable::check(index + 1, "turn mark", *mark, LARGEST_S)?;
    }
    let disorder = marks_s
        .windows(2)
        .position(|pair| pair[1] - pair[0] < LEAST_STEP_S);
    if marks_s.len() < 2 || disorder.is_some() {
        let out_of_order = disorder.map(|index| index + 2);
        return Err(RunoutError::TurnMarks {
            marks: marks_s.len(),
            out_of_order,
        });
    }
    let mut placed = Angled {
        turns: marks_s.len() - 1,
        ..Angled::default()
    };
    for (row, reading) in readings {
        let turn = marks_s.partition_point(|mark| *mark <= reading.time_s);
        let Some((from, to)) = turn
            .checked_sub(1)
            .map(|t| marks_s[t])
            .zip(marks_s.get(turn))
        else {
            placed.unplaced += 1;
            continue;
        };
        let share = (reading.time_s - from) / (to - from);
        placed.angles.push(TAU * ((turn - 1) as f64 + share));
        placed.y.push(reading.reading_mm);
        placed.turn.push(turn - 1);
        placed.rows.push(*row);
    }
    if placed.y.is_empty() {
        return Err(RunoutError::OutsideTurns {
            readings: readings.len(),
        });
    }
    Ok(placed)
}

/// Readings whose angle comes from the period found in them; 0° is at the first.
pub(super) fn by_period(readings: &[(usize, &TimedReading)]) -> Result<Angled, RunoutError> {
    rising(readings)?;
    let times: Vec<f64> = readings.iter().map(|(_, r)| r.time_s).collect();
    let y: Vec<f64> = readings.iter().map(|(_, r)| r.reading_mm).collect();
    let period = period::find(&times, &y)?;
    by_known_period(readings, period)
}

/// The same with a period that was found before.
pub(super) fn by_known_period(
    readings: &[(usize, &TimedReading)],
    period: Period,
) -> Result<Angled, RunoutError> {
    rising(readings)?;
    let start = readings.first().map_or(0.0, |(_, r)| r.time_s);
    let turns: Vec<f64> = readings
        .iter()
        .map(|(_, r)| (r.time_s - start) / period.turn_s)
        .collect();
    // The last reading stands for the stretch up to where the next would be.
    let n = turns.len();
    let covered = turns
        .last()
        .map_or(0.0, |last| last * n as f64 / (n - 1).max(1) as f64);
    Ok(Angled {
        angles: turns.iter().map(|t| TAU * t).collect(),
        y: readings.iter().map(|(_, r)| r.reading_mm).collect(),
        turn: turns.iter().map(|t| *t as usize).collect(),
        rows: readings.iter().map(|(row, _)| *row).collect(),
        turns: ((covered + 0.02) as usize).max(1),
        period: Some(period),
        unplaced: 0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_counted_as_the_angles_go() {
        let turns = |degrees: &[f64]| {
            let points: Vec<RunoutPoint> = degrees
                .iter()
                .map(|d| RunoutPoint {
                    angle_deg: *d,
                    reading_mm: 0.0,
                    plane_mm: None,
                })
                .collect();
            let numbered: Vec<_> = points.iter().enumerate().map(|(i, p)| (i + 1, p)).collect();
            let angled = given(&numbered).unwrap();
            (angled.turns, angled.turn)
        };
        assert_eq!(turns(&[0.0, 90.0, 180.0, 270.0]).0, 1);
        assert_eq!(
            turns(&[0.0, 90.0, 180.0, 270.0, 360.0]).0,
            1,
            "the reading that closes the turn"
        );
        let (count, turn) = turns(&[0.0, 120.0, 240.0, 0.0, 120.0, 240.0, 0.0]);
        assert_eq!((count, turn), (2, vec![0, 0, 0, 1, 1, 1, 1]));
        // Backwards, from the middle of a turn.
        let (count, turn) = turns(&[100.0, 10.0, 280.0, 190.0, 100.0, 10.0, 280.0, 190.0]);
        assert_eq!((count, turn), (2, vec![0, 0, 0, 0, 1, 1, 1, 1]));
        // Clock positions as they come: twelve, six, three, nine, and twelve once more.
        let (count, turn) = turns(&[0.0, 180.0, 90.0, 270.0, 0.0]);
        assert_eq!((count, turn), (2, vec![0, 0, 0, 0, 1]));
    }

    #[test]
    fn turn_marks_place_what_lies_between_them() {
        let readings: Vec<TimedReading> = (0..10)
            .map(|i| TimedReading {
                time_s: f64::from(i),
                reading_mm: f64::from(i),
                plane_mm: None,
            })
            .collect();
        let numbered: Vec<_> = readings
            .iter()
            .enumerate()
            .map(|(i, r)| (i + 1, r))
            .collect();
        let placed = by_marks(&numbered, &[2.0, 4.0, 8.0]).unwrap();
        assert_eq!((placed.turns, placed.unplaced), (2, 4));
        assert_eq!(placed.rows, [3, 4, 5, 6, 7, 8]);
        let turns: Vec<f64> = placed.angles.iter().map(|a| a / TAU).collect();
        assert_eq!(turns, [0.0, 0.5, 1.0, 1.25, 1.5, 1.75]);
        let refused = |marks: &[f64]| by_marks(&numbered, marks).unwrap_err();
        assert_eq!(
            refused(&[2.0]),
            RunoutError::TurnMarks {
                marks: 1,
                out_of_order: None
            }
        );
        assert_eq!(
            refused(&[2.0, 5.0, 4.0]),
            RunoutError::TurnMarks {
                marks: 3,
                out_of_order: Some(3)
            }
        );
        assert_eq!(
            refused(&[20.0, 25.0]),
            RunoutError::OutsideTurns { readings: 10 }
        );
    }
}
