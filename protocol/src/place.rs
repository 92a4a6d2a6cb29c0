//! What a mark is about, as the user writes it: the ways to name a place that several kinds of step have.

use crate::api::{Code, Refusal};
use crate::evidence::Place;
use metrology::setup::{Setup, Station};
use metrology::{Angle, Length, Unit};

/// A place farther away than this is a slip of the unit.
const FARTHEST: Length = Length::from_um(100_000_000);

/// No table of a machine travels further than this.
const LONGEST_TRAVEL: Length = Length::from_um(20_000_000);

/// Refuses a place on the travel that cannot be meant: farther outside of the stated stations than they are apart, or beyond
/// any machine's travel.
///
/// # Errors
/// [`Code::BadValue`] with the place and the limits.
pub fn on_travel(setup: &Setup, position: Length) -> Result<(), Refusal> {
    let places = || setup.stations.iter().map(|station| station.position);
    let stated = places().min().zip(places().max()).filter(|(a, b)| a < b);
    let (from, to) = match stated {
        Some((first, last)) => (first - (last - first), last + (last - first)),
        None => (-LONGEST_TRAVEL, LONGEST_TRAVEL),
    };
    if (from..=to).contains(&position) {
        return Ok(());
    }
    let message = match stated {
        Some((first, last)) => format!(
            "a station at {position} is too far from the stations that are stated, {first} to {last}: places from {from} to {to} are taken"
        ),
        None => format!("a station at {position} is beyond any machine's travel: within {to} of A"),
    };
    Err(bad(
        message,
        "a bare number is in mm from A; for a longer travel open the session with another --span",
    ))
}

/// A refusal of what was written, with what to write.
pub(crate) fn bad(message: impl Into<String>, hint: &str) -> Refusal {
    Refusal::new(Code::BadValue, message).hint(hint)
}

/// What to mark in a step that is marked at stations, where none follows from the plan.
pub(crate) const UNPLANNED_STATION: &str =
    "mark at distances from A, two at least: conewright mark 0, conewright mark 80";

/// What to do at a station.
pub(crate) fn stand_at(next: &str) -> String {
    format!("stand at {next}, let it settle, and mark")
}

/// What to write in a step that is marked at stations, when none follows from the plan.
pub(crate) fn station_wanted() -> Refusal {
    bad(
        "the session names no stations, so the mark needs one",
        "name a distance from A: `conewright mark 40mm`; or open the session with --span",
    )
}

/// A station by its name, or by its distance from A.
pub(crate) fn station(setup: &Setup, text: &str) -> Result<Station, Refusal> {
    let mut stations = setup.stations.iter();
    if let Some(known) = stations.find(|station| station.name.eq_ignore_ascii_case(text)) {
        return Ok(known.clone());
    }
    let Some(position) = near(text) else {
        let names: Vec<&str> = setup.stations.iter().map(|s| &*s.name).collect();
        let known = if names.is_empty() {
            "the session has none".to_owned()
        } else {
            format!("the stations are {}", names.join(", "))
        };
        return Err(Refusal::new(
            Code::UnknownName,
            format!("`{text}` is not a station: {known}"),
        )
        .hint("name a station, or a distance from A such as 40mm"));
    };
    on_travel(setup, position)?;
    let mut stations = setup.stations.iter();
    let known = stations.find(|station| station.position == position);
    Ok(known.cloned().unwrap_or_else(|| Station {
        name: position.decimal(Unit::Mm),
        position,
    }))
}

/// A length within reach.
fn near(text: &str) -> Option<Length> {
    let length = Length::parse(text, Unit::Mm).ok()?;
    (-FARTHEST <= length && length <= FARTHEST).then_some(length)
}

/// A length within reach, for `what`; `example` is one.
pub(crate) fn length(what: &str, text: &str, example: &str) -> Result<Length, Refusal> {
    let hint = format!("a bare number is in mm: `conewright mark {example}`");
    let length =
        Length::parse(text, Unit::Mm).map_err(|error| bad(format!("{what}: {error}"), &hint))?;
    if (-FARTHEST..=FARTHEST).contains(&length) {
        return Ok(length);
    }
    Err(bad(
        format!("{what}: {length} is out of range: within {FARTHEST} of zero"),
        &hint,
    ))
}

/// The words `begin`, `end` and `turn` may be said; a stretch has no other places.
pub(crate) fn word(next: Option<&Place>, text: &str) -> Result<Place, Refusal> {
    let (wanted, place) = match next {
        Some(place @ Place::Begin { .. }) => ("begin", place),
        Some(place @ Place::End { .. }) => ("end", place),
        Some(place @ Place::Turn { .. }) => ("turn", place),
        _ => {
            return Err(bad(
                format!("`{text}` names no place in this step"),
                "mark without a name: `conewright mark`",
            ));
        }
    };
    if text.eq_ignore_ascii_case(wanted) {
        return Ok(place.clone());
    }
    Err(bad(
        format!(
            "`{text}` names no place in this step, whose readings all count: next is its {wanted}"
        ),
        "mark without a name: `conewright mark`",
    ))
}

/// An angle of the part about its axis, 0° to 360°: `120`, `120deg`, or an hour of the clock, 12 o'clock being 0°: `4h`.
///
/// # Errors
/// It cannot be read, or lies beyond the turn.
pub fn angle(text: &str) -> Result<Angle, Refusal> {
    const HINT: &str =
        "write degrees from 0 to 360, `120` or `120deg`, or an hour of the clock, `4h`";
    let text = text.trim();
    let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
    if let Some(hours) = text.strip_suffix(['h', 'H']) {
        return match number(hours) {
            Some(hour) if (0.0..=12.0).contains(&hour) => {
                Ok(Angle::from_deg((hour * 30.0).rem_euclid(360.0)))
            }
            _ => Err(bad(format!("`{text}` is not an hour of the clock"), HINT)),
        };
    }
    let angle = match number(text) {
        Some(deg) => Angle::from_deg(deg),
        None => text
            .parse::<Angle>()
            .map_err(|error| bad(error.to_string(), HINT))?,
    };
    // A degree that went through radians may come out a hair beyond.
    let deg = (angle.deg() * 1e9).round() * 1e-9;
    if (0.0..=360.0).contains(&deg) {
        Ok(Angle::from_deg(deg))
    } else {
        Err(bad(
            format!(
                "{:.3}° is beyond the turn: angles are from 0° to 360°",
                angle.deg()
            ),
            HINT,
        ))
    }
}

/// What follows in a list; none after the last, or when it is not in it.
pub(crate) fn after(list: &[Length], of: Length) -> Option<Length> {
    let place = list.iter().position(|one| *one == of)?;
    list.get(place + 1).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_angle_is_a_degree_or_an_hour() {
        for (text, deg) in [
            ("120", 120.0),
            ("120deg", 120.0),
            (" 4h ", 120.0),
            ("12h", 0.0),
            ("0", 0.0),
            ("360", 360.0),
            ("4,5h", 135.0),
            ("90°", 90.0),
            ("30d30m", 30.5),
        ] {
            let read = angle(text).unwrap().deg();
            assert!((read - deg).abs() < 1e-9, "{text}: {read}");
        }
        for text in [
            "361", "-1", "13h", "-1h", "h", "NaN", "infh", "inf", "four", "", "1e9",
        ] {
            let refusal = angle(text).unwrap_err();
            assert_eq!(refusal.code, Code::BadValue, "{text}");
            assert!(refusal.hint.unwrap().contains("4h"), "{text}");
        }
    }
}
