//! Whatever a user types, every place that reads it gives a value or a refusal with a hint.

use clap::ArgAction;
use conewright_config::{Config, resolve, resolve_step};
use metrology::setup::Setup;
use proptest::prelude::*;
use protocol::api::SetupOptions;
use protocol::plan::{Plan, StepKind};
use protocol::step::StepOptions;
use serde_json::{Map, Value};

/// Texts near to those that are meant, and anything else.
fn typed() -> impl Strategy<Value = String> {
    prop_oneof![
        "(morse|MT|b|bs|jarno|metric|7:24|1:|inch|Brown & Sharpe)?[ _-]?-?[0-9]{0,4}(\\.[0-9]+)?(deg|mm|um|in/ft|in|d|div)?",
        "[A-Ca-c ,=/+0-9.-]{0,12}",
        ".{0,30}",
    ]
}

proptest! {
    #[test]
    fn options_are_resolved_or_refused(texts in proptest::collection::vec(proptest::option::of(typed()), 21)) {
        let mut texts = texts.into_iter();
        let mut next = || texts.next().flatten();
        let options = SetupOptions {
            taper: next(),
            length: next(),
            tolerance: next(),
            bar: next(),
            bar_kind: next(),
            bar_constant: next(),
            kit: next(),
            span: next(),
            stations: next().into_iter().chain(next()).collect(),
            pass: next(),
            fixture: next(),
            pivot: next(),
            big_end: next(),
            indicator_side: next(),
            cable: next(),
            resolution: next(),
            indicator_error: next(),
            division: next(),
            straightness: next(),
            repeatability: next(),
            station_error: next(),
            settle_band: next(),
        };
        check(&options)?;
        // One at a time, or the first refusal would hide every other place.
        let none = SetupOptions::default;
        let span = Some("80".to_owned());
        for one in [
            SetupOptions { taper: options.taper.clone(), ..none() },
            SetupOptions { bar: options.bar.clone(), bar_kind: Some("tangent".to_owned()), ..none() },
            SetupOptions { bar: Some("100".to_owned()), bar_constant: options.bar_constant.clone(), ..none() },
            SetupOptions { bar: Some("100".to_owned()), bar_kind: options.bar_kind.clone(), ..none() },
            SetupOptions { kit: options.kit.clone(), ..none() },
            SetupOptions { resolution: options.resolution.clone(), ..none() },
            SetupOptions { indicator_error: options.indicator_error.clone(), ..none() },
            SetupOptions { straightness: options.straightness.clone(), ..none() },
            SetupOptions { settle_band: options.settle_band.clone(), ..none() },
            SetupOptions { pivot: options.pivot.clone(), ..none() },
            SetupOptions { span: span.clone(), stations: options.stations.clone(), ..none() },
            SetupOptions { span, pass: options.pass.clone(), ..none() },
            SetupOptions { tolerance: options.tolerance.clone(), taper: Some("morse-2".to_owned()), ..none() },
        ] {
            check(&one)?;
        }
    }

    #[test]
    fn options_of_a_step_are_resolved_or_refused(texts in proptest::collection::vec(typed(), 20), stated: u32) {
        let usual = SetupOptions { taper: Some("1:12".to_owned()), span: Some("80".to_owned()), ..SetupOptions::default() };
        let setup = resolve(&Config::default(), &usual).expect("a usual set-up");
        for kind in StepKind::ALL {
            let mut all = Map::new();
            for (i, option) in kind.options().iter().enumerate() {
                let text = &texts[i % texts.len()];
                let value = match option.get_action() {
                    ArgAction::SetTrue => Value::Bool(true),
                    ArgAction::Append => vec![text.clone(), texts[0].clone()].into(),
                    _ => Value::from(text.clone()),
                };
                let field = option.get_id().to_string();
                // One at a time, or the first refusal would hide every other place.
                check_step(&setup, kind, Map::from_iter([(field.clone(), value.clone())]))?;
                if stated & (1 << i) != 0 {
                    all.insert(field, value);
                }
            }
            check_step(&setup, kind, all)?;
        }
    }

    #[test]
    fn any_file_is_read_or_refused(text in "(\\[[a-z.\"]{0,12}\\]\n)?([a-z_]{1,12} ?= ?.{0,12}\n?){0,3}") {
        if let Err(error) = Config::parse(&text, "f") {
            prop_assert!(!error.mistakes().is_empty());
        }
    }
}

fn check(options: &SetupOptions) -> Result<(), TestCaseError> {
    match resolve(&Config::default(), options) {
        Ok(setup) => {
            // What is resolved is a set-up: it goes through its own JSON unchanged.
            let json = serde_json::to_string(&setup).expect("a set-up is JSON");
            let back: Setup = serde_json::from_str(&json).expect("its own JSON");
            prop_assert_eq!(back.stations, setup.stations);
            prop_assert_eq!(back.pass, setup.pass);
        }
        Err(refusal) => {
            prop_assert!(!refusal.message.is_empty());
            prop_assert!(refusal.hint.is_some_and(|hint| !hint.is_empty()));
        }
    }
    Ok(())
}

fn check_step(
    setup: &Setup,
    kind: StepKind,
    mut stated: Map<String, Value>,
) -> Result<(), TestCaseError> {
    stated.insert("kind".to_owned(), kind.name().into());
    let options = StepOptions::try_from(stated).expect("its own options");
    match resolve_step(&Config::default(), setup, &options) {
        Ok(plan) => {
            let json = serde_json::to_string(&plan).expect("a plan is JSON");
            let back: Plan = serde_json::from_str(&json).expect("its own JSON");
            prop_assert_eq!(back.kind(), plan.kind());
        }
        Err(refusal) => {
            // The flag that the message begins with is one that the user can type.
            let flag = refusal.message.trim_start_matches('`').strip_prefix("--");
            if let Some(flag) = flag.and_then(|rest| rest.split([':', '`', ' ']).next()) {
                let declared = kind.options().iter().any(|o| o.get_long() == Some(flag));
                prop_assert!(declared, "{:?} has no --{}", kind, flag);
            }
            prop_assert!(refusal.hint.is_some_and(|hint| !hint.is_empty()));
        }
    }
    Ok(())
}
