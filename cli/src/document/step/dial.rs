//! A dial step's part of the page.

use super::words::plain_um;
use super::{Figures, check_words};
use crate::document::page::Page;
use crate::document::plot::{Chart, Dot, Series, Stroke};
use crate::document::utc;
use crate::layout::signed;
use metrology::dial::{DialOutcome, Step};
use protocol::evidence::Time;
use protocol::record::StepRecord;

pub fn figures(outcome: &DialOutcome) -> Figures {
    let hysteresis = outcome.hysteresis_um;
    vec![
        (
            "Error of indication, span",
            Some(plain_um(outcome.error_span_um)),
        ),
        (
            "Hysteresis",
            Some(hysteresis.map_or_else(|| "not read both ways".to_owned(), plain_um)),
        ),
        (
            "Repeatability",
            Some(outcome.repeatability_um.map_or_else(
                || "nothing was read twice the same way".to_owned(),
                |range| {
                    let sd = outcome.repeatability_sd_um.map_or_else(String::new, |sd| {
                        format!(" (standard deviation {sd:.2} µm)")
                    });
                    plain_um(range) + &sd
                },
            )),
        ),
        (
            "A later reading is good to",
            Some(format!("± {:.2} µm (95 %)", outcome.expanded_um)),
        ),
        ("Later steps use", Some(check_words(&outcome.check))),
    ]
}

pub fn plots(page: &mut Page, step: &StepRecord, outcome: &DialOutcome) {
    let series = |label: &str, of: fn(&Step) -> Option<f64>, stroke: Stroke, dot: Dot| Series {
        label: label.into(),
        points: outcome
            .steps
            .iter()
            .filter_map(|s| Some((s.nominal_mm, of(s)?)))
            .collect(),
        stroke,
        dot,
    };
    let chart = Chart {
        title: "Error of indication, up and down".into(),
        x_label: "nominal, mm".into(),
        y_label: "shown less nominal, µm".into(),
        series: vec![
            series("upward", |s| s.up_um, Stroke::Heavy, Dot::Full),
            series("downward", |s| s.down_um, Stroke::Dashed(0), Dot::Open),
        ]
        .into_iter()
        .filter(|series| !series.points.is_empty())
        .collect(),
        flags: Vec::new(),
        legend: true,
        height: Chart::TALL,
    };
    page.subheading("Error of indication, up and down");
    page.svg(&chart.svg());
    let optional = |value: Option<f64>| value.map_or_else(String::new, |v| signed(v, 2));
    page.table(
        &["#Nominal, mm", "#Up, µm", "#Down, µm", "#Hysteresis, µm"],
        outcome.steps.iter().map(|s| {
            vec![
                format!("{:.4}", s.nominal_mm),
                optional(s.up_um),
                optional(s.down_um),
                optional(s.up_um.zip(s.down_um).map(|(up, down)| up - down)),
            ]
        }),
    );
    if outcome.check.correction.is_empty() {
        page.source("No correction was asked for.");
        return;
    }
    // A record of a check that has no date of its own dates it by its step.
    let when = outcome
        .check
        .checked_utc_ns
        .map(Time)
        .or(step.closed)
        .unwrap_or(step.opened);
    page.subheading(format!("Correction, of {} UTC", utc(when)));
    page.table(
        &["#Shown, mm", "#Add, µm"],
        outcome
            .check
            .correction
            .iter()
            .map(|row| vec![format!("{:.5}", row.reading_mm), signed(row.add_um, 2)]),
    );
    page.source("Between two rows in proportion, beyond them as at the end.");
}
