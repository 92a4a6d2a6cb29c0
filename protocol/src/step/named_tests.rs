//! How a place is named in each kind of step.

use super::{AnglesFrom, Next, RunoutPlan, SizeBy, SizePlan, StepKind, Work};
use crate::api::{Code, Refusal};
use crate::evidence::{Mark, MarkSource, Place, Time};
use crate::plan::Plan;
use metrology::Length;
use metrology::contact::Zones;
use metrology::dial::Direction;
use metrology::setup::{Setup, Station};

fn next(place: Option<Place>) -> Next {
    Next { place, round: 1 }
}

fn named(
    plan: &Plan,
    setup: &Setup,
    marks: &[Mark],
    next: &Next,
    text: &str,
) -> Result<Place, Refusal> {
    plan.work.named(setup, marks, next.place.as_ref(), text)
}

fn read(plan: &Plan, text: &str) -> Result<Place, Refusal> {
    let next = crate::pass::next(plan, &Setup::default(), &[], 0);
    named(plan, &Setup::default(), &[], &next, text)
}

#[test]
fn a_station_is_not_farther_outside_than_the_span() {
    let at = |name: &str, um| Station {
        name: name.into(),
        position: Length::from_um(um),
    };
    let spanned = Setup {
        stations: vec![at("A", 0), at("B", 100_000)],
        ..Setup::default()
    };
    let plan = Plan::usual(StepKind::Zero);
    let read = |setup: &Setup, text: &str| named(&plan, setup, &[], &next(None), text);
    for text in ["-100", "200", "50", "B"] {
        assert!(read(&spanned, text).is_ok(), "{text}");
    }
    for (setup, text, limit) in [
        (&spanned, "99999", "200 mm"),
        (&spanned, "200.001", "200 mm"),
        (&spanned, "-100.001", "-100 mm"),
        (&Setup::default(), "20001", "20000 mm"),
    ] {
        let refusal = read(setup, text).unwrap_err();
        let said = &refusal.message;
        assert!(
            said.contains(&format!("{text} mm")) && said.contains(limit),
            "{said}"
        );
        assert!(refusal.hint.unwrap().contains("--span"));
    }
    assert!(read(&Setup::default(), "20000").is_ok());
}

#[test]
fn a_print_is_three_percentages() {
    let plan = Plan::usual(StepKind::Contact);
    let zones = Zones {
        big_percent: 90.0,
        middle_percent: 40.0,
        small_percent: 0.0,
    };
    for text in ["90,40,0", "90 40 0", "90%, 40%, 0%", "90/40/0"] {
        assert_eq!(read(&plan, text), Ok(Place::Print(zones)), "{text}");
    }
    let zones = Zones {
        big_percent: 87.5,
        ..zones
    };
    for text in ["87,5 40 0", "87,5 / 40 / 0", "87.5,40,0", "87,5% 40% 0%"] {
        assert_eq!(read(&plan, text), Ok(Place::Print(zones)), "{text}");
    }
    for text in [
        "",
        "90",
        "90,40",
        "90,40,0,0",
        "90,40,101",
        "-1,0,0",
        "a,b,c",
        "NaN,0,0",
    ] {
        let refusal = read(&plan, text).unwrap_err();
        assert!(refusal.hint.unwrap().contains("90,40,0"), "{text}");
    }
}

#[test]
fn sizes_are_measured_at_what_the_plan_says() {
    let size = |by| {
        Plan::of(Work::Size(SizePlan {
            by,
            ..SizePlan::default()
        }))
    };
    let inch = read(&size(SizeBy::Sections), "0.5in").unwrap();
    assert_eq!(inch.to_string(), "plane 12.7 mm");
    let rollers = size(SizeBy::Rollers {
        radius: Length::from_um(3_000),
    });
    assert_eq!(
        read(&rollers, "20").unwrap().to_string(),
        "rollers on 20 mm"
    );
    let balls = size(SizeBy::Balls {
        big: Length::from_um(10_000),
        small: Length::from_um(5_000),
    });
    assert_eq!(read(&balls, "Small"), Ok(Place::SmallBall));
    assert_eq!(
        read(&size(SizeBy::StandOff), "stand-off"),
        Ok(Place::StandOff)
    );
    for (plan, text) in [
        (&rollers, "-1"),
        (&rollers, "tall"),
        (&balls, "middle"),
        (&size(SizeBy::StandOff), "7"),
        (&size(SizeBy::Sections), "1e300"),
        (&size(SizeBy::Sections), "101m"),
        (&size(SizeBy::Sections), "nan"),
    ] {
        let refusal = read(plan, text).unwrap_err();
        assert_eq!(refusal.code, Code::BadValue, "{text}");
        assert!(refusal.hint.is_some(), "{text}");
    }
}

#[test]
fn a_known_step_above_the_last_is_come_to_upward() {
    let plan = Plan::usual(StepKind::Dial);
    let mut marks: Vec<Mark> = Vec::new();
    let mut ways = String::new();
    for (number, text) in ["1", "2", "2", "1.5", "1.5", "1.6"].iter().enumerate() {
        let place = named(&plan, &Setup::default(), &marks, &next(None), text).unwrap();
        ways.push(match place {
            Place::Nominal {
                direction: Direction::Up,
                ..
            } => 'u',
            _ => 'd',
        });
        marks.push(Mark {
            number: number as u32 + 1,
            t: Time(0),
            place,
            round: 1,
            clamped: false,
            setting: 0,
            source: MarkSource::Judged,
            taken_back: false,
        });
    }
    assert_eq!(ways, "uuuddu");
    // What was taken back says nothing about the way.
    marks.last_mut().unwrap().taken_back = true;
    let again = named(&plan, &Setup::default(), &marks, &next(None), "1.5").unwrap();
    assert_eq!(again.to_string(), "1.5 mm down");
}

#[test]
fn a_stretch_has_no_names_but_its_own() {
    let plan = Plan::of(Work::Runout(RunoutPlan {
        angles: AnglesFrom::Turns,
        ..RunoutPlan::default()
    }));
    assert_eq!(read(&plan, "turn"), Ok(Place::Turn { plane: None }));
    assert!(read(&plan, "120").unwrap_err().message.contains("turn"));
    let steady = Plan::of(Work::Runout(RunoutPlan {
        angles: AnglesFrom::Steady,
        ..RunoutPlan::default()
    }));
    assert_eq!(
        read(&steady, "5").unwrap().to_string(),
        "begin in plane 5 mm"
    );
    assert_eq!(read(&steady, "begin").unwrap().to_string(), "begin");
    let end = next(Some(Place::End { station: None }));
    let setup = Setup::default();
    assert!(named(&steady, &setup, &[], &end, "5").is_err());
}
