//! What is recorded: stretches of time between two marks, whose readings all count.

use super::NoOutcome;
use super::used::counting;
use crate::evidence::{Evidence, Mark, MarkSource, Place, Reading, Time};
use metrology::Length;
use metrology::runout::TimedReading;
use metrology::sweep::Timed;

/// A stretch of time between two marks, whose readings all count.
pub(super) struct Stretch<'a> {
    pub begin: &'a Mark,
    pub end: &'a Mark,
}

/// Each beginning with the end that follows it; a beginning without an end is still being recorded.
pub(super) fn stretches(evidence: &Evidence) -> Result<Vec<Stretch<'_>>, NoOutcome> {
    let mut found = Vec::new();
    let mut open: Option<&Mark> = None;
    for mark in counting(evidence) {
        match (&mark.place, open.take()) {
            (Place::Begin { .. }, None) => open = Some(mark),
            (Place::End { .. }, Some(begin)) => found.push(Stretch { begin, end: mark }),
            (Place::Begin { .. }, Some(before)) => {
                return Err(NoOutcome::BegunTwice {
                    number: mark.number,
                    before: before.number,
                });
            }
            (Place::End { .. }, None) => {
                return Err(NoOutcome::NotBegun(mark.number));
            }
            _ => {
                return Err(NoOutcome::misplaced(
                    mark,
                    "a recorded stretch has a beginning and an end",
                ));
            }
        }
    }
    if found.is_empty() {
        return Err(match open {
            Some(_) => NoOutcome::Recording,
            None => NoOutcome::NothingRecorded,
        });
    }
    Ok(found)
}

/// The cable that a mark of a moment is about.
pub(super) fn cable(mark: &Mark) -> Result<&str, NoOutcome> {
    match &mark.source {
        MarkSource::Moment { cable } => Ok(cable),
        _ => Err(NoOutcome::misplaced(
            mark,
            "a recorded stretch is marked by its moments",
        )),
    }
}

/// The readings of a cable from one moment to another, both counted in.
fn between<'a>(
    evidence: &'a Evidence,
    cable: &str,
    from: Time,
    to: Time,
) -> impl Iterator<Item = &'a Reading> + Clone + use<'a> {
    let readings = evidence.readings.get(cable).into_iter();
    readings.flat_map(move |readings| readings.between(from, to))
}

impl Stretch<'_> {
    pub fn timed(&self, evidence: &Evidence, cable: &str) -> Vec<Timed> {
        between(evidence, cable, self.begin.t, self.end.t)
            .map(|r| Timed {
                time_s: r.t.since_s(self.begin.t),
                value_mm: r.value.mm(),
            })
            .collect()
    }
}

/// The readings of a cable between two moments, timed from `origin`.
pub(super) fn timed_readings(
    evidence: &Evidence,
    cable: &str,
    (from, to): (Time, Time),
    origin: Time,
    plane: Option<Length>,
) -> Vec<TimedReading> {
    let readings = between(evidence, cable, from, to);
    let times = apart(readings.clone().map(|r| r.t.since_s(origin)).collect());
    readings
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

/// What to do where a stretch begins.
pub(super) fn until_its_end(next: &str) -> String {
    format!("{next}: mark, and every reading counts until the end is marked")
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
