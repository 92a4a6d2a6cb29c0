//! Every option from its flag to JSON and back, and what is refused.

use super::*;
use crate::step::Options;
use clap::ArgAction;
use serde_json::json;

/// What the flags of one kind give.
fn parsed<O: Options>(flags: &[String]) -> O {
    let command = O::augment_args(Command::new("step").no_binary_name(true));
    let matches = command
        .try_get_matches_from(flags)
        .unwrap_or_else(|why| panic!("{flags:?}: {why}"));
    O::from_arg_matches(&matches).unwrap()
}

fn read(stated: Value) -> Result<StepOptions, Refusal> {
    let Value::Object(stated) = stated else {
        panic!("{stated}")
    };
    StepOptions::try_from(stated)
}

/// A flag with a value, and the same value in JSON.
fn stated(option: &Arg) -> (Vec<String>, Value) {
    let flag = format!("--{}", option.get_long().expect("every option has a flag"));
    // A value with a hyphen is taken only where a number may stand.
    let word = if option.is_allow_hyphen_values_set() {
        "-1.5"
    } else {
        "word"
    };
    match option.get_action() {
        ArgAction::SetTrue => (vec![flag], json!(true)),
        ArgAction::Append => (vec![flag, "1,2.5".to_owned()], json!(["1", "2.5"])),
        ArgAction::Set => (vec![flag, word.to_owned()], json!(word)),
        other => panic!("{flag}: {other:?}"),
    }
}

#[test]
fn every_option_is_the_same_as_a_flag_and_in_json() {
    for kind in StepKind::ALL {
        for option in kind.options() {
            let (flags, value) = stated(&option);
            let of_flags: StepOptions =
                for_kind!(kind, StepKind => S, parsed::<<S as Step>::Options>(&flags).into());
            let request = json!({ "kind": kind, (option.get_id().as_str()): value });
            let of_json = read(request).unwrap();
            assert_eq!(of_flags, of_json, "{kind:?} {flags:?}");
            assert_ne!(of_json, StepOptions::usual(kind), "{kind:?} {flags:?}");
            let sent = serde_json::to_string(&of_flags).unwrap();
            let head = format!("{{\"kind\":\"{}\"", kind.name());
            assert!(sent.starts_with(&head), "{sent}");
            let again: StepOptions = serde_json::from_str(&sent).unwrap();
            assert_eq!(again, of_json, "{sent}");
        }
    }
}

#[test]
fn every_option_says_what_it_does() {
    for kind in StepKind::ALL {
        let options = kind.options();
        assert!(options.len() > 2, "{kind:?}");
        for option in options {
            let help = option.get_help().map(ToString::to_string);
            assert!(help.is_some_and(|help| help.len() > 10), "{option:?}");
        }
    }
}

#[test]
fn rejects_an_option_of_another_kind() {
    for (request, message, hint) in [
        (
            json!({ "kind": "zero", "pass_depth": "0.01" }),
            "`--pass-depth` applies only to size steps",
            "leave it out, or use `conewright step size`",
        ),
        (
            json!({ "kind": "zero", "bore": true }),
            "`--bore` applies only to size and contact steps",
            "leave it out, or use `conewright step size` or `conewright step contact`",
        ),
        (
            json!({ "kind": "contact", "cable": "bench" }),
            "`--cable` applies only to zero, sweep, run-out, size and dial steps",
            "leave it out, or use another kind: `conewright step --help` lists them",
        ),
        (
            json!({ "kind": "sweep", "wheel_diameter": "250" }),
            "`--wheel` applies only to zero steps",
            "leave it out, or use `conewright step zero`",
        ),
        (
            json!({ "kind": "runout", "nominals": ["0", "1"] }),
            "`--nominals` applies only to dial steps",
            "leave it out, or use `conewright step dial`",
        ),
    ] {
        let refusal = read(request).unwrap_err();
        assert_eq!(refusal.code, Code::BadValue);
        let said = (refusal.message.as_str(), refusal.hint.as_deref());
        assert_eq!(said, (message, Some(hint)));
    }
}

#[test]
fn rejects_an_option_that_no_step_has() {
    let refusal = read(json!({ "kind": "runout", "per_tern": "8" })).unwrap_err();
    assert_eq!(refusal.code, Code::UnknownName);
    assert_eq!(refusal.message, "no step has an option `per_tern`");
    let hint = refusal.hint.unwrap();
    assert!(hint.contains("`conewright step runout --help`"), "{hint}");
}

/// Older clients send every field of every kind.
#[test]
fn ignores_blank_fields_of_other_kinds() {
    let request = json!({
        "kind": "contact", "cable": null, "pass_depth": null, "planes": [], "reversal": false, "film": "2um", "bore": false,
    });
    let StepOptions::Contact(contact) = read(request).unwrap() else {
        panic!()
    };
    assert_eq!(contact.analysis.film.as_deref(), Some("2um"));
    assert!(!contact.analysis.bore);
}

#[test]
fn rejects_a_request_without_a_kind_and_a_value_of_another_type() {
    for (request, why) in [
        (json!({}), "missing field `kind`"),
        (json!({ "kind": "height" }), "unknown variant `height`"),
        (
            json!({ "kind": "runout", "per_turn": 8 }),
            "integer `8`, expected a string",
        ),
        (
            json!({ "kind": "runout", "planes": "5,45" }),
            "string \"5,45\", expected a sequence",
        ),
    ] {
        let refusal = read(request).unwrap_err();
        assert_eq!(refusal.code, Code::BadRequest);
        assert!(refusal.message.contains(why), "{refusal}");
    }
}
