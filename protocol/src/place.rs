//! What a mark is about, as the user writes it: each kind of step has its own way to name a place.

use crate::api::{Code, Refusal};
use crate::evidence::{Mark, Place};
use crate::pass::Next;
use crate::plan::{AnglesFrom, Plan, RunoutPlan, SizeBy, SizePlan, Work};
use metrology::contact::Zones;
use metrology::dial::Direction;
use metrology::setup::{Setup, Station};
use metrology::sweep::PositionsFrom;
use metrology::{Angle, Length, Unit};

/// A place farther away than this is a slip of the unit.
const FARTHEST: Length = Length::from_um(100_000_000);

fn bad(message: impl Into<String>, hint: &str) -> Refusal {
    Refusal::new(Code::BadValue, message).hint(hint)
}

/// The place that the user named, in a step with this plan. `next` is what the mark would be about without a name.
///
/// # Errors
/// [`Code::BadValue`] or [`Code::UnknownName`]: what cannot be read or does not belong to the step, and what to write.
pub fn named(
    plan: &Plan,
    setup: &Setup,
    marks: &[Mark],
    next: &Next,
    text: &str,
) -> Result<Place, Refusal> {
    let text = text.trim();
    match &plan.work {
        Work::Zero(_) => station(setup, text).map(Place::Station),
        Work::Sweep(options) => match options.sweep.positions {
            PositionsFrom::Stations => station(setup, text).map(Place::Station),
            PositionsFrom::Cable => word(next, text),
            PositionsFrom::Feed => {
                let station = Some(station(setup, text)?);
                Ok(match next.place {
                    Some(Place::End { .. }) => Place::End { station },
                    _ => Place::Begin {
                        station,
                        plane: None,
                    },
                })
            }
        },
        Work::Runout(options) => match options.angles {
            AnglesFrom::Clock => clock(options, next, text),
            AnglesFrom::Turns => word(next, text),
            AnglesFrom::Steady => steady(next, text),
        },
        Work::Size(options) => sized(options, text),
        Work::Contact(_) => print(text).map(Place::Print),
        Work::Dial(_) => {
            let nominal = length("known step", text, "1.5")?;
            Ok(Place::Nominal {
                nominal,
                direction: direction(marks, nominal),
            })
        }
    }
}

/// What to write when a mark needs a place and none follows from the plan.
#[must_use]
pub fn wanted(plan: &Plan) -> Refusal {
    match &plan.work {
        Work::Zero(_) | Work::Sweep(_) => bad(
            "the session names no stations, so the mark needs one",
            "name a distance from A: `conewright mark 40mm`; or open the session with --span",
        ),
        Work::Runout(_) => bad(
            "the mark needs an angle",
            "name it: `conewright mark 120deg`, or `conewright mark 4h` by the clock",
        ),
        Work::Size(options) => match options.by {
            SizeBy::Rollers { .. } => bad(
                "the step names no stacks, so the mark needs the height of those under the rollers",
                "name it: `conewright mark 20mm`, and `conewright mark 0` without stacks",
            ),
            _ => bad(
                "the step names no planes, so the mark needs one",
                "name its distance from the gauge plane: `conewright mark 10mm`",
            ),
        },
        Work::Contact(_) => bad("a print is marked by what it shows", PRINT_HINT),
        Work::Dial(_) => bad(
            "the step names no known steps, so the mark needs one",
            "name the block under the indicator: `conewright mark 1.5mm`",
        ),
    }
}

/// A station by its name, or by its distance from A.
fn station(setup: &Setup, text: &str) -> Result<Station, Refusal> {
    let mut stations = setup.stations.iter();
    if let Some(known) = stations.find(|station| station.name.eq_ignore_ascii_case(text)) {
        return Ok(known.clone());
    }
    let Some(position) = near(text) else {
        let names: Vec<&str> = setup.stations.iter().map(|s| &*s.name).collect();
        let known = if names.is_empty() {
            "the session names none".to_owned()
        } else {
            format!("there are {}", names.join(", "))
        };
        return Err(Refusal::new(
            Code::UnknownName,
            format!("`{text}` is no station: {known}"),
        )
        .hint("name a station, or a distance from A such as 40mm"));
    };
    let mut stations = setup.stations.iter();
    let known = stations.find(|station| station.position == position);
    Ok(known.cloned().unwrap_or_else(|| Station {
        name: position.decimal(Unit::Mm),
        position,
    }))
}

/// A length within reach.
fn near(text: &str) -> Option<Length> {
    let length = Length::parse(text, Unit::Mm).ok()?;
    (-FARTHEST <= length && length <= FARTHEST).then_some(length)
}

fn length(what: &str, text: &str, example: &str) -> Result<Length, Refusal> {
    let hint = format!("a bare number is in mm: `conewright mark {example}`");
    let length =
        Length::parse(text, Unit::Mm).map_err(|error| bad(format!("{what}: {error}"), &hint))?;
    if (-FARTHEST..=FARTHEST).contains(&length) {
        return Ok(length);
    }
    Err(bad(
        format!("{what}: {length} is out of its domain: within {FARTHEST} of zero"),
        &hint,
    ))
}

/// The words `begin`, `end` and `turn` may be said; a stretch has no other places.
fn word(next: &Next, text: &str) -> Result<Place, Refusal> {
    let (wanted, place) = match &next.place {
        Some(place @ Place::Begin { .. }) => ("begin", place),
        Some(place @ Place::End { .. }) => ("end", place),
        Some(place @ Place::Turn { .. }) => ("turn", place),
        _ => {
            return Err(bad(
                format!("`{text}` names no place in this step"),
                "mark without a name: `conewright mark`",
            ));
        }
    };
    if text.eq_ignore_ascii_case(wanted) {
        return Ok(place.clone());
    }
    Err(bad(
        format!(
            "`{text}` names no place in this step, whose readings all count: next is its {wanted}"
        ),
        "mark without a name: `conewright mark`",
    ))
}

fn steady(next: &Next, text: &str) -> Result<Place, Refusal> {
    if let Ok(place) = word(next, text) {
        return Ok(place);
    }
    match next.place {
        Some(Place::Begin { .. }) => Ok(Place::Begin {
            station: None,
            plane: Some(length("plane", text, "5")?),
        }),
        _ => word(next, text),
    }
}

fn clock(options: &RunoutPlan, next: &Next, text: &str) -> Result<Place, Refusal> {
    let plane = match &next.place {
        Some(Place::Angle { plane, .. }) => *plane,
        _ => options.planes.first().copied(),
    };
    Ok(Place::Angle {
        angle: angle(text)?,
        plane,
    })
}

/// An angle of the part about its axis, 0° to 360°: `120`, `120deg`, or an hour of the clock, 12 o'clock being 0°: `4h`.
///
/// # Errors
/// It cannot be read, or lies beyond the turn.
pub fn angle(text: &str) -> Result<Angle, Refusal> {
    const HINT: &str =
        "write degrees from 0 to 360, `120` or `120deg`, or an hour of the clock, `4h`";
    let text = text.trim();
    let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
    if let Some(hours) = text.strip_suffix(['h', 'H']) {
        return match number(hours) {
            Some(hour) if (0.0..=12.0).contains(&hour) => {
                Ok(Angle::from_deg((hour * 30.0).rem_euclid(360.0)))
            }
            _ => Err(bad(format!("`{text}` is no hour of the clock"), HINT)),
        };
    }
    let angle = match number(text) {
        Some(deg) => Angle::from_deg(deg),
        None => text
            .parse::<Angle>()
            .map_err(|error| bad(error.to_string(), HINT))?,
    };
    // A degree that went through radians may come out a hair beyond.
    let deg = (angle.deg() * 1e9).round() * 1e-9;
    if (0.0..=360.0).contains(&deg) {
        Ok(Angle::from_deg(deg))
    } else {
        Err(bad(
            format!(
                "{:.3}° is beyond the turn: angles are from 0° to 360°",
                angle.deg()
            ),
            HINT,
        ))
    }
}

fn sized(options: &SizePlan, text: &str) -> Result<Place, Refusal> {
    let one_of = |places: &[(&str, Place)], what: &str| {
        let mut known = places.iter();
        let found = known.find(|(name, _)| name.eq_ignore_ascii_case(text));
        found.map(|(_, place)| place.clone()).ok_or_else(|| {
            let names: Vec<&str> = places.iter().map(|(name, _)| *name).collect();
            bad(
                format!("`{text}` names nothing that is measured here: {what}"),
                &format!("write {}, or mark without a name", names.join(" or ")),
            )
        })
    };
    match options.by {
        SizeBy::Sections => Ok(Place::Plane {
            plane: length("plane", text, "10")?,
        }),
        SizeBy::Rollers { .. } => {
            let stacks = length("height of the stacks", text, "20")?;
            if stacks < Length::ZERO {
                return Err(bad(
                    format!("height of the stacks: {stacks} is out of its domain: 0 mm or more"),
                    "a bare number is in mm: `conewright mark 20`",
                ));
            }
            Ok(Place::Rollers { stacks })
        }
        SizeBy::StandOff => one_of(
            &[("stand-off", Place::StandOff)],
            "how far the gauge stops short of its seat",
        ),
        SizeBy::Balls { .. } => one_of(
            &[("big", Place::BigBall), ("small", Place::SmallBall)],
            "the tops of the big and of the small ball below the face",
        ),
    }
}

const PRINT_HINT: &str = "write what share of big end, middle and small end is covered, in percent: `conewright mark 90,40,0`";

fn print(text: &str) -> Result<Zones, Refusal> {
    let parts: Vec<&str> = text
        .split([',', '/', ' '])
        .map(|part| part.trim().trim_end_matches('%').trim_end())
        .filter(|part| !part.is_empty())
        .collect();
    let [big, middle, small] = parts[..] else {
        return Err(bad(
            format!(
                "a print is marked by three percentages, and `{text}` has {}",
                parts.len()
            ),
            PRINT_HINT,
        ));
    };
    let percent = |zone: &str, text: &str| match text.parse::<f64>() {
        Ok(percent) if (0.0..=100.0).contains(&percent) => Ok(percent),
        Ok(_) => Err(bad(
            format!("{zone}: {text} % is out of its domain: 0 to 100 %"),
            PRINT_HINT,
        )),
        Err(_) => Err(bad(format!("{zone}: `{text}` is no number"), PRINT_HINT)),
    };
    Ok(Zones {
        big_percent: percent("big end", big)?,
        middle_percent: percent("middle", middle)?,
        small_percent: percent("small end", small)?,
    })
}

/// Which way a step is come to: as the way from the last one goes, and the first upward.
fn direction(marks: &[Mark], nominal: Length) -> Direction {
    let counting = marks.iter().rev().filter(|mark| !mark.taken_back);
    let mut nominals = counting.filter_map(|mark| match &mark.place {
        Place::Nominal { nominal, direction } => Some((*nominal, *direction)),
        _ => None,
    });
    match nominals.next() {
        None => Direction::Up,
        Some((last, _)) if nominal > last => Direction::Up,
        Some((last, _)) if nominal < last => Direction::Down,
        Some((_, direction)) => direction,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::{MarkSource, Time};
    use crate::plan::StepKind;

    fn next(place: Option<Place>) -> Next {
        Next { place, round: 1 }
    }

    fn read(plan: &Plan, text: &str) -> Result<Place, Refusal> {
        let next = crate::pass::next(plan, &Setup::default(), &[], 0);
        named(plan, &Setup::default(), &[], &next, text)
    }

    #[test]
    fn an_angle_is_a_degree_or_an_hour() {
        for (text, deg) in [
            ("120", 120.0),
            ("120deg", 120.0),
            (" 4h ", 120.0),
            ("12h", 0.0),
            ("0", 0.0),
            ("360", 360.0),
            ("4,5h", 135.0),
            ("90°", 90.0),
            ("30d30m", 30.5),
        ] {
            let read = angle(text).unwrap().deg();
            assert!((read - deg).abs() < 1e-9, "{text}: {read}");
        }
        for text in [
            "361", "-1", "13h", "-1h", "h", "NaN", "infh", "inf", "four", "", "1e9",
        ] {
            let refusal = angle(text).unwrap_err();
            assert_eq!(refusal.code, Code::BadValue, "{text}");
            assert!(refusal.hint.unwrap().contains("4h"), "{text}");
        }
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
}
