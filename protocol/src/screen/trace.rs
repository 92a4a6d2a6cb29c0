//! What the indicator read lately, for a view that follows the events: the last minute with its marks, and what is being
//! recorded, as it grows.

use super::known::Known;
use super::plot::{Line, Plot, Round};
use super::words;
use crate::api::{Live, Status};
use crate::said;
use crate::step::{Recorded, StepKind};
use crate::style::Style;
use metrology::{Length, Unit};
use serde::Serialize;
use std::collections::VecDeque;

/// The time that a trace goes back, s.
pub const TRACE_S: f64 = 60.0;
/// Of readings closer than this, s, only the newest is kept: nothing is drawn between two frames.
const APART_S: f64 = 0.033;
/// A longer silence, s, is a gap in the line.
const GAP_S: f64 = 2.0;
/// Of a longer recording every second point will do.
const MOST_RECORDED: usize = 4_000;

/// The readings and marks of the last minute.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trace {
    points: VecDeque<Point>,
    marks: Vec<Marked>,
    recorded: Option<Vec<Point>>,
    place: Option<Place>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Point {
    t_s: f64,
    value: Length,
    /// Where the table stood, where that is measured.
    at: Option<Length>,
}

/// A mark in the trace.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Marked {
    /// When it was seen, on the clock of the view.
    #[serde(rename = "t")]
    pub t_s: f64,
    /// Its number.
    pub number: u32,
    /// Its place in words.
    pub place: String,
}

/// A reading as it is drawn: when, s; its value in the unit of readings; and where the table stood, mm, where that is measured.
pub type TracePoint = (f64, f64, Option<f64>);

/// The open step and its last mark: what is said of the next mark holds as long as they stay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    session: Option<i64>,
    step: Option<(StepKind, u32)>,
    mark: Option<u32>,
}

/// The last minute as it is drawn: seconds before now are negative.
#[derive(Debug, Clone, PartialEq)]
pub struct Minute {
    /// The unit of the readings.
    pub unit: &'static str,
    /// The readings, a row of points for each stretch without a gap.
    pub runs: Vec<Vec<[f64; 2]>>,
    /// When a mark was made, and its place.
    pub marks: Vec<(f64, String)>,
    /// The least range that is drawn: less would show the display's own steps as moves.
    pub least: f64,
}

impl Trace {
    /// Takes an event that `known` has taken already.
    pub fn on_live(&mut self, live: &Live, known: &Known, now_s: f64, style: Style) {
        let Some(status) = &known.status else { return };
        match live {
            Live::Reading(reading) if status.indicator.as_ref() == Some(&reading.cable) => {
                let recorded = status.plan.as_ref().and_then(|plan| plan.work.recorded());
                let table = recorded.and_then(Recorded::position_cable);
                self.read(Point {
                    t_s: now_s,
                    value: reading.value,
                    at: table.and_then(|table| known.value(table)),
                });
            }
            Live::Reading(_) => {}
            Live::Snapshot(status) => self.on_status(status, now_s, style),
        }
    }

    fn read(&mut self, point: Point) {
        let newest = self.points.len();
        if newest >= 2 && point.t_s - self.points[newest - 2].t_s < APART_S {
            self.points[newest - 1] = point;
        } else {
            self.points.push_back(point);
        }
        while self
            .points
            .front()
            .is_some_and(|p| is_old(p.t_s, point.t_s))
        {
            self.points.pop_front();
        }
        if let Some(recorded) = &mut self.recorded {
            recorded.push(point);
            if recorded.len() > MOST_RECORDED {
                let mut keep = false;
                recorded.retain(|_| {
                    keep = !keep;
                    keep
                });
            }
        }
    }

    fn on_status(&mut self, status: &Status, now_s: f64, style: Style) {
        if !status.recording {
            self.recorded = None;
        } else if self.recorded.is_none() {
            self.recorded = Some(Vec::new());
        }
        let last = status.marks.last();
        let place = Place {
            session: status.session.as_ref().map(|session| session.id),
            step: status.step.map(|step| (step.kind, step.number)),
            mark: last.map(|mark| mark.number),
        };
        let Some(before) = self.place.replace(place) else {
            return;
        };
        if (before.session, before.step) != (place.session, place.step) {
            self.marks.clear();
        }
        self.marks.retain(|marked| {
            status.marks.iter().any(|mark| mark.number == marked.number)
                && !is_old(marked.t_s, now_s)
        });
        let new = last.filter(|mark| before.mark.is_none_or(|number| number < mark.number));
        self.marks.extend(new.map(|mark| Marked {
            t_s: now_s,
            number: mark.number,
            place: words::named(mark, style),
        }));
    }

    /// The readings of the last minute, oldest first.
    pub fn readings(&self, style: Style) -> impl DoubleEndedIterator<Item = TracePoint> {
        let shown = move |p: &Point| (p.t_s, style.shown(p.value.mm()), p.at.map(Length::mm));
        self.points.iter().map(shown)
    }

    /// The marks of the open step that were made in the last minute.
    #[must_use]
    pub fn marks(&self) -> &[Marked] {
        &self.marks
    }

    /// The open step and its last mark; none before the first snapshot.
    #[must_use]
    pub const fn place(&self) -> Option<Place> {
        self.place
    }

    /// The last minute; none where nothing was read in it.
    #[must_use]
    pub fn minute(&self, now_s: f64, style: Style) -> Option<Minute> {
        let mut runs: Vec<Vec<[f64; 2]>> = Vec::new();
        let mut before = f64::NEG_INFINITY;
        for point in self.points.iter().filter(|p| !is_old(p.t_s, now_s)) {
            if point.t_s - before > GAP_S {
                runs.push(Vec::new());
            }
            before = point.t_s;
            let value = point.value.pm() as f64 / style.unit.pm() as f64;
            if let Some(run) = runs.last_mut() {
                run.push([point.t_s - now_s, value]);
            }
        }
        let marks = self.marks.iter().filter(|m| !is_old(m.t_s, now_s));
        (!runs.is_empty()).then(|| Minute {
            unit: style.sign(),
            runs,
            marks: marks.map(|m| (m.t_s - now_s, m.place.clone())).collect(),
            least: match style.unit {
                Unit::Mm => 0.004,
                Unit::Um => 4.0,
                Unit::In => 0.0002,
            },
        })
    }

    /// What is being recorded, as it grows: over the table's position where that is measured, round the clock where turns are
    /// marked, else over time. None while nothing is recorded.
    #[must_use]
    pub fn recorded(&self, status: &Status, style: Style) -> Option<Plot> {
        let points = self.recorded.as_deref()?;
        let (first, last) = (points.first()?, points.last()?);
        let rise = |p: &Point| style.small((p.value - first.value).um());
        let plan = status.plan.as_ref();
        let way = plan.and_then(|plan| plan.work.recorded());
        if let (Some(Recorded::Turn), [.., from, to]) = (way, self.marks.as_slice()) {
            // The last two times that the line came by tell how fast it turns.
            let turn_s = to.t_s - from.t_s;
            let since_s = from.t_s.max(last.t_s - turn_s);
            let of_turn = points.iter().filter(|p| p.t_s >= since_s);
            let angle = |p: &Point| ((p.t_s - from.t_s) / turn_s * 360.0).rem_euclid(360.0);
            return (turn_s > 0.0).then(|| {
                Plot::Round(Round {
                    title: said!(style, "live-as-it-turns"),
                    unit: style.small_sign(),
                    points: of_turn.map(|p| [angle(p), rise(p)]).collect(),
                    high_deg: None,
                })
            });
        }
        let is_travel = matches!(way, Some(Recorded::Travel { .. }));
        let placed = is_travel && points.iter().all(|p| p.at.is_some());
        let x = |p: &Point| match p.at.filter(|_| placed) {
            Some(at) => at.mm(),
            None => p.t_s - first.t_s,
        };
        let x_label = if placed {
            said!(style, "live-axis-table")
        } else {
            said!(style, "live-axis-since")
        };
        let axes = [
            x_label,
            said!(style, "live-axis-from-first", unit = style.small_sign()),
        ];
        let points = points.iter().map(|p| [x(p), rise(p)]).collect();
        let line = Line::of(said!(style, "live-as-recorded"), axes, points)?;
        Some(Plot::Line(Line { kept: true, ..line }))
    }
}

fn is_old(t_s: f64, now_s: f64) -> bool {
    now_s - t_s > TRACE_S
}
