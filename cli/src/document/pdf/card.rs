//! The card of a set-up: one page to take to the machine before the job.

use super::font::{Lettering, printable};
use super::pages::{Pages, Paper, TEXT};
use super::paint::{self, Imprint, Unwritten};
use super::{table, text};
use crate::document::facts::{self, Fact, capital, figures, known, plan};
use metrology::setup::{BigEnd, IndicatorSide, Setup};
use metrology::zero;
use protocol::fold::StepKind;
use protocol::record::{Record, StepRecord};
use protocol::said;
use protocol::sheet::Sheet;
use protocol::step::Subject;
use protocol::style::Style;

/// Names and lists are cut here, so that the card stays one page. The record has them whole.
const LONGEST: usize = 160;

/// The card, with the cautions that belong to any work.
///
/// # Errors
/// The library does not accept what it was given.
pub fn write(
    record: &Record,
    cautions: &[String],
    paper: Paper,
    style: Style,
) -> Result<Vec<u8>, Unwritten> {
    let session = &record.session;
    let name = text::cut(&session.name, LONGEST / 2);
    let title = said!(style, "card-title", name = name);
    let cautions = facts::cautions(cautions, style);
    let pages = Pages::on_one(paper, style, |pages| {
        lay_out(record, &title, &cautions, pages, style);
    });
    let imprint = Imprint {
        title: printable(&title),
        below: said!(style, "card-below", session = session.id.to_string()),
        of: session.opened_utc_ns,
        program: format!("Conewright {}", record.program),
        style,
    };
    paint::write(pages, &imprint)
}

fn lay_out(record: &Record, title: &str, cautions: &[String], pages: &mut Pages, style: Style) {
    let setup = &record.setup;
    pages.title(title);
    to_set(pages, setup, style);
    section(pages, &said!(style, "set-up"), of_setup(setup, style));
    section(pages, &said!(style, "sizes"), sizes(record, style));
    pages.heading(&said!(style, "steps"), 60.0);
    pages.tasks(&tasks(setup, style));
    pages.heading(&said!(style, "cautions"), 40.0);
    pages.list(cautions);
}

/// What is set, so large that it is read from where one stands.
fn to_set(pages: &mut Pages, setup: &Setup, style: Style) {
    let large = Lettering::bold(15.0);
    if let Some(taper) = &setup.taper {
        pages.text(&said!(style, "half-angle-fact"), TEXT);
        pages.text(&style.angle(taper.half_angle), large);
        pages.gap(3.0);
    }
    if let Some(stack) = &setup.stack {
        pages.text(&said!(style, "stack"), TEXT);
        pages.text(&style.engraved(&stack.blocks, setup.kit.as_ref()), large);
        pages.gap(3.0);
    }
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

fn of_setup(setup: &Setup, style: Style) -> Vec<Fact> {
    let big_end = setup.sense.map(|sense| match sense.big_end {
        BigEnd::A => said!(style, "at-station-a"),
        BigEnd::B => said!(style, "at-station-b"),
    });
    let touches = setup.sense.map(|sense| match sense.indicator {
        IndicatorSide::Wheel => said!(style, "on-wheel-side"),
        IndicatorSide::Opposite => said!(style, "opposite-wheel"),
    });
    let capability = zero::of_setup(setup);
    let mut facts = plan::plan(setup, style);
    facts.extend(known([
        (
            said!(style, "order-of-round"),
            (!setup.pass.is_empty()).then(|| setup.pass.join(", ")),
        ),
        (said!(style, "big-end-fact"), big_end),
        (said!(style, "indicator-touches"), touches),
        (
            said!(style, "can-be-proved"),
            capability.map(|c| style.retold(&c.words())),
        ),
    ]));
    facts
}

/// The sizes that are wanted, and what the last size step found to be left.
fn sizes(record: &Record, style: Style) -> Vec<Fact> {
    let taper = record.setup.taper.as_ref();
    let small_end = taper.and_then(|taper| taper.small_diameter_mm());
    let mut facts = known([(
        said!(style, "diameter-small-end"),
        small_end.map(|mm| style.long_text(mm, 4)),
    )]);
    let is_size = |step: &&StepRecord| step.plan.kind() == StepKind::Size;
    let last = record.steps.iter().rfind(is_size);
    if let Some((step, outcome)) = last.and_then(|step| Some((step, step.outcome.as_ref()?))) {
        let sheet = Sheet::of(&record.setup, outcome, None, style);
        let found = figures(sheet.figures.iter().filter(|figure| !figure.aside), style);
        let by = |(name, value): Fact| {
            let value = said!(style, "of-step", value = value, step = step.number);
            (name, value)
        };
        facts.extend(found.into_iter().map(by));
    }
    facts
}

/// What is done, in order: preparations, the indicator, the part.
fn tasks(setup: &Setup, style: Style) -> Vec<String> {
    let preparations = [
        setup.stack.as_ref().map(|stack| {
            let blocks = style.blocks(&stack.blocks, setup.kit.as_ref());
            said!(style, "task-wring", blocks = blocks)
        }),
        Some(said!(style, "task-clamp")),
        Some(said!(style, "task-indicator")),
    ];
    let mut kinds = StepKind::ALL;
    kinds.sort_by_key(|kind| kind.subject() != Subject::Indicator);
    let steps = kinds.iter().map(|kind| {
        let word = capital(&style.term("kind", kind.word()));
        let task = style.term("task", kind.task());
        said!(style, "task-of-kind", kind = word, task = task)
    });
    preparations.into_iter().flatten().chain(steps).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_indicator_is_checked_before_it_is_used() {
        let tasks = tasks(&Setup::default(), Style::default());
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
