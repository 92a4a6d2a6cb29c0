//! What a larger window has room for: the plan in full, what was learned of the set-up, the budget, the marks,
//! every cable; and the help.

use super::page::{Page, wrap};
use crate::watch::figures::{Units, arcsec};
use crate::watch::state::Watch;
use crate::watch::words;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::zero::ZeroOutcome;
use protocol::api::Status;
use ratatui::text::{Line, Span};

/// Draws as much as there is room for; the plan only where it does not stand elsewhere.
pub fn all(page: &mut Page<'_>, watch: &Watch, now_s: f64, until: u16, with_plan: bool) {
    let Some(status) = &watch.status else { return };
    let zero = words::zero(status);
    let mut entries: Vec<(&str, String)> = Vec::new();
    if let Some(zero) = zero {
        entries.extend(zero.remarks.iter().map(|remark| ("NOTE", remark.clone())));
    }
    if let Some(setup) = &status.setup {
        entries.extend(
            plan(setup)
                .into_iter()
                .filter(|(label, _)| with_plan || *label != PLAN),
        );
    }
    if let Some(zero) = zero {
        entries.extend(learned(zero));
    }
    if let Some(line) = marks(status, watch.look.units) {
        entries.push(("MARKS", line));
    }
    entries.extend(cables(watch, status, now_s));
    for (label, text) in entries {
        entry(page, label, &text, until);
    }
    if let Some(zero) = zero {
        budget(page, zero, until);
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

fn learned(zero: &ZeroOutcome) -> Vec<(&'static str, String)> {
    let mut entries = Vec::new();
    if let Some(pivot) = &zero.pivot {
        let rounds: Vec<_> = pivot.from_rounds.iter().map(u32::to_string).collect();
        let from = if rounds.is_empty() {
            ", given".to_owned()
        } else {
            format!(", from rounds {}", rounds.join(" "))
        };
        let u = pivot.u_mm.map(|u| format!(" ± {u:.1}")).unwrap_or_default();
        entries.push((
            "TURNS",
            format!("about {:.1}{u} mm from A{from}", pivot.position_mm),
        ));
    }
    if let Some(shift) = &zero.clamp_shift {
        let agree = if shift.agree {
            "they agree"
        } else {
            "not yet enough to aim off"
        };
        entries.push((
            "CLAMP",
            format!(
                "tightening turns it by {} arcsec ({} seen, {agree})",
                arcsec(Angle::from_rad(shift.slope.atan()).arcsec()),
                shift.count
            ),
        ));
    }
    entries
}

/// The marks of the last two rounds.
fn marks(status: &Status, units: Units) -> Option<String> {
    let newest = status.marks.last()?.round;
    let words: Vec<_> = status
        .marks
        .iter()
        .filter(|mark| mark.round + 1 >= newest)
        .map(|mark| {
            let value = mark.value.map_or_else(String::new, |value| {
                units.reading(value.value_mm, Some(value.resolution), 1)
            });
            format!("{}{} {value}", mark.place, mark.round)
        })
        .collect();
    Some(words.join("  "))
}

/// Every cable beside the indicator, and what was no reading on any of them.
fn cables(watch: &Watch, status: &Status, now_s: f64) -> Vec<(&'static str, String)> {
    let mut entries = Vec::new();
    for cable in &status.cables {
        if status.indicator.as_ref() != Some(&cable.name) {
            let age_s = watch
                .latest
                .get(&cable.name)
                .map(|latest| now_s - latest.at_s);
            let state = words::cable_state(cable, age_s, false);
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

fn budget(page: &mut Page<'_>, zero: &ZeroOutcome, until: u16) {
    let look = page.look;
    for (i, part) in zero.budget.iter().enumerate() {
        if page.y >= until {
            return;
        }
        let label = if i == 0 { "BUDGET" } else { "" };
        let text = format!("u {:.2} {}  {}", part.u, part.unit, part.component);
        page.line(Line::from(vec![
            Span::styled(format!("{label:LABEL$}"), look.faint()),
            Span::raw(look.text(&text).into_owned()),
        ]));
    }
}

const HELP: [(&str, &str); 12] = [
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
        "g",
        "the indicator now stands at the station of the tap: the bar counts down",
    ),
    ("n", "a note into the session"),
    (
        "s",
        "opens the next step; an open one is closed first, after y",
    ),
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
