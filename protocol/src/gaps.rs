//! Gaps in a stretch that is recorded: the cable was away, the computer slept, the store refused. What was read before and
//! after counts where it has its own place or angle; nothing is made up for the time between, and the outcome says so.

use crate::evidence::stretch;
use crate::evidence::{Evidence, Reading, Time};
use metrology::Counted;

/// A silence shorter than this, s, is none: a loaded computer may be late by so much.
const LEAST_S: f64 = 0.5;
/// And it is longer than so many of the usual intervals of its cable.
const INTERVALS: f64 = 5.0;

/// From which silence on (s) the readings at these times have a gap: some times their usual interval, by the median.
pub(crate) fn limit_s(times: impl Iterator<Item = f64>) -> f64 {
    let mut intervals = Vec::new();
    let mut before = None;
    for time in times {
        if let Some(before) = before {
            intervals.push(time - before);
        }
        before = Some(time);
    }
    if intervals.is_empty() {
        return LEAST_S;
    }
    let middle = intervals.len() / 2;
    let (_, median, _) = intervals.select_nth_unstable_by(middle, f64::total_cmp);
    (INTERVALS * *median).max(LEAST_S)
}

/// What the user should know of gaps in what these cables sent, in sentences.
pub(crate) fn remarks(cables: &[&str], evidence: &Evidence) -> Vec<String> {
    let mut remarks = Vec::new();
    let last = evidence.marks.iter().rev().find(|mark| !mark.taken_back);
    for stretch in stretch::of(&evidence.marks) {
        // Turns have no end mark: the last of them is the last mark.
        let Some(to) = stretch.to.or_else(|| last.map(|mark| mark.t)) else {
            continue;
        };
        for cable in cables {
            let all = evidence.readings.get(*cable).into_iter();
            let within = all.flat_map(|all| all.between(stretch.from, to));
            remarks.extend(of_cable(cable, (stretch.from, to), within));
        }
    }
    remarks
}

fn of_cable<'a>(
    cable: &str,
    (from, to): (Time, Time),
    readings: impl Iterator<Item = &'a Reading> + Clone,
) -> Vec<String> {
    let limit = limit_s(readings.clone().map(|r| r.t.since_s(from)));
    let mut found = Vec::new();
    let (mut silences, mut longest, mut missing) = (0_usize, 0.0_f64, 0_u64);
    let mut silence = |from: Time, to: Time| {
        let lasted = to.since_s(from);
        if lasted > limit {
            silences += 1;
            longest = longest.max(lasted);
        }
    };
    let mut before: Option<&Reading> = None;
    for reading in readings {
        silence(before.map_or(from, |before| before.t), reading.t);
        if let Some(before) = before {
            missing += reading.seq.saturating_sub(before.seq + 1);
        }
        before = Some(reading);
    }
    silence(before.map_or(from, |before| before.t), to);
    if silences == 1 {
        found.push(format!(
            "`{cable}` sent nothing for {longest:.1} s of what was recorded; nothing is made up for it"
        ));
    } else if silences > 1 {
        found.push(format!(
            "`{cable}` sent nothing {silences} times, for up to {longest:.1} s of what was recorded; nothing is made up for it"
        ));
    }
    if missing > 0 {
        found.push(format!(
            "{} of `{cable}` not stored, and not counted",
            Counted(missing, "reading")
        ));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Length;

    fn readings(times_s: impl IntoIterator<Item = f64>) -> Vec<Reading> {
        let times = times_s.into_iter().enumerate();
        times
            .map(|(i, s)| Reading {
                seq: i as u64 + 1,
                t: Time(0).plus_s(s),
                value: Length::ZERO,
                resolution: Length::from_um(1),
            })
            .collect()
    }

    fn told(readings: &[Reading], to_s: f64) -> Vec<String> {
        of_cable("bench", (Time(0), Time(0).plus_s(to_s)), readings.iter())
    }

    #[test]
    fn a_silence_counts_by_the_cables_own_habit() {
        let every = |dt: f64, n: i32| (0..n).map(move |i| f64::from(i) * dt);
        assert_eq!(told(&readings(every(0.1, 50)), 4.95), [""; 0]);
        // A second of silence is a gap at ten readings a second, and none at one.
        let at_ten = readings(every(0.1, 20).chain([2.9, 3.0, 3.1]));
        assert_eq!(
            told(&at_ten, 3.1),
            ["`bench` sent nothing for 1.0 s of what was recorded; nothing is made up for it"]
        );
        assert_eq!(told(&readings(every(1.0, 20)), 19.5), [""; 0]);
        // At the beginning and at the end as well.
        let late = readings(every(0.1, 20).map(|t| t + 2.0));
        let twice = told(&late, 9.0);
        assert!(twice[0].contains("2 times, for up to 5.1 s"), "{twice:?}");
    }

    #[test]
    fn readings_that_were_not_stored_are_counted() {
        let mut some = readings((0..20).map(|i| f64::from(i) * 0.1));
        some.drain(5..8);
        assert_eq!(
            told(&some, 1.9),
            ["3 readings of `bench` not stored, and not counted"]
        );
    }
}
