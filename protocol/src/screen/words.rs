//! Marks, cables, the set-up and the residual in words, as the live view shows them.

use super::clock;
use super::units::{age, signed};
use crate::api::{CableState, CableStatus, DoublePress, MarkLine, Marked, Status};
use crate::evidence::{MarkValue, Place};
use crate::sheet::words;
use crate::style::Style;
use metrology::setup::{Setup, Station};
use metrology::zero::Sloping;

/// The press that is asked about: what happened, and what is asked.
#[must_use]
pub fn double_press(double: &DoublePress, units: Style) -> (String, String) {
    let (times, which) = match double.presses {
        2 => ("twice".to_owned(), "second"),
        presses => (format!("{presses} times"), "last"),
    };
    let reading = units.reading(double.reading.mm(), Some(double.resolution), 0);
    (
        format!("pressed {times}"),
        format!("is the {which}, {reading} {}, a mark too?", units.sign()),
    )
}

/// Where or what a mark is about: angles also as the clock has them.
pub(super) fn place(place: &Place, units: Style) -> String {
    match place {
        Place::Angle { angle, plane } => {
            let hour = clock::hour(angle.deg());
            let degrees = clock::degrees(angle.deg());
            match plane {
                Some(plane) => format!("{hour} ({degrees}°) in plane {}", units.length(*plane)),
                None => format!("{hour} ({degrees}°)"),
            }
        }
        other => words::place(other, units),
    }
}

/// Whether the next mark goes on with the round of the last one.
pub(super) fn round_under_way(status: &Status) -> bool {
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
        return format!("mark {number}, {place}");
    };
    // The mean of a dwell is finer than the display by about one place.
    let finer = usize::from(value.readings > 1);
    let shown = units.reading(value.value_mm, Some(value.resolution), finer);
    let dial = units
        .on_the_dial(value.value_mm, Some(value.resolution))
        .map_or_else(String::new, |dial| format!(", {dial}"));
    format!(
        "mark {number}, {place}, round {round}, {shown} {}{dial}",
        units.sign()
    )
}

/// What a mark's value rests on.
#[must_use]
pub fn dwell(value: &MarkValue, units: Style) -> String {
    if value.readings > 1 {
        format!(
            "spread {} {} in {} readings",
            units.small_size(value.spread_um, Some(value.resolution)),
            units.small_sign(),
            value.readings
        )
    } else {
        "one reading".to_owned()
    }
}

/// A cable's state and age, in words.
pub(super) fn cable_state(cable: &CableStatus, age_s: Option<f64>, current: bool) -> String {
    let word = match cable.state {
        _ if cable.other_instrument.is_some() && cable.state == CableState::Denied => {
            "OTHER INSTRUMENT"
        }
        CableState::Live if current => return "LIVE".to_owned(),
        CableState::Live => "NO READING",
        CableState::Quiet => "QUIET",
        CableState::Stale => "STALE",
        CableState::Gone => "GONE",
        CableState::Busy => "BUSY",
        CableState::Denied => "DENIED",
    };
    match age_s {
        Some(seconds) => format!("{word} {}", age(seconds)),
        None => word.to_owned(),
    }
}

/// What stands under a large residual that is shown as `shown`. `display_arcsec` is what the display alone allows, where
/// nothing tells how the marks repeat.
pub(super) fn residual_state(
    shown: &str,
    cone: Option<Sloping>,
    expanded_arcsec: Option<f64>,
    display_arcsec: Option<f64>,
) -> String {
    let way = match words::cone(cone, shown) {
        Some(Sloping::Steeper) => ", steeper",
        Some(Sloping::Shallower) => ", shallower",
        None => "",
    };
    match (expanded_arcsec, display_arcsec) {
        (Some(expanded), _) => format!("arcsec{way}, ± {expanded:.1} (95 %)"),
        (None, Some(display)) => format!("arcsec{way}, display ± {display:.1}"),
        (None, None) => format!("arcsec{way}"),
    }
}

/// Readings that lie far from the rest, the first few by the number of their row.
pub(super) fn outliers(count: usize, rows: &[usize], rejected: usize) -> Option<String> {
    if count == 0 {
        return None;
    }
    let found = words::outliers(count, rejected, Style::default());
    let shown: Vec<_> = rows.iter().take(4).map(usize::to_string).collect();
    let more = if rows.len() > shown.len() { " ..." } else { "" };
    Some(if shown.is_empty() {
        format!("outliers: {found}")
    } else {
        format!("outliers: {found} (row {}{more})", shown.join(" "))
    })
}

/// The plan, shortest first: each part stands alone.
#[must_use]
pub fn plan(setup: &Setup, units: Style) -> Vec<String> {
    let mut parts = Vec::new();
    if let Some(taper) = &setup.taper {
        parts.push(format!(
            "{} half angle {}",
            taper.name,
            taper.half_angle.dms(1)
        ));
    }
    if let Some(stack) = &setup.stack {
        let blocks = units.engraved(&stack.blocks, setup.kit.as_ref());
        parts.push(format!("stack {blocks}"));
        if let Some(error) = stack.angle_error_arcsec {
            parts.push(format!("sets {} arcsec", signed(error, 2)));
        }
    }
    parts
}

/// A station for the list of them.
pub(super) fn station(station: &Station, units: Style) -> String {
    format!("{} at {}", station.name, units.length(station.position))
}
