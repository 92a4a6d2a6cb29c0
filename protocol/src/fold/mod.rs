//! A step's outcome as a pure function of set-up, plan and evidence: the same code live, after a crash, on export,
//! in `analyse` and in `verify`.

mod gaps;
mod inputs;

pub use inputs::{Inputs, Turning};

use crate::evidence::Evidence;
use crate::plan::{About, Plan, Work};

pub use crate::plan::StepKind;
use metrology::Length;
use metrology::contact::{self, ContactOutcome};
use metrology::dial::{self, DialOutcome};
use metrology::runout::{self, Readings, RunoutOutcome};
use metrology::setup::Setup;
use metrology::size::{self, SizeOutcome};
use metrology::sweep::{self, SweepOutcome};
use metrology::uncertainty::{Component, Verdict};
use metrology::zero::{self, ZeroOutcome, level};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// What a step computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Outcome {
    /// Of a zero step.
    Zero(ZeroOutcome),
    /// Of a sweep.
    Sweep(SweepOutcome),
    /// Of a run-out step.
    Runout(RunoutOutcome),
    /// Of a size step.
    Size(SizeOutcome),
    /// Of a contact step.
    Contact(ContactOutcome),
    /// Of a dial step.
    Dial(DialOutcome),
}

impl Outcome {
    /// The kind of step it is of.
    #[must_use]
    pub const fn kind(&self) -> StepKind {
        match self {
            Self::Zero(_) => StepKind::Zero,
            Self::Sweep(_) => StepKind::Sweep,
            Self::Runout(_) => StepKind::Runout,
            Self::Size(_) => StepKind::Size,
            Self::Contact(_) => StepKind::Contact,
            Self::Dial(_) => StepKind::Dial,
        }
    }

    /// The decision, where the step can make one and a tolerance was stated.
    #[must_use]
    pub const fn verdict(&self) -> Option<Verdict> {
        match self {
            Self::Zero(zero) => zero.verdict,
            Self::Sweep(sweep) => sweep.verdict,
            Self::Runout(runout) => runout.section.verdict,
            Self::Size(size) => size.verdict,
            Self::Dial(dial) => dial.verdict,
            Self::Contact(_) => None,
        }
    }

    /// The budget, largest first; empty for a judgement by eye.
    #[must_use]
    pub fn budget(&self) -> &[Component] {
        match self {
            Self::Zero(zero) => &zero.budget,
            Self::Sweep(sweep) => &sweep.budget,
            Self::Runout(runout) => &runout.section.budget,
            Self::Size(size) => &size.budget,
            Self::Dial(dial) => &dial.budget,
            Self::Contact(_) => &[],
        }
    }

    /// What else the user should know, in sentences: first what was done to the readings, then remarks.
    pub fn sentences(&self) -> impl Iterator<Item = &str> {
        const NONE: &[String] = &[];
        let (corrections, remarks): (&[String], &[String]) = match self {
            Self::Zero(zero) => (&zero.corrections, &zero.remarks),
            Self::Sweep(sweep) => (&sweep.corrections, &sweep.remarks),
            Self::Runout(runout) => (&runout.corrections, &runout.remarks),
            Self::Size(size) => (&size.corrections, &size.remarks),
            Self::Contact(contact) => (NONE, &contact.remarks),
            Self::Dial(dial) => (NONE, &dial.remarks),
        };
        corrections.iter().chain(remarks).map(String::as_str)
    }

    /// The half angle's error that it found, arc-seconds, steeper positive, with its expanded uncertainty.
    #[must_use]
    pub fn half_angle_found(&self) -> Option<[f64; 2]> {
        let (error, expanded) = match self {
            Self::Zero(zero) => (
                zero.half_angle_error_arcsec,
                zero.half_angle_expanded_arcsec,
            ),
            Self::Sweep(sweep) => (
                sweep.half_angle_error_arcsec,
                sweep.half_angle_expanded_arcsec,
            ),
            Self::Runout(_) | Self::Size(_) | Self::Contact(_) | Self::Dial(_) => return None,
        };
        Some([error?, expanded?])
    }
}

/// Computes a step's outcome.
///
/// # Errors
/// What in the evidence cannot be used, in a sentence for the user.
pub fn outcome(plan: &Plan, setup: &Setup, evidence: &Evidence) -> Result<Outcome, String> {
    let inputs = Inputs::of(plan, setup, evidence)?;
    let mut found = compute(plan, setup, &inputs, evidence.coarsest(plan.cable(setup)))?;
    if plan.records() {
        let remarks = match &mut found {
            Outcome::Sweep(sweep) => Some(&mut sweep.remarks),
            Outcome::Runout(runout) => Some(&mut runout.remarks),
            _ => None,
        };
        if let Some(remarks) = remarks {
            remarks.extend(gaps::remarks(plan, setup, evidence));
        }
    }
    Ok(found)
}

/// The set-up as a step's arithmetic takes it: with the step's own indicator, and with the display's step as the readings
/// tell it, `shown`, where the set-up has no word on it.
#[must_use]
pub fn setup_for<'a>(plan: &Plan, setup: &'a Setup, shown: Option<Length>) -> Cow<'a, Setup> {
    let mut setup = plan.setup(setup);
    // The marks of a zero step bring their own.
    let wanted = plan.kind() != StepKind::Zero && setup.indicator.resolution.is_none();
    if wanted && shown.is_some() {
        setup.to_mut().indicator.resolution = shown;
    }
    setup
}

/// Computes a step's outcome from what was read, marked or tabled. `shown` is one step of the display, where the
/// readings tell it; the set-up's own word on it prevails.
///
/// # Errors
/// What cannot be used, in a sentence for the user.
pub fn compute(
    plan: &Plan,
    setup: &Setup,
    inputs: &Inputs,
    shown: Option<Length>,
) -> Result<Outcome, String> {
    let setup = setup_for(plan, setup, shown);
    match (&plan.work, inputs) {
        (Work::Zero(options), Inputs::Zero(marks)) => match options.about {
            About::Angle => zero::outcome(&setup, marks),
            About::Level => level::outcome(&setup, &options.level, marks),
        }
        .map(Outcome::Zero)
        .map_err(|e| e.to_string()),
        (Work::Sweep(options), Inputs::Sweep { points, unplaced }) => {
            let mut found =
                sweep::outcome(&setup, &options.sweep, points).map_err(|e| e.to_string())?;
            if *unplaced > 0 {
                found.remarks.push(format!(
                    "{unplaced} readings were taken where the table's position is not known, and are not counted"
                ));
            }
            Ok(Outcome::Sweep(found))
        }
        (Work::Runout(options), Inputs::Runout { first, turned }) => {
            let mut found = runout::outcome(&setup, &options.runout, first.readings())
                .map_err(|e| e.to_string())?;
            if let (Turning::Angles(first), Some(turned)) = (first, turned) {
                let parted = runout::reversal(&setup, &options.runout, first, turned)
                    .map_err(|e| e.to_string())?;
                found.reversal = Some(Box::new(parted));
            }
            Ok(Outcome::Runout(found))
        }
        (Work::Size(options), Inputs::Size(measured)) => {
            size::outcome(&setup, &options.size, measured)
                .map(Outcome::Size)
                .map_err(|e| e.to_string())
        }
        (Work::Contact(options), Inputs::Contact(zones)) => {
            contact::outcome(&setup, options, *zones)
                .map(Outcome::Contact)
                .map_err(|e| e.to_string())
        }
        (Work::Dial(options), Inputs::Dial(points)) => dial::outcome(&setup, options.dial, points)
            .map(Outcome::Dial)
            .map_err(|e| e.to_string()),
        _ => Err(format!(
            "a {} step cannot be computed from readings of another kind",
            plan.kind().word()
        )),
    }
}

impl Turning {
    /// As the arithmetic takes them.
    #[must_use]
    pub fn readings(&self) -> Readings<'_> {
        match self {
            Self::Angles(points) => Readings::Angles(points),
            Self::TurnMarks { readings, marks_s } => Readings::TurnMarks { readings, marks_s },
            Self::Steady(readings) => Readings::Steady(readings),
        }
    }
}
