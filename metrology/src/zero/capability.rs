//! Whether a set-up can prove its tolerance at all, before the first mark: the uncertainty that its display, span, stack and
//! stated limits leave when everything else goes well.

use super::Capability;
use super::budget::HalfAngle;
use crate::setup::Setup;
use crate::spread::range;
use crate::tolerance::ToleranceError;
use crate::uncertainty::{Budget, COVERAGE, rectangular};
use crate::{Angle, Length};

/// Names of the components that grow smaller with a longer span.
const DISPLAY: &str = "resolution of the indicator";

/// Displays to choose from, µm a step.
const DISPLAYS_UM: [f64; 9] = [5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];
/// Spans are proposed in steps of this, mm, and up to so many times the present one.
const SPAN_STEP_MM: f64 = 5.0;
const LONGEST: f64 = 10.0;

/// What a set-up with this span (mm) and this step of the display can prove; `None` without a tolerance.
///
/// # Errors
/// The tolerance cannot be made into limits of the half angle.
pub fn capability(
    setup: &Setup,
    span_mm: f64,
    step: Length,
) -> Result<Option<Capability>, ToleranceError> {
    let Some([low, high]) = setup.limits_arcsec()? else {
        return Ok(None);
    };
    // The tap aims at the middle of the limits with the stack's error taken back, where the sense is known. Else that error
    // may lie either way.
    let off = match setup.sense {
        Some(_) => 0.0,
        None => stack_error_arcsec(setup).unwrap_or(0.0).abs(),
    };
    let room = (high - low) / 2.0 - off;
    let budget = best(setup, span_mm, step);
    let expanded = budget.expanded(COVERAGE);
    let provable = expanded <= room;
    let mut cures = Vec::new();
    if !provable {
        if off > 0.0 && expanded <= room + off {
            cures.push(
                "state --big-end and --indicator-side, so that the stack's error can be taken back"
                    .to_owned(),
            );
        }
        cures.extend(longer(setup, span_mm, step, room));
        cures.extend(finer(setup, span_mm, step, room));
        if cures.is_empty() && setup.stack.is_some() {
            cures.push("a kit with a calibration, or a longer bar".to_owned());
        }
    }
    Ok(Some(Capability {
        provable,
        expanded_arcsec: expanded,
        room_arcsec: room,
        limited_by: budget.components().first().map(|c| c.component.clone()),
        cures,
    }))
}

/// What a set-up can prove by what it states alone; `None` where tolerance, span or display are not stated.
#[must_use]
pub fn of_setup(setup: &Setup) -> Option<Capability> {
    let span = range(setup.stations.iter().map(|station| station.position.mm()));
    let step = setup.indicator.resolution?;
    (span > 0.0).then(|| capability(setup, span, step).ok().flatten())?
}

/// By how much the stack is known to set the half angle off, arc-seconds.
pub(super) fn stack_error_arcsec(setup: &Setup) -> Option<f64> {
    setup.stack.as_ref()?.angle_error_arcsec
}

/// The budget of the half angle after one round A B whose marks repeat perfectly.
fn best(setup: &Setup, span_mm: f64, step: Length) -> Budget {
    let lever = setup.indicator.lever_factor();
    let mut budget = Budget::new("arcsec");
    let by_station = |budget: &mut Budget, component: &str, u_mm: f64| {
        let part = Angle::from_rad(lever * u_mm / span_mm).arcsec();
        budget.add_rectangular(component, &[part; 2]);
    };
    by_station(&mut budget, DISPLAY, rectangular(step.mm() / 2.0));
    if let Some(error) = setup.indicator.error() {
        by_station(&mut budget, error.component, error.u_mm);
    }
    if let Some(straightness) = setup.straightness {
        by_station(
            &mut budget,
            "straightness of the travel",
            rectangular(straightness.mm() / 2.0),
        );
    }
    HalfAngle::add_stack(setup, &mut budget);
    budget
}

/// The shortest longer span that would do.
fn longer(setup: &Setup, span_mm: f64, step: Length, room: f64) -> Option<String> {
    let proves = |span: f64| best(setup, span, step).expanded(COVERAGE) <= room;
    let (mut low, mut high) = (span_mm, LONGEST * span_mm);
    if !proves(high) {
        return None;
    }
    while high - low > 0.5 {
        let middle = f64::midpoint(low, high);
        if proves(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    let span = (high / SPAN_STEP_MM).ceil() * SPAN_STEP_MM;
    Some(format!("a span of {span:.0} mm (`--span {span:.0}`)"))
}

/// The coarsest finer display that would do.
fn finer(setup: &Setup, span_mm: f64, step: Length, room: f64) -> Option<String> {
    let um = DISPLAYS_UM
        .into_iter()
        .filter(|um| *um < step.um())
        .find(|um| {
            Length::from_mm(um * 1e-3)
                .is_some_and(|step| best(setup, span_mm, step).expanded(COVERAGE) <= room)
        })?;
    Some(format!("an indicator that shows {um} µm"))
}
