//! Which session it is, and what was planned.

use super::instruments::{bar_words, check_words};
use super::{Fact, known, mm, utc};
use metrology::Unit;
use metrology::blocks::Stack;
use metrology::setup::{Indicator, Setup};
use metrology::taper::Taper;
use protocol::record::SessionInfo;

/// Which session it is.
pub fn identification(session: &SessionInfo) -> Vec<Fact> {
    let at = |t| format!("{} UTC", utc(t));
    let closed = session
        .closed_utc_ns
        .map_or_else(|| "still open when this was written".to_owned(), at);
    known([
        ("Part", Some(session.name.clone())),
        ("Session", Some(session.id.to_string())),
        ("Opened", Some(at(session.opened_utc_ns))),
        ("Closed", Some(closed)),
    ])
}

/// Taper, tolerance, instruments, stack and stations.
pub fn plan(setup: &Setup) -> Vec<Fact> {
    let mut facts = wanted(setup);
    facts.extend(known([
        ("Setting instrument", setup.bar.as_ref().map(bar_words)),
        (
            "Gauge blocks",
            setup.kit.as_ref().map(|kit| kit.name.clone()),
        ),
    ]));
    facts.extend(stack(setup.stack.as_ref()));
    facts.extend(known([
        ("Stations", stations(setup)),
        ("Fixture", setup.fixture.as_ref().map(|f| f.name.clone())),
    ]));
    facts.extend(indicator(&setup.indicator));
    facts
}

/// The taper that is wanted, and what is allowed.
pub fn wanted(setup: &Setup) -> Vec<Fact> {
    let taper = setup.taper.as_ref();
    let half_angle = |t: &Taper| {
        let half = t.half_angle;
        format!("{half}  ({}), included {}", half.dms(1), half * 2.0)
    };
    let length = setup.length.or_else(|| taper.and_then(|t| t.length));
    let tolerance = setup.tolerance;
    known([
        ("Taper", taper.map(|t| t.name.clone())),
        ("Half angle", taper.map(half_angle)),
        (
            "Gauge diameter",
            taper.and_then(|t| t.gauge_diameter).map(mm),
        ),
        ("Length", length.map(mm)),
        (
            "Tolerance",
            tolerance.map(|t| t.to_string().replace("arcsec", "″")),
        ),
    ])
}

/// The stations with their places.
pub fn stations(setup: &Setup) -> Option<String> {
    let stations = setup.stations.iter();
    let stations: Vec<String> = stations
        .map(|s| format!("{} at {}", s.name, mm(s.position)))
        .collect();
    (!stations.is_empty()).then(|| stations.join(", "))
}

/// The blocks to stack, and what they really set.
pub fn stack(stack: Option<&Stack>) -> Vec<Fact> {
    let sum = |s: &Stack| {
        let blocks: Vec<String> = s.blocks.iter().map(|b| b.decimal(Unit::Mm)).collect();
        let blocks = blocks.join(" + ");
        format!("{blocks} = {} (wanted {})", mm(s.sum), mm(s.height))
    };
    let sets = |s: &Stack| {
        let (angle, error) = (s.angle_set_deg?, s.angle_error_arcsec?);
        Some(format!(
            "half angle {angle:.7}°, {error:+.2}″ from the one wanted"
        ))
    };
    known([
        ("Stack", stack.map(sum)),
        ("What the stack sets", stack.and_then(sets)),
    ])
}

/// What is known of the indicator.
pub fn indicator(indicator: &Indicator) -> Vec<Fact> {
    let error = indicator.error_limit.map(|e| format!("± {}", mm(e)));
    let lever = indicator.lever_angle;
    let lever = lever.map(|angle| format!("{:.1}° to the surface", angle.deg()));
    known([
        ("Indicator on cable", indicator.cable.clone()),
        ("Indicator's resolution", indicator.resolution.map(mm)),
        ("Indicator's error", error),
        (
            "Indicator's last check",
            indicator.check.as_ref().map(check_words),
        ),
        ("Indicator's lever", lever),
    ])
}
