//! The options of a step as a form asks for them. Everything comes from where an option is declared: its field, and beside the
//! kind's options which of them are usual and what limits a number has.

use super::{Options, Step, StepKind};
use crate::for_kind;
use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Arg, ArgAction, Command, Error};
use serde::Serialize;
use std::ffi::OsStr;

/// An option of a step, as a form asks for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Field {
    /// Its name in the request that opens the step.
    pub name: String,
    /// Its flag without the hyphens before it: a message names it so.
    pub flag: String,
    /// What it does, in a line.
    pub help: String,
    /// What is filled in.
    pub takes: Takes,
    /// The unit of a bare number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<&'static str>,
    /// The words, where it takes one of a few.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
    /// The least and the most, where it takes a number between two.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limits: Option<[f64; 2]>,
    /// Whether it is asked for first. The others stay folded until somebody wants them.
    pub usual: bool,
}

/// What is filled in for an option.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Takes {
    /// Yes or nothing.
    Switch,
    /// One of a few words.
    Words,
    /// The name of a cable.
    Cable,
    /// A whole number.
    Whole,
    /// A number.
    Number,
    /// A length; of a few options two, with a comma between.
    Length,
    /// Lengths with commas between.
    Lengths,
    /// Anything.
    Text,
}

impl StepKind {
    /// Its options as a form asks for them, the usual ones first.
    #[must_use]
    pub fn fields(self) -> Vec<Field> {
        for_kind!(self, Self => S, fields(&self.options(), <<S as Step>::Options as Options>::USUAL, <<S as Step>::Options as Options>::LIMITS))
    }
}

fn fields(options: &[Arg], usual: &[&str], limits: &[(&str, [f64; 2])]) -> Vec<Field> {
    let mut fields: Vec<Field> = options
        .iter()
        .map(|option| field(option, usual, limits))
        .collect();
    let place = |field: &Field| {
        let place = usual.iter().position(|name| *name == field.name);
        place.unwrap_or(usual.len())
    };
    // The others keep their order.
    fields.sort_by_key(place);
    fields
}

fn field(option: &Arg, usual: &[&str], limits: &[(&str, [f64; 2])]) -> Field {
    let name = option.get_id().to_string();
    let words = option.get_possible_values();
    let words: Vec<String> = words.iter().map(|it| it.get_name().to_owned()).collect();
    let value = option.get_value_names().and_then(<[_]>::first);
    let (takes, unit) = match option.get_action() {
        ArgAction::SetTrue => (Takes::Switch, None),
        _ if !words.is_empty() => (Takes::Words, None),
        _ => value.map_or((Takes::Text, None), |value| of_value(value)),
    };
    let limits = limits.iter().find(|(of, _)| *of == name);
    Field {
        flag: option.get_long().unwrap_or_default().to_owned(),
        help: option
            .get_help()
            .map(ToString::to_string)
            .unwrap_or_default(),
        takes,
        unit,
        // A switch has the words of yes and no.
        words: if takes == Takes::Words {
            words
        } else {
            Vec::new()
        },
        limits: limits.map(|(_, limits)| *limits),
        usual: usual.contains(&&*name),
        name,
    }
}

/// What an option takes by the name of its value, and the unit of a bare number.
fn of_value(name: &str) -> (Takes, Option<&'static str>) {
    match name {
        "NAME" => (Takes::Cable, None),
        "N" => (Takes::Whole, None),
        "UPR" => (Takes::Whole, Some("undulations per turn")),
        "LENGTH" | "DIAMETER" => (Takes::Length, Some("mm")),
        "LENGTHS" | "PLANES" | "HEIGHTS" => (Takes::Lengths, Some("mm")),
        "SHARE" => (Takes::Number, None),
        "CELSIUS" => (Takes::Number, Some("°C")),
        "KELVIN" => (Takes::Number, Some("K")),
        "EXPANSION" => (Takes::Number, Some("µm/(m·K)")),
        _ => (Takes::Text, None),
    }
}

/// Takes any text, and tells which words are known. What is wrong with another is said where the plan is made, with what the
/// user may have meant.
#[derive(Debug, Clone)]
pub(super) struct Words(pub &'static [&'static str]);

impl TypedValueParser for Words {
    type Value = String;

    fn parse_ref(
        &self,
        command: &Command,
        option: Option<&Arg>,
        value: &OsStr,
    ) -> Result<String, Error> {
        StringValueParser::new().parse_ref(command, option, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        // The help of each option has them, with what they mean.
        let words = self.0.iter().copied();
        Some(Box::new(
            words.map(|word| PossibleValue::new(word).hide(true)),
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_option_says_what_is_filled_in() {
        for kind in StepKind::ALL {
            for field in kind.fields() {
                assert_ne!(field.takes, Takes::Text, "{kind:?} {field:?}");
                assert!(
                    !field.flag.is_empty() && !field.help.is_empty(),
                    "{field:?}"
                );
                // The help explains each word that there is to choose from.
                for word in &field.words {
                    assert!(
                        field.help.contains(&format!("`{word}`")),
                        "{kind:?} {field:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn usual_options_and_limits_are_of_options_that_there_are() {
        for kind in StepKind::ALL {
            let (usual, limits) = for_kind!(kind, StepKind => S, {
                type O = <S as Step>::Options;
                (<O as Options>::USUAL, <O as Options>::LIMITS)
            });
            let fields = kind.fields();
            let first: Vec<&str> = fields[..usual.len()].iter().map(|f| &*f.name).collect();
            assert_eq!(first, usual, "{kind:?}");
            assert!(!usual.is_empty() && usual.len() <= fields.len(), "{kind:?}");
            for (name, [least, most]) in limits {
                let field = fields.iter().find(|field| field.name == *name).unwrap();
                assert_eq!(field.limits, Some([*least, *most]));
                assert!(
                    matches!(field.takes, Takes::Whole | Takes::Number),
                    "{field:?}"
                );
                // Where the help states them, it states these.
                let stated = format!("{least} to {most}");
                let is_stated = field.help.contains(" to ") && field.takes == Takes::Whole;
                assert!(!is_stated || field.help.contains(&stated), "{field:?}");
            }
        }
    }

    #[test]
    fn a_form_asks_for_what_the_options_declare() {
        let fields = StepKind::Runout.fields();
        let of = |name: &str| fields.iter().find(|field| field.name == name).unwrap();
        assert_eq!(of("angles").takes, Takes::Words);
        assert_eq!(of("angles").words, ["clock", "turns", "steady"]);
        assert_eq!(of("per_turn").limits, Some([3.0, 360.0]));
        assert_eq!(of("filter").unit, Some("undulations per turn"));
        assert_eq!(
            (of("planes").takes, of("planes").unit),
            (Takes::Lengths, Some("mm"))
        );
        assert_eq!(
            (of("reversal").takes, of("cable").takes),
            (Takes::Switch, Takes::Cable)
        );
        assert_eq!(of("condition").flag, "as");
        assert!(of("angles").usual && !of("square_to_cone").usual);
    }
}
