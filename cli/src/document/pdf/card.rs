//! The card of a set-up: one page to take to the machine before the job.

use super::font::{Style, printable};
use super::pages::{Pages, Paper, TEXT};
use super::paint::{self, Imprint, Unwritten};
use super::{table, text};
use crate::document::facts::{Fact, capital, figures, known, plan};
use metrology::setup::{BigEnd, IndicatorSide, Setup};
use metrology::{Unit, zero};
use protocol::fold::StepKind;
use protocol::record::{Record, StepRecord};
use protocol::sheet::Sheet;
use protocol::sheet::words::angle;
use protocol::step::Subject;

/// Names and lists are cut here, so that the card stays one page. The record has them whole.
const LONGEST: usize = 160;

/// How large the card is printed: the first that has room on one page.
const SCALES: [f32; 5] = [1.0, 0.93, 0.86, 0.8, 0.74];

/// The card, with the cautions that belong to any work.
///
/// # Errors
/// The library does not accept what it was given.
pub fn write(record: &Record, cautions: &[String], paper: Paper) -> Result<Vec<u8>, Unwritten> {
    let session = &record.session;
    let title = format!("Set-up card: {}", text::cut(&session.name, LONGEST / 2));
    let at = |scale| laid_out(record, &title, cautions, Pages::scaled(paper, scale));
    let sizes = SCALES.iter().map(|scale| at(*scale));
    let one_page = sizes.into_iter().find(|pages| pages.pages.len() == 1);
    let imprint = Imprint {
        title: printable(&title),
        below: format!(
            "Session {}, before the job; the record tells what came of it",
            session.id
        ),
        of: session.opened_utc_ns,
        program: format!("Conewright {}", record.program),
    };
    paint::write(
        one_page.unwrap_or_else(|| at(SCALES[SCALES.len() - 1])),
        &imprint,
    )
}

fn laid_out(record: &Record, title: &str, cautions: &[String], mut pages: Pages) -> Pages {
    let setup = &record.setup;
    pages.title(title);
    to_set(&mut pages, setup);
    section(&mut pages, "Set-up", of_setup(setup));
    section(&mut pages, "Sizes", sizes(record));
    pages.heading("Steps", 60.0);
    pages.tasks(&tasks(setup));
    pages.heading("Cautions", 40.0);
    pages.list(cautions);
    pages
}

/// What is set, so large that it is read from where one stands.
fn to_set(pages: &mut Pages, setup: &Setup) {
    let large = Style::bold(15.0);
    if let Some(taper) = &setup.taper {
        pages.text("Half angle", TEXT);
        pages.text(&angle(taper.half_angle), large);
        pages.gap(3.0);
    }
    if let Some(blocks) = blocks(setup) {
        pages.text("Stack", TEXT);
        pages.text(&format!("{blocks} mm"), large);
        pages.gap(3.0);
    }
}

fn blocks(setup: &Setup) -> Option<String> {
    let blocks = setup.stack.as_ref()?.blocks.iter();
    let blocks: Vec<String> = blocks.map(|b| b.decimal(Unit::Mm)).collect();
    Some(blocks.join(" + "))
}

/// Facts under their heading; nothing for nothing.
fn section(pages: &mut Pages, heading: &str, facts: Vec<Fact>) {
    if facts.is_empty() {
        return;
    }
    pages.heading(heading, 30.0);
    let cut = facts
        .into_iter()
        .map(|(name, value)| (name, text::cut(&value, LONGEST)));
    table::facts(pages, &cut.collect::<Vec<Fact>>());
}

fn of_setup(setup: &Setup) -> Vec<Fact> {
    let big_end = setup.sense.map(|sense| match sense.big_end {
        BigEnd::A => "at station A".to_owned(),
        BigEnd::B => "at station B".to_owned(),
    });
    let touches = setup.sense.map(|sense| match sense.indicator {
        IndicatorSide::Wheel => "on the side of the wheel".to_owned(),
        IndicatorSide::Opposite => "opposite the wheel".to_owned(),
    });
    let capability = zero::of_setup(setup);
    let mut facts = plan::plan(setup);
    facts.extend(known([
        (
            "Order of a round",
            (!setup.pass.is_empty()).then(|| setup.pass.join(", ")),
        ),
        ("Big end", big_end),
        ("Indicator touches", touches),
        ("What can be proved", capability.map(|c| c.words())),
    ]));
    facts
}

/// The sizes that are wanted, and what the last size step found to be left.
fn sizes(record: &Record) -> Vec<Fact> {
    let taper = record.setup.taper.as_ref();
    let small_end = taper.and_then(|taper| taper.small_diameter_mm());
    let mut facts = known([(
        "Diameter at the small end",
        small_end.map(|mm| format!("{mm:.4} mm")),
    )]);
    let is_size = |step: &&StepRecord| step.plan.kind() == StepKind::Size;
    let last = record.steps.iter().rfind(is_size);
    if let Some((step, outcome)) = last.and_then(|step| Some((step, step.outcome.as_ref()?))) {
        let sheet = Sheet::of(&record.setup, outcome, None);
        let found = figures(sheet.figures.iter().filter(|figure| !figure.aside));
        let by = |(name, value)| (name, format!("{value} (step {})", step.number));
        facts.extend(found.into_iter().map(by));
    }
    facts
}

/// What is done, in order: preparations, the indicator, the part.
fn tasks(setup: &Setup) -> Vec<String> {
    let preparations = [
        blocks(setup).map(|blocks| format!("Wring {blocks} and set the angle with them.")),
        Some("Clamp the part, and back a magnetic hold with a mechanical clamp.".to_owned()),
        Some("Fix the indicator, and bring it to station A.".to_owned()),
    ];
    let mut kinds = StepKind::ALL;
    kinds.sort_by_key(|kind| kind.subject() != Subject::Indicator);
    let steps = kinds.iter().map(|kind| {
        let word = capital(kind.word());
        format!("{word}. {}", kind.task())
    });
    preparations.into_iter().flatten().chain(steps).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_indicator_is_checked_before_it_is_used() {
        let tasks = tasks(&Setup::default());
        let at = |word: &str| {
            tasks
                .iter()
                .position(|task| task.starts_with(word))
                .unwrap()
        };
        assert!(at("Dial") < at("Zero") && at("Zero") < at("Size"));
        assert_eq!(tasks.len(), 2 + StepKind::ALL.len());
    }
}
