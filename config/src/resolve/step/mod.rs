//! From the options of `step KIND` and `analyse KIND`, as the user wrote them, to what the step is for.

mod belongs;
mod contact;
mod dial;
mod runout;
mod size;
mod sweep;
mod zero;

use super::{bad, cable, indicator_of, length, positive};
use crate::model::Config;
use crate::near::hint;
use metrology::Length;
use metrology::setup::{Indicator, Setup};
use protocol::api::{Code, Refusal, StepOptions};
use protocol::for_kind;
use protocol::plan::{Condition, Plan, StepKind};
use protocol::step::Step;

/// The most planes, stacks or known steps of one step.
const MOST: usize = 100;

/// A kind of step whose options are read here.
trait Resolve: Step {
    /// The options of this kind, from what the user wrote.
    ///
    /// # Errors
    /// As [`resolve_step`].
    fn resolve(config: &Config, setup: &Setup, options: &StepOptions) -> Result<Self, Refusal>;
}

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
    plan.work = for_kind!(kind, StepKind => S, S::resolve(config, setup, options)?.into());
    if let Some(recorded) = plan.work.recorded()
        && plan.cable(setup).is_none()
    {
        let how = recorded.option();
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
