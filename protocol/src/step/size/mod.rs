//! Size: what is left to grind.

mod options;
mod screen;
mod sheet;

pub use options::{SizeAnalysis, SizeOptions};

use super::used::{counting, value};
use super::{Asked, ConeFound, Next, NoOutcome, Occasion, Refused, Said, Step, StepKind};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use crate::place;
use metrology::setup::Setup;
use metrology::size::{self, Ball, Measured, Over, SectionReading, SizeOutcome};
use metrology::{Angle, Length};
use serde::{Deserialize, Serialize};

/// How a size is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(tag = "how", rename_all = "kebab-case")]
pub enum SizeBy {
    /// Diameters at planes.
    #[default]
    Sections,
    /// How far the gauge or the mating part stops short of its seat.
    StandOff,
    /// Over two equal rollers on equal stacks.
    Rollers {
        /// Their radius.
        #[serde(rename = "radius_mm")]
        radius: Length,
    },
    /// Depths of two balls in a bore.
    Balls {
        /// Radius of the big one.
        #[serde(rename = "big_radius_mm")]
        big: Length,
        /// Radius of the small one.
        #[serde(rename = "small_radius_mm")]
        small: Length,
    },
}

/// The plan of a size step.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SizePlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub size: size::SizeOptions,
    /// How it is measured.
    pub by: SizeBy,
    /// Whether what is measured again at a place is pooled, unless the part was ground between. Steps that were opened before
    /// this was known lack it: of them the last mark at each place counts.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub pooled: bool,
    /// The planes, or for rollers the heights of the stacks, in the order in which they are measured.
    #[serde(rename = "at_mm", skip_serializing_if = "Vec::is_empty")]
    pub at: Vec<Length>,
}

impl Step for SizePlan {
    const KIND: StepKind = StepKind::Size;
    const NAME: &'static str = "size";
    const PURPOSE: &'static str = "what is left to grind";
    const HELP: &'static str = "Measure the size: what is left to grind";
    const EXAMPLES: &'static str = "\
Examples:
  conewright step size --planes 0,24 --pass-depth 10um --allowance 5um
  conewright step size --by stand-off
  conewright step size --rollers 6 --stacks 0,24
  conewright step size --big-ball 25 --small-ball 20
  conewright step size --planes 0 --temperature 24

Mark by plane or stack: conewright mark 24 --value 38.012; balls: conewright mark big --value 3.105";
    const TASK: &'static str = "Measure the size: what is left on diameter, and the passes.";
    const MARKED: &'static str = "at what is measured";
    const HOW_TO_MARK: &'static str = "mark each plane or stack: conewright mark 24";
    /// A size is measured with longer instruments.
    const FARTHEST_READING: Length = Length::from_um(10_000_000);
    /// What is left is ground off, and measured again.
    const OCCASIONS: &'static [Occasion] = &[Occasion::Grind, Occasion::Measure];

    type Options = SizeOptions;
    type Inputs = Measured;
    type Outcome = SizeOutcome;

    fn first(&self, _setup: &Setup) -> Option<Place> {
        let first = self.at.first().copied();
        match self.by {
            SizeBy::Sections => first.map(|plane| Place::Plane { plane }),
            SizeBy::StandOff => Some(Place::StandOff),
            SizeBy::Rollers { .. } => first.map(|stacks| Place::Rollers { stacks }),
            SizeBy::Balls { .. } => Some(Place::BigBall),
        }
    }

    fn next(&self, _setup: &Setup, _counting: &[&Mark], last: &Mark) -> Option<Next> {
        let by_place = matches!(self.by, SizeBy::Sections | SizeBy::Rollers { .. });
        if by_place && self.at.is_empty() {
            // Only the user knows the places, and where the pass ends.
            return Some(Next {
                place: None,
                round: last.round,
            });
        }
        let place = match &last.place {
            Place::Plane { plane } => Place::Plane {
                plane: following(&self.at, *plane)?,
            },
            Place::Rollers { stacks } => Place::Rollers {
                stacks: following(&self.at, *stacks)?,
            },
            Place::BigBall => Place::SmallBall,
            _ => return None,
        };
        Some(Next::at(place, last.round))
    }

    fn named(&self, asked: &Asked<'_>) -> Result<Place, Refusal> {
        let one_of = |places: &[(&str, Place)], what: &str| {
            let mut known = places.iter();
            let found = known.find(|(name, _)| name.eq_ignore_ascii_case(asked.text));
            found.map(|(_, place)| place.clone()).ok_or_else(|| {
                let names: Vec<&str> = places.iter().map(|(name, _)| *name).collect();
                place::bad(
                    format!(
                        "`{}` names nothing that is measured here: {what}",
                        asked.text
                    ),
                    &format!("write {}, or mark without a name", names.join(" or ")),
                )
            })
        };
        match self.by {
            SizeBy::Sections => Ok(Place::Plane {
                plane: place::length("plane", asked.text, "10")?,
            }),
            SizeBy::Rollers { .. } => {
                let stacks = place::length("height of the stacks", asked.text, "20")?;
                if stacks < Length::ZERO {
                    return Err(place::bad(
                        format!("height of the stacks: {stacks} is out of range: 0 mm or more"),
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

    fn instruction(&self, next: &str) -> String {
        format!("measure at {next}, and mark")
    }

    fn place_wanted(&self) -> Refusal {
        match self.by {
            SizeBy::Rollers { .. } => place::bad(
                "the step names no stacks, so the mark needs the height of those under the rollers",
                "name it: `conewright mark 20mm`, and `conewright mark 0` without stacks",
            ),
            _ => place::bad(
                "the step names no planes, so the mark needs one",
                "name its distance from the gauge plane: `conewright mark 10mm`",
            ),
        }
    }

    fn inputs(&self, evidence: &Evidence) -> Result<Measured, NoOutcome> {
        let marks: Vec<&Mark> = if self.pooled {
            counting(evidence).collect()
        } else {
            newest(counting(evidence)).collect()
        };
        let lengths = |wanted: Place, what: &'static str| {
            let at = marks.iter().filter(|mark| mark.place == wanted);
            let lengths = at.map(|mark| length(evidence, mark));
            let lengths = lengths.collect::<Result<Vec<_>, NoOutcome>>()?;
            if lengths.is_empty() {
                return Err(NoOutcome::NotMarked(what));
            }
            Ok(lengths)
        };
        Ok(match self.by {
            SizeBy::Sections => {
                let section = |mark: &&Mark| {
                    let Place::Plane { plane } = &mark.place else {
                        return Err(NoOutcome::misplaced(mark, "diameters are marked at planes"));
                    };
                    Ok(SectionReading {
                        plane_mm: plane.mm(),
                        diameter_mm: value(evidence, mark)?.value_mm,
                    })
                };
                Measured::Sections(
                    marks
                        .iter()
                        .map(section)
                        .collect::<Result<_, NoOutcome>>()?,
                )
            }
            SizeBy::StandOff => Measured::StandOff {
                short: lengths(Place::StandOff, "the stand-off")?,
            },
            SizeBy::Rollers { radius } => {
                let over = |mark: &&Mark| {
                    let Place::Rollers { stacks } = &mark.place else {
                        return Err(NoOutcome::misplaced(
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
                    over: marks.iter().map(over).collect::<Result<_, NoOutcome>>()?,
                }
            }
            SizeBy::Balls { big, small } => Measured::Balls {
                big: Ball {
                    radius: big,
                    tops_below_face: lengths(Place::BigBall, "the big ball")?,
                },
                small: Ball {
                    radius: small,
                    tops_below_face: lengths(Place::SmallBall, "the small ball")?,
                },
            },
        })
    }

    fn resolution(&self, evidence: &Evidence, cable: Option<&str>) -> Option<Length> {
        if self.pooled {
            evidence.finest()
        } else {
            evidence.coarsest(cable)
        }
    }

    fn compute(&self, setup: &Setup, measured: &Measured) -> Result<SizeOutcome, Refused> {
        size::outcome(setup, &self.size, measured).map_err(Into::into)
    }

    /// What each pass left, and so the next one.
    fn look_back(&self, setup: &Setup, evidence: &Evidence, outcome: &mut SizeOutcome) {
        if !self.pooled || self.size.within.is_none() {
            return;
        }
        let left = |state: &Evidence| {
            let found = self.compute(setup, &self.inputs(state).ok()?).ok()?;
            Some(size::Left {
                stock_um: found.stock_on_diameter_um?,
                expanded_um: found.stock_expanded_um,
            })
        };
        let before: Vec<size::Left> = evidence.earlier_states().iter().filter_map(left).collect();
        size::look_back(outcome, &self.size, &before);
        if evidence.is_ground_since() {
            // That pass is done, and how much is left is not known yet.
            outcome.next_pass = None;
        }
    }

    fn cone_found(&self, _setup: &Setup, outcome: &SizeOutcome) -> Option<ConeFound> {
        let expanded = outcome.half_angle_expanded_arcsec.map(Angle::from_arcsec);
        let half = outcome.half_angle_deg.map(Angle::from_deg);
        let section = |plane: &size::Plane| [plane.plane_mm, plane.diameter_mm];
        Some(ConeFound {
            half_angle: half.map(|half| (half, expanded)),
            sections: outcome.planes.iter().map(section).collect(),
            bore: self.size.surface == size::Surface::Bore,
        })
    }

    fn said(outcome: &SizeOutcome) -> Said<'_> {
        Said {
            verdict: outcome.verdict,
            undecided_because: outcome.undecided_because,
            budget: &outcome.budget,
            corrections: &outcome.corrections,
            remarks: &outcome.remarks,
            disagrees_from_round: outcome.rounds_disagree.map(|rounds| rounds.from_round),
        }
    }

    fn half_angle_measured(outcome: &SizeOutcome, _setup: &Setup) -> Option<(Angle, f64)> {
        let measured = Angle::from_deg(outcome.half_angle_deg?);
        Some((measured, outcome.half_angle_expanded_arcsec?))
    }

    fn remarks_mut(outcome: &mut SizeOutcome) -> &mut Vec<String> {
        &mut outcome.remarks
    }
}

/// What follows in a list of places; after one of the user's own, the next beyond it.
fn following(list: &[Length], of: Length) -> Option<Length> {
    if list.contains(&of) {
        return place::after(list, of);
    }
    list.iter().copied().filter(|one| *one > of).min()
}

/// The value of a mark as an exact length: of a dwell the mean, to the picometre.
fn length(evidence: &Evidence, mark: &Mark) -> Result<Length, NoOutcome> {
    let mm = value(evidence, mark)?.value_mm;
    Length::from_mm(mm).ok_or(NoOutcome::NoLength {
        number: mark.number,
        value_mm: mm,
    })
}

/// Of the marks at each place the last: as a step counts them that was opened before repeats were pooled.
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

#[cfg(test)]
mod tests {
    use crate::api::Code;
    use crate::evidence::Place;
    use crate::plan::Plan;
    use crate::step::naming::read;
    use crate::step::{SizeBy, SizePlan, Work};
    use metrology::Length;

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
}
