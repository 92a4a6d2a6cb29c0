//! Which marks of a size count: measured again, ground between, and in records made before repeats were pooled.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_protocol::evidence::{Evidence, Mark, MarkSource, Place, Time};
use conewright_protocol::fold::{Outcome, outcome};
use conewright_protocol::plan::{Plan, SizePlan, Work};
use metrology::setup::Setup;
use metrology::size::SizeOutcome;
use metrology::taper::Taper;
use metrology::{Angle, Length};

fn setup() -> Setup {
    let mut taper = Taper::from_half_angle("seat", Angle::half_of_ratio(12.0), "a test").unwrap();
    taper.gauge_diameter = Some(Length::from_um(40_000));
    Setup {
        taper: Some(taper),
        ..Setup::default()
    }
}

fn plan(pooled: bool) -> Plan {
    Plan::of(Work::Size(SizePlan {
        pooled,
        ..SizePlan::default()
    }))
}

/// Diameters at the planes 0 and 24 mm in turn, so many µm above what they are to be, typed to so many µm.
fn typed(marks: &[(i64, i64)]) -> Evidence {
    let mark = |(index, (off_um, step_um)): (usize, &(i64, i64))| {
        let (plane_um, wanted_um) = [(0, 40_000), (24_000, 38_000)][index % 2];
        Mark {
            number: index as u32 + 1,
            t: Time(index as i64),
            place: Place::Plane {
                plane: Length::from_um(plane_um),
            },
            round: 1,
            clamped: false,
            setting: 0,
            source: MarkSource::Typed {
                value: Length::from_um(wanted_um + off_um),
                resolution: Length::from_um(*step_um),
                shown: None,
            },
            taken_back: false,
        }
    };
    Evidence {
        marks: marks.iter().enumerate().map(mark).collect(),
        ..Evidence::default()
    }
}

fn found(pooled: bool, evidence: &Evidence) -> SizeOutcome {
    match outcome(&plan(pooled), &setup(), evidence).unwrap() {
        Outcome::Size(size) => size,
        other => panic!("{other:?}"),
    }
}

fn stock(size: &SizeOutcome) -> f64 {
    (size.stock_on_diameter_um.unwrap() * 1e3).round() * 1e-3
}

#[test]
fn a_step_of_before_counts_the_last_at_each_place() {
    let evidence = typed(&[(60, 1), (60, 1), (20, 1), (20, 1)]);
    assert_eq!(stock(&found(false, &evidence)), 20.0);
    let asked = found(true, &evidence);
    assert!(asked.rounds_disagree.is_some());
    let text = serde_json::to_string(&plan(false)).unwrap();
    assert!(!text.contains("pooled"), "{text}");
}

#[test]
fn ground_begins_a_state_that_a_mark_taken_back_does_not_end() {
    let mut evidence = typed(&[(60, 1), (60, 1), (20, 1), (21, 1), (21, 1), (20, 1)]);
    evidence.ground_before = vec![3];
    assert_eq!(stock(&found(true, &evidence)), 20.5);
    assert_eq!(evidence.first_of_round(1), Some(3));
    assert_eq!(evidence.first_of_round(2), Some(5));
    assert_eq!(evidence.first_of_round(3), None);
    // The first mark after grinding is taken back: those after it are after it all the same.
    evidence.marks[2].taken_back = true;
    assert_eq!(evidence.first_of_round(1), Some(4));
    // All of them are: what was before is shown, and that it was ground since.
    for mark in evidence.marks.iter_mut().skip(2) {
        mark.taken_back = true;
    }
    assert!(evidence.is_ground_since());
    let before = found(true, &evidence);
    assert_eq!(stock(&before), 60.0);
    let said = before.remarks.join("\n");
    assert!(said.contains("was ground after this"), "{said}");
}

/// A value typed with fewer digits is one whose last were nought: the display's step is the finest that was typed.
#[test]
fn the_displays_step_is_the_finest_typed() {
    let evidence = typed(&[(60, 1), (60, 10), (60, 1), (60, 1)]);
    assert_eq!(evidence.finest(), Some(Length::from_um(1)));
    let fine = found(true, &evidence).stock_expanded_um.unwrap();
    assert!(fine < 2.0, "{fine}");
}
