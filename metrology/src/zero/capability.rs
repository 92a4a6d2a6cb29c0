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
    // Budgets of other spans and displays have nearly the same shape.
    let factor = expanded / budget.combined();
    let provable = expanded <= room;
    let mut cures = Vec::new();
    if !provable {
        if off > 0.0 && expanded <= room + off {
            cures.push(
                "state --big-end and --indicator-side, so that the stack's error can be taken back"
                    .to_owned(),
            );
        }
        cures.extend(longer(setup, span_mm, step, room, factor));
        cures.extend(finer(setup, span_mm, step, room, factor));
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

/// A search takes the expanded uncertainty for the combined one times a factor so many times, before it computes each.
const GUESSES: usize = 3;

/// The shortest longer span that would do. `factor` is the expanded uncertainty over the combined one at this span.
///
/// What a span can prove grows with it. So a search that is guided by a guess ends where one without it does, if what it
/// ends with is as it should be: this span proves, and the one just below it does not.
fn longer(setup: &Setup, span_mm: f64, step: Length, room: f64, mut factor: f64) -> Option<String> {
    let ends = [span_mm, LONGEST * span_mm];
    let combined = |span: f64| best(setup, span, step).combined();
    let expanded = |span: f64| best(setup, span, step).expanded(COVERAGE);
    for _ in 0..GUESSES {
        if factor * combined(ends[1]) > room {
            break;
        }
        let [low, high] = narrowed(ends, |span| factor * combined(span) <= room);
        let at_high = expanded(high);
        if at_high <= room && (low == span_mm || expanded(low) > room) {
            return Some(words_of_span(high));
        }
        factor = at_high / combined(high);
    }
    if expanded(ends[1]) > room {
        return None;
    }
    let [_, high] = narrowed(ends, |span| expanded(span) <= room);
    Some(words_of_span(high))
}

/// Two spans, mm, no more than half a millimetre apart, between the two given, of which the second proves and the first
/// does not.
fn narrowed([mut low, mut high]: [f64; 2], proves: impl Fn(f64) -> bool) -> [f64; 2] {
    while high - low > 0.5 {
        let middle = f64::midpoint(low, high);
        if proves(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    [low, high]
}

fn words_of_span(least_mm: f64) -> String {
    let span = (least_mm / SPAN_STEP_MM).ceil() * SPAN_STEP_MM;
    format!("a span of {span:.0} mm (`--span {span:.0}`)")
}

/// The coarsest finer display that would do. `factor` is the expanded uncertainty over the combined one with this display.
fn finer(setup: &Setup, span_mm: f64, step: Length, room: f64, factor: f64) -> Option<String> {
    let budget = |um: f64| Length::from_mm(um * 1e-3).map(|step| best(setup, span_mm, step));
    let proves = |um: &f64| budget(*um).is_some_and(|best| best.expanded(COVERAGE) <= room);
    let likely = |um: &f64| budget(*um).is_some_and(|best| factor * best.combined() <= room);
    let coarser = DISPLAYS_UM
        .iter()
        .take_while(|um| **um >= step.um())
        .count();
    let displays = &DISPLAYS_UM[coarser..];
    // The likely one is right when it proves, where there is one, and the next coarser does not.
    let first = displays.iter().position(likely).unwrap_or(displays.len());
    let right = displays.get(first).is_none_or(proves)
        && first
            .checked_sub(1)
            .is_none_or(|coarser| !proves(&displays[coarser]));
    let um = if right {
        displays.get(first)
    } else {
        displays.iter().find(|um| proves(um))
    }?;
    Some(format!("an indicator that shows {um} µm"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;
    use crate::setting::{Bar, BarKind};
    use crate::taper::Taper;

    /// What a guess leads to is what a search without one finds.
    #[test]
    fn a_guided_search_finds_what_a_plain_one_does() {
        let mut random = Random::new(2);
        let (mut spans, mut displays) = (0, 0);
        for _ in 0..200 {
            let mut setup = Setup::default();
            setup.indicator.error_limit = random.pick(&[None, Some(Length::from_um(1))]);
            setup.straightness = random.pick(&[None, Some(Length::from_um(2))]);
            if random.below(2) == 0 {
                let half_angle = "1:12".parse().unwrap();
                setup.taper = Some(Taper::from_half_angle("1:12", half_angle, "stated").unwrap());
                setup.stack = Some(crate::blocks::Stack {
                    height: Length::from_um(4_163),
                    blocks: vec![],
                    sum: Length::from_um(4_163),
                    error_um: 0.0,
                    within: true,
                    u_um: Some(random.between(0.0, 0.5)),
                    angle_set_deg: None,
                    angle_error_arcsec: None,
                });
                setup.bar = Some(Bar {
                    kind: BarKind::Sine,
                    centre_distance: Some(Length::from_um(100_000)),
                    constant: Length::ZERO,
                    disc_radii: None,
                    centre_distance_u: random.pick(&[None, Some(Length::from_um(1))]),
                });
            }
            let (span_mm, step) = (random.between(20.0, 120.0), Length::from_um(1));
            let budget = best(&setup, span_mm, step);
            let expanded = budget.expanded(COVERAGE);
            let room = random.between(0.05, 1.0) * expanded;
            let proves =
                |span: f64, step: Length| best(&setup, span, step).expanded(COVERAGE) <= room;
            let ends = [span_mm, LONGEST * span_mm];
            let span = proves(ends[1], step)
                .then(|| words_of_span(narrowed(ends, |span| proves(span, step))[1]));
            let finer_um = DISPLAYS_UM.into_iter().filter(|um| *um < step.um());
            let display = { finer_um }
                .find(|um| proves(span_mm, Length::from_mm(um * 1e-3).unwrap()))
                .map(|um| format!("an indicator that shows {um} µm"));
            // A guess that is far off costs time, and finds the same.
            for off in [1.0, 0.7, 1.4] {
                let factor = off * expanded / budget.combined();
                assert_eq!(longer(&setup, span_mm, step, room, factor), span);
                assert_eq!(finer(&setup, span_mm, step, room, factor), display);
            }
            spans += usize::from(span.is_some());
            displays += usize::from(display.is_some());
        }
        assert!(spans > 50 && displays > 20, "{spans} {displays}");
    }
}
