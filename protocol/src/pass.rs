//! A pass: what the next mark is about, and which round it belongs to.

use crate::evidence::{Mark, Place};
use crate::plan::{AnglesFrom, Plan, RunoutPlan, SizeBy, SizePlan, Work};
use metrology::dial::Direction;
use metrology::setup::{Setup, Station};
use metrology::sweep::PositionsFrom;
use metrology::{Angle, Length};

/// What the next mark is for.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// What it is about; absent when only the user can say.
    pub place: Option<Place>,
    /// The round.
    pub round: u32,
}

/// Angles closer than this, degrees, are one position of the clock.
const ONE_ANGLE_DEG: f64 = 1e-6;

/// The next mark of a step.
///
/// It follows the last mark that counts, named by the user or not. A round is complete when its pass is; a change of
/// clamp or part begins a new one, since readings before and after it do not belong together. `setting` is the present
/// count of such changes. Stretches that are recorded are a round each, and the turns of a part are one.
#[must_use]
pub fn next(plan: &Plan, setup: &Setup, marks: &[Mark], setting: u32) -> Next {
    let counting: Vec<&Mark> = marks.iter().filter(|mark| !mark.taken_back).collect();
    let Some(last) = counting.last() else {
        return Next {
            place: first(plan, setup),
            round: 1,
        };
    };
    if plan.records() {
        return next_moment(plan, setup, &counting, last);
    }
    let anew = || Next {
        place: first(plan, setup),
        round: last.round + 1,
    };
    if last.setting != setting {
        return anew();
    }
    let round: Vec<&Mark> = counting
        .iter()
        .copied()
        .filter(|mark| mark.round == last.round)
        .collect();
    let within = |place: Option<Place>| match place {
        Some(place) => Next {
            place: Some(place),
            round: last.round,
        },
        None => anew(),
    };
    match &plan.work {
        Work::Zero(_) if setup.pass.is_empty() => anew(),
        Work::Zero(_) => within(left_of_pass(setup, &round)),
        Work::Sweep(_) => within(next_station(setup, last)),
        Work::Runout(options) => next_angle(options, last, &round),
        Work::Size(options) => {
            if listed(options).is_empty() && by_place(options) {
                // Only the user knows the places, and where the pass ends.
                return Next {
                    place: None,
                    round: last.round,
                };
            }
            within(next_size(options, last))
        }
        Work::Dial(options) => {
            if options.nominals.is_empty() {
                return Next {
                    place: None,
                    round: last.round,
                };
            }
            within(next_nominal(&options.nominals, last))
        }
        Work::Contact(_) => anew(),
    }
}

/// The next mark when the user asks for a new round; the same as [`next`] when that begins one, or one is recorded.
#[must_use]
pub fn new_round(plan: &Plan, setup: &Setup, marks: &[Mark], setting: u32) -> Next {
    let next = next(plan, setup, marks, setting);
    let begun = marks
        .iter()
        .any(|mark| !mark.taken_back && mark.round == next.round);
    if plan.records() || !begun {
        return next;
    }
    Next {
        place: first(plan, setup),
        round: next.round + 1,
    }
}

/// What a pass begins with.
fn first(plan: &Plan, setup: &Setup) -> Option<Place> {
    match &plan.work {
        Work::Zero(_) => of_pass(setup, 0),
        Work::Sweep(options) => match options.sweep.positions {
            PositionsFrom::Stations => along(setup).into_iter().next().map(Place::Station),
            PositionsFrom::Cable => Some(begin(None)),
            PositionsFrom::Feed => ends(setup).map(|[a, _]| begin(Some(a))),
        },
        Work::Runout(options) => {
            let plane = options.planes.first().copied();
            Some(match options.angles {
                AnglesFrom::Clock => Place::Angle {
                    angle: Angle::ZERO,
                    plane,
                },
                AnglesFrom::Turns => Place::Turn { plane },
                AnglesFrom::Steady => Place::Begin {
                    station: None,
                    plane,
                },
            })
        }
        Work::Size(options) => match options.by {
            SizeBy::Sections => options
                .at
                .first()
                .map(|plane| Place::Plane { plane: *plane }),
            SizeBy::StandOff => Some(Place::StandOff),
            SizeBy::Rollers { .. } => options
                .at
                .first()
                .map(|stacks| Place::Rollers { stacks: *stacks }),
            SizeBy::Balls { .. } => Some(Place::BigBall),
        },
        Work::Contact(_) => None,
        Work::Dial(options) => options.nominals.first().map(|nominal| Place::Nominal {
            nominal: *nominal,
            direction: Direction::Up,
        }),
    }
}

const fn begin(station: Option<Station>) -> Place {
    Place::Begin {
        station,
        plane: None,
    }
}

/// The station that comes next in a round of which these are marked, in whatever order; none when nothing is left of it.
///
/// Each mark strikes off the next of its station in the pass; one at another place strikes off nothing. It goes on behind the
/// last that was struck off. What lies before it is gone back to only where its station has no mark yet: a round that was
/// begun in the middle of its pass is closed at its end.
fn left_of_pass(setup: &Setup, round: &[&Mark]) -> Option<Place> {
    let mut left: Vec<bool> = vec![true; setup.pass.len()];
    let mut behind = 0;
    let marked = |name: &str| {
        let mut stations = round.iter().filter_map(|mark| mark.station());
        stations.any(|station| station.name == name)
    };
    for station in round.iter().filter_map(|mark| mark.station()) {
        let order = (behind..left.len()).chain(0..behind);
        let mut struck = order.filter(|i| left[*i] && setup.pass[*i] == station.name);
        if let Some(index) = struck.next() {
            left[index] = false;
            behind = index + 1;
        }
    }
    let next = (behind..left.len())
        .find(|i| left[*i])
        .or_else(|| (0..behind).find(|i| left[*i] && !marked(&setup.pass[*i])))?;
    of_pass(setup, next)
}

fn of_pass(setup: &Setup, index: usize) -> Option<Place> {
    let name = setup.pass.get(index)?;
    let mut stations = setup.stations.iter();
    let station = stations.find(|station| station.name == *name)?;
    Some(Place::Station(station.clone()))
}

/// The stations in the order of their places.
fn along(setup: &Setup) -> Vec<Station> {
    let mut stations = setup.stations.clone();
    stations.sort_by_key(|station| station.position);
    stations
}

/// The outermost stations, when there are two.
fn ends(setup: &Setup) -> Option<[Station; 2]> {
    let stations = along(setup);
    match (stations.first(), stations.last()) {
        (Some(a), Some(b)) if a.position != b.position => Some([a.clone(), b.clone()]),
        _ => None,
    }
}

/// The station after the place of the last mark; none beyond the last station.
fn next_station(setup: &Setup, last: &Mark) -> Option<Place> {
    let from = last.station()?.position;
    let mut after = along(setup).into_iter();
    after
        .find(|station| station.position > from)
        .map(Place::Station)
}

/// A turn goes on from wherever the user began it, and is whole when it comes to a position that is marked already.
fn next_angle(options: &RunoutPlan, last: &Mark, round: &[&Mark]) -> Next {
    let Place::Angle { angle, plane } = &last.place else {
        return Next {
            place: None,
            round: last.round,
        };
    };
    let further = angle.deg() + 360.0 / f64::from(options.per_turn.max(1));
    let deg = (further.rem_euclid(360.0) * 1e9).round() * 1e-9;
    // Twelve steps of 30° must come to 0° and not to a hair below 360°.
    let deg = if deg > 360.0 - ONE_ANGLE_DEG {
        0.0
    } else {
        deg
    };
    let is_marked = round.iter().any(|mark| match &mark.place {
        Place::Angle { angle, plane: own } if own == plane => {
            let apart = (angle.deg() - deg).rem_euclid(360.0);
            apart.min(360.0 - apart) < ONE_ANGLE_DEG
        }
        _ => false,
    });
    let angle = Angle::from_deg(deg);
    let at = |plane, round| Next {
        place: Some(Place::Angle { angle, plane }),
        round,
    };
    if !is_marked {
        return at(*plane, last.round);
    }
    match plane.and_then(|plane| after(&options.planes, plane)) {
        Some(plane) => at(Some(plane), last.round),
        None => at(options.planes.first().copied(), last.round + 1),
    }
}

/// What follows in a list; none after the last, or when it is not in it.
fn after(list: &[Length], of: Length) -> Option<Length> {
    let place = list.iter().position(|one| *one == of)?;
    list.get(place + 1).copied()
}

/// Whether this size is measured at several places.
const fn by_place(options: &SizePlan) -> bool {
    matches!(options.by, SizeBy::Sections | SizeBy::Rollers { .. })
}

fn listed(options: &SizePlan) -> &[Length] {
    if by_place(options) { &options.at } else { &[] }
}

fn next_size(options: &SizePlan, last: &Mark) -> Option<Place> {
    match &last.place {
        Place::Plane { plane } => {
            following(&options.at, *plane).map(|plane| Place::Plane { plane })
        }
        Place::Rollers { stacks } => {
            following(&options.at, *stacks).map(|stacks| Place::Rollers { stacks })
        }
        Place::BigBall => Some(Place::SmallBall),
        _ => None,
    }
}

/// What follows in a list of places; after one of the user's own, the next beyond it.
fn following(list: &[Length], of: Length) -> Option<Length> {
    if list.contains(&of) {
        return after(list, of);
    }
    list.iter().copied().filter(|one| *one > of).min()
}

/// Up through all known steps and down again: the highest is come to from below and then from above.
fn next_nominal(nominals: &[Length], last: &Mark) -> Option<Place> {
    let Place::Nominal { nominal, direction } = &last.place else {
        return None;
    };
    let (nominal, direction) = match direction {
        Direction::Up => match nominals.iter().filter(|n| *n > nominal).min() {
            Some(above) => (*above, Direction::Up),
            None => (*nominals.iter().max()?, Direction::Down),
        },
        Direction::Down => {
            let below = nominals.iter().filter(|n| *n < nominal).max()?;
            (*below, Direction::Down)
        }
    };
    Some(Place::Nominal { nominal, direction })
}

/// What is marked next in a stretch of time: its end when it has begun, else the beginning of another.
fn next_moment(plan: &Plan, setup: &Setup, counting: &[&Mark], last: &Mark) -> Next {
    let feeds = matches!(&plan.work, Work::Sweep(options) if options.sweep.positions == PositionsFrom::Feed);
    let (place, round) = match &last.place {
        Place::Turn { plane } => (Some(Place::Turn { plane: *plane }), last.round),
        Place::Begin { station, .. } => {
            let end = |station| Some(Place::End { station });
            let place = match (feeds, ends(setup)) {
                (false, _) => end(None),
                (true, Some([a, b])) => {
                    let at_b = station.as_ref().is_some_and(|s| s.position == b.position);
                    end(Some(if at_b { a } else { b }))
                }
                (true, None) => None,
            };
            (place, last.round)
        }
        Place::End { station } => {
            let place = if feeds {
                // The table stands where the feed ended, and goes back.
                Some(begin(station.clone()))
            } else {
                next_plane(plan, counting).or_else(|| first(plan, setup))
            };
            (place, last.round + 1)
        }
        _ => (first(plan, setup), last.round + 1),
    };
    Next { place, round }
}

/// The beginning in the plane after that of the last one, where a turning part is read in several.
fn next_plane(plan: &Plan, counting: &[&Mark]) -> Option<Place> {
    let Work::Runout(options) = &plan.work else {
        return None;
    };
    let last = counting.iter().rev().find_map(|mark| match &mark.place {
        Place::Begin { plane, .. } => Some(*plane),
        _ => None,
    })??;
    Some(Place::Begin {
        station: None,
        plane: Some(after(&options.planes, last)?),
    })
}

#[cfg(test)]
mod tests;
