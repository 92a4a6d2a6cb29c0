//! One round: the line through its marks, with the drift taken out where the round tells it.

use super::{ZeroError, ZeroMark};
use crate::fit::{FitError, linear};
use crate::spread::extremes;

/// What offset and slope of a round leave of its readings and of the time, as sums of products.
pub(super) struct Unexplained {
    /// Reading by reading, mm².
    pub yy: f64,
    /// Reading by time.
    pub yt: f64,
    /// Time by time.
    pub tt: f64,
    /// Marks minus two.
    pub dof: f64,
}

/// The line of one round.
#[derive(Debug, Clone)]
pub(super) struct RoundLine<'a> {
    pub round: u32,
    pub marks: Vec<&'a ZeroMark>,
    /// Rise of the shown reading per length, no unit.
    pub slope: f64,
    /// Derivative of the slope by each mark's value, per mm.
    pub influence: Vec<f64>,
    /// The line's reading at position 0, mm, at the time of the round's last mark.
    at_zero_mm: f64,
    /// Drift in mm per unit of `time`.
    drift: Option<f64>,
    /// Whether `time` is in seconds, or counts marks.
    timed: bool,
    pub bow_mm: Option<f64>,
}

/// The marks of one round in the order they were made, with their place on a time axis.
fn times(marks: &[&ZeroMark]) -> (Vec<f64>, bool) {
    let timed: Option<Vec<f64>> = marks.iter().map(|mark| mark.time_s).collect();
    match timed {
        Some(times) => (times, true),
        // Without times the marks are taken as evenly paced: the habit A B A relies on just that.
        None => ((0..marks.len()).map(|i| i as f64).collect(), false),
    }
}

/// Whether a station was left and come back to: only then the drift shows itself.
fn returns(marks: &[&ZeroMark]) -> bool {
    marks.iter().enumerate().any(|(i, mark)| {
        let before = &marks[..i];
        before
            .last()
            .is_some_and(|last| last.position_mm != mark.position_mm)
            && before
                .iter()
                .any(|earlier| earlier.position_mm == mark.position_mm)
    })
}

fn distinct_stations(marks: &[&ZeroMark]) -> usize {
    let mut positions: Vec<f64> = marks.iter().map(|mark| mark.position_mm).collect();
    positions.sort_by(f64::total_cmp);
    positions.dedup();
    positions.len()
}

impl<'a> RoundLine<'a> {
    /// Fits a round; `None` when it has marks at one station only, and so no slope yet.
    pub(super) fn fit(round: u32, marks: Vec<&'a ZeroMark>) -> Result<Option<Self>, ZeroError> {
        let stations = distinct_stations(&marks);
        if stations < 2 {
            return Ok(None);
        }
        let (times, timed) = times(&marks);
        let end = times.last().copied().unwrap_or(0.0);
        let values: Vec<f64> = marks.iter().map(|mark| mark.value_mm).collect();
        let position = |i: usize| marks[i].position_mm;
        let refused = |error: FitError| ZeroError::Fit { round, error };
        let with_drift = if returns(&marks) {
            // Time counts back from the round's end, so that the intercept is the reading there and then.
            let rows: Vec<[f64; 3]> = (0..marks.len())
                .map(|i| [1.0, position(i), times[i] - end])
                .collect();
            match linear(&rows, &values) {
                Ok(fit) => Some(fit),
                Err(FitError::Degenerate | FitError::TooFew { .. }) => None,
                Err(error) => return Err(refused(error)),
            }
        } else {
            None
        };
        let bow_mm = (stations >= 3)
            .then(|| bow(&marks, &times, with_drift.is_some()))
            .flatten();
        let (at_zero_mm, slope, drift, influence) = match with_drift {
            Some(fit) => {
                let [at_zero_mm, slope, drift] = fit.unknowns;
                let influence = fit.influence.iter().map(|row| row[1]).collect();
                (at_zero_mm, slope, Some(drift), influence)
            }
            None => {
                let rows: Vec<[f64; 2]> = (0..marks.len()).map(|i| [1.0, position(i)]).collect();
                let fit = linear(&rows, &values).map_err(refused)?;
                let [at_zero_mm, slope] = fit.unknowns;
                let influence = fit.influence.iter().map(|row| row[1]).collect();
                (at_zero_mm, slope, None, influence)
            }
        };
        Ok(Some(Self {
            slope,
            at_zero_mm,
            drift,
            influence,
            round,
            marks,
            timed,
            bow_mm,
        }))
    }

    /// The shown reading that the line has at a position, mm, at the end of the round.
    pub(super) fn reading_at(&self, position_mm: f64) -> f64 {
        self.at_zero_mm + self.slope * position_mm
    }

    /// The last mark: where the indicator stands.
    pub(super) fn last(&self) -> &ZeroMark {
        self.marks[self.marks.len() - 1]
    }

    /// Drift of the reading, µm per minute, when the marks' times are known.
    pub(super) fn drift_um_per_min(&self) -> Option<f64> {
        self.drift
            .filter(|_| self.timed)
            .map(|mm_per_s| mm_per_s * 1e3 * 60.0)
    }

    /// What a line without drift leaves, for the scatter and a drift that all rounds share.
    pub(super) fn unexplained(&self) -> Unexplained {
        let (times, _) = times(&self.marks);
        let rows: Vec<[f64; 2]> = self.marks.iter().map(|m| [1.0, m.position_mm]).collect();
        let values: Vec<f64> = self.marks.iter().map(|mark| mark.value_mm).collect();
        let left =
            |of: &[f64]| linear(&rows, of).map_or_else(|_| vec![0.0; of.len()], |f| f.residuals);
        let (y, t) = (left(&values), left(&times));
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let tt = product(&t, &t);
        // Rounding alone leaves something where the stations explain the time in full.
        let told = returns(&self.marks);
        Unexplained {
            yy: product(&y, &y),
            yt: if told { product(&y, &t) } else { 0.0 },
            tt: if told { tt } else { 0.0 },
            dof: (self.marks.len() - 2) as f64,
        }
    }

    /// For each station the sum of its marks' influence: what an error common to a station does to the slope.
    pub(super) fn station_influence(&self) -> Vec<f64> {
        let mut stations: Vec<(f64, f64)> = Vec::new();
        for (mark, influence) in self.marks.iter().zip(&self.influence) {
            match stations
                .iter_mut()
                .find(|(position, _)| *position == mark.position_mm)
            {
                Some((_, sum)) => *sum += influence,
                None => stations.push((mark.position_mm, *influence)),
            }
        }
        stations.into_iter().map(|(_, sum)| sum).collect()
    }
}

/// Sagitta of the quadratic part over the round's stations, mm: positive when the middle is nearer to the indicator
/// than the line between the ends. `None` when drift and bow cannot be told apart.
fn bow(marks: &[&ZeroMark], times: &[f64], drift: bool) -> Option<f64> {
    let positions = marks.iter().map(|mark| mark.position_mm);
    let [low, high] = extremes(positions);
    let (middle, half) = (low.midpoint(high), (high - low) / 2.0);
    let values: Vec<f64> = marks.iter().map(|mark| mark.value_mm).collect();
    // Positions scaled to -1..1: the quadratic's coefficient is then minus the sagitta itself.
    let scaled = |i: usize| (marks[i].position_mm - middle) / half;
    let quadratic = if drift {
        let end = times.last()?;
        let rows: Vec<[f64; 4]> = (0..marks.len())
            .map(|i| [1.0, scaled(i), times[i] - end, scaled(i) * scaled(i)])
            .collect();
        linear(&rows, &values).ok()?.unknowns[3]
    } else {
        let rows: Vec<[f64; 3]> = (0..marks.len())
            .map(|i| [1.0, scaled(i), scaled(i) * scaled(i)])
            .collect();
        linear(&rows, &values).ok()?.unknowns[2]
    };
    Some(-quadratic)
}
