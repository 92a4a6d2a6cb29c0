//! The options of a step as the user wrote them.
//!
//! An option is declared once, as a field of its kind's options. Clap gives the field its flag, the name of its value and its
//! help, serde its name in JSON. The parser, the API, the refusal of an option of another kind, the completions, the manual and
//! the table in the reference follow from that. Texts are read where the plan is resolved, against configuration and set-up.

use super::{Step, StepKind, StepOptions};
use crate::api::{Code, Refusal};
use crate::for_kind;
use clap::{Arg, Args, Command};
use serde::Deserialize;
use serde_json::{Map, Value};

impl StepKind {
    /// Its options as they are declared: each has the field's name in JSON as its id, and its flag, value and help.
    #[must_use]
    pub fn options(self) -> Vec<Arg> {
        let command = Command::new(self.name());
        let command = for_kind!(self, Self => S, <S as Step>::Options::augment_args(command));
        command.get_arguments().cloned().collect()
    }
}

/// Refuses a flag that none but these kinds take. `verb` is the one that would take it: `step` or `analyse`.
#[must_use]
pub fn only_for(flag: &str, verb: &str, kinds: &[StepKind]) -> Refusal {
    let words: Vec<&str> = kinds.iter().map(|kind| kind.word()).collect();
    let words = match words.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} and {last}", before.join(", ")),
        _ => words.join(""),
    };
    let command = |kind: &StepKind| format!("`conewright {verb} {}`", kind.name());
    let instead = match kinds {
        [only] => command(only),
        [one, other] => format!("{} or {}", command(one), command(other)),
        _ => format!("another kind: `conewright {verb} --help` lists them"),
    };
    Refusal::new(
        Code::BadValue,
        format!("`--{flag}` applies only to {words} steps"),
    )
    .hint(format!("leave it out, or use {instead}"))
}

/// A request that is no options of a step.
fn unreadable(why: &serde_json::Error) -> Refusal {
    Refusal::new(Code::BadRequest, format!("the request cannot be read: {why}"))
        .hint("`conewright step --help` lists the kinds, `conewright step zero --help` the options of one")
}

/// What is not stated: clients may send every field that they know.
fn is_blank(value: &Value) -> bool {
    match value {
        Value::Null | Value::Bool(false) => true,
        Value::Array(values) => values.is_empty(),
        _ => false,
    }
}

/// Refuses a field that is no option of this kind: it would be ignored without a word.
fn check_field(kind: StepKind, field: &str) -> Result<(), Refusal> {
    let find = |kind: StepKind| {
        let mut options = kind.options().into_iter();
        options.find(|option| option.get_id() == field)
    };
    if find(kind).is_some() {
        return Ok(());
    }
    let others = StepKind::ALL.map(|other| (other, find(other)));
    let takes: Vec<StepKind> = others
        .iter()
        .filter(|(_, option)| option.is_some())
        .map(|(other, _)| *other)
        .collect();
    let flag = others
        .iter()
        .find_map(|(_, option)| option.as_ref()?.get_long());
    Err(match flag {
        Some(flag) => only_for(flag, "step", &takes),
        None => Refusal::new(
            Code::UnknownName,
            format!("no step has an option `{field}`"),
        )
        .hint(format!(
            "`conewright step {} --help` lists the options of this one",
            kind.name()
        )),
    })
}

impl TryFrom<Map<String, Value>> for StepOptions {
    type Error = Refusal;

    /// The kind, and beside it the options of that kind.
    fn try_from(mut stated: Map<String, Value>) -> Result<Self, Refusal> {
        #[derive(Deserialize)]
        struct Kind {
            kind: StepKind,
        }
        let kind = stated.remove_entry("kind").into_iter().collect();
        let Kind { kind } =
            serde_json::from_value(Value::Object(kind)).map_err(|why| unreadable(&why))?;
        for (field, _) in stated.iter().filter(|(_, value)| !is_blank(value)) {
            check_field(kind, field)?;
        }
        let stated = Value::Object(stated);
        for_kind!(kind, StepKind => S, {
            serde_json::from_value::<<S as Step>::Options>(stated).map(Into::into)
        })
        .map_err(|why| unreadable(&why))
    }
}

#[cfg(test)]
mod tests;
