//! What stands around every step's own part: the title, the cables, what is wrong, the next mark and the last one, the set-up.

use super::parts::{Entry, Meaning, NextMark, Screen, Sign, Source};
use super::seen::Seen;
use super::{verdict, words};
use crate::api::{SoFar, Status};
use crate::sheet;
use crate::style::Style;
use metrology::Counted;
use metrology::setup::Setup;
use metrology::tolerance::Tolerance;
use metrology::uncertainty::Component;

/// Which session and which step.
pub(super) fn title(status: Option<&Status>) -> String {
    let Some(status) = status else {
        return "conewright".to_owned();
    };
    match (&status.session, status.step) {
        (None, _) => "conewright: no session".to_owned(),
        (Some(session), None) => format!("{}: session {}, no step", session.name, session.id),
        (Some(session), Some(step)) => format!(
            "{}: session {}, {} step {}",
            session.name,
            session.id,
            step.kind.word(),
            step.number
        ),
    }
}

/// Where readings come from.
pub(super) fn source(seen: &Seen<'_>) -> Option<Source> {
    let Some(indicator) = seen.indicator() else {
        return seen.status.map(|_| Source {
            name: "values are typed".to_owned(),
            state: None,
            current: true,
            skipped: None,
        });
    };
    let bytes = indicator.cable.skipped_bytes;
    Some(Source {
        name: indicator.cable.name.clone(),
        state: Some(indicator.state()),
        current: indicator.current,
        skipped: (bytes > 0 && seen.skips).then(|| format!("{bytes} bytes skipped")),
    })
}

/// What is wrong now, and what is asked.
pub(super) fn notices(seen: &Seen<'_>) -> Vec<Entry> {
    let mut notices = Vec::new();
    if let Some(indicator) = seen.indicator().filter(|i| !i.current)
        && let Some(detail) = &indicator.cable.detail
    {
        notices.push(Entry::new(&*indicator.cable.name, detail));
    }
    if let Some(double) = seen.status.and_then(|s| s.double_press.as_ref()) {
        let (happened, asked) = words::double_press(double, seen.units);
        let asked = format!("{asked} space yes, u no");
        notices.push(Entry::new(happened.to_uppercase(), asked));
    }
    if let Some(notice) = seen.status.and_then(|s| s.notice.as_deref()) {
        notices.push(Entry::new("NOTICE", notice));
    }
    notices
}

/// That a mark is made as soon as the reading rests, and for how long it waits.
pub(super) fn waiting(left_s: f64) -> Sign {
    Sign {
        word: format!("WAITING for rest, {:.0} s", left_s.max(0.0).ceil()),
        meaning: Meaning::Doubtful,
        parts: vec!["u drops it".to_owned(), "hold still".to_owned()],
    }
}

/// That every reading counts now, and what ends it.
pub(super) fn recording(so_far: Option<SoFar>, ends: &str) -> Sign {
    // What ends it stands first: it is what must be known in the narrowest window.
    let mut parts = vec![ends.to_owned()];
    let (points, turns) = match so_far {
        Some(SoFar::Sweep { points, .. }) => (Some(points), 0),
        Some(SoFar::Runout { points, turns, .. }) => (Some(points), turns),
        None => (None, 0),
    };
    parts.extend(points.map(|points| Counted(points, "reading").to_string()));
    if turns > 0 {
        parts.push(Counted(turns as usize, "turn").to_string());
    }
    Sign {
        word: "RECORDING".to_owned(),
        meaning: Meaning::Recording,
        parts,
    }
}

/// What the next mark is about; `unplanned` says it where the plan does not.
pub(super) fn next(seen: &Seen<'_>, status: &Status, unplanned: &str, rounds: bool) -> NextMark {
    let next = seen.next().unwrap_or_else(|| unplanned.to_owned());
    let round = match (seen.user.new_round, status.next_round.filter(|_| rounds)) {
        (true, _) => ", a NEW round".to_owned(),
        (false, Some(round)) => format!(", round {round}"),
        (false, None) => String::new(),
    };
    NextMark {
        place: format!("{next}{round}"),
        clamped: status.clamped,
    }
}

/// The last mark.
pub(super) fn last(seen: &Seen<'_>) -> Vec<String> {
    let Some(mark) = seen.last_mark() else {
        return Vec::new();
    };
    let dwell = mark.value.map(|value| words::dwell(&value, seen.units));
    let line = words::mark_line(mark, seen.units);
    [line].into_iter().chain(dwell).collect()
}

/// The tolerance as stated, with what it allows of the half angle on this part.
fn allowed(setup: &Setup, tolerance: Tolerance, units: Style) -> String {
    let stated = units.tolerance(tolerance);
    let limits = setup.limits_arcsec().ok().flatten();
    match (tolerance, limits) {
        (Tolerance::HalfAngle(_), _) | (_, None) => stated,
        (_, Some(limits)) => {
            format!(
                "{stated}: {} arcsec of half angle",
                verdict::limits_text(limits)
            )
        }
    }
}

/// Stations, tolerance and fixture.
pub(super) fn set_up(setup: &Setup, units: Style) -> Vec<Entry> {
    let mut entries = Vec::new();
    let stations = setup.stations.iter();
    let stations: Vec<_> = stations.map(|s| words::station(s, units)).collect();
    if !stations.is_empty() {
        let pass = setup.pass.join(" ");
        let text = format!("{}; a round is {pass}", stations.join(", "));
        entries.push(Entry::new("STATIONS", text));
    }
    if let Some(tolerance) = &setup.tolerance {
        entries.push(Entry::new("ALLOWED", allowed(setup, *tolerance, units)));
    }
    if let Some(fixture) = setup.fixture.as_ref().filter(|f| !f.name.is_empty()) {
        entries.push(Entry::new("FIXTURE", &*fixture.name));
    }
    entries
}

/// Every cable beside the indicator, and what was no reading on any of them.
pub(super) fn cables(seen: &Seen<'_>, status: &Status, screen: &mut Screen) {
    for cable in &status.cables {
        if status.indicator.as_ref() != Some(&cable.name) {
            let state = seen.of(cable).state();
            screen.detail("CABLE", format!("{} {state}", cable.name));
        }
        if cable.skipped_bytes > 0 {
            let last = cable.last_skipped.as_deref().unwrap_or_default();
            let (name, bytes) = (&cable.name, cable.skipped_bytes);
            screen.detail("SKIPPED", format!("{name}: {bytes} bytes, last {last}"));
        }
    }
}

/// A component of the budget in a line.
pub(super) fn component(component: &Component, units: Style) -> String {
    let u = match &*component.unit {
        "um" => units.micro(component.u),
        unit => format!("{:.2} {}", component.u, sheet::words::unit(unit)),
    };
    format!("u {u}  {}", component.component)
}
