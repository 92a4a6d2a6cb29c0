//! What a step is for, and everything beside its evidence that its outcome depends on: resolved and
//! self-contained, as a set-up is, so that a record needs nothing beside itself.

pub use crate::step::{
    About, AnglesFrom, DialPlan, RunoutPlan, SizeBy, SizePlan, StepKind, SweepPlan, Work, ZeroPlan,
};

use metrology::setup::{Indicator, Setup};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

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

impl Plan {
    /// A step of this kind with the usual options.
    #[must_use]
    pub fn usual(kind: StepKind) -> Self {
        Self::of(Work::usual(kind))
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
        self.work.kind()
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
        self.work.recorded().is_some()
    }

    /// Whether the readings of this cable belong to the step: of its indicator and, where it records, of the cable that tells the
    /// places. Others are shown and not stored.
    #[must_use]
    pub fn takes(&self, cable: &str, setup: &Setup) -> bool {
        let position = self.work.recorded().and_then(|by| by.position_cable());
        let mut own = self.cable(setup).into_iter().chain(position);
        own.any(|own| own == cable)
    }

    /// The cables of which every reading counts while it records.
    #[must_use]
    pub fn recorded_cables<'a>(&'a self, setup: &'a Setup) -> Vec<&'a str> {
        let Some(recorded) = self.work.recorded() else {
            return Vec::new();
        };
        let position = recorded.position_cable();
        self.cable(setup).into_iter().chain(position).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Length;

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
