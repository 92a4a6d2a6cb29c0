//! The indicator of a session or of a step, and the cables by their names.

use super::text::{bad, positive};
use crate::model::{Cable, Config, Measures, TYPED};
use crate::near::hint;
use metrology::setup::{Indicator, Setup};
use protocol::api::{Code, Refusal, SetupOptions};

/// The indicator: what the options say, else its cable, else the configuration's `[indicator]`.
pub(super) fn of_session(config: &Config, options: &SetupOptions) -> Result<Indicator, Refusal> {
    let cable = cable(config, options.cable.as_deref())?;
    let division = match &options.division {
        Some(text) => Some(positive("--division", text, "2um", None)?),
        None => config.indicator.division,
    };
    let stated = |flag: &str, text: &Option<String>| {
        text.as_deref()
            .map(|text| positive(flag, text, "1um", division))
            .transpose()
    };
    let known = known(config, cable);
    Ok(Indicator {
        resolution: stated("--resolution", &options.resolution)?.or(known.resolution),
        error_limit: stated("--indicator-error", &options.indicator_error)?.or(known.error_limit),
        repeatability: stated("--repeatability", &options.repeatability)?.or(known.repeatability),
        division,
        ..known
    })
}

/// What the configuration says of the indicator on a cable, or of one that is read by eye.
fn known(config: &Config, cable: Option<&Cable>) -> Indicator {
    let habit = &config.indicator;
    Indicator {
        cable: cable.map(|cable| cable.name.clone()),
        resolution: cable
            .and_then(|cable| cable.resolution)
            .or(habit.resolution),
        error_limit: cable
            .and_then(|cable| cable.error_limit)
            .or(habit.error_limit),
        repeatability: cable
            .and_then(|cable| cable.repeatability)
            .or(habit.repeatability),
        division: habit.division,
        lever_angle: cable
            .and_then(|cable| cable.lever_angle)
            .or(habit.lever_angle),
        // A check is a step of some session; who opens the next one hands its result on.
        check: None,
    }
}

/// The indicator of a step, where it is another than the set-up's.
pub(super) fn of_step(
    config: &Config,
    setup: &Setup,
    name: Option<&str>,
) -> Result<Option<Indicator>, Refusal> {
    let Some(name) = name else {
        return Ok(None);
    };
    let cable = cable(config, Some(name))?;
    if cable.map(|cable| &cable.name) == setup.indicator.cable.as_ref() {
        return Ok(None);
    }
    Ok(Some(Indicator {
        // The size of a division was stated with the set-up, for whatever is read by eye.
        division: setup.indicator.division,
        ..known(config, cable)
    }))
}

/// The cable by name; the first that measures the part without one; none for `typed`.
fn cable<'a>(config: &'a Config, name: Option<&str>) -> Result<Option<&'a Cable>, Refusal> {
    let Some(name) = name.map(str::trim) else {
        return Ok(config.indicator_cable());
    };
    if name.eq_ignore_ascii_case(TYPED) {
        return Ok(None);
    }
    let cable = named(config, "--cable", name, "; `typed` stands for the keyboard")?;
    if cable.measures == Measures::Position {
        return Err(bad(
            format!(
                "--cable: the cable `{}` measures the table's position, not the part",
                cable.name
            ),
            "name the indicator's cable, or take `measures` out of this one's table",
        ));
    }
    Ok(Some(cable))
}

/// The cable that reports the table's position: the one that is named, else the set-up's.
pub(super) fn position_cable(
    config: &Config,
    setup: &Setup,
    name: Option<&str>,
) -> Result<String, Refusal> {
    let Some(name) = name.map(str::trim) else {
        let configured = || config.position_cable().map(|cable| cable.name.clone());
        return setup
            .position_cable
            .clone()
            .or_else(configured)
            .ok_or_else(|| {
                bad(
                    "--positions cable: no cable of the configuration reports the table's position",
                    "write `measures = \"position\"` in the table of that cable, or name it: `--position-cable NAME`",
                )
            });
    };
    let cable = named(config, "--position-cable", name, "")?;
    if cable.measures == Measures::Part {
        return Err(bad(
            format!(
                "--position-cable: the cable `{}` measures the part, not the table's position",
                cable.name
            ),
            "write `measures = \"position\"` in its table, or name the cable that does",
        ));
    }
    Ok(cable.name.clone())
}

/// The cable with this name, capitals or not. `besides` is said behind the names that there are.
fn named<'a>(
    config: &'a Config,
    flag: &str,
    name: &str,
    besides: &str,
) -> Result<&'a Cable, Refusal> {
    let find = |same: &dyn Fn(&str) -> bool| config.cables.iter().find(|cable| same(&cable.name));
    find(&|known| known == name)
        .or_else(|| find(&|known| known.to_lowercase() == name.to_lowercase()))
        .ok_or_else(|| {
            let known: Vec<&str> = config.cables.iter().map(|c| c.name.as_str()).collect();
            let there = match known.join(", ") {
                none if none.is_empty() => "no cables".to_owned(),
                all => all,
            };
            let otherwise = format!("the configuration has {there}{besides}");
            let message = format!("{flag}: there is no cable `{name}`");
            Refusal::new(Code::UnknownName, message).hint(hint(name, known, &otherwise))
        })
}
