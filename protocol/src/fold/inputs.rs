//! From evidence to what the arithmetic takes.

use super::gaps;
use crate::evidence::{Evidence, Mark, MarkSource, MarkValue, Place, Reading, Time};
use crate::plan::{AnglesFrom, Plan, SizeBy, Work};
use metrology::Length;
use metrology::contact::Zones;
use metrology::dial::DialPoint;
use metrology::gauging::BallInBore;
use metrology::runout::{RunoutPoint, TimedReading};
use metrology::setup::Setup;
use metrology::size::{Measured, Over, SectionReading};
use metrology::sweep::{PositionsFrom, SweepPoint, Timed, by_cable, by_steady_feed};
use metrology::zero::ZeroMark;

/// What a step's arithmetic takes.
#[derive(Debug, Clone, PartialEq)]
pub enum Inputs {
    /// Marks at stations, in the order they were made.
    Zero(Vec<ZeroMark>),
    /// Readings along the travel.
    Sweep {
        /// Each at its place.
        points: Vec<SweepPoint>,
        /// How many readings had no place.
        unplaced: usize,
    },
    /// Readings round a turn.
    Runout {
        /// As chucked.
        first: Turning,
        /// With the part turned half a turn and the indicator moved across, at the same angles of the part.
        turned: Option<Vec<RunoutPoint>>,
    },
    /// A size.
    Size(Measured),
    /// A print.
    Contact(Zones),
    /// Readings on known steps.
    Dial(Vec<DialPoint>),
}

/// Readings round a turn, and how they know their angle.
#[derive(Debug, Clone, PartialEq)]
pub enum Turning {
    /// Each has its own.
    Angles(Vec<RunoutPoint>),
    /// It runs evenly from mark to mark.
    TurnMarks {
        /// The readings.
        readings: Vec<TimedReading>,
        /// The marks' times, s.
        marks_s: Vec<f64>,
    },
    /// It is found from the readings.
    Steady(Vec<TimedReading>),
}

/// A stretch of time between two marks, whose readings all count.
struct Stretch<'a> {
    begin: &'a Mark,
    end: &'a Mark,
}

impl Inputs {
    /// What the evidence gives.
    ///
    /// # Errors
    /// A mark that does not fit the step, or whose readings are missing; nothing marked yet.
    pub fn of(plan: &Plan, setup: &Setup, evidence: &Evidence) -> Result<Self, String> {
        match &plan.work {
            Work::Zero(_) => zero(evidence).map(Self::Zero),
            Work::Sweep(options) => match options.sweep.positions {
                PositionsFrom::Stations => stations(evidence),
                PositionsFrom::Cable => {
                    let position = options.position_cable.as_deref().ok_or(
                        "no cable reports the table's position: name one when the step is opened",
                    )?;
                    swept_by_cable(evidence, position)
                }
                PositionsFrom::Feed => swept_by_feed(evidence),
            },
            Work::Runout(options) => match options.angles {
                AnglesFrom::Clock => clock(evidence, options.reversal),
                AnglesFrom::Turns => turns(evidence),
                AnglesFrom::Steady => steady(evidence),
            },
            Work::Size(options) => size(evidence, options.by).map(Self::Size),
            Work::Contact(_) => contact(evidence).map(Self::Contact),
            Work::Dial(_) => dial(evidence).map(Self::Dial),
        }
        .map_err(|why| {
            if counting(evidence).next().is_none() {
                match plan.cable(setup) {
                    Some(_) | None if plan.records() => {
                        "nothing is recorded yet: mark where it begins".to_owned()
                    }
                    _ => "nothing is marked yet".to_owned(),
                }
            } else {
                why
            }
        })
    }
}

fn counting(evidence: &Evidence) -> impl Iterator<Item = &Mark> {
    evidence.marks.iter().filter(|mark| !mark.taken_back)
}

fn value(evidence: &Evidence, mark: &Mark) -> Result<MarkValue, String> {
    evidence.value(mark).ok_or_else(|| {
        format!(
            "mark {}: readings that it was made of are missing",
            mark.number
        )
    })
}

fn misplaced(mark: &Mark, wants: &str) -> String {
    format!("mark {} is {}, and {wants}", mark.number, mark.place)
}

/// The marks that count, as the zero step takes them: their values from their readings, times from the first mark.
fn zero(evidence: &Evidence) -> Result<Vec<ZeroMark>, String> {
    let counting: Vec<&Mark> = counting(evidence).collect();
    // Marks are made one after the other, so marks that are all of one time are of a table without times.
    let timed = counting.windows(2).any(|pair| pair[0].t != pair[1].t);
    let start = counting.first().map(|mark| mark.t).filter(|_| timed);
    let zero_mark = |mark: &&Mark| -> Result<ZeroMark, String> {
        let value = value(evidence, mark)?;
        let station = mark
            .station()
            .ok_or_else(|| misplaced(mark, "a zero step needs a station"))?;
        Ok(ZeroMark {
            round: mark.round,
            station: station.name.clone(),
            position_mm: station.position.mm(),
            value_mm: value.value_mm,
            sd_mm: value.sd_um.map(|sd| sd * 1e-3),
            readings: value.readings,
            resolution: value.resolution,
            time_s: start.map(|start| mark.t.since_s(start)),
            clamped: mark.clamped,
            setting: mark.setting,
        })
    };
    counting.iter().map(zero_mark).collect()
}

fn stations(evidence: &Evidence) -> Result<Inputs, String> {
    let point = |mark: &Mark| {
        let station = mark
            .station()
            .ok_or_else(|| misplaced(mark, "a sweep by stations needs a station"))?;
        Ok(SweepPoint {
            position_mm: station.position.mm(),
            reading_mm: value(evidence, mark)?.value_mm,
        })
    };
    let points = counting(evidence)
        .map(point)
        .collect::<Result<Vec<_>, String>>()?;
    Ok(Inputs::Sweep {
        points,
        unplaced: 0,
    })
}

/// Each beginning with the end that follows it; a beginning without an end is still being recorded.
fn stretches(evidence: &Evidence) -> Result<Vec<Stretch<'_>>, String> {
    let mut found = Vec::new();
    let mut open: Option<&Mark> = None;
    for mark in counting(evidence) {
        match (&mark.place, open.take()) {
            (Place::Begin { .. }, None) => open = Some(mark),
            (Place::End { .. }, Some(begin)) => found.push(Stretch { begin, end: mark }),
            (Place::Begin { .. }, Some(before)) => {
                return Err(format!(
                    "mark {} begins again before what mark {} began has ended",
                    mark.number, before.number
                ));
            }
            (Place::End { .. }, None) => {
                return Err(format!("mark {} ends what was not begun", mark.number));
            }
            _ => {
                return Err(misplaced(
                    mark,
                    "a recorded stretch has a beginning and an end",
                ));
            }
        }
    }
    if found.is_empty() {
        return Err(match open {
            Some(_) => "it is being recorded: mark its end".into(),
            None => "nothing is recorded yet: mark where it begins".into(),
        });
    }
    Ok(found)
}

/// The cable that a mark of a moment is about.
fn cable(mark: &Mark) -> Result<&str, String> {
    match &mark.source {
        MarkSource::Moment { cable } => Ok(cable),
        _ => Err(misplaced(
            mark,
            "a recorded stretch is marked by its moments",
        )),
    }
}

/// The readings of a cable from one moment to another, both counted in.
fn between<'a>(evidence: &'a Evidence, cable: &str, from: Time, to: Time) -> &'a [Reading] {
    let Some(readings) = evidence.readings.get(cable) else {
        return &[];
    };
    let first = readings.partition_point(|r| r.t < from);
    let end = readings.partition_point(|r| r.t <= to);
    readings.get(first..end).unwrap_or(&[])
}

impl Stretch<'_> {
    fn timed(&self, evidence: &Evidence, cable: &str) -> Vec<Timed> {
        between(evidence, cable, self.begin.t, self.end.t)
            .iter()
            .map(|r| Timed {
                time_s: r.t.since_s(self.begin.t),
                value_mm: r.value.mm(),
            })
            .collect()
    }
}

fn swept_by_cable(evidence: &Evidence, position: &str) -> Result<Inputs, String> {
    let (mut points, mut unplaced) = (Vec::new(), 0);
    for stretch in stretches(evidence)? {
        let positions = stretch.timed(evidence, position);
        let readings = stretch.timed(evidence, cable(stretch.begin)?);
        let mut placed = 0;
        for (positions, readings) in unbroken(&positions, &readings) {
            let part = by_cable(positions, readings).map_err(|e| e.to_string())?;
            placed += part.points.len();
            points.extend(part.points);
        }
        if placed == 0 {
            // Nothing has a place: the arithmetic says what is missing.
            by_cable(&[], &readings).map_err(|e| e.to_string())?;
        }
        unplaced += readings.len() - placed;
    }
    Ok(Inputs::Sweep { points, unplaced })
}

/// The positions between gaps, each with the readings of its time, where there are any. Over a gap the table may have
/// gone anywhere, so nothing is placed there.
fn unbroken<'a>(positions: &'a [Timed], readings: &'a [Timed]) -> Vec<(&'a [Timed], &'a [Timed])> {
    let limit = gaps::limit_s(positions.iter().map(|p| p.time_s));
    let parts = positions.chunk_by(|a, b| b.time_s - a.time_s <= limit);
    parts
        .filter_map(|part| {
            let (from, to) = (part.first()?.time_s, part.last()?.time_s);
            let first = readings.partition_point(|r| r.time_s < from);
            let end = readings.partition_point(|r| r.time_s <= to);
            let within = readings.get(first..end)?;
            (!within.is_empty()).then_some((part, within))
        })
        .collect()
}

fn swept_by_feed(evidence: &Evidence) -> Result<Inputs, String> {
    let at = |mark: &Mark| match &mark.place {
        Place::Begin {
            station: Some(station),
            ..
        }
        | Place::End {
            station: Some(station),
            ..
        } => Ok(station.position.mm()),
        _ => Err(misplaced(
            mark,
            "a sweep at a steady feed needs to know where it begins and ends",
        )),
    };
    let (mut points, mut unplaced) = (Vec::new(), 0);
    for stretch in stretches(evidence)? {
        let ends = [
            Timed {
                time_s: 0.0,
                value_mm: at(stretch.begin)?,
            },
            Timed {
                time_s: stretch.end.t.since_s(stretch.begin.t),
                value_mm: at(stretch.end)?,
            },
        ];
        let readings = stretch.timed(evidence, cable(stretch.begin)?);
        let placed = by_steady_feed(ends, &readings).map_err(|e| e.to_string())?;
        points.extend(placed.points);
        unplaced += placed.unplaced;
    }
    Ok(Inputs::Sweep { points, unplaced })
}

fn clock(evidence: &Evidence, reversal: bool) -> Result<Inputs, String> {
    let point = |mark: &Mark| {
        let Place::Angle { angle, plane } = &mark.place else {
            return Err(misplaced(mark, "a run-out by the clock needs an angle"));
        };
        Ok(RunoutPoint {
            angle_deg: angle.deg(),
            reading_mm: value(evidence, mark)?.value_mm,
            plane_mm: plane.map(Length::mm),
        })
    };
    let of = |rounds: &dyn Fn(u32) -> bool| {
        counting(evidence)
            .filter(|mark| rounds(mark.round))
            .map(point)
            .collect::<Result<Vec<_>, String>>()
    };
    if !reversal {
        return Ok(Inputs::Runout {
            first: Turning::Angles(of(&|_| true)?),
            turned: None,
        });
    }
    let turned = of(&|round| round > 1)?;
    Ok(Inputs::Runout {
        first: Turning::Angles(of(&|round| round == 1)?),
        // Half a set-up tells nothing yet; the first stands alone until the second is whole.
        turned: (!turned.is_empty()).then_some(turned),
    })
}

fn timed_readings(
    evidence: &Evidence,
    cable: &str,
    (from, to): (Time, Time),
    origin: Time,
    plane: Option<Length>,
) -> Vec<TimedReading> {
    let readings = between(evidence, cable, from, to);
    let times = apart(readings.iter().map(|r| r.t.since_s(origin)).collect());
    readings
        .iter()
        .zip(times)
        .map(|(r, time_s)| TimedReading {
            time_s,
            reading_mm: r.value.mm(),
            plane_mm: plane.map(Length::mm),
        })
        .collect()
}

/// Times that never fall, with those that are the same spread evenly back to the one before: on a busy computer several
/// readings come with one read, and have its time, though the instrument sent them one after the other.
fn apart(mut times: Vec<f64>) -> Vec<f64> {
    let mut start = 0;
    while start < times.len() {
        let time = times[start];
        let end = start + times[start..].iter().take_while(|t| **t == time).count();
        let many = (end - start) as f64;
        // What came first is spread by the pace of what follows.
        let pace = match start.checked_sub(1) {
            Some(before) => (time - times[before]) / many,
            None => times.get(end).map_or(0.0, |next| (next - time) / many),
        };
        for (back, spread) in times[start..end].iter_mut().rev().enumerate() {
            *spread = time - pace * back as f64;
        }
        start = end;
    }
    times
}

fn turns(evidence: &Evidence) -> Result<Inputs, String> {
    let marks: Vec<&Mark> = counting(evidence).collect();
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
        return Err("nothing is recorded yet: mark each time that the line comes by".into());
    };
    let mut readings = Vec::new();
    let mut marks_s = Vec::with_capacity(marks.len());
    for mark in &marks {
        if !matches!(mark.place, Place::Turn { .. }) {
            return Err(misplaced(mark, "a run-out by turns is marked once a turn"));
        }
        marks_s.push(mark.t.since_s(first.t));
    }
    let plane = match &first.place {
        Place::Turn { plane } => *plane,
        _ => None,
    };
    readings.extend(timed_readings(
        evidence,
        cable(first)?,
        (first.t, last.t),
        first.t,
        plane,
    ));
    Ok(Inputs::Runout {
        first: Turning::TurnMarks { readings, marks_s },
        turned: None,
    })
}

fn steady(evidence: &Evidence) -> Result<Inputs, String> {
    let mut readings = Vec::new();
    let stretches = stretches(evidence)?;
    let Some(origin) = stretches.first().map(|stretch| stretch.begin.t) else {
        return Err("nothing is recorded yet".into());
    };
    for stretch in stretches {
        let plane = match &stretch.begin.place {
            Place::Begin { plane, .. } => *plane,
            _ => None,
        };
        readings.extend(timed_readings(
            evidence,
            cable(stretch.begin)?,
            (stretch.begin.t, stretch.end.t),
            origin,
            plane,
        ));
    }
    Ok(Inputs::Runout {
        first: Turning::Steady(readings),
        turned: None,
    })
}

/// The value of a mark as an exact length: of a dwell the mean, to the picometre.
fn length(evidence: &Evidence, mark: &Mark) -> Result<Length, String> {
    let mm = value(evidence, mark)?.value_mm;
    Length::from_mm(mm).ok_or_else(|| format!("mark {}: {mm} mm is no length", mark.number))
}

/// Of the marks at each place the last: an earlier one was before the part was ground again.
fn newest<'a>(marks: impl Iterator<Item = &'a Mark>) -> impl Iterator<Item = &'a Mark> {
    let mut newest: Vec<&Mark> = Vec::new();
    for mark in marks {
        match newest.iter_mut().find(|there| there.place == mark.place) {
            Some(there) => *there = mark,
            None => newest.push(mark),
        }
    }
    newest.into_iter()
}

fn size(evidence: &Evidence, by: SizeBy) -> Result<Measured, String> {
    let marks = || counting(evidence);
    let last = |wanted: &dyn Fn(&Place) -> bool, what: &str| {
        marks()
            .filter(|mark| wanted(&mark.place))
            .last()
            .ok_or_else(|| format!("{what} is not marked yet"))
            .and_then(|mark| length(evidence, mark))
    };
    Ok(match by {
        SizeBy::Sections => {
            let section = |mark: &Mark| {
                let Place::Plane { plane } = &mark.place else {
                    return Err(misplaced(mark, "diameters are marked at planes"));
                };
                Ok(SectionReading {
                    plane_mm: plane.mm(),
                    diameter_mm: value(evidence, mark)?.value_mm,
                })
            };
            Measured::Sections(
                newest(marks())
                    .map(section)
                    .collect::<Result<_, String>>()?,
            )
        }
        SizeBy::StandOff => Measured::StandOff {
            short: last(&|place| *place == Place::StandOff, "the stand-off")?,
        },
        SizeBy::Rollers { radius } => {
            let over = |mark: &Mark| {
                let Place::Rollers { stacks } = &mark.place else {
                    return Err(misplaced(
                        mark,
                        "a measurement over rollers is marked by its stacks",
                    ));
                };
                Ok(Over {
                    stacks: *stacks,
                    over: length(evidence, mark)?,
                })
            };
            Measured::Rollers {
                radius,
                over: newest(marks()).map(over).collect::<Result<_, String>>()?,
            }
        }
        SizeBy::Balls { big, small } => Measured::Balls {
            big: BallInBore {
                radius: big,
                top_below_face: last(&|place| *place == Place::BigBall, "the big ball")?,
            },
            small: BallInBore {
                radius: small,
                top_below_face: last(&|place| *place == Place::SmallBall, "the small ball")?,
            },
        },
    })
}

/// The last print counts: an earlier one was before the part was ground again.
fn contact(evidence: &Evidence) -> Result<Zones, String> {
    let mark = counting(evidence)
        .last()
        .ok_or("no print is marked yet: mark big end, middle and small end in percent")?;
    match &mark.place {
        Place::Print(zones) => Ok(*zones),
        _ => Err(misplaced(mark, "a print is marked by its zones")),
    }
}

fn dial(evidence: &Evidence) -> Result<Vec<DialPoint>, String> {
    let point = |mark: &Mark| {
        let Place::Nominal { nominal, direction } = &mark.place else {
            return Err(misplaced(mark, "an indicator is checked at known steps"));
        };
        Ok(DialPoint {
            nominal_mm: nominal.mm(),
            reading_mm: value(evidence, mark)?.value_mm,
            direction: *direction,
        })
    };
    counting(evidence).map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::apart;

    #[test]
    fn readings_of_one_read_are_spread_back_to_the_one_before() {
        let spread = apart(vec![0.0, 1.0, 1.0, 1.0, 1.0, 1.5]);
        assert_eq!(spread, [0.0, 0.25, 0.5, 0.75, 1.0, 1.5]);
        assert_eq!(apart(vec![1.0, 1.0, 2.0]), [0.5, 1.0, 2.0]);
        assert_eq!(apart(vec![0.0, 0.1, 0.3]), [0.0, 0.1, 0.3], "left alone");
        assert_eq!(apart(Vec::new()), [0.0; 0]);
    }
}
