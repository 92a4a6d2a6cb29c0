//! A run-out step's part of the page.

use super::form::Form;
use super::reversal;
use super::words::{between, direction, plain_um};
use super::{Figures, verdict_words};
use crate::document::page::Page;
use crate::document::plot::{Bar, Bars, Polar};
use crate::layout::signed;
use metrology::Counted;
use metrology::runout::{RunoutOutcome, Section, profiles};
use metrology::setup::Setup;
use protocol::fold::{Inputs, setup_for};
use protocol::plan::Work;
use protocol::record::StepRecord;

pub fn figures(outcome: &RunoutOutcome) -> Figures {
    let section = &outcome.section;
    let mut figures = vec![(
        "Plane",
        section
            .plane_mm
            .filter(|_| !outcome.planes.is_empty())
            .map(|plane| format!("{plane:.3} mm, the first of {}", outcome.planes.len())),
    )];
    figures.extend([
        (
            "Run-out, total indicator reading",
            Some(between(section.tir_um, section.tir_interval_um, "µm")),
        ),
        (
            "Eccentricity",
            Some(between(
                section.eccentricity_um,
                section.eccentricity_interval_um,
                "µm",
            )),
        ),
        (
            "High spot",
            Some({
                let good_to = section
                    .high_spot_expanded_deg
                    .map_or_else(String::new, |u| format!(" (± {u:.0}°)"));
                direction(section.high_spot_deg) + &good_to
            }),
        ),
        (
            "True it",
            outcome.truing.as_ref().map(|truing| {
                format!(
                    "at {}, {} away from the indicator, to a reading of {} mm",
                    direction(truing.at_deg),
                    plain_um(truing.move_um),
                    signed(truing.target_mm, 4)
                )
            }),
        ),
        (
            "Roundness, minimum zone",
            section
                .roundness_mz_um
                .map(|um| between(um, section.roundness_interval_um, "µm")),
        ),
        (
            "Roundness, least squares",
            section.roundness_ls_um.map(plain_um),
        ),
        ("Repeats turn by turn", section.synchronous_um.map(plain_um)),
        ("Does not repeat", section.asynchronous_um.map(plain_um)),
        ("Read", Some(read(section))),
        (
            "Filter",
            Some(outcome.filter_upr.map_or_else(
                || "none".to_owned(),
                |upr| format!("Gaussian, {upr} undulations a turn: for roundness"),
            )),
        ),
        ("Outliers", Some(outliers(section))),
    ]);
    if let Some(axis) = &outcome.axis {
        figures.push((
            "The part's axis",
            Some(format!(
                "offset {} toward {} at plane {:.3} mm",
                plain_um(axis.offset_um),
                direction(axis.offset_direction_deg),
                axis.plane_mm
            )),
        ));
        let tilt = between(axis.tilt_urad, axis.tilt_interval_urad, "µrad");
        figures.push((
            "Tilt",
            Some(format!("{tilt}, toward {}", direction(axis.direction_deg))),
        ));
    }
    figures
}

fn read(section: &Section) -> String {
    let turn = section
        .turn_s
        .map_or_else(String::new, |turn| format!(" of {turn:.3} s"));
    format!(
        "{}, {}{turn}",
        Counted(section.points, "reading"),
        Counted(section.turns, "turn")
    )
}

fn outliers(section: &Section) -> String {
    match (section.outliers, section.rejected) {
        (0, _) => "none".to_owned(),
        (found, 0) => format!("{found}, counted in"),
        (found, rejected) => format!("{found}, {rejected} left out as asked for"),
    }
}

/// Every section of an outcome, in order of place.
fn sections(outcome: &RunoutOutcome) -> &[Section] {
    if outcome.planes.is_empty() {
        std::slice::from_ref(&outcome.section)
    } else {
        &outcome.planes
    }
}

/// Each plane with its form; nothing when the readings can no longer be placed.
fn forms<'a>(
    setup: &Setup,
    step: &StepRecord,
    outcome: &'a RunoutOutcome,
) -> Vec<(&'a Section, Form)> {
    let Work::Runout(options) = &step.plan.work else {
        return Vec::new();
    };
    let Ok(Inputs::Runout { first, .. }) = Inputs::of(&step.plan, setup, &step.evidence) else {
        return Vec::new();
    };
    let shown = step.evidence.coarsest(step.plan.cable(setup));
    let setup = setup_for(&step.plan, setup, shown);
    let planes = profiles(&setup, &options.runout, first.readings(), outcome).unwrap_or_default();
    sections(outcome)
        .iter()
        .zip(&planes)
        .map(|(section, profile)| {
            let form = Form::of(&setup, &options.runout, profile, section);
            (section, form)
        })
        .collect()
}

/// The first plane as it was read.
pub fn as_read(setup: &Setup, step: &StepRecord, outcome: &RunoutOutcome) -> Option<Polar> {
    let forms = forms(setup, step, outcome);
    let (_, form) = forms.first()?;
    Some(form.as_read(format!("Run-out of step {}", step.number)))
}

pub fn plots(page: &mut Page, setup: &Setup, step: &StepRecord, outcome: &RunoutOutcome) {
    if outcome.planes.len() > 1 {
        planes(page, outcome);
    }
    for (section, form) in forms(setup, step, outcome) {
        let plane = section
            .plane_mm
            .map_or_else(String::new, |plane| format!(" in plane {plane:.3} mm"));
        page.subheading(format!("Round a turn{plane}"));
        page.pair([
            (
                "as read, with the high spot",
                form.as_read(format!("Readings round a turn{plane}")).svg(),
            ),
            (
                "form, the eccentricity taken out",
                form.form(format!("Form{plane}")).svg(),
            ),
        ]);
        let turns = match form.turns() {
            0 | 1 => "",
            _ => " Turns after the first are dashed.",
        };
        let smooth = outcome.filter_upr.map_or(
            "",
            |_| " The heavy line within the readings is the filtered profile.",
        );
        page.source(form.thinned().unwrap_or_else(|| {
            format!(
                "Solid circle: least squares. Dashed circles: minimum zone. Crosses: outliers. Outward is toward the \
                 indicator.{turns}{smooth}"
            )
        }));
        if !section.harmonics_um.is_empty() {
            page.subheading(format!("Harmonics{plane}"));
            page.svg(&harmonics(section).svg());
        }
    }
    if sections(outcome).iter().any(|s| !s.harmonics_um.is_empty()) {
        page.source(
            "Amplitudes by undulations a turn. The usual reading, common practice: 2 ovality, of two jaws or soft centres; \
             3 three lobes, of a three-jaw chuck or centreless grinding; 4 a four-jaw chuck; many: chatter or a bearing.",
        );
    }
    if let Some(reversal) = &outcome.reversal {
        reversal::plots(page, reversal);
    }
}

fn planes(page: &mut Page, outcome: &RunoutOutcome) {
    page.subheading("Planes");
    page.table(
        &[
            "#Plane, mm",
            "#Run-out, µm",
            "#Eccentricity, µm",
            "#High spot, °",
            "#Roundness, µm",
            "Verdict",
        ],
        outcome.planes.iter().map(|section| {
            vec![
                section
                    .plane_mm
                    .map_or_else(String::new, |plane| format!("{plane:.3}")),
                format!("{:.2}", section.tir_um),
                format!("{:.2}", section.eccentricity_um),
                format!("{:.0}", section.high_spot_deg),
                section
                    .roundness_mz_um
                    .map_or_else(String::new, |um| format!("{um:.2}")),
                verdict_words(section.verdict, "").to_lowercase(),
            ]
        }),
    );
    if !outcome.elsewhere.is_empty() {
        page.subheading("Run-out that the axis gives elsewhere");
        page.table(
            &["#Plane, mm", "#Run-out, µm", "#High spot, °"],
            outcome.elsewhere.iter().map(|there| {
                vec![
                    format!("{:.3}", there.plane_mm),
                    format!("{:.2}", there.runout_um),
                    format!("{:.0}", there.high_spot_deg),
                ]
            }),
        );
    }
}

fn harmonics(section: &Section) -> Bars {
    let note = |order: usize| match order {
        2 => "oval",
        3 => "3 jaws",
        4 => "4 jaws",
        _ => "",
    };
    Bars {
        title: "Harmonics".into(),
        x_label: "undulations a turn".into(),
        y_label: "amplitude, µm".into(),
        bars: section
            .harmonics_um
            .iter()
            .enumerate()
            .map(|(index, amplitude)| Bar {
                label: (index + 2).to_string(),
                note: note(index + 2).into(),
                value: *amplitude,
            })
            .collect(),
        highest: None,
        level: None,
        places: 2,
    }
}
