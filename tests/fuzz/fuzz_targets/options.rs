//! Any options of a session: a set-up that settles on its own JSON, or a refusal with a hint.

#![no_main]

use conewright_config::{Config, resolve};
use conewright_metrology::setup::Setup;
use conewright_protocol::api::SetupOptions;
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;

static EXAMPLE: LazyLock<Config> = LazyLock::new(|| {
    let text = include_str!("../../../config/conewright.example.toml");
    Config::parse(text, "example").unwrap_or_default()
});

fuzz_target!(|data: &[u8]| {
    let Ok(options) = serde_json::from_slice::<SetupOptions>(data) else {
        return;
    };
    for config in [&Config::default(), &*EXAMPLE] {
        match resolve(config, &options) {
            Ok(setup) => {
                // The last digit of an angle may change the first time; after that it is the same for ever.
                let again = |setup: &Setup| -> Setup {
                    let json = serde_json::to_string(setup).expect("a set-up is JSON");
                    serde_json::from_str(&json).expect("its own JSON")
                };
                let rounds: Vec<Setup> = std::iter::successors(Some(setup), |s| Some(again(s)))
                    .take(8)
                    .collect();
                assert_eq!(rounds[6], rounds[7]);
            }
            Err(refusal) => {
                assert!(!refusal.message.is_empty());
                assert!(refusal.hint.is_some(), "{}", refusal.message);
            }
        }
    }
});
