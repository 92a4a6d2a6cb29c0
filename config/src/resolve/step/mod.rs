//! From the options of `step KIND` and `analyse KIND`, as the user wrote them, to what the step is for.

mod contact;
mod dial;
mod runout;
mod size;
mod sweep;
mod zero;

use super::indicator;
use super::text::{bad, one_of};
use crate::model::Config;
use metrology::setup::Setup;
use protocol::api::Refusal;
use protocol::for_kind;
use protocol::plan::{Condition, Plan};
use protocol::step::{Step, StepOptions};

/// A kind of step whose options are read here.
trait Resolve: Step {
    /// The plan, from the options that the user wrote.
    ///
    /// # Errors
    /// As [`resolve_step`].
    fn resolve(config: &Config, setup: &Setup, options: &Self::Options) -> Result<Self, Refusal>;
}

/// Resolves the options of a step against a configuration and the set-up that the step belongs to.
///
/// ```
/// use conewright_config::{Config, resolve_step};
/// use metrology::setup::Setup;
/// use protocol::plan::Work;
/// use protocol::step::{RunoutOptions, StepOptions};
/// let (config, setup) = (Config::default(), Setup::default());
/// let per_turn = |n: &str| StepOptions::Runout(RunoutOptions { per_turn: Some(n.to_owned()), ..RunoutOptions::default() });
/// let plan = resolve_step(&config, &setup, &per_turn("8"))?;
/// assert!(matches!(plan.work, Work::Runout(runout) if runout.per_turn == 8));
/// let wrong = resolve_step(&config, &setup, &per_turn("2")).unwrap_err();
/// assert_eq!(wrong.to_string(), "--per-turn: `2` is out of range: a whole number from 3 to 360");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`Code::BadValue`](protocol::api::Code::BadValue) for a text that cannot be read or a value out of range, [`Code::UnknownName`](protocol::api::Code::UnknownName) for a name that is not known; each with what to write instead.
pub fn resolve_step(
    config: &Config,
    setup: &Setup,
    options: &StepOptions,
) -> Result<Plan, Refusal> {
    let condition = options
        .state()
        .condition
        .as_deref()
        .map(|text| {
            let known = [("found", Condition::Found), ("left", Condition::Left)];
            one_of("--as", text, &known)
        })
        .transpose()?;
    let plan = Plan {
        condition,
        indicator: indicator::of_step(config, setup, options.cable())?,
        ..Plan::of(
            for_kind!(options, StepOptions(own) => S, S::resolve(config, setup, own)?.into()),
        )
    };
    if let Some(recorded) = plan.work.recorded()
        && plan.cable(setup).is_none()
    {
        let flag = recorded.flag();
        return Err(bad(
            format!(
                "{flag}: this records every reading of a stretch of time, and the readings are typed"
            ),
            format!(
                "name the cable of the indicator: `--cable NAME`; or leave `{flag}` out, and mark place by place"
            ),
        ));
    }
    Ok(plan)
}

#[cfg(test)]
mod tests;
