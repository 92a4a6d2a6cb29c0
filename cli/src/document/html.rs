//! A record as one page to read and print.

use super::facts::pairs::{Pair, one_scale, pairs};
use super::facts::{self, happened, instruments, plan, results, step};
use super::page::{self, table};
use super::plot;
use maud::{Markup, html};
use metrology::setup::Setup;
use protocol::fold::Outcome;
use protocol::record::{Record, StepRecord};
use protocol::said;
use protocol::sheet::Sheet;
use protocol::style::Style;

/// The page: identification, results, plan, each step with its plots, tables, budget and verdict, what happened, cautions.
#[must_use]
pub fn write(record: &Record, style: Style) -> String {
    let setup = &record.setup;
    let pairs = pairs(record, style);
    let cautions = facts::cautions(&record.cautions, style);
    let body = html! {
        (page::facts(&plan::identification(record, style)))
        (outcome_of_all(record, style))
        @if !pairs.is_empty() {
            h2 { (said!(style, "as-found-and-as-left")) }
            @for of in &pairs { (pair(of, style)) }
        }
        h2 { (said!(style, "plan")) }
        (page::facts(&plan::plan(setup, style)))
        @if let Some(taper) = &setup.taper {
            p.source { (said!(style, "taper-source", source = taper.source.as_str())) }
        }
        @for of in &record.steps { (of_step(setup, of, style)) }
        @if record.steps.is_empty() { p { (said!(style, "no-steps")) } }
        (events(record, style))
        @if !cautions.is_empty() {
            h2 { (said!(style, "cautions")) }
            (page::list(&cautions))
        }
        p.source { (happened::written_by(record, style)) }
    };
    let title = said!(style, "record-title", name = record.session.name.as_str());
    page::page(&title, &body, style)
}

/// The results of all steps, and the instruments that they rest on.
fn outcome_of_all(record: &Record, style: Style) -> Markup {
    html! {
        @if !record.steps.is_empty() {
            h2 { (said!(style, "results")) }
            (table(&results::results(record, style)))
            @if results::decides(record) { p.source { (said!(style, "rule-of-decision")) } }
        }
        h2 { (said!(style, "instruments")) }
        (table(&instruments::instruments(record, style)))
    }
}

/// As found and as left.
fn pair(pair: &Pair, style: Style) -> Markup {
    html! {
        h3 { (pair.kind) }
        (page::sides(&pair.headings, &pair.rows))
        @if let Some(plot) = &pair.plot {
            (plot::draw(plot, style))
            p.source { (one_scale(style)) }
        }
    }
}

/// A step under its heading.
fn of_step(setup: &Setup, step: &StepRecord, style: Style) -> Markup {
    html! {
        h2 { (step::heading(step, style)) }
        p.when { (step::when(step, style)) }
        @match &step.outcome {
            Some(outcome) => (outcome_part(setup, step, outcome, style)),
            None => p { (step::no_outcome(step, style)) },
        }
        (marks(step, style))
    }
}

fn outcome_part(setup: &Setup, step: &StepRecord, outcome: &Outcome, style: Style) -> Markup {
    let sheet = Sheet::of(setup, outcome, Some(step), style);
    let check = step.plan.indicator.as_ref().and_then(|i| i.check.as_ref());
    html! {
        @for headline in &sheet.headlines { div.verdict { (headline.capitals()) } }
        (page::facts(&facts::figures(&sheet.figures, style)))
        @if let Some(check) = check { p { (instruments::of_step(check, style)) } }
        (page::list(&sheet.sentences))
        @for part in &sheet.parts { (page::part(part, style)) }
    }
}

fn marks(step: &StepRecord, style: Style) -> Markup {
    let marks = step::marks(step, style);
    html! {
        @if let Some(marks) = &marks {
            h3 { (said!(style, "marks")) }
            @if let Some(shown) = &marks.shown { p { (shown) } }
            (page::long_table(&marks.table))
            @if let Some(taken_back) = &marks.taken_back { p { (taken_back) } }
        }
    }
}

fn events(record: &Record, style: Style) -> Markup {
    let events = happened::events(record, style);
    let cables = happened::cables(record, style);
    html! {
        @if !(events.rows.is_empty() && cables.rows.is_empty()) {
            h2 { (said!(style, "notes-and-events")) }
            (table(&events))
            (table(&cables))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::example;

    #[test]
    fn the_page_is_one_file_that_loads_nothing() {
        let html = write(&example::record(), Style::default());
        for outside in [
            "http://", "https://", "src=", "<script", "<link", "@import", "url(",
        ] {
            assert!(!html.contains(outside), "{outside}");
        }
        for part in [
            "Plan",
            "Step 1: zero",
            "Budget",
            "<svg",
            "Cautions",
            "2.38594",
            "wheel dressed",
        ] {
            assert!(html.contains(part), "{part} is missing");
        }
    }

    #[test]
    fn what_users_write_is_text_and_nothing_else() {
        let mut record = example::record();
        record.session.name = "<script>alert('x')</script>".into();
        record.events[0].text = "\"><img onerror=1>".into();
        record.cables[0].name = "</td><b>".into();
        if let protocol::evidence::Place::Station(station) =
            &mut record.steps[0].evidence.marks[0].place
        {
            station.name = "<i>A".into();
        }
        let html = write(&record, Style::default());
        for forged in ["<script>", "<img", "<b>", "<i>"] {
            assert!(!html.contains(forged), "{forged}");
        }
        assert!(html.contains("&lt;script&gt;"));
    }

    #[test]
    fn a_record_without_anything_still_makes_a_page() {
        let mut record = example::record();
        record.steps.clear();
        record.events.clear();
        record.setup = Setup::default();
        assert!(write(&record, Style::default()).contains("no steps"));
    }
}
