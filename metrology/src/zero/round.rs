//! One round: the line through its marks, with the drift taken out where the round tells it.

use super::moved::State;
use super::{ZeroError, ZeroMark};
use crate::fit::{FitError, Orthogonal};
use crate::spread::extremes;

/// What offset and slope of a round leave of its readings and of the time, as sums of products.
#[derive(Debug, Clone, Copy)]
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
#[derive(Debug)]
pub(super) struct RoundLine<'a> {
    pub round: u32,
    pub marks: &'a [&'a ZeroMark],
    /// Whether a mark showed that the set-up was moved before the round was closed.
    pub ended_by_a_move: bool,
    /// Rise of the shown reading per length, no unit.
    pub slope: f64,
    /// Derivative of the slope by each mark's value, per mm.
    pub influence: &'a [f64],
    /// The line's reading at position 0, mm, at the time of the round's last mark.
    at_zero_mm: f64,
    /// Drift in mm per unit of time.
    drift: Option<f64>,
    /// Whether the time is in seconds, or counts marks.
    timed: bool,
    pub bow_mm: Option<f64>,
    /// What a line without drift leaves, for the scatter and a drift that all rounds share.
    pub unexplained: Unexplained,
}

/// Memory for the fits of one round after the other: a step may have hundreds of rounds of a few marks.
#[derive(Debug, Default)]
pub(super) struct Workspace {
    /// Each mark's place on a time axis.
    times: Vec<f64>,
    /// Each mark's reading, mm; then what the line leaves of it.
    values: Vec<f64>,
    columns: Vec<[f64; 3]>,
    bow: BowSpace,
}

impl Workspace {
    /// Reads the marks of a round in the order they were made. Tells whether their times are in seconds.
    fn read(&mut self, marks: &[&ZeroMark]) -> bool {
        self.values.clear();
        self.values.extend(marks.iter().map(|mark| mark.value_mm));
        self.times.clear();
        let timed = marks.iter().all(|mark| mark.time_s.is_some());
        if timed {
            let times = marks.iter().filter_map(|mark| mark.time_s);
            self.times.extend(times);
        } else {
            // Without times the marks are taken as evenly paced: the habit A B A relies on just that.
            self.times.extend((0..marks.len()).map(|i| i as f64));
        }
        timed
    }

    /// Makes the rows of the line: 1, place, and the time that counts back from the round's end, so that the intercept is the
    /// reading there and then. The first `columns` of them must be finite, and the readings.
    fn rows(&mut self, marks: &[&ZeroMark], columns: usize) -> Result<(), FitError> {
        let end = self.times.last().copied().unwrap_or(0.0);
        let row = |(mark, time): (&&ZeroMark, &f64)| [1.0, mark.position_mm, time - end];
        self.columns.clear();
        self.columns.extend(marks.iter().zip(&self.times).map(row));
        let mut rows = self.columns.iter().zip(&self.values);
        let finite = |(row, value): (&[f64; 3], &f64)| {
            row[..columns].iter().all(|v| v.is_finite()) && value.is_finite()
        };
        match rows.position(|row| !finite(row)) {
            Some(index) => Err(FitError::NotFinite { index }),
            None => Ok(()),
        }
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

/// At how many stations the marks are, where 3 stands for more as well.
fn stations_up_to_three(marks: &[&ZeroMark]) -> usize {
    let mut positions = marks.iter().map(|mark| mark.position_mm);
    let Some(first) = positions.next() else {
        return 0;
    };
    let Some(second) = positions.find(|position| *position != first) else {
        return 1;
    };
    if positions.any(|position| position != first && position != second) {
        3
    } else {
        2
    }
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl<'a> RoundLine<'a> {
    /// Fits the round of one state; `None` when it has marks at one station only, and so no slope yet. `influence` has a
    /// place for each of its marks.
    pub(super) fn fit(
        state: &State<'a>,
        influence: &'a mut [f64],
        workspace: &mut Workspace,
    ) -> Result<Option<Self>, ZeroError> {
        let (round, marks) = (state.round, state.marks);
        let stations = stations_up_to_three(marks);
        if stations < 2 {
            return Ok(None);
        }
        let refused = |error: FitError| ZeroError::Fit { round, error };
        let timed = workspace.read(marks);
        let returned = returns(marks);
        let wanted = if returned { 3 } else { 2 };
        workspace.rows(marks, wanted).map_err(refused)?;
        let Workspace {
            times,
            values,
            columns,
            bow,
        } = workspace;
        let model = Orthogonal::of(columns, wanted);
        // The line without drift is in the one with it; it stands alone where place and time cannot be told apart.
        let known = model.independent;
        if known < 2 {
            return Err(refused(FitError::Degenerate));
        }
        model.influence_on_second(known, influence);
        let bow_mm = (stations >= 3)
            .then(|| bow.sagitta_mm(marks, times, values, known == 3))
            .flatten();
        let mut along = model.taken_out(0..2, values);
        let mut unexplained = Unexplained {
            yy: product(values, values),
            yt: 0.0,
            tt: 0.0,
            dof: (marks.len() - 2) as f64,
        };
        // Rounding alone leaves something where the stations explain the time in full.
        if returned {
            model.taken_out(0..2, times);
            unexplained.yt = product(values, times);
            unexplained.tt = product(times, times);
        }
        if known == 3 {
            along[2] = model.taken_out(2..3, values)[2];
        }
        let [at_zero_mm, slope, drift] = model.solved(known, &along);
        Ok(Some(Self {
            round,
            marks,
            ended_by_a_move: state.ended_by_a_move,
            slope,
            influence,
            at_zero_mm,
            drift: (known == 3).then_some(drift),
            timed,
            bow_mm,
            unexplained,
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

    /// For each station its place, mm, and the sum of its marks' influence: what an error common to a station does to the
    /// slope. Written over what `stations` held.
    pub(super) fn station_influence(&self, stations: &mut Vec<(f64, f64)>) {
        stations.clear();
        for (mark, influence) in self.marks.iter().zip(self.influence) {
            match stations
                .iter_mut()
                .find(|(position, _)| *position == mark.position_mm)
            {
                Some((_, sum)) => *sum += influence,
                None => stations.push((mark.position_mm, *influence)),
            }
        }
    }
}

/// Memory for the bow of one round after the other.
#[derive(Debug, Default)]
struct BowSpace {
    columns: Vec<[f64; 4]>,
    values: Vec<f64>,
}

impl BowSpace {
    /// Sagitta of the quadratic part over the round's stations, mm: positive when the middle is nearer to the indicator
    /// than the line between the ends. `None` when drift and bow cannot be told apart.
    fn sagitta_mm(
        &mut self,
        marks: &[&ZeroMark],
        times: &[f64],
        values: &[f64],
        drift: bool,
    ) -> Option<f64> {
        let positions = marks.iter().map(|mark| mark.position_mm);
        let [low, high] = extremes(positions);
        let (middle, half) = (low.midpoint(high), (high - low) / 2.0);
        let end = times.last()?;
        let row = |(mark, time): (&&ZeroMark, &f64)| {
            // Positions scaled to -1..1: the quadratic's coefficient is then minus the sagitta itself.
            let scaled = (mark.position_mm - middle) / half;
            if drift {
                [1.0, scaled, time - end, scaled * scaled]
            } else {
                [1.0, scaled, scaled * scaled, 0.0]
            }
        };
        self.columns.clear();
        self.columns.extend(marks.iter().zip(times).map(row));
        let columns = if drift { 4 } else { 3 };
        let finite = |row: &[f64; 4]| row.iter().all(|v| v.is_finite());
        if marks.len() < columns || !self.columns.iter().all(finite) {
            return None;
        }
        let model = Orthogonal::of(&mut self.columns, columns);
        if model.independent < columns {
            return None;
        }
        self.values.clear();
        self.values.extend_from_slice(values);
        let along = model.taken_out(0..columns, &mut self.values);
        Some(-model.solved(columns, &along)[columns - 1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Length;
    use crate::fit::linear;

    /// Marks a minute apart, as `(mm, µm)`.
    fn marks(of: &[(f64, f64)]) -> Vec<ZeroMark> {
        let mark = |(minute, (position_mm, um)): (usize, &(f64, f64))| ZeroMark {
            round: 1,
            station: position_mm.to_string(),
            position_mm: *position_mm,
            value_mm: um * 1e-3,
            sd_mm: None,
            readings: 1,
            resolution: Length::from_um(1),
            time_s: Some(60.0 * minute as f64),
            clamped: false,
            setting: 0,
        };
        of.iter().enumerate().map(mark).collect()
    }

    /// Memory that held the round before says nothing in the next, and the line without drift is that of a fit by itself.
    #[test]
    fn rounds_that_share_memory_are_fitted_each_by_itself() {
        let rounds = [
            // With a return the drift is told: 1 µm a minute.
            (marks(&[(0.0, 0.0), (80.0, 4.0), (0.0, 2.0)]), Some(1.0)),
            (marks(&[(0.0, 0.0), (40.0, 3.0), (80.0, 4.0)]), None),
            (marks(&[(0.0, 7.0), (80.0, 4.0)]), None),
            // Two marks at a station before it is left are no return.
            (
                marks(&[(0.0, 0.0), (0.0, 1.0), (80.0, 4.0), (80.0, 2.0)]),
                None,
            ),
        ];
        let mut workspace = Workspace::default();
        for (marks, drift) in &rounds {
            let marks: Vec<&ZeroMark> = marks.iter().collect();
            let mut influence = vec![f64::NAN; marks.len()];
            let state = State {
                round: 1,
                marks: &marks,
                ended_by_a_move: false,
                opened_by: None,
                doubtful_mm: None,
            };
            let line = RoundLine::fit(&state, &mut influence, &mut workspace);
            let line = line.unwrap().unwrap();
            let got = line.drift_um_per_min();
            assert_eq!(got.is_some(), drift.is_some());
            assert!((got.unwrap_or(0.0) - drift.unwrap_or(0.0)).abs() < 1e-9);
            let rows: Vec<[f64; 2]> = marks.iter().map(|mark| [1.0, mark.position_mm]).collect();
            let values: Vec<f64> = marks.iter().map(|mark| mark.value_mm).collect();
            let alone = linear(&rows, &values).unwrap();
            assert_eq!(line.unexplained.yy, alone.residual_squares());
            if drift.is_none() {
                assert_eq!(line.slope, alone.unknowns[1]);
                let by_itself: Vec<f64> = alone.influence.iter().map(|row| row[1]).collect();
                assert_eq!(line.influence, by_itself);
            }
        }
    }
}
