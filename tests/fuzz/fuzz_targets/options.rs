//! Any options of a session or a step: a set-up or a plan that settles on its own JSON, or a refusal with a hint.

#![no_main]

use conewright_config::{Config, resolve, resolve_step};
use conewright_protocol::api::{Refusal, SetupOptions};
use conewright_protocol::step::StepOptions;
use libfuzzer_sys::fuzz_target;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fmt::Debug;
use std::sync::LazyLock;

static EXAMPLE: LazyLock<Config> = LazyLock::new(|| {
    let text = include_str!("../../../config/conewright.example.toml");
    Config::parse(text, "example").unwrap_or_default()
});

fuzz_target!(|data: &[u8]| {
    step(data);
    let Ok(options) = serde_json::from_slice::<SetupOptions>(data) else {
        return;
    };
    for config in [&Config::default(), &*EXAMPLE] {
        match resolve(config, &options) {
            Ok(setup) => settles(setup),
            Err(refusal) => has_a_hint(&refusal),
        }
    }
});

/// The options of a step, in a set-up that has what most of them need.
fn step(data: &[u8]) {
    let Ok(stated) = serde_json::from_slice::<serde_json::Map<_, _>>(data) else {
        return;
    };
    let options = match StepOptions::try_from(stated) {
        Ok(options) => options,
        Err(refusal) => return has_a_hint(&refusal),
    };
    let setup = SetupOptions {
        taper: Some("1:12".to_owned()),
        length: Some("30".to_owned()),
        span: Some("80".to_owned()),
        ..SetupOptions::default()
    };
    for config in [&Config::default(), &*EXAMPLE] {
        let setup = resolve(config, &setup).expect("a usual set-up");
        match resolve_step(config, &setup, &options) {
            Ok(plan) => settles(plan),
            Err(refusal) => has_a_hint(&refusal),
        }
    }
}

/// The last digit of an angle may change the first time; after that it is the same for ever.
fn settles<T: Serialize + DeserializeOwned + PartialEq + Debug>(first: T) {
    let again = |value: &T| -> T {
        let json = serde_json::to_string(value).expect("it is JSON");
        serde_json::from_str(&json).expect("its own JSON")
    };
    let rounds: Vec<T> = std::iter::successors(Some(first), |value| Some(again(value)))
        .take(8)
        .collect();
    assert_eq!(rounds[6], rounds[7]);
}

fn has_a_hint(refusal: &Refusal) {
    assert!(!refusal.message.is_empty());
    assert!(refusal.hint.is_some(), "{}", refusal.message);
}
