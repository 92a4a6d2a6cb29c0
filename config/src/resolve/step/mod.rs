//! From the options of `step KIND` and `analyse KIND`, as the user wrote them, to what the step is for.

mod belongs;
mod dial;
mod runout;
mod size;
mod sweep;

use super::{bad, cable, indicator_of, length, positive};
use crate::model::Config;
use crate::near::hint;
use metrology::Length;
use metrology::contact::ContactOptions;
use metrology::setup::{Indicator, Setup};
use metrology::wheel::LARGEST_DIAMETER;
use metrology::zero::level::LevelOptions;
use protocol::api::{Code, Refusal, StepOptions};
use protocol::plan::{About, Condition, Plan, StepKind, Work, ZeroPlan};

/// The most planes, stacks or known steps of one step.
const MOST: usize = 100;

/// Resolves the options of a step against a configuration and the set-up that the step belongs to.
///
/// ```
/// use conewright_config::{Config, resolve_step};
/// use metrology::setup::Setup;
/// use protocol::api::StepOptions;
/// use protocol::plan::{StepKind, Work};
/// let options = StepOptions { per_turn: Some("8".to_owned()), ..StepOptions::default() };
/// let (config, setup) = (Config::default(), Setup::default());
/// let plan = resolve_step(&config, &setup, StepKind::Runout, &options)?;
/// assert!(matches!(plan.work, Work::Runout(runout) if runout.per_turn == 8));
/// let wrong = resolve_step(&config, &setup, StepKind::Dial, &options).unwrap_err();
/// assert!(wrong.to_string().contains("belong to a run-out step"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`Code::BadValue`] for an option that belongs to another kind of step, a text that cannot be read or a value out of its
/// domain, [`Code::UnknownName`] for a name that is not known; each with what to write instead.
pub fn resolve_step(
    config: &Config,
    setup: &Setup,
    kind: StepKind,
    options: &StepOptions,
) -> Result<Plan, Refusal> {
    belongs::check(kind, options)?;
    let condition = options
        .condition
        .as_deref()
        .map(|text| {
            let known = [("found", Condition::Found), ("left", Condition::Left)];
            one_of("condition", text, &known)
        })
        .transpose()?;
    let mut plan = Plan {
        condition,
        indicator: indicator(config, setup, options)?,
        ..Plan::usual(kind)
    };
    plan.work = match kind {
        StepKind::Zero => Work::Zero(zero(options)?),
        StepKind::Sweep => Work::Sweep(sweep::resolve(config, setup, options)?),
        StepKind::Runout => Work::Runout(runout::resolve(setup, options)?),
        StepKind::Size => Work::Size(size::resolve(setup, options)?),
        StepKind::Contact => Work::Contact(contact(setup, options)?),
        StepKind::Dial => Work::Dial(dial::resolve(setup, options)?),
    };
    if plan.records() && plan.cable(setup).is_none() {
        let how = match kind {
            StepKind::Sweep => "positions",
            _ => "angles",
        };
        return Err(bad(
            format!("{how}: every reading of a stretch of time is wanted, and readings are typed"),
            "name the cable that the indicator sends through: `--cable NAME`; or mark place by place",
        ));
    }
    Ok(plan)
}

/// The indicator of this step, where it is another than the set-up's.
fn indicator(
    config: &Config,
    setup: &Setup,
    options: &StepOptions,
) -> Result<Option<Indicator>, Refusal> {
    let Some(name) = options.cable.as_deref() else {
        return Ok(None);
    };
    let cable = cable(config, Some(name))?;
    if cable.map(|cable| &cable.name) == setup.indicator.cable.as_ref() {
        return Ok(None);
    }
    Ok(Some(Indicator {
        // The size of a division was stated with the set-up, for whatever is read by eye.
        division: setup.indicator.division,
        ..indicator_of(config, cable)
    }))
}

fn zero(options: &StepOptions) -> Result<ZeroPlan, Refusal> {
    let about = match options.about.as_deref() {
        Some(text) => one_of(
            "about",
            text,
            &[("angle", About::Angle), ("level", About::Level)],
        )?,
        None => About::Angle,
    };
    let of_level = [
        ("wheel diameter", &options.wheel_diameter),
        ("part diameter", &options.part_diameter),
        ("height", &options.height),
    ];
    if about == About::Angle
        && let Some((what, _)) = of_level.iter().find(|(_, value)| value.is_some())
    {
        return Err(bad(
            format!(
                "{what}: it tells what a level axis is worth, and this step is about the angle"
            ),
            "add `--about level`, or leave it out",
        ));
    }
    let diameter = |what: &str, text: &Option<String>| {
        let Some(text) = text.as_deref() else {
            return Ok(None);
        };
        let value = positive(what, text, "250", None)?;
        if value <= LARGEST_DIAMETER {
            return Ok(Some(value));
        }
        Err(bad(
            format!("{what}: {value} is out of its domain: above 0 mm, to {LARGEST_DIAMETER}"),
            "a bare number is in mm",
        ))
    };
    Ok(ZeroPlan {
        about,
        level: LevelOptions {
            wheel: diameter("wheel diameter", &options.wheel_diameter)?,
            part: diameter("part diameter", &options.part_diameter)?,
            height: options
                .height
                .as_deref()
                .map(|text| length("height", text, "0.5", None))
                .transpose()?,
        },
    })
}

/// A film thicker than this is paint: what was meant are µm.
const THICKEST_FILM: Length = Length::from_um(100);

fn contact(setup: &Setup, options: &StepOptions) -> Result<ContactOptions, Refusal> {
    let known = setup.length.or(setup.taper.as_ref().and_then(|t| t.length));
    if known.is_none() {
        return Err(bad(
            "a print says nothing of an angle without the length that it is on, and none is stated",
            "state it with the set-up: `--length 30`",
        ));
    }
    Ok(ContactOptions {
        film: options.film.as_deref().map(film).transpose()?,
        // What a step before it found is the session's to say.
        found_arcsec: None,
        bore: options.bore,
    })
}

/// One thickness, or the thinnest and the thickest.
fn film(text: &str) -> Result<[f64; 2], Refusal> {
    const EXAMPLE: &str = "write it like `3um`, or the thinnest and the thickest like `2um,5um`";
    let each = |text: &str| {
        let value = positive("film", text, "3um", None)?;
        if value > THICKEST_FILM {
            return Err(bad(
                format!(
                    "film: {value} is out of its domain: above 0 µm, to {} µm",
                    THICKEST_FILM.um()
                ),
                EXAMPLE,
            ));
        }
        Ok(value.um())
    };
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    match parts.as_slice() {
        [only] => Ok([each(only)?; 2]),
        [thin, thick] => {
            let film = [each(thin)?, each(thick)?];
            if film[0] > film[1] {
                return Err(bad(
                    format!("film: `{text}` has the thickest first"),
                    EXAMPLE,
                ));
            }
            Ok(film)
        }
        _ => Err(bad(
            format!("film: `{text}` has {} thicknesses", parts.len()),
            EXAMPLE,
        )),
    }
}

/// One word of several; letters may be large or small.
fn one_of<T: Copy>(what: &str, text: &str, known: &[(&str, T)]) -> Result<T, Refusal> {
    let word = text.trim();
    if let Some((_, value)) = known
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(word))
    {
        return Ok(*value);
    }
    let names = known.iter().map(|(name, _)| *name);
    let all = names.clone().collect::<Vec<_>>().join(", ");
    Err(Refusal::new(
        Code::UnknownName,
        format!("{what}: `{word}` is none of {all}"),
    )
    .hint(hint(word, names, "one of these words")))
}

/// A whole number from `least` to `most`.
fn whole(what: &str, text: &str, [least, most]: [u32; 2], example: &str) -> Result<u32, Refusal> {
    let number = text.trim();
    number
        .parse()
        .ok()
        .filter(|n| (least..=most).contains(n))
        .ok_or_else(|| {
            bad(
                format!(
                    "{what}: `{number}` is out of its domain: a whole number from {least} to {most}"
                ),
                format!("write it like `{example}`"),
            )
        })
}

/// A number from `least` to `most`; the unit may stand behind it.
fn number(what: &str, text: &str, [least, most]: [f64; 2], unit: &[&str]) -> Result<f64, Refusal> {
    let bare = unit
        .iter()
        .find_map(|unit| text.trim().strip_suffix(unit))
        .unwrap_or(text)
        .trim();
    let shown = unit.first().copied().unwrap_or("");
    bare.replace(',', ".")
        .parse()
        .ok()
        .filter(|value| (least..=most).contains(value))
        .ok_or_else(|| {
            bad(
                format!(
                    "{what}: `{}` is out of its domain: a number from {least} to {most} {shown}",
                    text.trim()
                ),
                format!("a bare number is in {shown}"),
            )
        })
}

/// Lengths of which no two are one.
fn distinct(
    what: &str,
    texts: &[String],
    read: impl Fn(&str) -> Result<Length, Refusal>,
) -> Result<Vec<Length>, Refusal> {
    if texts.len() > MOST {
        return Err(bad(
            format!("{what}: {} are too many", texts.len()),
            format!("at most {MOST}"),
        ));
    }
    let mut found: Vec<Length> = Vec::with_capacity(texts.len());
    for text in texts {
        let value = read(text)?;
        if found.contains(&value) {
            return Err(bad(
                format!("{what}: {value} is there twice"),
                "leave one of the two out",
            ));
        }
        found.push(value);
    }
    Ok(found)
}

#[cfg(test)]
mod tests;
