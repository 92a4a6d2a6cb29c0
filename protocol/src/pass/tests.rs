use super::*;
use crate::evidence::{MarkSource, Place, Time};
use crate::plan::{AnglesFrom, DialPlan, RunoutPlan, SizeBy, SizePlan, SweepPlan, Work};
use metrology::setup::Station;
use metrology::sweep::{PositionsFrom, SweepOptions};
use metrology::{Angle, Length};

fn setup() -> Setup {
    let station = |name: &str, um| Station {
        name: name.into(),
        position: Length::from_um(um),
    };
    Setup {
        // As a user may write them: not in the order of their places.
        stations: vec![station("A", 0), station("B", 80_000), station("M", 40_000)],
        pass: ["A", "B", "A"].map(String::from).to_vec(),
        ..Setup::default()
    }
}

fn zero() -> Plan {
    Plan::usual(crate::plan::StepKind::Zero)
}

fn mark(number: u32, place: Place, round: u32, setting: u32) -> Mark {
    Mark {
        number,
        t: Time(0),
        place,
        round,
        clamped: false,
        setting,
        source: MarkSource::Judged,
        taken_back: false,
    }
}

fn at_a(number: u32, round: u32, setting: u32) -> Mark {
    let station = setup().stations[0].clone();
    mark(number, Place::Station(station), round, setting)
}

fn told(plan: &Plan, marks: &[Mark], setting: u32) -> (String, u32) {
    let next = next(plan, &setup(), marks, setting);
    (
        next.place
            .map_or_else(String::new, |place| place.to_string()),
        next.round,
    )
}

/// The next station follows from those that are marked, and not from how many.
#[test]
fn a_round_goes_on_from_where_it_was_begun() {
    let at = |name: &str| {
        let setup = setup();
        let mut stations = setup.stations.into_iter();
        Place::Station(stations.find(|station| station.name == name).unwrap())
    };
    for (marked, next) in [
        (&["B"][..], "A"),
        (&["B", "A"], "A #2"),
        (&["A", "M"], "B"),
        (&["A", "M", "B"], "A"),
        (&["A", "A"], "B"),
        (&["A", "A", "B"], "A #2"),
        (&["A", "B", "B"], "A"),
        (&["A", "B", "A"], "A #2"),
    ] {
        let marks: Vec<Mark> = (1..)
            .zip(marked)
            .map(|(number, name)| mark(number, at(name), 1, 0))
            .collect();
        let (place, round) = told(&zero(), &marks, 0);
        let found = if round == 1 {
            place
        } else {
            format!("{place} #{round}")
        };
        assert_eq!(found, next, "after {marked:?}");
    }
}

/// What a user gets who marks whatever comes next, `count` times.
fn followed(plan: &Plan, marks: &mut Vec<Mark>, count: u32) -> Vec<String> {
    let begun = marks.len() as u32;
    (begun + 1..=begun + count)
        .map(|number| {
            let next = next(plan, &setup(), &*marks, 0);
            let place = next.place.unwrap();
            let seen = format!("{place} #{}", next.round);
            marks.push(mark(number, place, next.round, 0));
            seen
        })
        .collect()
}

#[test]
fn the_habit_of_a_zero_step_is_followed_round_by_round() {
    let seen = followed(&zero(), &mut Vec::new(), 7);
    assert_eq!(
        seen,
        ["A #1", "B #1", "A #1", "A #2", "B #2", "A #2", "A #3"]
    );
}

#[test]
fn a_mark_taken_back_is_made_again() {
    let mut marks = vec![at_a(1, 1, 0), at_a(2, 1, 0)];
    marks[1].taken_back = true;
    assert_eq!(told(&zero(), &marks, 0), ("B".into(), 1));
    marks[0].taken_back = true;
    assert_eq!(told(&zero(), &marks, 0), ("A".into(), 1));
}

#[test]
fn the_clamp_begins_a_round_and_so_does_the_user() {
    let marks = [at_a(1, 1, 0), at_a(2, 1, 0)];
    assert_eq!(told(&zero(), &marks, 1), ("A".into(), 2));
    let anew = |marks: &[Mark]| {
        let next = new_round(&zero(), &setup(), marks, 0);
        (next.place.unwrap().to_string(), next.round)
    };
    assert_eq!(anew(&marks), ("A".into(), 2));
    assert_eq!(anew(&[]), ("A".into(), 1));
}

fn sweep(positions: PositionsFrom) -> Plan {
    Plan::of(Work::Sweep(SweepPlan {
        sweep: SweepOptions {
            positions,
            ..SweepOptions::default()
        },
        position_cable: None,
    }))
}

#[test]
fn a_sweep_goes_along_the_stations_in_order_of_their_places() {
    let plan = sweep(PositionsFrom::Stations);
    let mut marks = Vec::new();
    assert_eq!(
        followed(&plan, &mut marks, 5),
        ["A #1", "M #1", "B #1", "A #2", "M #2"]
    );
    // From a place of the user's own it goes on to the station beyond.
    let own = Station {
        name: "60".into(),
        position: Length::from_um(60_000),
    };
    marks.push(mark(6, Place::Station(own), 2, 0));
    assert_eq!(told(&plan, &marks, 0), ("B".into(), 2));
}

#[test]
fn stretches_begin_and_end_and_a_feed_goes_there_and_back() {
    let seen = followed(&sweep(PositionsFrom::Cable), &mut Vec::new(), 3);
    assert_eq!(seen, ["begin #1", "end #1", "begin #2"]);
    let mut marks = Vec::new();
    let plan = sweep(PositionsFrom::Feed);
    assert_eq!(
        followed(&plan, &mut marks, 4),
        [
            "begin at A #1",
            "end at B #1",
            "begin at B #2",
            "end at A #2"
        ]
    );
    marks[3].taken_back = true;
    assert_eq!(told(&plan, &marks, 0), ("end at A".into(), 2));
}

fn runout(angles: AnglesFrom, per_turn: u32, planes: &[i64], reversal: bool) -> Plan {
    Plan::of(Work::Runout(RunoutPlan {
        angles,
        per_turn,
        planes: planes.iter().map(|um| Length::from_um(*um)).collect(),
        reversal,
        ..RunoutPlan::default()
    }))
}

#[test]
fn the_clock_goes_round_plane_by_plane() {
    let plan = runout(AnglesFrom::Clock, 4, &[5_000, 45_000], false);
    let mut marks = Vec::new();
    let seen = followed(&plan, &mut marks, 9);
    assert_eq!(seen[0], "0° in plane 5 mm #1");
    assert_eq!(seen[3], "270° in plane 5 mm #1");
    assert_eq!(seen[4], "0° in plane 45 mm #1");
    assert_eq!(seen[7], "270° in plane 45 mm #1");
    assert_eq!(seen[8], "0° in plane 5 mm #2");
    for taken in &mut marks[6..] {
        taken.taken_back = true;
    }
    assert_eq!(told(&plan, &marks, 0).0, "180° in plane 45 mm");
}

#[test]
fn a_turn_may_begin_anywhere_and_a_reversal_repeats_its_angles() {
    let plan = runout(AnglesFrom::Clock, 12, &[], true);
    let at = |deg| Place::Angle {
        angle: Angle::from_deg(deg),
        plane: None,
    };
    let mut marks = vec![mark(1, at(120.0), 1, 0)];
    let seen = followed(&plan, &mut marks, 13);
    assert_eq!(seen[0], "150° #1");
    assert_eq!(seen[7], "0° #1");
    assert_eq!(seen[10], "90° #1");
    assert_eq!(seen[11], "120° #2", "the part is turned, and read again");
    // Every position of a turn of any number is met exactly once.
    for per_turn in [3, 7, 12, 36, 359, 360] {
        let plan = runout(AnglesFrom::Clock, per_turn, &[], false);
        let mut marks = Vec::new();
        followed(&plan, &mut marks, per_turn);
        assert!(marks.iter().all(|mark| mark.round == 1), "{per_turn}");
        assert_eq!(told(&plan, &marks, 0), ("0°".into(), 2), "{per_turn}");
    }
}

#[test]
fn a_turning_part_is_marked_turn_by_turn_or_plane_by_plane() {
    let turns = runout(AnglesFrom::Turns, 12, &[], false);
    assert_eq!(
        followed(&turns, &mut Vec::new(), 3),
        ["turn #1", "turn #1", "turn #1"]
    );
    let steady = runout(AnglesFrom::Steady, 12, &[5_000, 45_000], false);
    assert_eq!(
        followed(&steady, &mut Vec::new(), 5),
        [
            "begin in plane 5 mm #1",
            "end #1",
            "begin in plane 45 mm #2",
            "end #2",
            "begin in plane 5 mm #3"
        ]
    );
}

fn size(by: SizeBy, at: &[i64]) -> Plan {
    Plan::of(Work::Size(SizePlan {
        by,
        at: at.iter().map(|um| Length::from_um(*um)).collect(),
        ..SizePlan::default()
    }))
}

#[test]
fn a_size_is_measured_place_by_place() {
    let um = Length::from_um;
    assert_eq!(
        followed(&size(SizeBy::Sections, &[0, 40_000]), &mut Vec::new(), 3),
        ["plane 0 mm #1", "plane 40 mm #1", "plane 0 mm #2"]
    );
    let rollers = SizeBy::Rollers { radius: um(3_000) };
    assert_eq!(
        followed(&size(rollers, &[0, 20_000]), &mut Vec::new(), 2),
        ["rollers on 0 mm #1", "rollers on 20 mm #1"]
    );
    let balls = SizeBy::Balls {
        big: um(10_000),
        small: um(5_000),
    };
    assert_eq!(
        followed(&size(balls, &[]), &mut Vec::new(), 3),
        ["big ball #1", "small ball #1", "big ball #2"]
    );
    assert_eq!(
        followed(&size(SizeBy::StandOff, &[]), &mut Vec::new(), 2),
        ["stand-off #1", "stand-off #2"]
    );
    let open = size(SizeBy::Sections, &[]);
    assert_eq!(told(&open, &[], 0), (String::new(), 1));
    let own = mark(1, Place::Plane { plane: um(7_000) }, 1, 0);
    assert_eq!(told(&open, &[own], 0), (String::new(), 1));
}

#[test]
fn known_steps_are_read_upward_and_then_downward() {
    let plan = Plan::of(Work::Dial(DialPlan {
        nominals: [0, 1_000, 2_000].map(Length::from_um).to_vec(),
        ..DialPlan::default()
    }));
    let mut marks = Vec::new();
    assert_eq!(
        followed(&plan, &mut marks, 7),
        [
            "0 mm up #1",
            "1 mm up #1",
            "2 mm up #1",
            "2 mm down #1",
            "1 mm down #1",
            "0 mm down #1",
            "0 mm up #2"
        ]
    );
}

#[test]
fn a_print_is_told_by_the_user_alone() {
    let plan = Plan::usual(crate::plan::StepKind::Contact);
    assert_eq!(told(&plan, &[], 0), (String::new(), 1));
    assert_eq!(told(&plan, &[at_a(1, 1, 0)], 0), (String::new(), 2));
}
