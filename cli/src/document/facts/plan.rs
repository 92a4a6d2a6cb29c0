//! Which session it is, and what was planned.

use super::instruments::{bar_words, check_words};
use super::{Fact, known, moment};
use metrology::blocks::Stack;
use metrology::setup::{Indicator, Setup};
use metrology::taper::Taper;
use protocol::record::Record;
use protocol::said;
use protocol::style::Style;

/// Which session it is, and who signed its record.
pub fn identification(record: &Record, style: Style) -> Vec<Fact> {
    let session = &record.session;
    let closed = session.closed_utc_ns.map_or_else(
        || said!(style, "still-open"),
        |closed| moment(closed, style),
    );
    known([
        (said!(style, "part-name"), Some(session.name.clone())),
        (said!(style, "session"), Some(session.id.to_string())),
        (
            said!(style, "opened"),
            Some(moment(session.opened_utc_ns, style)),
        ),
        (said!(style, "closed"), Some(closed)),
        (said!(style, "signed-by"), signed_by(record, style)),
    ])
}

/// Who signed, and by which key. A signature that does not fit the record is none.
fn signed_by(record: &Record, style: Style) -> Option<String> {
    let signed = record.signature.as_ref()?.check(&record.sealed()).ok()?;
    Some(said!(
        style,
        "signed-by-key",
        name = signed.by.as_str(),
        key = signed.key.fingerprint()
    ))
}

/// Taper, tolerance, instruments, stack and stations.
pub fn plan(setup: &Setup, style: Style) -> Vec<Fact> {
    let mut facts = wanted(setup, style);
    let bar = setup.bar.as_ref();
    facts.extend(known([
        (
            said!(style, "setting-instrument"),
            bar.map(|bar| bar_words(bar, style)),
        ),
        (
            said!(style, "gauge-blocks"),
            setup.kit.as_ref().map(|kit| kit.name.clone()),
        ),
    ]));
    facts.extend(stack(setup, style));
    facts.extend(known([
        (said!(style, "stations"), stations(setup, style)),
        (
            said!(style, "fixture"),
            setup.fixture.as_ref().map(|f| f.name.clone()),
        ),
    ]));
    facts.extend(indicator(&setup.indicator, style));
    facts
}

/// The taper that is wanted, and what is allowed.
pub fn wanted(setup: &Setup, style: Style) -> Vec<Fact> {
    let taper = setup.taper.as_ref();
    let half_angle = |t: &Taper| {
        let half = t.half_angle;
        said!(
            style,
            "half-angle-and-included",
            half = style.degrees(half),
            dms = style.dms(half),
            included = style.degrees(half * 2.0)
        )
    };
    let length = setup.length.or_else(|| taper.and_then(|t| t.length));
    let tolerance = setup.tolerance;
    known([
        (said!(style, "taper"), taper.map(|t| t.name.clone())),
        (said!(style, "half-angle-fact"), taper.map(half_angle)),
        (
            said!(style, "gauge-diameter"),
            taper
                .and_then(|t| t.gauge_diameter)
                .map(|diameter| style.length(diameter)),
        ),
        (
            said!(style, "length"),
            length.map(|length| style.length(length)),
        ),
        (
            said!(style, "tolerance-fact"),
            tolerance.map(|t| style.tolerance(t).replace("arcsec", "″")),
        ),
    ])
}

/// The stations with their places.
pub fn stations(setup: &Setup, style: Style) -> Option<String> {
    let stations = setup.stations.iter();
    let stations: Vec<String> = stations
        .map(|s| {
            let place = style.length(s.position);
            said!(
                style,
                "place-of-station",
                station = s.name.as_str(),
                place = place
            )
        })
        .collect();
    (!stations.is_empty()).then(|| stations.join(", "))
}

/// The blocks to stack, and what they really set.
fn stack(setup: &Setup, style: Style) -> Vec<Fact> {
    let sum = |s: &Stack| {
        said!(
            style,
            "stack-sum",
            blocks = style.blocks(&s.blocks, setup.kit.as_ref()),
            sum = style.length(s.sum),
            height = style.length(s.height)
        )
    };
    let sets = |s: &Stack| {
        let (angle, error) = (s.angle_set_deg?, s.angle_error_arcsec?);
        Some(said!(
            style,
            "stack-sets-angle",
            angle = style.number(angle, 7),
            error = style.written(format!("{error:+.2}"))
        ))
    };
    let stack = setup.stack.as_ref();
    known([
        (said!(style, "stack"), stack.map(sum)),
        (said!(style, "stack-sets"), stack.and_then(sets)),
    ])
}

/// What is known of the indicator.
fn indicator(indicator: &Indicator, style: Style) -> Vec<Fact> {
    let resolution = indicator.resolution;
    let error = indicator.error_limit;
    let lever = indicator.lever_angle;
    let check = indicator.check.as_ref();
    known([
        (said!(style, "indicator-cable"), indicator.cable.clone()),
        (
            said!(style, "indicator-resolution"),
            resolution.map(|step| style.fine(step)),
        ),
        (
            said!(style, "indicator-error"),
            error.map(|error| format!("± {}", style.fine(error))),
        ),
        (
            said!(style, "indicator-check"),
            check.map(|check| check_words(check, style)),
        ),
        (
            said!(style, "indicator-lever"),
            lever.map(|angle| {
                let angle = style.number(angle.deg(), 1);
                said!(style, "lever-to-surface", angle = angle)
            }),
        ),
    ])
}
