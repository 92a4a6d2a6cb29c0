//! Marks, cables, the set-up and the residual in words, as the live view shows them.

use super::clock;
use super::units::age;
use crate::api::{CableState, CableStatus, DoublePress, MarkLine, Marked, Status};
use crate::evidence::{MarkValue, Place};
use crate::said;
use crate::sheet::words;
use crate::style::{Language, Style};
use metrology::setup::{Setup, Station};
use metrology::zero::Sloping;

/// The press that is asked about: what happened, and what is asked.
#[must_use]
pub fn double_press(double: &DoublePress, units: Style) -> (String, String) {
    let reading = units.reading(double.reading.mm(), Some(double.resolution), 0);
    let reading = format!("{reading} {}", units.sign());
    match double.presses {
        2 => (
            said!(units, "live-pressed-twice"),
            said!(units, "live-second-a-mark", reading = reading),
        ),
        presses => (
            said!(units, "live-pressed-times", times = presses),
            said!(units, "live-last-a-mark", reading = reading),
        ),
    }
}

/// Where or what a mark is about: angles also as the clock has them.
pub(crate) fn place(place: &Place, units: Style) -> String {
    match place {
        Place::Angle { angle, plane } => {
            let hour = clock::hour(angle.deg(), units);
            let degrees = clock::degrees(angle.deg(), units);
            let plane = plane.map_or_else(String::new, |plane| {
                said!(units, "in-plane", plane = units.length(plane))
            });
            format!("{hour} ({degrees}°){plane}")
        }
        other => words::place(other, units),
    }
}

/// Whether the next mark goes on with the round of the last one.
pub(crate) fn round_under_way(status: &Status) -> bool {
    match (status.marks.last(), status.next_round) {
        (Some(mark), Some(next_round)) => mark.round == next_round,
        _ => false,
    }
}

/// A mark in a line.
#[must_use]
pub fn mark_line(mark: &MarkLine, units: Style) -> String {
    let at = mark.at.as_ref();
    let place = at.map_or_else(|| mark.place.clone(), |at| place(at, units));
    mark_words(mark.number, &place, mark.round, mark.value.as_ref(), units)
}

/// A mark just made, in a line.
#[must_use]
pub fn marked(mark: &Marked, units: Style) -> String {
    let at = mark.at.as_ref();
    let place = at.map_or_else(|| mark.place.clone(), |at| words::place(at, units));
    mark_words(mark.number, &place, mark.round, mark.value.as_ref(), units)
}

fn mark_words(
    number: u32,
    place: &str,
    round: u32,
    value: Option<&MarkValue>,
    units: Style,
) -> String {
    let Some(value) = value else {
        return said!(units, "live-mark-bare", number = number, place = place);
    };
    // The mean of a dwell is finer than the display by about one place.
    let finer = usize::from(value.readings > 1);
    let shown = units.reading(value.value_mm, Some(value.resolution), finer);
    let dial = units
        .on_the_dial(value.value_mm, Some(value.resolution))
        .map_or_else(String::new, |dial| format!(", {dial}"));
    said!(
        units,
        "live-mark",
        number = number,
        place = place,
        round = round,
        value = format!("{shown} {}{dial}", units.sign())
    )
}

/// What a mark's value rests on.
#[must_use]
pub fn dwell(value: &MarkValue, units: Style) -> String {
    if value.readings > 1 {
        let spread = units.small_size(value.spread_um, Some(value.resolution));
        said!(
            units,
            "live-dwell",
            spread = format!("{spread} {}", units.small_sign()),
            readings = value.readings
        )
    } else {
        said!(units, "live-one-reading")
    }
}

/// A cable's state and age, in words.
pub(crate) fn cable_state(
    cable: &CableStatus,
    age_s: Option<f64>,
    current: bool,
    style: Style,
) -> String {
    let word = match cable.state {
        CableState::Denied if cable.other_instrument.is_some() => {
            said!(style, "live-cable-other")
        }
        CableState::Live if current => return said!(style, "live-cable-live"),
        CableState::Live => said!(style, "live-cable-silent"),
        CableState::Quiet => said!(style, "live-cable-quiet"),
        CableState::Stale => said!(style, "live-cable-stale"),
        CableState::Gone => said!(style, "live-cable-gone"),
        CableState::Busy => said!(style, "live-cable-busy"),
        CableState::Denied => said!(style, "live-cable-denied"),
    };
    match age_s {
        Some(seconds) => format!("{word} {}", age(seconds)),
        None => word,
    }
}

/// What stands under a large residual that is shown as `shown`. `display_arcsec` is what the display alone allows, where
/// nothing tells how the marks repeat.
pub(crate) fn residual_state(
    shown: &str,
    cone: Option<Sloping>,
    expanded_arcsec: Option<f64>,
    display_arcsec: Option<f64>,
    style: Style,
) -> String {
    let way = match words::cone(cone, shown) {
        Some(Sloping::Steeper) => said!(style, "live-steeper"),
        Some(Sloping::Shallower) => said!(style, "live-shallower"),
        None => String::new(),
    };
    let number = |arcsec| style.number(arcsec, 1);
    match (expanded_arcsec, display_arcsec) {
        (Some(expanded), _) => said!(style, "live-arcsec-within", way = way, u = number(expanded)),
        (None, Some(display)) => {
            said!(style, "live-arcsec-display", way = way, u = number(display))
        }
        (None, None) => format!("arcsec{way}"),
    }
}

/// Readings that lie far from the rest, the first few by the number of their row.
pub(crate) fn outliers(
    count: usize,
    rows: &[usize],
    rejected: usize,
    style: Style,
) -> Option<String> {
    if count == 0 {
        return None;
    }
    let found = words::outliers(count, rejected, style);
    let shown: Vec<_> = rows.iter().take(4).map(usize::to_string).collect();
    let more = if rows.len() > shown.len() { " ..." } else { "" };
    Some(if shown.is_empty() {
        said!(style, "live-outliers", found = found)
    } else {
        let rows = shown.join(" ") + more;
        said!(style, "live-outliers-rows", found = found, rows = rows)
    })
}

/// The plan, shortest first: each part stands alone.
#[must_use]
pub fn plan(setup: &Setup, units: Style) -> Vec<String> {
    let mut parts = Vec::new();
    if let Some(taper) = &setup.taper {
        parts.push(said!(
            units,
            "live-plan-half-angle",
            taper = &*taper.name,
            angle = units.dms(taper.half_angle)
        ));
    }
    if let Some(stack) = &setup.stack {
        let blocks = units.engraved(&stack.blocks, setup.kit.as_ref());
        parts.push(said!(units, "live-plan-stack", blocks = blocks));
        if let Some(error) = stack.angle_error_arcsec {
            let error = units.with_sign(error, 2);
            parts.push(said!(units, "live-plan-sets", error = error));
        }
    }
    parts
}

/// The place of a mark by its short name, which came in English.
pub(crate) fn named(mark: &MarkLine, style: Style) -> String {
    match (&mark.at, style.language) {
        (Some(at), Language::De) => words::place(at, style),
        _ => mark.place.clone(),
    }
}

/// A sentence that came in English; in English it stays as it is.
#[must_use]
pub fn told(sentence: &str, style: Style) -> String {
    match style.language {
        Language::En => sentence.to_owned(),
        Language::De => style.retold(sentence),
    }
}

/// A station for the list of them.
pub(crate) fn station(station: &Station, units: Style) -> String {
    said!(
        units,
        "place-of-station",
        station = &*station.name,
        place = units.length(station.position)
    )
}
