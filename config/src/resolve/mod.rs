//! From the options of `session open` and `analyse`, as the user wrote them, to a self-contained set-up.
//!
//! Nothing is assumed that the user would have to know of: what is not stated is absent, and what cannot be
//! meant is refused with the domain and with what to write instead.

mod indicator;
mod stated;
mod stations;
mod step;
mod text;
mod tolerance;

pub use stated::{Holds, Stated, stated};
pub use step::resolve_step;

use crate::model::Config;
use metrology::Length;
use metrology::blocks::{Kit, Stack, StackRules, stack_for_angle};
use metrology::setting::Bar;
use metrology::setup::{Fixture, SettleRule, Setup};
use metrology::taper::Taper;
use protocol::api::{Refusal, SetupOptions};
use text::{bad, length, not_negative, positive};

/// The longest name of a fixture or part, in characters: it must fit on a screen and on a printed page.
const MAX_NAME: usize = 40;

/// Resolves the options of a session against a configuration. What its fixture brings along holds where the options do not say it.
///
/// ```
/// use conewright_config::{Config, resolve};
/// use protocol::api::SetupOptions;
/// let options = SetupOptions {
///     taper: Some("morse-2".to_owned()),
///     span: Some("60".to_owned()),
///     ..SetupOptions::default()
/// };
/// let setup = resolve(&Config::default(), &options)?;
/// assert_eq!(setup.pass, ["A", "B", "A"]);
/// assert_eq!(setup.length, Some("64".parse()?), "the taper's own length");
/// let wrong = SetupOptions { span: Some("0".to_owned()), ..options };
/// assert!(resolve(&Config::default(), &wrong).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`Code::BadValue`](protocol::api::Code::BadValue) for a text that cannot be read or a value out of range, [`Code::UnknownName`](protocol::api::Code::UnknownName) for a
/// name that is not known; each with what to write instead.
pub fn resolve(config: &Config, options: &SetupOptions) -> Result<Setup, Refusal> {
    let options = &match config.profile(options) {
        Some(profile) => options.over(profile),
        None => options.clone(),
    };
    let taper = options
        .taper
        .as_deref()
        .map(|spec| config.taper(spec))
        .transpose()?;
    let length = match &options.length {
        Some(text) => Some(positive("--length", text, "30", None)?),
        None => taper.as_ref().and_then(|taper| taper.length),
    };
    if let Some(taper) = &taper {
        check_cone(taper, length)?;
    }
    let sense = stations::sense(
        options.big_end.as_deref(),
        options.indicator_side.as_deref(),
    )?;
    let (stations, pass) = stations::resolve(
        options.span.as_deref(),
        &options.stations,
        options.pass.as_deref(),
    )?;
    let bar = bar(config, options)?;
    let kit = options
        .kit
        .as_deref()
        .map(|name| config.kit(name))
        .transpose()?;
    let stack = plan(taper.as_ref(), bar.as_ref(), kit.as_ref())?;
    let indicator = indicator::of_session(config, options)?;
    let settle = match &options.settle_band {
        Some(text) => SettleRule {
            band: Some(positive("--settle-band", text, "1um", indicator.division)?),
            ..config.settle
        },
        None => config.settle,
    };
    let setup = Setup {
        tolerance: tolerance::tolerance(
            config,
            options.tolerance.as_deref(),
            taper.as_ref(),
            length,
            sense,
        )?,
        taper,
        length,
        stations,
        pass,
        sense,
        bar,
        kit,
        stack,
        fixture: fixture(config, options)?,
        indicator,
        position_cable: config.position_cable().map(|cable| cable.name.clone()),
        straightness: not_negative("--straightness", options.straightness.as_deref(), "1um")?,
        station_error: not_negative("--station-error", options.station_error.as_deref(), "0.1")?,
        settle,
    };
    check_reach(&setup)?;
    Ok(setup)
}

/// The bar that is named, with what is stated of it.
fn bar(config: &Config, options: &SetupOptions) -> Result<Option<Bar>, Refusal> {
    let (kind, constant) = (&options.bar_kind, &options.bar_constant);
    let Some(spec) = options.bar.as_deref() else {
        if kind.is_some() || constant.is_some() {
            return Err(bad(
                "`--bar-kind` and `--bar-constant` apply only with a bar",
                "name the bar: `--bar 100`",
            ));
        }
        return Ok(None);
    };
    let bar = config.bar(spec, kind.as_deref(), constant.as_deref())?;
    Ok(Some(bar))
}

/// No machine's travel, part or bar is longer.
const LONGEST: Length = Length::from_um(20_000_000);
/// No error and no step of an instrument in use here is larger.
const LARGEST_ERROR: Length = Length::from_um(10_000);

/// Refuses lengths that no machine or instrument has; they are slips of the unit.
fn check_reach(setup: &Setup) -> Result<(), Refusal> {
    let indicator = &setup.indicator;
    let bar = setup.bar.as_ref();
    let stations = setup.stations.iter();
    let long = stations
        .map(|station| ("--span or --station", Some(station.position)))
        .chain([
            ("--length", setup.length),
            ("--bar", bar.and_then(|bar| bar.centre_distance)),
            ("--bar-constant", bar.map(|bar| bar.constant)),
        ])
        .map(|(flag, length)| (flag, length, LONGEST));
    let small = [
        ("--resolution", indicator.resolution),
        ("--indicator-error", indicator.error_limit),
        ("--repeatability", indicator.repeatability),
        ("--division", indicator.division),
        ("--straightness", setup.straightness),
        ("--station-error", setup.station_error),
        ("--settle-band", setup.settle.band),
    ]
    .map(|(flag, length)| (flag, length, LARGEST_ERROR));
    for (flag, length, limit) in long.chain(small) {
        if let Some(length) = length.filter(|length| !(-limit..=limit).contains(length)) {
            return Err(bad(
                format!("{flag}: {length} is out of range: within {limit}"),
                "check the unit: a bare number is in mm",
            ));
        }
    }
    Ok(())
}

/// Refuses a cone that comes to its point before its length ends.
fn check_cone(taper: &Taper, length: Option<Length>) -> Result<(), Refusal> {
    let part = Taper {
        length,
        ..taper.clone()
    };
    part.check().map_err(|e| {
        let to_the_point = part
            .gauge_diameter
            .map(|gauge| gauge.mm() / (2.0 * part.half_angle.tan()));
        let hint = match to_the_point {
            Some(mm) => format!(
                "`{}` comes to its point after {mm:.3} mm; check length and taper",
                taper.name
            ),
            None => "check the taper".to_owned(),
        };
        bad(e.to_string(), hint)
    })
}

/// The stack that sets the taper's half angle in the bar, with what it really sets.
///
/// A stack that the kit cannot make well enough is part of the plan, which says how far it is off; none at all,
/// or a bar that cannot be set to this angle, is refused.
fn plan(
    taper: Option<&Taper>,
    bar: Option<&Bar>,
    kit: Option<&Kit>,
) -> Result<Option<Stack>, Refusal> {
    let (Some(taper), Some(bar)) = (taper, bar) else {
        return Ok(None);
    };
    bar.stack_height_mm(taper.half_angle).map_err(|e| {
        let taper = &taper.name;
        bad(format!("--bar with --taper {taper}: {e}"), e.hint())
    })?;
    kit.map(|kit| stack_for_angle(kit, bar, taper.half_angle, &StackRules::default()))
        .transpose()
        .map_err(|e| {
            bad(
                format!("stack: {e}"),
                "another kit or another bar can set this angle",
            )
        })
}

/// The fixture by name: the configuration's, or a new one. A pivot that is stated wins.
///
/// A pivot without a fixture belongs to this set-up alone: the fixture's name is then empty.
fn fixture(config: &Config, options: &SetupOptions) -> Result<Option<Fixture>, Refusal> {
    let pivot = options
        .pivot
        .as_deref()
        .map(|text| length("--pivot", text, "12", None))
        .transpose()?;
    let named = options
        .fixture
        .as_deref()
        .map(|name| match config.fixture(name) {
            Some(fixture) => Ok(fixture.clone()),
            None => check_name("--fixture", name).map(unknown_fixture),
        })
        .transpose()?;
    let mut fixture = match (named, pivot) {
        (None, None) => return Ok(None),
        (named, _) => named.unwrap_or_else(|| unknown_fixture("")),
    };
    fixture.pivot = pivot.or(fixture.pivot);
    Ok(Some(fixture))
}

fn unknown_fixture(name: &str) -> Fixture {
    Fixture {
        name: name.to_owned(),
        pivot: None,
        learned_pivot: None,
        clamp_shifts: Vec::new(),
    }
}

/// A name that the user makes up: 1 to 40 characters, none of them a control character.
fn check_name<'a>(what: &str, name: &'a str) -> Result<&'a str, Refusal> {
    let name = name.trim();
    if !name.is_empty() && name.chars().count() <= MAX_NAME && !name.chars().any(char::is_control) {
        return Ok(name);
    }
    Err(bad(
        format!("{what}: {name:?} is not a name"),
        format!("1 to {MAX_NAME} characters such as `angle plate`"),
    ))
}

#[cfg(test)]
mod tests;
