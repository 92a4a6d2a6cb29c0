//! `stack`: gauge blocks for a height, or for an angle in a bar, and what they really set.

use super::session::sum;
use crate::args::StackArgs;
use crate::layout::{Pairs, arcsec, um};
use crate::{Answer, Exit, Failure};
use config::Config;
use metrology::blocks::{Kit, Stack, StackError, StackRules, choose, choose_two, stack_for_angle};
use metrology::setting::Bar;
use metrology::{Angle, Length, Unit};
use serde_json::json;

/// The kit of someone who has not said which: the most usual one (common practice).
const USUAL_KIT: &str = "metric-88";

/// What the stack is for.
enum Purpose {
    Height(Length),
    Angle { bar: Bar, half_angle: Angle },
}

pub(super) fn run(config: &Config, args: &StackArgs) -> Result<Answer, Failure> {
    let purpose = purpose(config, args)?;
    let kit = kit(config, args.kit.as_deref())?;
    let rules = rules(args)?;
    let stacks = stacks(&kit, &purpose, &rules, args.two).map_err(refused)?;

    let mut text = String::new();
    let mut json = json!(stacks[0]);
    json["kit"] = json!(kit.name);
    if let Some(second) = stacks.get(1) {
        json["second"] = json!(second);
    }
    for stack in &stacks {
        text.push_str(&lines(stack, &kit));
    }
    let mut answer = Answer::new(text, &json)?;
    if let Purpose::Angle { bar, half_angle } = &purpose
        && let Some(warning) = bar.warning(*half_angle)
    {
        answer = answer.talk(format!("warning: {warning}"));
    }
    if let Some(stack) = stacks.iter().find(|s| !s.within) {
        answer.complaint = Some(off(stack, &kit, &rules));
        answer.exit = Exit::Failed;
    }
    Ok(answer)
}

fn purpose(config: &Config, args: &StackArgs) -> Result<Purpose, Failure> {
    match (&args.height, &args.angle, &args.bar) {
        (Some(height), ..) => Ok(Purpose::Height(length("height", height)?)),
        (None, Some(angle), Some(bar)) => Ok(Purpose::Angle {
            bar: config.bar(bar, args.bar_kind.as_deref(), args.bar_constant.as_deref())?,
            half_angle: config.taper(angle)?.half_angle,
        }),
        _ => Err(
            Failure::usage("a stack is for a height, or for an angle and a bar")
                .hint("conewright stack 4.159, or conewright stack --angle 1:12 --bar 100"),
        ),
    }
}

/// The kit that was named; otherwise the user's own, or the usual one.
fn kit(config: &Config, named: Option<&str>) -> Result<Kit, Failure> {
    let name = named.or_else(|| config.kits.keys().next().map(String::as_str));
    Ok(config.kit(name.unwrap_or(USUAL_KIT))?)
}

fn rules(args: &StackArgs) -> Result<StackRules, Failure> {
    let mut rules = StackRules::default();
    if let Some(within) = &args.within {
        rules.within = length("within", within)?;
    }
    rules.exclude = args
        .exclude
        .iter()
        .map(|block| length("exclude", block))
        .collect::<Result<_, _>>()?;
    rules.wear = args
        .wear
        .as_deref()
        .map(|wear| length("wear", wear))
        .transpose()?;
    Ok(rules)
}

fn length(what: &str, text: &str) -> Result<Length, Failure> {
    text.parse()
        .map_err(|e| Failure::bad_value(format!("{what}: {e}")))
}

fn stacks(
    kit: &Kit,
    purpose: &Purpose,
    rules: &StackRules,
    two: bool,
) -> Result<Vec<Stack>, StackError> {
    match (purpose, two) {
        (Purpose::Height(height), false) => Ok(vec![choose(kit, *height, rules)?]),
        (Purpose::Height(height), true) => Ok(choose_two(kit, *height, *height, rules)?.into()),
        (Purpose::Angle { bar, half_angle }, false) => {
            Ok(vec![stack_for_angle(kit, bar, *half_angle, rules)?])
        }
        (Purpose::Angle { bar, half_angle }, true) => {
            // The one stack says the height, rounded as it must be, that both are to have.
            let height = stack_for_angle(kit, bar, *half_angle, rules)?.height;
            let mut pair = choose_two(kit, height, height, rules)?;
            for stack in &mut pair {
                if let Ok(set) = bar.half_angle(stack.sum) {
                    stack.angle_set_deg = Some(set.deg());
                    stack.angle_error_arcsec = Some((set - *half_angle).arcsec());
                }
            }
            Ok(pair.into())
        }
    }
}

fn refused(error: StackError) -> Failure {
    match error {
        StackError::BeyondKit { .. }
        | StackError::BelowWear { .. }
        | StackError::NoBlocks { .. }
        | StackError::NotBoth { .. } => Failure::new("no_stack", error.to_string()),
        StackError::Setting(why) => {
            Failure::bad_value(format!("--angle with --bar: {why}")).hint(why.hint())
        }
        _ => Failure::bad_value(error.to_string()),
    }
}

/// The closest stack is not close enough.
fn off(stack: &Stack, kit: &Kit, rules: &StackRules) -> Failure {
    Failure::new(
        "no_stack",
        format!(
            "kit {} cannot make {} within {} µm: the closest is {}, off by {}",
            kit.name,
            stack.height,
            rules.within.decimal(Unit::Um),
            stack.sum,
            um(stack.error_um)
        ),
    )
    .hint(format!(
        "build it as it is if {0} µm may be missing (--within {0}um), or name another kit: --kit NAME",
        stack.error_um.abs().ceil()
    ))
}

fn lines(stack: &Stack, kit: &Kit) -> String {
    let mut pairs = Pairs::default();
    pairs.add("asked for", stack.height.to_string());
    pairs.add("blocks", format!("{} of {}", sum(&stack.blocks), kit.name));
    pairs.add("error", um(stack.error_um));
    pairs.add_some("u", stack.u_um.map(|u| format!("{u:.3} µm")));
    pairs.add_some(
        "sets",
        stack.angle_set_deg.map(|deg| {
            let error = stack
                .angle_error_arcsec
                .map_or(String::new(), |e| format!(", {} off", arcsec(e)));
            format!("half angle {deg:.7}°{error}")
        }),
    );
    format!("stack {}\n{}", stack.sum, pairs.text())
}
