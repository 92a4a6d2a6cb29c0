//! What stands around every step's own part: the title, the cables, what is wrong, the next mark and the last one, the set-up.

use super::parts::{Entry, Meaning, NextMark, Screen, Sign, Source};
use super::seen::Seen;
use super::{verdict, words};
use crate::api::{SoFar, Status};
use crate::said;
use crate::sheet;
use crate::style::Style;
use metrology::setup::Setup;
use metrology::tolerance::Tolerance;
use metrology::uncertainty::Component;

/// Which session and which step.
pub(super) fn title(status: Option<&Status>, style: Style) -> String {
    let Some(status) = status else {
        return "conewright".to_owned();
    };
    match (&status.session, status.step) {
        (None, _) => said!(style, "live-title-no-session"),
        (Some(session), None) => said!(
            style,
            "live-title-no-step",
            name = &*session.name,
            session = session.id
        ),
        (Some(session), Some(step)) => said!(
            style,
            "live-title",
            name = &*session.name,
            session = session.id,
            kind = style.term("kind", step.kind.word()),
            step = step.number
        ),
    }
}

/// Where readings come from.
pub(super) fn source(seen: &Seen<'_>) -> Option<Source> {
    let Some(indicator) = seen.indicator() else {
        return seen.status.map(|_| Source {
            name: said!(seen.units, "live-typed"),
            state: None,
            current: true,
            skipped: None,
        });
    };
    let bytes = indicator.cable.skipped_bytes;
    Some(Source {
        name: indicator.cable.name.clone(),
        state: Some(indicator.state(seen.units)),
        current: indicator.current,
        skipped: (bytes > 0 && seen.skips)
            .then(|| said!(seen.units, "live-bytes-skipped", bytes = bytes)),
    })
}

/// What is wrong now, and what is asked.
pub(super) fn notices(seen: &Seen<'_>) -> Vec<Entry> {
    let style = seen.units;
    let mut notices = Vec::new();
    if let Some(indicator) = seen.indicator().filter(|i| !i.current)
        && let Some(detail) = &indicator.cable.detail
    {
        notices.push(Entry::new(&*indicator.cable.name, detail));
    }
    if let Some(double) = seen.status.and_then(|s| s.double_press.as_ref()) {
        let (happened, asked) = words::double_press(double, style);
        let asked = said!(style, "live-press-answers", asked = asked);
        notices.push(Entry::new(happened.to_uppercase(), asked));
    }
    if let Some(notice) = seen.status.and_then(|s| s.notice.as_deref()) {
        notices.push(Entry::new(said!(style, "live-label-notice"), notice));
    }
    notices
}

/// That a mark is made as soon as the reading rests, and for how long it waits.
pub(super) fn waiting(left_s: f64, style: Style) -> Sign {
    let left = format!("{:.0}", left_s.max(0.0).ceil());
    Sign {
        word: said!(style, "live-waiting", seconds = left),
        meaning: Meaning::Doubtful,
        parts: vec![
            said!(style, "live-u-drops"),
            said!(style, "live-hold-still"),
        ],
    }
}

/// That every reading counts now, and what ends it.
pub(super) fn recording(so_far: Option<SoFar>, ends: String, style: Style) -> Sign {
    // What ends it stands first: it is what must be known in the narrowest window.
    let mut parts = vec![ends];
    let (points, turns) = match so_far {
        Some(SoFar::Sweep { points, .. }) => (Some(points), 0),
        Some(SoFar::Runout { points, turns, .. }) => (Some(points), turns),
        None => (None, 0),
    };
    parts.extend(points.map(|points| said!(style, "readings", count = points)));
    if turns > 0 {
        parts.push(said!(style, "turns", count = turns));
    }
    Sign {
        word: said!(style, "live-recording"),
        meaning: Meaning::Recording,
        parts,
    }
}

/// What the next mark is about; `unplanned` says it where the plan does not.
pub(super) fn next(seen: &Seen<'_>, status: &Status, unplanned: String, rounds: bool) -> NextMark {
    let style = seen.units;
    let next = seen.next().unwrap_or(unplanned);
    let place = match (seen.user.new_round, status.next_round.filter(|_| rounds)) {
        (true, _) => said!(style, "live-next-new-round", place = next),
        (false, Some(round)) => said!(style, "live-next-round", place = next, round = round),
        (false, None) => next,
    };
    NextMark {
        place,
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
        (_, Some(limits)) => said!(
            units,
            "live-allowed-as-angle",
            stated = stated,
            limits = verdict::limits_text(limits, units)
        ),
    }
}

/// Stations, tolerance and fixture.
pub(super) fn set_up(setup: &Setup, units: Style) -> Vec<Entry> {
    let mut entries = Vec::new();
    let stations = setup.stations.iter();
    let stations: Vec<_> = stations.map(|s| words::station(s, units)).collect();
    if !stations.is_empty() {
        let pass = setup.pass.join(" ");
        let stations = stations.join(", ");
        let text = said!(units, "live-stations-are", stations = stations, pass = pass);
        entries.push(Entry::new(said!(units, "live-label-stations"), text));
    }
    if let Some(tolerance) = &setup.tolerance {
        let text = allowed(setup, *tolerance, units);
        entries.push(Entry::new(said!(units, "live-label-allowed"), text));
    }
    if let Some(fixture) = setup.fixture.as_ref().filter(|f| !f.name.is_empty()) {
        entries.push(Entry::new(
            said!(units, "live-label-fixture"),
            &*fixture.name,
        ));
    }
    entries
}

/// Every cable beside the indicator, and what was no reading on any of them.
pub(super) fn cables(seen: &Seen<'_>, status: &Status, screen: &mut Screen) {
    let style = seen.units;
    for cable in &status.cables {
        if status.indicator.as_ref() != Some(&cable.name) {
            let state = seen.of(cable).state(style);
            let label = said!(style, "live-label-cable");
            screen.detail(label, format!("{} {state}", cable.name));
        }
        if cable.skipped_bytes > 0 {
            let last = cable.last_skipped.as_deref().unwrap_or_default();
            let text = said!(
                style,
                "live-skipped",
                cable = &*cable.name,
                bytes = cable.skipped_bytes,
                last = last
            );
            screen.detail(said!(style, "live-label-skipped"), text);
        }
    }
}

/// A component of the budget in a line.
pub(super) fn component(component: &Component, units: Style) -> String {
    let u = match &*component.unit {
        "um" => units.micro(component.u),
        unit => format!(
            "{} {}",
            units.number(component.u, 2),
            sheet::words::unit(unit)
        ),
    };
    let name = units.term("component", &component.component);
    format!("u {u}  {name}")
}
