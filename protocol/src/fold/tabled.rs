//! Outcomes from a table instead of evidence, as `analyse` reads them.

use super::setup_for;
use crate::evidence::Evidence;
use crate::plan::Plan;
use crate::step::{Outcome, RunoutInputs, Step, SweepInputs, Turning, Work};
use metrology::Length;
use metrology::contact::Zones;
use metrology::dial::DialPoint;
use metrology::runout::RunoutPoint;
use metrology::setup::Setup;
use metrology::size::Measured;
use metrology::sweep::SweepPoint;
use metrology::zero::ZeroMark;

/// What a step's arithmetic takes, of whatever kind.
#[derive(Debug, Clone, PartialEq)]
pub enum Inputs {
    /// Marks at stations, in the order they were made.
    Zero(Vec<ZeroMark>),
    /// Readings along the travel.
    Sweep {
        /// Each at its place.
        points: Vec<SweepPoint>,
        /// How many readings had no place.
        unplaced: usize,
    },
    /// Readings round a turn.
    Runout {
        /// As chucked.
        first: Turning,
        /// With the part turned half a turn and the indicator moved across, at the same angles of the part.
        turned: Option<Vec<RunoutPoint>>,
    },
    /// A size.
    Size(Measured),
    /// A print.
    Contact(Zones),
    /// Readings on known steps.
    Dial(Vec<DialPoint>),
}

impl Inputs {
    /// What the evidence gives.
    ///
    /// # Errors
    /// A mark that does not fit the step, or whose readings are missing; nothing marked yet.
    pub fn of(plan: &Plan, _setup: &Setup, evidence: &Evidence) -> Result<Self, String> {
        let inputs = match &plan.work {
            Work::Zero(step) => step.inputs(evidence).map(Self::Zero),
            Work::Sweep(step) => step.inputs(evidence).map(|inputs| Self::Sweep {
                points: inputs.points,
                unplaced: inputs.unplaced,
            }),
            Work::Runout(step) => step.inputs(evidence).map(|inputs| Self::Runout {
                first: inputs.first,
                turned: inputs.turned,
            }),
            Work::Size(step) => step.inputs(evidence).map(Self::Size),
            Work::Contact(step) => step.inputs(evidence).map(Self::Contact),
            Work::Dial(step) => step.inputs(evidence).map(Self::Dial),
        };
        plan.work
            .or_nothing_yet(evidence, inputs)
            .map_err(|why| why.to_string())
    }
}

/// Computes a step's outcome from what was tabled. `shown` is one step of the display, where the readings tell it; the
/// set-up's own word on it prevails.
///
/// # Errors
/// What cannot be used, in a sentence for the user.
pub fn compute(
    plan: &Plan,
    setup: &Setup,
    inputs: &Inputs,
    shown: Option<Length>,
) -> Result<Outcome, String> {
    fn of<S: Step>(step: &S, setup: &Setup, inputs: &S::Inputs) -> Result<Outcome, String> {
        step.compute(setup, inputs)
            .map(Into::into)
            .map_err(|why| why.to_string())
    }
    let setup = &*setup_for(plan, setup, shown);
    match (&plan.work, inputs) {
        (Work::Zero(step), Inputs::Zero(marks)) => of(step, setup, marks),
        (Work::Sweep(step), Inputs::Sweep { points, unplaced }) => {
            let (points, unplaced) = (points.clone(), *unplaced);
            of(step, setup, &SweepInputs { points, unplaced })
        }
        (Work::Runout(step), Inputs::Runout { first, turned }) => {
            let (first, turned) = (first.clone(), turned.clone());
            of(step, setup, &RunoutInputs { first, turned })
        }
        (Work::Size(step), Inputs::Size(measured)) => of(step, setup, measured),
        (Work::Contact(step), Inputs::Contact(zones)) => of(step, setup, zones),
        (Work::Dial(step), Inputs::Dial(points)) => of(step, setup, points),
        _ => Err(format!(
            "a {} step cannot be computed from readings of another kind",
            plan.kind().word()
        )),
    }
}
