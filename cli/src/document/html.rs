//! A record as one page to read and print.

use super::facts::pairs::{ONE_SCALE, Pair, pairs};
use super::facts::{self, happened, instruments, plan, results, step};
use super::page::{self, table};
use super::plot;
use maud::{Markup, html};
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use protocol::fold::Outcome;
use protocol::record::{Record, StepRecord};
use protocol::sheet::Sheet;

/// The page: identification, results, plan, each step with its plots, tables, budget and verdict, what happened, cautions.
#[must_use]
pub fn write(record: &Record) -> String {
    let setup = &record.setup;
    let pairs = pairs(record);
    let body = html! {
        (page::facts(&plan::identification(&record.session)))
        (outcome_of_all(record))
        @if !pairs.is_empty() {
            h2 { "As found and as left" }
            @for of in &pairs { (pair(of)) }
        }
        h2 { "Plan" }
        (page::facts(&plan::plan(setup)))
        @if let Some(taper) = &setup.taper { p.source { "Taper: " (taper.source) } }
        @for of in &record.steps { (of_step(setup, of)) }
        @if record.steps.is_empty() { p { "The session has no steps." } }
        (events(record))
        @if !record.cautions.is_empty() {
            h2 { "Cautions" }
            (page::list(&record.cautions))
        }
        p.source { (happened::written_by(record)) }
    };
    page::page(&format!("Set-up record: {}", record.session.name), &body)
}

/// The results of all steps, and the instruments that they rest on.
fn outcome_of_all(record: &Record) -> Markup {
    html! {
        @if !record.steps.is_empty() {
            h2 { "Results" }
            (table(&results::results(record)))
            @if results::decides(record) { p.source { (Verdict::RULE) } }
        }
        h2 { "Instruments" }
        (table(&instruments::instruments(record)))
    }
}

/// As found and as left.
fn pair(pair: &Pair) -> Markup {
    html! {
        h3 { (pair.kind) }
        (page::sides(&pair.headings, &pair.rows))
        @if let Some(plot) = &pair.plot {
            (plot::draw(plot))
            p.source { (ONE_SCALE) }
        }
    }
}

/// A step under its heading.
fn of_step(setup: &Setup, step: &StepRecord) -> Markup {
    html! {
        h2 { (step::heading(step)) }
        p.when { (step::when(step)) }
        @match &step.outcome {
            Some(outcome) => (outcome_part(setup, step, outcome)),
            None => p { (step::no_outcome(step)) },
        }
        (marks(step))
    }
}

fn outcome_part(setup: &Setup, step: &StepRecord, outcome: &Outcome) -> Markup {
    let sheet = Sheet::of(setup, outcome, Some(step));
    let check = step.plan.indicator.as_ref().and_then(|i| i.check.as_ref());
    html! {
        @for headline in &sheet.headlines { div.verdict { (headline.capitals()) } }
        (page::facts(&facts::figures(&sheet.figures)))
        @if let Some(check) = check { p { "Its indicator: " (instruments::check_words(check)) } }
        (page::list(&sheet.sentences))
        @for part in &sheet.parts { (page::part(part)) }
    }
}

fn marks(step: &StepRecord) -> Markup {
    let marks = step::marks(step);
    html! {
        @if let Some(marks) = &marks {
            h3 { "Marks" }
            @if let Some(shown) = &marks.shown { p { (shown) } }
            (page::long_table(&marks.table))
            @if let Some(taken_back) = &marks.taken_back { p { (taken_back) } }
        }
    }
}

fn events(record: &Record) -> Markup {
    let (events, cables) = (happened::events(record), happened::cables(record));
    html! {
        @if !(events.rows.is_empty() && cables.rows.is_empty()) {
            h2 { "Notes and events" }
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
        let html = write(&example::record());
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
        let html = write(&record);
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
        assert!(write(&record).contains("no steps"));
    }
}
