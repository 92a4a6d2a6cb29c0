//! `stack`: gauge blocks for a height, or for an angle in a bar, and what they really set.

use super::written::Written;
use crate::args::StackArgs;
use crate::layout::Pairs;
use crate::{Answer, Exit, Failure};
use config::Config;
use metrology::blocks::{Kit, Stack, StackError, StackRules, choose, choose_two, stack_for_angle};
use metrology::setting::Bar;
use metrology::{Angle, Length, Unit};
use protocol::style::Style;
use serde_json::json;

/// The kit of someone who has not said which: the most usual one (common practice).
const USUAL_KIT: &str = "metric-88";

/// What the stack is for.
enum Purpose {
    Height(Length),
    Angle { bar: Bar, half_angle: Angle },
}

pub(super) fn run(config: &Config, args: &StackArgs, written: Written) -> Result<Answer, Failure> {
    let purpose = purpose(config, args)?;
    let kit = kit(config, args.kit.as_deref())?;
    let unit = written.unit().unwrap_or_else(|| kit.unit());
    let style = Style::of(unit);
    let rules = rules(args)?;
    let stacks = stacks(&kit, &purpose, &rules, args.two).map_err(refused)?;

    let mut text = String::new();
    let mut json = json!(stacks[0]);
    json["kit"] = json!(kit.name);
    if let Some(second) = stacks.get(1) {
        json["second"] = json!(second);
    }
    for stack in &stacks {
        text.push_str(&lines(stack, &kit, style));
    }
    let mut answer = Answer::new(text, &json)?;
    if let Purpose::Angle { bar, half_angle } = &purpose
        && let Some(warning) = bar.warning(*half_angle)
    {
        answer = answer.talk(format!("warning: {warning}"));
    }
    if let Some(stack) = stacks.iter().find(|s| !s.within) {
        answer.complaint = Some(off(stack, &kit, &rules, style));
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
fn off(stack: &Stack, kit: &Kit, rules: &StackRules, style: Style) -> Failure {
    Failure::new(
        "no_stack",
        format!(
            "kit {} cannot make {} within {}: the closest is {}, off by {}",
            kit.name,
            style.length(stack.height),
            within(rules.within, style),
            style.length(stack.sum),
            style.micro_signed(stack.error_um)
        ),
    )
    .hint(enough(stack.error_um.abs(), style))
}

/// How near is near enough.
fn within(within: Length, style: Style) -> String {
    if style.inches() {
        style.micro(within.um())
    } else {
        format!("{} µm", within.decimal(Unit::Um))
    }
}

/// How near would be, and how that is said.
fn enough(error_um: f64, style: Style) -> String {
    let (told, flag) = if style.inches() {
        // A tenth is the fourth decimal of an inch: one that is cut would be too little.
        let tenths = (style.small(error_um) * 10.0).ceil() / 10.0;
        (
            format!("{tenths:.1} tenths"),
            format!("{:.5}in", tenths * 1e-4),
        )
    } else {
        let um = error_um.ceil();
        (format!("{um} µm"), format!("{um}um"))
    };
    format!(
        "build it as it is if {told} may be missing (--within {flag}), or name another kit: --kit NAME"
    )
}

fn lines(stack: &Stack, kit: &Kit, style: Style) -> String {
    let mut pairs = Pairs::default();
    pairs.add("asked for", style.length(stack.height));
    pairs.add(
        "blocks",
        format!("{} of {}", style.blocks(&stack.blocks, Some(kit)), kit.name),
    );
    pairs.add("error", style.micro_signed(stack.error_um));
    pairs.add_some("u", stack.u_um.map(|u| style.micro_text(u, 3)));
    pairs.add_some(
        "sets",
        stack.angle_set_deg.map(|deg| {
            let error = stack
                .angle_error_arcsec
                .map_or(String::new(), |e| format!(", {} off", style.arcsec(e)));
            format!("half angle {deg:.7}°{error}")
        }),
    );
    format!("stack {}\n{}", style.length(stack.sum), pairs.text())
}
