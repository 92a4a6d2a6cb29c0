//! Figures and sentences of the live view, as pure functions of what is known.

use super::clock;
use super::figures::{Units, age, arcsec, signed};
use super::state::Indicator;
use metrology::setup::{Setup, Station};
use metrology::uncertainty::Verdict;
use metrology::zero::{Sloping, ZeroOutcome};
use metrology::{Angle, Length, Unit};
use protocol::api::{CableState, CableStatus, DoublePress, MarkLine, Marked, Status};
use protocol::evidence::{MarkValue, Place};
use protocol::sheet::words::decision;

/// The press that is asked about: what happened, and what is asked.
#[must_use]
pub fn double_press(double: &DoublePress, units: Units) -> (String, String) {
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
#[must_use]
pub fn place(place: &Place) -> String {
    match place {
        Place::Angle { angle, plane } => {
            let hour = clock::hour(angle.deg());
            let degrees = clock::degrees(angle.deg());
            match plane {
                Some(plane) => format!("{hour} ({degrees}°) in plane {plane}"),
                None => format!("{hour} ({degrees}°)"),
            }
        }
        other => other.to_string(),
    }
}

/// Whether the next mark goes on with the round of the last one.
#[must_use]
pub fn round_under_way(status: &Status) -> bool {
    match (status.marks.last(), status.next_round) {
        (Some(mark), Some(next_round)) => mark.round == next_round,
        _ => false,
    }
}

/// A mark in a line.
#[must_use]
pub fn mark_line(mark: &MarkLine, units: Units) -> String {
    let place = mark.at.as_ref().map_or_else(|| mark.place.clone(), place);
    mark_words(mark.number, &place, mark.round, mark.value.as_ref(), units)
}

/// A mark just made, in a line.
#[must_use]
pub fn marked(mark: &Marked, units: Units) -> String {
    mark_words(
        mark.number,
        &mark.place,
        mark.round,
        mark.value.as_ref(),
        units,
    )
}

fn mark_words(
    number: u32,
    place: &str,
    round: u32,
    value: Option<&MarkValue>,
    units: Units,
) -> String {
    let Some(value) = value else {
        return format!("mark {number}, {place}");
    };
    // The mean of a dwell is finer than the display by about one place.
    let finer = usize::from(value.readings > 1);
    let shown = units.reading(value.value_mm, Some(value.resolution), finer);
    format!(
        "mark {number}, {place}, round {round}, {shown} {}",
        units.sign()
    )
}

/// What a mark's value rests on.
#[must_use]
pub fn dwell(value: &MarkValue, units: Units) -> String {
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
#[must_use]
pub fn cable_state(cable: &CableStatus, age_s: Option<f64>, current: bool) -> String {
    let word = match cable.state {
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

/// What stands under the large reading.
#[must_use]
pub fn reading_state(indicator: &Indicator<'_>, units: Units) -> String {
    let unit = units.sign();
    if indicator.current {
        let word = if indicator.settled {
            "settled"
        } else {
            "MOVING"
        };
        return format!("{unit}, {word}");
    }
    let state = cable_state(indicator.cable, indicator.age_s, false);
    match (indicator.cable.state, indicator.value) {
        (_, None) => format!("{state}: no reading yet"),
        (CableState::Quiet, _) => format!("{unit}, {state}: as last sent"),
        _ => format!("{unit}, NOT CURRENT: {state}"),
    }
}

/// What stands under a large residual. `display_arcsec` is what the display alone allows, where nothing tells how the marks repeat.
#[must_use]
pub fn residual_state(
    cone: Option<Sloping>,
    expanded_arcsec: Option<f64>,
    display_arcsec: Option<f64>,
) -> String {
    let way = match cone {
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

/// What the residual is worth: on this part, and between the stations. Each part stands alone.
#[must_use]
pub fn worth(zero: &ZeroOutcome, setup: Option<&Setup>, units: Units) -> Vec<String> {
    let mut parts = Vec::new();
    if let Some(taper_um) = zero.over_taper_um {
        let plus_minus = worth_expanded_um(zero, setup)
            .map(|u| format!(" ± {}", units.small_signed(u).trim_start_matches('+')))
            .unwrap_or_default();
        parts.push(format!(
            "{}{plus_minus} {} on diameter",
            units.small_signed(taper_um),
            units.small_sign()
        ));
        if let Some(length) = setup.and_then(length) {
            parts.push(format!(" over its {} mm", length.decimal(Unit::Mm)));
        }
    }
    let last = setup.and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    if let (Some(span_um), Some(last)) = (zero.over_span_um, last) {
        parts.push(format!(
            "{} {} over {} mm",
            units.small_signed(span_um),
            units.small_sign(),
            last.decimal(Unit::Mm)
        ));
    }
    parts
}

/// The length over which an error counts on this part.
#[must_use]
pub fn length(setup: &Setup) -> Option<Length> {
    setup.length.or(setup.taper.as_ref()?.length)
}

/// Expanded uncertainty of the worth on diameter: `2 ℓ U / cos² α`, the derivative of `2 ℓ tan α`.
fn worth_expanded_um(zero: &ZeroOutcome, setup: Option<&Setup>) -> Option<f64> {
    let setup = setup?;
    let expanded = Angle::from_arcsec(zero.residual_expanded_arcsec?);
    let half = setup.taper.as_ref()?.half_angle;
    Some(2.0 * length(setup)?.um() * expanded.rad() / half.cos().powi(2))
}

/// A verdict as it stands on its plate.
#[must_use]
pub fn plate(verdict: Verdict) -> String {
    decision(verdict).to_uppercase()
}

/// The residual as the error of the half angle that it makes, positive for a steeper cone: its own sign is that of the slope.
fn error_by_residual(zero: &ZeroOutcome) -> Option<f64> {
    let residual = zero.residual_arcsec?;
    Some(match zero.cone {
        Some(Sloping::Steeper) => residual.abs(),
        Some(Sloping::Shallower) => -residual.abs(),
        None => residual,
    })
}

/// The numbers that a zero step's verdict rests on, each standing alone.
#[must_use]
pub fn verdict_parts(zero: &ZeroOutcome) -> Vec<String> {
    // The verdict is of a round, and stays what it is while the set-up is tapped on.
    let round = zero
        .rounds
        .last()
        .map(|round| format!("round {}: ", round.round))
        .unwrap_or_default();
    held_against(
        &format!("{round}half angle "),
        zero.half_angle_error_arcsec
            .or_else(|| error_by_residual(zero)),
        zero.half_angle_expanded_arcsec
            .or(zero.residual_expanded_arcsec),
        zero.limits_arcsec,
    )
}

/// An error of the half angle and what is allowed, arc-seconds, each part standing alone; nothing where one of
/// them is not known.
#[must_use]
pub fn held_against(
    what: &str,
    value: Option<f64>,
    expanded: Option<f64>,
    limits: Option<[f64; 2]>,
) -> Vec<String> {
    let (Some(value), Some([low, high])) = (value, limits) else {
        return Vec::new();
    };
    let u = expanded.map(|u| format!(" ± {u:.1}")).unwrap_or_default();
    vec![
        format!("{what}{}{u} arcsec", arcsec(value)),
        if low == -high {
            format!("allowed ± {high:.1}")
        } else {
            format!("allowed {} to {}", arcsec(low), arcsec(high))
        },
    ]
}

/// The plan, shortest first: each part stands alone.
#[must_use]
pub fn plan(setup: &Setup) -> Vec<String> {
    let mut parts = Vec::new();
    if let Some(taper) = &setup.taper {
        parts.push(format!(
            "{} half angle {}",
            taper.name,
            taper.half_angle.dms(1)
        ));
    }
    if let Some(stack) = &setup.stack {
        let blocks: Vec<_> = stack.blocks.iter().map(|b| b.decimal(Unit::Mm)).collect();
        parts.push(format!("stack {} mm", blocks.join(" + ")));
        if let Some(error) = stack.angle_error_arcsec {
            parts.push(format!("sets {} arcsec", signed(error, 2)));
        }
    }
    parts
}

/// A station for the list of them.
#[must_use]
pub fn station(station: &Station) -> String {
    format!(
        "{} at {} mm",
        station.name,
        station.position.decimal(Unit::Mm)
    )
}
