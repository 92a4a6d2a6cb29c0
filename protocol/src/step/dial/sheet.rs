//! A check of the indicator.

use crate::evidence::Time;
use crate::record::StepRecord;
use crate::said;
use crate::sheet::compared::Compare;
use crate::sheet::plot::{Chart, Dot, Plot, Series, Stroke};
use crate::sheet::words::limits_missing;
use crate::sheet::{Amount, Column, Drawn, Figure, Headline, Part, Sheet, Table, Unit};
use crate::step::DialPlan;
use crate::style::Style;
use metrology::dial::{DialOutcome, Step};
use metrology::setup::Setup;

impl Drawn for DialPlan {
    fn sheet(_setup: &Setup, dial: &DialOutcome, step: Option<&StepRecord>, style: Style) -> Sheet {
        let um = |value| Amount::plain(value, Unit::Um);
        let known = |name: String, value: Option<f64>, unknown: String| match value {
            Some(value) => Figure::amount(name, um(value), style),
            None => Figure::words(name, unknown),
        };
        let sd = dial.repeatability_sd_um.map_or_else(String::new, |sd| {
            said!(style, "largest-range-sd", sd = style.micro(sd))
        });
        let corrected = match dial.check.correction.len() {
            0 => said!(style, "not-corrected"),
            rows => said!(style, "corrected-by-rows", rows = rows),
        };
        let later = dial.expanded_um.map_or_else(
            || said!(style, "later-unknown"),
            |u| said!(style, "later-within", u = style.micro(u)),
        );
        let mut figures = vec![
            Figure::amount(
                said!(style, "error-of-indication"),
                um(dial.error_span_um),
                style,
            )
            .more(said!(style, "over-the-range")),
            known(
                said!(style, "hysteresis"),
                dial.hysteresis_um,
                said!(style, "not-read-both-ways"),
            ),
            known(
                said!(style, "repeatability"),
                dial.repeatability_um,
                said!(style, "nothing-read-twice"),
            )
            .more(sd),
            Figure::words(said!(style, "a-later-reading"), later),
            Figure::words(
                said!(style, "later-steps-use"),
                format!("u = {}, {corrected}", style.micro(dial.check.u_um)),
            ),
        ];
        // A record of a check that has no date of its own dates it by its step.
        let own = dial.check.checked_utc_ns.map(Time);
        let when = own.or_else(|| step.map(|step| step.closed.unwrap_or(step.opened)));
        figures.extend(when.map(|when| Figure::moment(said!(style, "checked"), when)));
        let missing = limits_missing(style);
        Sheet {
            headlines: vec![Headline::of(
                dial.verdict,
                dial.undecided_because,
                &missing,
                style,
            )],
            figures,
            parts: parts(dial, style),
            ..Sheet::default()
        }
    }

    fn budget_of(_outcome: &DialOutcome, style: Style) -> Option<String> {
        Some(said!(style, "budget-of-later-reading"))
    }
}

/// It says nothing of the part; the last check of the indicator is compared whoever made it.
impl Compare for DialPlan {}

fn parts(dial: &DialOutcome, style: Style) -> Vec<Part> {
    let [long, small] = [style.long_sign(), style.small_sign()];
    let rows = dial.steps.iter().map(|step| {
        let both = step.up_um.zip(step.down_um);
        vec![
            style.long_number(step.nominal_mm, 4),
            style.micro_signed_cell(step.up_um, 2),
            style.micro_signed_cell(step.down_um, 2),
            style.micro_signed_cell(both.map(|(up, down)| up - down), 2),
        ]
    });
    let columns = [
        Column::number(said!(style, "column-nominal", unit = long)),
        Column::number(said!(style, "column-up", unit = small)),
        Column::number(said!(style, "column-down", unit = small)),
        Column::number(said!(style, "column-hysteresis", unit = small)),
    ];
    let errors = Part {
        table: Some(Table::new(columns, rows)),
        ..Part::plot(said!(style, "errors-up-and-down"), chart(dial, style))
    };
    if dial.check.correction.is_empty() {
        return vec![errors.note(said!(style, "no-correction-asked"))];
    }
    let rows = dial.check.correction.iter().map(|row| {
        vec![
            style.long_number(row.reading_mm, 5),
            style.micro_signed_number(row.add_um, 2),
        ]
    });
    let columns = [
        Column::number(said!(style, "column-shown", unit = long)),
        Column::number(said!(style, "column-add", unit = small)),
    ];
    let correction = Part::table(said!(style, "correction"), Table::new(columns, rows))
        .note(said!(style, "correction-between-rows"));
    vec![errors, correction]
}

fn chart(dial: &DialOutcome, style: Style) -> Plot {
    let series = |label: String, of: fn(&Step) -> Option<f64>, stroke: Stroke, dot: Dot| Series {
        label,
        points: dial
            .steps
            .iter()
            .filter_map(|s| Some((style.long(s.nominal_mm), style.small(of(s)?))))
            .collect(),
        stroke,
        dot,
    };
    let upward = said!(style, "upward");
    let downward = said!(style, "downward");
    let both = [
        series(upward, |s| s.up_um, Stroke::Heavy, Dot::Full),
        series(downward, |s| s.down_um, Stroke::Dashed(0), Dot::Open),
    ];
    Plot::Chart(Chart {
        title: said!(style, "errors-up-and-down"),
        x_label: said!(style, "column-nominal", unit = style.long_sign()),
        y_label: said!(style, "shown-less-nominal", unit = style.small_sign()),
        series: both.into_iter().filter(|s| !s.points.is_empty()).collect(),
        flags: Vec::new(),
        legend: true,
        low: false,
    })
}
