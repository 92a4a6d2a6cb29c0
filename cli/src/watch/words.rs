//! Figures and sentences of the live view, as pure functions of what is known.

use super::state::Indicator;
use metrology::setup::{Setup, Station};
use metrology::uncertainty::Verdict;
use metrology::zero::{Sloping, Tap, ZeroOutcome};
use metrology::{Angle, Length, Unit};
use protocol::api::{CableState, CableStatus, MarkLine, Marked, Status};
use protocol::evidence::MarkValue;
use protocol::fold::Outcome;

/// Decimals of millimetres that a display with this step has.
#[must_use]
pub fn places(resolution: Option<Length>) -> usize {
    // A micrometre is what an indicator for this work shows at least.
    let Some(resolution) = resolution.filter(|r| r.pm() > 0) else {
        return 3;
    };
    let mut pm = resolution.pm();
    let mut places = 9;
    while pm % 10 == 0 && places > 1 {
        pm /= 10;
        places -= 1;
    }
    places.min(5)
}

/// A value with its sign; nothing is `+0`, never `-0`.
#[must_use]
pub fn signed(value: f64, places: usize) -> String {
    let text = format!("{value:+.places$}");
    if text.bytes().any(|b| matches!(b, b'1'..=b'9')) {
        text
    } else {
        format!("{:+.places$}", 0.0)
    }
}

/// An angle in arc-seconds, with as many decimals as can matter.
#[must_use]
pub fn arcsec(value: f64) -> String {
    signed(value, usize::from(value.abs() < 999.95))
}

/// Micrometres: finer where they are few.
#[must_use]
pub fn um(value: f64) -> String {
    signed(value, if value.abs() < 9.995 { 2 } else { 1 })
}

/// An age as a person would say it.
#[must_use]
pub fn age(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7_200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.0} h", s / 3_600.0),
    }
}

/// The outcome of the open zero step.
#[must_use]
pub fn zero(status: &Status) -> Option<&ZeroOutcome> {
    let Outcome::Zero(zero) = status.outcome.as_ref()?;
    Some(zero)
}

/// The advice for the next tap.
#[must_use]
pub fn tap(status: &Status) -> Option<&Tap> {
    zero(status)?.tap.as_ref()
}

/// A mark in a line.
#[must_use]
pub fn mark_line(mark: &MarkLine) -> String {
    mark_words(
        mark.number,
        mark.station.as_deref(),
        mark.round,
        &mark.value,
    )
}

/// A mark just made, in a line.
#[must_use]
pub fn marked(mark: &Marked) -> String {
    mark_words(
        mark.number,
        mark.station.as_deref(),
        mark.round,
        &mark.value,
    )
}

fn mark_words(number: u32, station: Option<&str>, round: u32, value: &MarkValue) -> String {
    let station = station.map(|s| format!("{s}, ")).unwrap_or_default();
    // The mean of a dwell is finer than the display by about one place.
    let finer = usize::from(value.readings > 1);
    let value_mm = signed(value.value_mm, places(Some(value.resolution)) + finer);
    format!("mark {number}, {station}round {round}, {value_mm} mm")
}

/// What a mark's value rests on.
#[must_use]
pub fn dwell(value: &MarkValue) -> String {
    if value.readings > 1 {
        format!(
            "spread {:.1} µm in {} readings",
            value.spread_um, value.readings
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
pub fn reading_state(indicator: &Indicator<'_>) -> String {
    if indicator.current {
        let word = if indicator.settled {
            "settled"
        } else {
            "MOVING"
        };
        return format!("mm, {word}");
    }
    let state = cable_state(indicator.cable, indicator.age_s, false);
    match (indicator.cable.state, indicator.value) {
        (_, None) => format!("{state}: no reading yet"),
        (CableState::Quiet, _) => format!("mm, {state}: as last sent"),
        _ => format!("mm, NOT CURRENT: {state}"),
    }
}

/// What stands under the large residual.
#[must_use]
pub fn residual_state(zero: &ZeroOutcome) -> String {
    let way = match zero.cone {
        Some(Sloping::Steeper) => ", steeper",
        Some(Sloping::Shallower) => ", shallower",
        None => "",
    };
    match zero.residual_expanded_arcsec {
        Some(expanded) => format!("arcsec{way}, ± {expanded:.1} (95 %)"),
        None => format!("arcsec{way}"),
    }
}

/// What the residual is worth: on this part, and between the stations. Each part stands alone.
#[must_use]
pub fn worth(zero: &ZeroOutcome, setup: Option<&Setup>) -> Vec<String> {
    let mut parts = Vec::new();
    if let Some(taper_um) = zero.over_taper_um {
        let plus_minus = worth_expanded_um(zero, setup)
            .map(|u| format!(" ± {u:.2}"))
            .unwrap_or_default();
        parts.push(format!("{}{plus_minus} µm on diameter", um(taper_um)));
        if let Some(length) = setup.and_then(length) {
            parts.push(format!(" over its {} mm", length.decimal(Unit::Mm)));
        }
    }
    let last = setup.and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    if let (Some(span_um), Some(last)) = (zero.over_span_um, last) {
        parts.push(format!(
            "{} µm over {} mm",
            um(span_um),
            last.decimal(Unit::Mm)
        ));
    }
    parts
}

/// The length over which an error counts on this part.
fn length(setup: &Setup) -> Option<Length> {
    setup.length.or(setup.taper.as_ref()?.length)
}

/// Expanded uncertainty of the worth on diameter: `2 ℓ U / cos² α`, the derivative of `2 ℓ tan α`.
fn worth_expanded_um(zero: &ZeroOutcome, setup: Option<&Setup>) -> Option<f64> {
    let setup = setup?;
    let expanded = Angle::from_arcsec(zero.residual_expanded_arcsec?);
    let half = setup.taper.as_ref()?.half_angle;
    Some(2.0 * length(setup)?.um() * expanded.rad() / half.cos().powi(2))
}

/// The verdict: a few words, and the numbers that they rest on, each standing alone.
#[must_use]
pub fn verdict(zero: &ZeroOutcome) -> Option<(Verdict, &'static str, Vec<String>)> {
    let verdict = zero.verdict?;
    let word = match verdict {
        Verdict::In => "IN TOLERANCE",
        Verdict::Out => "OUT OF TOLERANCE",
        Verdict::Undecided => "UNDECIDED",
    };
    let value = zero.half_angle_error_arcsec.or(zero.residual_arcsec);
    let expanded = zero
        .half_angle_expanded_arcsec
        .or(zero.residual_expanded_arcsec);
    let mut parts = Vec::new();
    if let (Some(value), Some([low, high])) = (value, zero.limits_arcsec) {
        let u = expanded.map(|u| format!(" ± {u:.1}")).unwrap_or_default();
        parts.push(format!("half angle {}{u} arcsec", arcsec(value)));
        parts.push(if low == -high {
            format!("allowed ± {high:.1}")
        } else {
            format!("allowed {} to {}", arcsec(low), arcsec(high))
        });
    }
    if verdict == Verdict::Undecided {
        parts.push("too close to tell".to_owned());
    }
    Some((verdict, word, parts))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_places_as_the_display_has() {
        for (resolution, expected) in [
            ("0.01", 2),
            ("0.001", 3),
            ("0.002", 3),
            ("0.0005", 4),
            ("0.0001", 4),
            ("0.0001in", 5),
            ("1", 1),
        ] {
            assert_eq!(places(resolution.parse().ok()), expected, "{resolution}");
        }
        assert_eq!((places(None), places(Some(Length::ZERO))), (3, 3));
    }

    #[test]
    fn nothing_is_never_minus() {
        assert_eq!(signed(-0.0004, 3), "+0.000");
        assert_eq!(signed(-0.0006, 3), "-0.001");
        assert_eq!(signed(0.0, 1), "+0.0");
        assert_eq!(arcsec(-1234.5), "-1234");
    }

    #[test]
    fn ages_as_said() {
        assert_eq!(
            [3.6, 119.0, 600.0, 8000.0].map(age),
            ["4 s", "119 s", "10 min", "2 h"]
        );
    }
}
