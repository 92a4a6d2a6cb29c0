//! What a session came to, in the few figures by which two of them are compared.

use metrology::Angle;
use metrology::contact::{Bearing, ContactOutcome, Heavy};
use metrology::dial::{DialOutcome, IndicatorCheck};
use metrology::runout::RunoutOutcome;
use metrology::size::{Finish, SizeOutcome};
use metrology::sweep::SweepOutcome;
use metrology::uncertainty::Verdict;
use metrology::zero::ZeroOutcome;
use protocol::evidence::Time;
use protocol::fold::{Outcome, StepKind};
use protocol::plan::{About, Condition, Work};
use protocol::record::{Record, StepRecord};
use protocol::step::OfKind;
use serde::Serialize;

/// A session in figures. What it did not measure is absent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// Its number.
    pub session: i64,
    /// The part's name.
    pub part: String,
    /// When it was opened.
    pub opened_utc_ns: Time,
    /// The taper's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taper: Option<String>,
    /// The fixture's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fixture: Option<String>,
    /// The residual of the first round about the angle, and of the last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zero: Option<States<Residual>>,
    /// What each tightening of the clamp did, arc-seconds, in order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub clamp_shifts_arcsec: Vec<f64>,
    /// Where the set-up turned: distance from A.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pivot_mm: Option<f64>,
    /// Its standard uncertainty, where it was learned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pivot_u_mm: Option<f64>,
    /// Sweeps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sweep: Option<States<Swept>>,
    /// Run-out, of the first plane.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub runout: Option<States<Round>>,
    /// What was left to grind at last.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub size: Option<Stock>,
    /// Where the last print bears.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub contact: Option<Bearing>,
    /// Where the last print is heavy.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heavy: Option<Heavy>,
    /// Every verdict, in the order of the steps.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub verdicts: Vec<Judged>,
    /// The indicator's last check that the session knew of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub indicator_check: Option<IndicatorCheck>,
}

/// Something as found and as left; one that was measured once is as left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct States<T> {
    /// As found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<T>,
    /// As left.
    pub left: T,
}

/// The residual of a zero step's round.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Residual {
    /// The residual.
    pub residual_arcsec: f64,
    /// Its expanded uncertainty, 95 %.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub residual_expanded_arcsec: Option<f64>,
}

/// A sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Swept {
    /// The residual of the swept line.
    pub residual_arcsec: f64,
    /// Straightness by the minimum zone.
    pub straightness_mz_um: f64,
    /// Bow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow_um: Option<f64>,
}

/// A run-out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Round {
    /// Total indicator reading.
    pub tir_um: f64,
    /// Eccentricity.
    pub eccentricity_um: f64,
    /// Roundness by the minimum zone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub roundness_mz_um: Option<f64>,
}

/// A size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stock {
    /// Left on diameter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_on_diameter_um: Option<f64>,
    /// In a word.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finish: Option<Finish>,
}

/// The verdict of a step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// The step's number.
    pub number: u32,
    /// Its kind.
    pub kind: StepKind,
    /// In which state of the part it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub condition: Option<Condition>,
    /// The verdict.
    pub verdict: Verdict,
}

impl Summary {
    /// Of a session.
    #[must_use]
    pub fn of(record: &Record) -> Self {
        let setup = &record.setup;
        let zeros: Vec<&ZeroOutcome> = record.steps.iter().filter_map(about_angle).collect();
        let print = states(record, ContactOutcome::clone).map(|print| print.left);
        let pivot = zeros.iter().rev().find_map(|zero| zero.pivot.as_ref());
        Self {
            session: record.session.id,
            part: record.session.name.clone(),
            opened_utc_ns: record.session.opened_utc_ns,
            taper: setup.taper.as_ref().map(|taper| taper.name.clone()),
            fixture: setup.fixture.as_ref().map(|fixture| fixture.name.clone()),
            zero: residuals(&zeros),
            clamp_shifts_arcsec: zeros
                .iter()
                .filter_map(|zero| zero.clamp_shift.as_ref())
                .flat_map(|shift| &shift.seen)
                .map(|slope| Angle::from_rad(slope.atan()).arcsec())
                .collect(),
            pivot_mm: pivot.map(|pivot| pivot.position_mm),
            pivot_u_mm: pivot.and_then(|pivot| pivot.u_mm),
            sweep: states(record, Swept::of),
            runout: states(record, Round::of),
            size: states(record, Stock::of).map(|size| size.left),
            contact: print.as_ref().map(|print| print.bearing),
            heavy: print.and_then(|print| print.heavy),
            verdicts: record.steps.iter().filter_map(judged).collect(),
            indicator_check: record
                .steps
                .iter()
                .rev()
                .find_map(check)
                .or_else(|| setup.indicator.check.clone()),
        }
    }
}

/// What a zero step about the half angle came to.
fn about_angle(step: &StepRecord) -> Option<&ZeroOutcome> {
    match (&step.plan.work, &step.outcome) {
        (Work::Zero(plan), Some(Outcome::Zero(zero))) if plan.about == About::Angle => Some(zero),
        _ => None,
    }
}

/// A zero step works on what it measures: its first round is as found, and the session's last as left.
fn residuals(zeros: &[&ZeroOutcome]) -> Option<States<Residual>> {
    let first = zeros.iter().find_map(|zero| zero.rounds.first());
    let last = zeros
        .iter()
        .rev()
        .find_map(|zero| Some((zero, zero.residual_arcsec?)))?;
    let rounds: usize = zeros.iter().map(|zero| zero.rounds.len()).sum();
    Some(States {
        found: first.filter(|_| rounds > 1).map(|round| Residual {
            residual_arcsec: round.residual_arcsec,
            residual_expanded_arcsec: None,
        }),
        left: Residual {
            residual_arcsec: last.1,
            residual_expanded_arcsec: last.0.residual_expanded_arcsec,
        },
    })
}

/// The steps of one kind as found and as left. A step whose state was said is taken by its word; of the others the first is as
/// found and the last as left.
fn states<O: OfKind, T>(record: &Record, of: impl Fn(&O) -> T) -> Option<States<T>> {
    let measured: Vec<(&StepRecord, &O)> = record
        .steps
        .iter()
        .filter_map(|step| Some((step, O::of(step.outcome.as_ref()?)?)))
        .collect();
    let said =
        |condition| move |(step, _): &&(&StepRecord, &O)| step.plan.condition == Some(condition);
    let found = measured.iter().find(said(Condition::Found));
    let left = measured.iter().rev().find(said(Condition::Left));
    let left = left.or_else(|| measured.last())?;
    let found = found.or_else(|| measured.first())?;
    Some(States {
        found: (found.0.number != left.0.number).then(|| of(found.1)),
        left: of(left.1),
    })
}

fn judged(step: &StepRecord) -> Option<Judged> {
    Some(Judged {
        number: step.number,
        kind: step.plan.kind(),
        condition: step.plan.condition,
        verdict: step.outcome.as_ref()?.verdict()?,
    })
}

/// The check that a step made, or that it was opened with. One that has no date of its own is of the step's.
fn check(step: &StepRecord) -> Option<IndicatorCheck> {
    match step.outcome.as_ref().and_then(DialOutcome::of) {
        Some(dial) => {
            let mut check = dial.check.clone();
            let when = step.closed.unwrap_or(step.opened);
            check.checked_utc_ns.get_or_insert(when.0);
            Some(check)
        }
        None => step.plan.indicator.as_ref()?.check.clone(),
    }
}

impl Swept {
    fn of(sweep: &SweepOutcome) -> Self {
        Self {
            residual_arcsec: sweep.residual_arcsec,
            straightness_mz_um: sweep.straightness_mz_um,
            bow_um: sweep.bow_um,
        }
    }
}

impl Round {
    fn of(runout: &RunoutOutcome) -> Self {
        Self {
            tir_um: runout.section.tir_um,
            eccentricity_um: runout.section.eccentricity_um,
            roundness_mz_um: runout.section.roundness_mz_um,
        }
    }
}

impl Stock {
    fn of(size: &SizeOutcome) -> Self {
        Self {
            stock_on_diameter_um: size.stock_on_diameter_um,
            finish: size.finish,
        }
    }
}
