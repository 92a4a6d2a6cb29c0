//! What a step is for, and everything beside its evidence that its outcome depends on: resolved and
//! self-contained, as a set-up is, so that a record needs nothing beside itself.

use metrology::Length;
use metrology::contact::ContactOptions;
use metrology::dial::DialOptions;
use metrology::runout::RunoutOptions;
use metrology::setup::{Indicator, Setup};
use metrology::size::SizeOptions;
use metrology::sweep::{PositionsFrom, SweepOptions};
use metrology::zero::level::LevelOptions;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// The purposes that a step can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum StepKind {
    /// The reference edge is made to lie along the travel, or the axis level.
    Zero,
    /// A cone or an edge is swept: its line, and how straight it is.
    Sweep,
    /// Readings round a turn.
    Runout,
    /// What is left to grind.
    Size,
    /// A print of marking dye is judged.
    Contact,
    /// The indicator itself is checked on gauge blocks.
    Dial,
}

impl StepKind {
    /// Every kind, in the order of the work.
    pub const ALL: [Self; 6] = [
        Self::Zero,
        Self::Sweep,
        Self::Runout,
        Self::Size,
        Self::Contact,
        Self::Dial,
    ];

    /// Its name in commands and files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Zero => "zero",
            Self::Sweep => "sweep",
            Self::Runout => "runout",
            Self::Size => "size",
            Self::Contact => "contact",
            Self::Dial => "dial",
        }
    }

    /// Its name in prose.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Runout => "run-out",
            other => other.name(),
        }
    }
}

/// In which state of the part a step was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Condition {
    /// As it came.
    Found,
    /// As it goes back.
    Left,
}

/// What a step is for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// The kind, and what belongs to it alone.
    #[serde(flatten)]
    pub work: Work,
    /// In which state of the part it is taken, when that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub condition: Option<Condition>,
    /// The indicator of this step, where it is another than the set-up's or was checked since the set-up was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub indicator: Option<Indicator>,
}

/// A kind of step with its options.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(
    tag = "kind",
    content = "options",
    rename_all = "lowercase",
    try_from = "WorkText"
)]
pub enum Work {
    /// Zero.
    Zero(ZeroPlan),
    /// Sweep.
    Sweep(SweepPlan),
    /// Run-out.
    Runout(RunoutPlan),
    /// Size.
    Size(SizePlan),
    /// Contact.
    Contact(ContactOptions),
    /// Dial.
    Dial(DialPlan),
}

/// As it is written: options may be absent, and are then the usual ones.
#[derive(Deserialize)]
struct WorkText {
    kind: StepKind,
    #[serde(default)]
    options: serde_json::Map<String, serde_json::Value>,
}

impl TryFrom<WorkText> for Work {
    type Error = serde_json::Error;

    fn try_from(text: WorkText) -> Result<Self, Self::Error> {
        let options = serde_json::Value::Object(text.options);
        Ok(match text.kind {
            StepKind::Zero => Self::Zero(serde_json::from_value(options)?),
            StepKind::Sweep => Self::Sweep(serde_json::from_value(options)?),
            StepKind::Runout => Self::Runout(serde_json::from_value(options)?),
            StepKind::Size => Self::Size(serde_json::from_value(options)?),
            StepKind::Contact => Self::Contact(serde_json::from_value(options)?),
            StepKind::Dial => Self::Dial(serde_json::from_value(options)?),
        })
    }
}

/// What a zero step makes right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum About {
    /// The half angle: the reference edge along the travel.
    #[default]
    Angle,
    /// The part's axis level, and at the height of the wheel's centre.
    Level,
}

/// Options of a zero step.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ZeroPlan {
    /// What it makes right.
    pub about: About,
    /// What its worth is computed from when it is about level.
    pub level: LevelOptions,
}

/// Options of a sweep.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SweepPlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub sweep: SweepOptions,
    /// The cable that reports the table's position, when the positions come from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position_cable: Option<String>,
}

/// Where the angles of a run-out come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AnglesFrom {
    /// The user stops at positions of the clock and marks each.
    #[default]
    Clock,
    /// The part turns, and the user marks each time that a line on it comes by.
    Turns,
    /// The part turns at a steady speed between two marks; the period is found from the readings.
    Steady,
}

/// Options of a run-out step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RunoutPlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub runout: RunoutOptions,
    /// Where the angles come from.
    pub angles: AnglesFrom,
    /// Positions of the clock in one turn.
    pub per_turn: u32,
    /// The planes across the axis, in the order in which they are read; empty for one without a name.
    #[serde(rename = "planes_mm", skip_serializing_if = "Vec::is_empty")]
    pub planes: Vec<Length>,
    /// Round 1 is as chucked; round 2 with the part turned half a turn and the indicator moved across.
    pub reversal: bool,
}

impl Default for RunoutPlan {
    fn default() -> Self {
        Self {
            runout: RunoutOptions::default(),
            angles: AnglesFrom::Clock,
            per_turn: 12,
            planes: Vec::new(),
            reversal: false,
        }
    }
}

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

/// Options of a size step.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SizePlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub size: SizeOptions,
    /// How it is measured.
    pub by: SizeBy,
    /// The planes, or for rollers the heights of the stacks, in the order in which they are measured.
    #[serde(rename = "at_mm", skip_serializing_if = "Vec::is_empty")]
    pub at: Vec<Length>,
}

/// Options of a dial step.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct DialPlan {
    /// The arithmetic's.
    #[serde(flatten)]
    pub dial: DialOptions,
    /// The known steps by rising length, each read going up and then coming down.
    #[serde(rename = "nominals_mm", skip_serializing_if = "Vec::is_empty")]
    pub nominals: Vec<Length>,
}

impl Plan {
    /// A step of this kind with the usual options.
    #[must_use]
    pub fn usual(kind: StepKind) -> Self {
        let work = match kind {
            StepKind::Zero => Work::Zero(ZeroPlan::default()),
            StepKind::Sweep => Work::Sweep(SweepPlan::default()),
            StepKind::Runout => Work::Runout(RunoutPlan::default()),
            StepKind::Size => Work::Size(SizePlan::default()),
            StepKind::Contact => Work::Contact(ContactOptions::default()),
            StepKind::Dial => Work::Dial(DialPlan::default()),
        };
        Self::of(work)
    }

    /// A step with these options.
    #[must_use]
    pub const fn of(work: Work) -> Self {
        Self {
            work,
            condition: None,
            indicator: None,
        }
    }

    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> StepKind {
        match self.work {
            Work::Zero(_) => StepKind::Zero,
            Work::Sweep(_) => StepKind::Sweep,
            Work::Runout(_) => StepKind::Runout,
            Work::Size(_) => StepKind::Size,
            Work::Contact(_) => StepKind::Contact,
            Work::Dial(_) => StepKind::Dial,
        }
    }

    /// The set-up as it holds for this step.
    #[must_use]
    pub fn setup<'a>(&self, setup: &'a Setup) -> Cow<'a, Setup> {
        match &self.indicator {
            None => Cow::Borrowed(setup),
            Some(indicator) => Cow::Owned(Setup {
                indicator: indicator.clone(),
                ..setup.clone()
            }),
        }
    }

    /// The cable whose readings are marked; none when they are typed.
    #[must_use]
    pub fn cable<'a>(&'a self, setup: &'a Setup) -> Option<&'a str> {
        let indicator = self.indicator.as_ref().unwrap_or(&setup.indicator);
        indicator.cable.as_deref()
    }

    /// Whether its outcome is computed from every reading of a stretch of time and not from dwells at marks.
    #[must_use]
    pub fn records(&self) -> bool {
        match &self.work {
            Work::Sweep(plan) => plan.sweep.positions != PositionsFrom::Stations,
            Work::Runout(plan) => plan.angles != AnglesFrom::Clock,
            Work::Zero(_) | Work::Size(_) | Work::Contact(_) | Work::Dial(_) => false,
        }
    }

    /// The cables of which every reading counts while it records.
    #[must_use]
    pub fn recorded_cables<'a>(&'a self, setup: &'a Setup) -> Vec<&'a str> {
        if !self.records() {
            return Vec::new();
        }
        let position = match &self.work {
            Work::Sweep(plan) => plan.position_cable.as_deref(),
            _ => None,
        };
        self.cable(setup).into_iter().chain(position).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_is_written_and_read_again() {
        for kind in StepKind::ALL {
            let plan = Plan {
                condition: Some(Condition::Left),
                ..Plan::usual(kind)
            };
            let text = serde_json::to_string(&plan).unwrap();
            assert!(
                text.contains(&format!("\"kind\":\"{}\"", kind.name())),
                "{text}"
            );
            assert_eq!(serde_json::from_str::<Plan>(&text).unwrap(), plan, "{text}");
            let bare = format!("{{\"kind\":\"{}\"}}", kind.name());
            assert_eq!(
                serde_json::from_str::<Plan>(&bare).unwrap(),
                Plan::usual(kind)
            );
        }
        let rollers = Plan::of(Work::Size(SizePlan {
            by: SizeBy::Rollers {
                radius: Length::from_um(3_000),
            },
            at: vec![Length::ZERO],
            ..SizePlan::default()
        }));
        let text = serde_json::to_string(&rollers).unwrap();
        assert_eq!(
            serde_json::from_str::<Plan>(&text).unwrap(),
            rollers,
            "{text}"
        );
    }
}
