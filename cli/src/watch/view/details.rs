//! What a larger window has room for: the plan in full, what was learned of the set-up, the budget, the marks,
//! every cable; and the help.

use super::page::{Page, wrap};
use crate::watch::face::Face;
use crate::watch::figures::Units;
use crate::watch::state::Watch;
use crate::watch::words;
use metrology::setup::Setup;
use metrology::uncertainty::Component;
use protocol::api::Status;
use protocol::plan::StepKind;
use ratatui::text::{Line, Span};

/// Draws as much as there is room for; the plan, and so many notes, stand elsewhere.
pub fn all(
    page: &mut Page<'_>,
    watch: &Watch,
    face: &Face,
    now_s: f64,
    until: u16,
    (with_plan, told): (bool, usize),
) {
    let Some(status) = &watch.status else { return };
    let outcome = status.outcome.as_ref();
    let mut entries: Vec<(&str, String)> = Vec::new();
    if let Some(outcome) = outcome {
        entries.extend(
            outcome
                .sentences()
                .skip(told)
                .map(|said| ("NOTE", said.to_owned())),
        );
    }
    if let Some(setup) = &status.setup {
        entries.extend(
            plan(setup)
                .into_iter()
                .filter(|(label, _)| with_plan || *label != PLAN),
        );
    }
    entries.extend(face.learned.iter().cloned());
    // The other steps' tables have them.
    if status.step.is_some_and(|step| step.kind == StepKind::Zero) {
        entries.extend(marks(status, watch.look.units).map(|line| ("MARKS", line)));
    }
    entries.extend(cables(watch, status, now_s));
    for (label, text) in entries {
        entry(page, label, &text, until);
    }
    if let Some(outcome) = outcome {
        budget(page, outcome.budget(), until);
    }
}

const PLAN: &str = "PLAN";
const LABEL: usize = 9;

fn entry(page: &mut Page<'_>, label: &str, text: &str, until: u16) {
    let look = page.look;
    let room = page.width().saturating_sub(LABEL as u16);
    for (i, line) in wrap(&look.text(text), room, 3).into_iter().enumerate() {
        let label = if i == 0 { label } else { "" };
        if page.y < until {
            page.line(Line::from(vec![
                Span::styled(format!("{label:LABEL$}"), look.faint()),
                Span::raw(line),
            ]));
        }
    }
}

fn plan(setup: &Setup) -> Vec<(&'static str, String)> {
    let mut entries = vec![(PLAN, words::plan(setup).join(", "))];
    let stations: Vec<_> = setup.stations.iter().map(words::station).collect();
    if !stations.is_empty() {
        entries.push((
            "STATIONS",
            format!(
                "{}; a round is {}",
                stations.join(", "),
                setup.pass.join(" ")
            ),
        ));
    }
    if let Some(tolerance) = &setup.tolerance {
        entries.push(("ALLOWED", tolerance.to_string()));
    }
    if let Some(fixture) = &setup.fixture {
        entries.push(("FIXTURE", fixture.name.clone()));
    }
    entries.retain(|(_, text)| !text.is_empty());
    entries
}

/// The marks of the last two rounds.
fn marks(status: &Status, units: Units) -> Option<String> {
    let newest = status.marks.last()?.round;
    let words: Vec<_> = status
        .marks
        .iter()
        .filter(|mark| mark.round + 1 >= newest)
        .filter_map(|mark| {
            let value = mark.value?;
            let value = units.reading(value.value_mm, Some(value.resolution), 1);
            Some(format!("{}{} {value}", mark.place, mark.round))
        })
        .collect();
    (!words.is_empty()).then(|| words.join("  "))
}

/// Every cable beside the indicator, and what was no reading on any of them.
fn cables(watch: &Watch, status: &Status, now_s: f64) -> Vec<(&'static str, String)> {
    let mut entries = Vec::new();
    for cable in &status.cables {
        if status.indicator.as_ref() != Some(&cable.name) {
            let state = words::cable_state(
                cable,
                watch.age_s(&cable.name, now_s),
                watch.is_current(cable, now_s),
            );
            entries.push(("CABLE", format!("{} {state}", cable.name)));
        }
        if cable.skipped_bytes > 0 {
            let last = cable.last_skipped.as_deref().unwrap_or_default();
            entries.push((
                "SKIPPED",
                format!("{}: {} bytes, last {last}", cable.name, cable.skipped_bytes),
            ));
        }
    }
    entries
}

fn budget(page: &mut Page<'_>, budget: &[Component], until: u16) {
    let look = page.look;
    for (i, part) in budget.iter().enumerate() {
        if page.y >= until {
            return;
        }
        let label = if i == 0 { "BUDGET" } else { "" };
        let unit = part.unit.replace("um", "µm");
        let text = format!("u {:.2} {unit}  {}", part.u, part.component);
        page.line(Line::from(vec![
            Span::styled(format!("{label:LABEL$}"), look.faint()),
            Span::raw(look.text(&text).into_owned()),
        ]));
    }
}

const HELP: [(&str, &str); 14] = [
    (
        "space",
        "marks the next station with the settled reading there; enter does the same",
    ),
    (
        "0-9 + -",
        "begin a typed value for the next station: 0.0125, 12.5um, -3.5div",
    ),
    (
        "u",
        "takes the last mark back, after y; the record keeps it as taken back",
    ),
    ("r", "the next mark begins a new round"),
    (
        "c",
        "the clamp was tightened, or loosened: the next round measures the shift",
    ),
    (
        "o",
        "the part was ground: what is marked from now on is of a new state of it",
    ),
    (
        "p",
        "says where the next mark is, when it is not the next in order",
    ),
    (
        "g",
        "the indicator now stands at the place of the target: the bar counts down",
    ),
    ("n", "a note into the session"),
    ("s", "a menu of the six steps; the open one is closed first"),
    (
        "q",
        "leaves; the background process, the session and the step go on",
    ),
    ("", ""),
    (
        "tap",
        "at the station that the advice names, until the bar is gone; then mark a round",
    ),
    (
        "hatched",
        "digits drawn hatched are old: they are not what the indicator shows now",
    ),
];

/// What the keys do.
pub fn help(page: &mut Page<'_>, until: u16) {
    page.rule();
    for (key, text) in HELP {
        entry(page, key, text, until);
        if key.is_empty() {
            page.blank();
        }
    }
}
