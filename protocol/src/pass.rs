//! A pass over the stations: which station the next mark is for, and which round it belongs to.

use crate::evidence::Mark;
use metrology::setup::{Setup, Station};

/// What the next mark is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Next {
    /// The station; absent when the set-up names none.
    pub station: Option<Station>,
    /// The round.
    pub round: u32,
}

/// The next mark of the habit that the set-up states (`pass`, usually A B A).
///
/// A round is complete when the pass is; a change of clamp or part begins a new round, since readings before and
/// after it do not belong together. `setting` is the present count of such changes.
#[must_use]
pub fn next(setup: &Setup, marks: &[Mark], setting: u32) -> Next {
    let counting = || marks.iter().filter(|mark| !mark.taken_back);
    let station = |index: usize| {
        let name = setup.pass.get(index)?;
        setup
            .stations
            .iter()
            .find(|station| station.name == *name)
            .cloned()
    };
    let Some(last) = counting().next_back() else {
        return Next {
            station: station(0),
            round: 1,
        };
    };
    let made = counting().filter(|mark| mark.round == last.round).count();
    if made >= setup.pass.len() || last.setting != setting {
        Next {
            station: station(0),
            round: last.round + 1,
        }
    } else {
        Next {
            station: station(made),
            round: last.round,
        }
    }
}

/// The round of a mark at a station that the user named, or of a new round that the user asked for.
///
/// Naming a station of the running pass goes on with the round; the round is complete by the number of its marks.
#[must_use]
pub fn round_for(setup: &Setup, marks: &[Mark], setting: u32, new_round: bool) -> u32 {
    let next = next(setup, marks, setting);
    let begun = marks
        .iter()
        .any(|mark| !mark.taken_back && mark.round == next.round);
    if new_round && begun {
        next.round + 1
    } else {
        next.round
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::{MarkSource, Place, Time};
    use metrology::Length;

    fn setup() -> Setup {
        let station = |name: &str, um| Station {
            name: name.into(),
            position: Length::from_um(um),
        };
        Setup {
            stations: vec![station("A", 0), station("B", 80_000)],
            pass: ["A", "B", "A"].map(String::from).to_vec(),
            ..Setup::default()
        }
    }

    fn mark(number: u32, round: u32, setting: u32) -> Mark {
        Mark {
            number,
            t: Time(0),
            place: Place::Station(setup().stations[0].clone()),
            round,
            clamped: false,
            setting,
            source: MarkSource::Typed {
                value: Length::ZERO,
                resolution: Length::from_um(1),
            },
            taken_back: false,
        }
    }

    fn told(marks: &[Mark], setting: u32) -> (String, u32) {
        let next = next(&setup(), marks, setting);
        (next.station.unwrap().name, next.round)
    }

    #[test]
    fn the_habit_is_followed_round_by_round() {
        let mut marks = Vec::new();
        let mut seen = Vec::new();
        for number in 1..=7 {
            let (station, round) = told(&marks, 0);
            seen.push(format!("{station}{round}"));
            marks.push(mark(number, round, 0));
        }
        assert_eq!(seen, ["A1", "B1", "A1", "A2", "B2", "A2", "A3"]);
    }

    #[test]
    fn a_mark_taken_back_is_made_again() {
        let mut marks = vec![mark(1, 1, 0), mark(2, 1, 0)];
        marks[1].taken_back = true;
        assert_eq!(told(&marks, 0), ("B".into(), 1));
        marks[0].taken_back = true;
        assert_eq!(told(&marks, 0), ("A".into(), 1));
    }

    #[test]
    fn the_clamp_begins_a_round_and_so_does_the_user() {
        let marks = [mark(1, 1, 0), mark(2, 1, 0)];
        assert_eq!(told(&marks, 1), ("A".into(), 2));
        assert_eq!(round_for(&setup(), &marks, 0, true), 2);
        assert_eq!(round_for(&setup(), &marks, 0, false), 1);
        assert_eq!(round_for(&setup(), &[], 0, true), 1);
    }
}
