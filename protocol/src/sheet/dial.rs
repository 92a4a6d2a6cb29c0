//! A check of the indicator.

use super::compared::Compare;
use super::plot::{Chart, Dot, Plot, Series, Stroke};
use super::words::{NO_LIMIT, signed, signed_cell};
use super::{Amount, Drawn, Figure, Headline, Part, Sheet, Table, Unit, Value};
use crate::evidence::Time;
use crate::record::StepRecord;
use crate::step::DialPlan;
use metrology::dial::{DialOutcome, Step};
use metrology::setup::Setup;

impl Drawn for DialPlan {
    fn sheet(_setup: &Setup, dial: &DialOutcome, step: Option<&StepRecord>) -> Sheet {
        let um = |value| Amount::plain(value, Unit::Um);
        let known = |name, value: Option<f64>, unknown: &str| {
            value.map_or_else(
                || Figure::words(name, unknown),
                |value| Figure::amount(name, um(value)),
            )
        };
        let sd = dial.repeatability_sd_um.map_or_else(String::new, |sd| {
            format!(" largest range, standard deviation {}", um(sd))
        });
        let corrected = match dial.check.correction.len() {
            0 => "not corrected".to_owned(),
            rows => format!("corrected by a table of {rows} rows"),
        };
        let later = dial.expanded_um.map_or_else(
            || "uncertainty not known: repeatability unknown".to_owned(),
            |u| format!("± {} (95 %), come to either way", um(u)),
        );
        let mut figures = vec![
            Figure::amount("error of indication", um(dial.error_span_um)).more(" over the range"),
            known("hysteresis", dial.hysteresis_um, "not read both ways"),
            known(
                "repeatability",
                dial.repeatability_um,
                "unknown: nothing was read twice the same way",
            )
            .more(sd),
            Figure::words("a later reading", later),
            Figure::words(
                "later steps use",
                format!("u = {}, {corrected}", um(dial.check.u_um)),
            ),
        ];
        // A record of a check that has no date of its own dates it by its step.
        let own = dial.check.checked_utc_ns.map(Time);
        let when = own.or_else(|| step.map(|step| step.closed.unwrap_or(step.opened)));
        figures.extend(when.map(|when| Figure {
            value: Value::Moment(when),
            ..Figure::words("checked", "")
        }));
        Sheet {
            headlines: vec![Headline::of(dial.verdict, dial.undecided_because, NO_LIMIT)],
            figures,
            parts: parts(dial),
            ..Sheet::default()
        }
    }

    fn budget_of(_outcome: &DialOutcome) -> Option<&'static str> {
        Some("a later reading")
    }
}

/// It says nothing of the part; the last check of the indicator is compared whoever made it.
impl Compare for DialPlan {}

fn parts(dial: &DialOutcome) -> Vec<Part> {
    let rows = dial.steps.iter().map(|step| {
        let both = step.up_um.zip(step.down_um);
        vec![
            format!("{:.4}", step.nominal_mm),
            signed_cell(step.up_um, 2),
            signed_cell(step.down_um, 2),
            signed_cell(both.map(|(up, down)| up - down), 2),
        ]
    });
    let errors = Part {
        table: Some(Table::new(
            &["#nominal, mm", "#up, µm", "#down, µm", "#hysteresis, µm"],
            rows,
        )),
        ..Part::plot("Error of indication, up and down", chart(dial))
    };
    if dial.check.correction.is_empty() {
        return vec![errors.note("No correction was asked for.")];
    }
    let rows = dial
        .check
        .correction
        .iter()
        .map(|row| vec![format!("{:.5}", row.reading_mm), signed(row.add_um, 2)]);
    let correction = Part::table("Correction", Table::new(&["#shown, mm", "#add, µm"], rows))
        .note("Between two rows in proportion, beyond them as at the end.");
    vec![errors, correction]
}

fn chart(dial: &DialOutcome) -> Plot {
    let series = |label: &str, of: fn(&Step) -> Option<f64>, stroke: Stroke, dot: Dot| Series {
        label: label.into(),
        points: dial
            .steps
            .iter()
            .filter_map(|s| Some((s.nominal_mm, of(s)?)))
            .collect(),
        stroke,
        dot,
    };
    let both = [
        series("upward", |s| s.up_um, Stroke::Heavy, Dot::Full),
        series("downward", |s| s.down_um, Stroke::Dashed(0), Dot::Open),
    ];
    Plot::Chart(Chart {
        title: "Error of indication, up and down".into(),
        x_label: "nominal, mm".into(),
        y_label: "shown less nominal, µm".into(),
        series: both.into_iter().filter(|s| !s.points.is_empty()).collect(),
        flags: Vec::new(),
        legend: true,
        low: false,
    })
}
