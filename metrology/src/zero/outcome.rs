//! What a zero step tells. The names are those of the JSON that `status`, `analyse` and the record give.

use super::Moved;
use crate::uncertainty::{Component, Undecided, Verdict};
use serde::{Deserialize, Serialize};

/// One pass over the stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Round {
    /// Its number, from 1.
    pub round: u32,
    /// Slope m of the edge against the travel: rise of the reading per length of travel, no unit.
    pub slope: f64,
    /// Its standard uncertainty; absent where nothing tells how the marks repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slope_u: Option<f64>,
    /// atan m.
    pub residual_arcsec: f64,
    /// Standard uncertainty of the residual; absent where nothing tells how the marks repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_u_arcsec: Option<f64>,
    /// The edge's reading at A, mm, at the end of the round.
    pub at_a_mm: f64,
    /// Drift of the readings, where times tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drift_um_per_min: Option<f64>,
    /// Bow: what the line leaves at the middle, with three or more stations.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bow_um: Option<f64>,
    /// Whether the clamp was tight.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub clamped: bool,
}

/// The advice for the next tap: bring the reading at a station to a target.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tap {
    /// The station to stand at.
    pub station: String,
    /// Its place from A.
    pub station_mm: f64,
    /// The reading to tap to.
    pub target_mm: f64,
    /// How far the reading has to go: target minus reading, µm.
    pub move_um: f64,
    /// True when the reading must rise: the surface goes toward the indicator.
    pub toward: bool,
    /// True when nothing is known yet of where the set-up turns, so that this tap is a trial.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub trial: bool,
    /// The residual aimed at, arc-seconds, when it is not zero: that of the wanted half angle, and what the clamp is expected
    /// to take out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aim_arcsec: Option<f64>,
    /// The part of it that the wanted half angle asks for: the stack's known error taken back, and the middle of a tolerance
    /// to one side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wanted_arcsec: Option<f64>,
}

impl Tap {
    /// The part of the residual aimed at, arc-seconds, that the clamp is expected to take out.
    #[must_use]
    pub fn clamp_arcsec(&self) -> Option<f64> {
        let clamp = self.aim_arcsec? - self.wanted_arcsec.unwrap_or(0.0);
        // What is left when two floats that mean the same are taken from each other is nothing.
        (clamp.abs() > 1e-9).then_some(clamp)
    }

    /// Why it aims at a residual that is not zero: what the clamp is expected to take out, and what the wanted half angle asks
    /// for; neither where that is less than a tap can be worth.
    #[must_use]
    pub fn aims_arcsec(&self) -> [Option<f64>; 2] {
        const LEAST_ARCSEC: f64 = 0.25;
        let parts = [self.clamp_arcsec(), self.wanted_arcsec];
        parts.map(|arcsec| arcsec.filter(|arcsec| arcsec.abs() >= LEAST_ARCSEC))
    }
}

/// Where the set-up turns, as far as it is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pivot {
    /// Distance from A along the travel.
    pub position_mm: f64,
    /// Standard uncertainty; absent when the user stated the pivot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u_mm: Option<f64>,
    /// The rounds it was learned from; empty when it was stated or is remembered from the fixture.
    pub from_rounds: Vec<u32>,
}

/// What tightening the clamp does to the slope.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClampShift {
    /// Median change of slope on tightening.
    pub slope: f64,
    /// How many were seen, earlier sessions of the fixture included.
    pub count: u32,
    /// Whether they agree well enough to aim off by them.
    pub agree: bool,
    /// Those of this step, in order: what the fixture learns.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub seen: Vec<f64>,
}

/// Which way the half angle is off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sloping {
    /// The cone would come out with too large a half angle.
    Steeper,
    /// The cone would come out with too small a half angle.
    Shallower,
}

/// What the part loses by an axis that does not lie level.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Level {
    /// How much the axis rises over the part's length.
    pub rise_um: f64,
    /// Distance of the axes, X.
    pub axes_mm: f64,
    /// What it is worth on diameter over the part's length: by how much the ends come out different.
    pub worth_um: f64,
    /// The largest that it can be worth within the residual's uncertainty, 95 %.
    pub at_most_um: f64,
    /// The error of the half angle that this is, arc-seconds.
    pub angle_arcsec: f64,
}

/// The outcome of a zero step.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ZeroOutcome {
    /// Every round, in order; the last may still be incomplete and is then absent.
    pub rounds: Vec<Round>,
    /// Residual angle of the last round; its sign is the slope's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_arcsec: Option<f64>,
    /// Expanded uncertainty of the residual, 95 %. Absent where nothing tells how the marks repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub residual_expanded_arcsec: Option<f64>,
    /// What the display and the stated limits alone allow of the residual, 95 %, where nothing tells how the marks repeat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub display_expanded_arcsec: Option<f64>,
    /// The mark that showed that the set-up was moved before it, when it opened the last round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved: Option<Moved>,
    /// Whether this set-up can prove its tolerance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capability: Option<Capability>,
    /// Which way, when the session states its sense.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cone: Option<Sloping>,
    /// What the residual is worth over the span between the outer stations, µm (not on diameter).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_span_um: Option<f64>,
    /// What the residual is worth on diameter over the taper's length, µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over_taper_um: Option<f64>,
    /// Error of the half angle, the stack's known error included, when the plan has a stack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_error_arcsec: Option<f64>,
    /// Its expanded uncertainty, 95 %, with stack and bar.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_expanded_arcsec: Option<f64>,
    /// The tolerance as limits of the half angle's error, arc-seconds, lower and upper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits_arcsec: Option<[f64; 2]>,
    /// The decision, when a tolerance was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Why the decision is undecided, when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undecided_because: Option<Undecided>,
    /// The reading stands within half a step of the display of where it is wanted: there is nothing to tap.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub at_target: bool,
    /// The advice. Absent before the first round is complete, and where there is nothing to tap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tap: Option<Tap>,
    /// Where the set-up turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pivot: Option<Pivot>,
    /// What the clamp does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clamp_shift: Option<ClampShift>,
    /// What the residual means for an axis that is to lie level, when that is what the step is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<Level>,
    /// What was done to the readings because the set-up asks for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// The budget, largest first: of the half angle when the plan has a stack, else of the last round's residual.
    pub budget: Vec<Component>,
    /// What else the user should know, in sentences.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
}

/// What a set-up can prove.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Capability {
    /// Whether a half angle that is just as wanted could be called in tolerance.
    pub provable: bool,
    /// The expanded uncertainty of the half angle, 95 %, with marks that repeat perfectly.
    pub expanded_arcsec: f64,
    /// The largest that it may be: half the width of the tolerance, less what the aim is off.
    pub room_arcsec: f64,
    /// The component that contributes most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limited_by: Option<String>,
    /// The nearest changes that would make it provable, each enough by itself.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cures: Vec<String>,
}

impl Capability {
    /// What the set-up can prove, in a sentence or two.
    #[must_use]
    pub fn words(&self) -> String {
        let (expanded, room) = (self.expanded_arcsec, self.room_arcsec.max(0.0));
        if self.provable {
            return format!(
                "this set-up can prove its tolerance: ± {expanded:.2} arcsec of ± {room:.2}"
            );
        }
        let limited = self
            .limited_by
            .as_ref()
            .map_or(String::new(), |by| format!(", most of it by the {by}"));
        let cures = if self.cures.is_empty() {
            String::new()
        } else {
            format!(". Enough would be {}", self.cures.join(", or "))
        };
        format!(
            "this set-up cannot prove its tolerance: it is good to ± {expanded:.2} arcsec at best{limited}, and ± {room:.2} is allowed{cures}"
        )
    }
}
