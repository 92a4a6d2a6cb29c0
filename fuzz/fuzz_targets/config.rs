//! Any text as a configuration: taken, or refused with every mistake at its line and with what was expected.

#![no_main]

use conewright_config::{Config, resolve};
use conewright_protocol::api::SetupOptions;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match Config::parse(text, "conewright.toml") {
        Ok(config) => {
            let options = SetupOptions {
                taper: Some("1:12".to_owned()),
                span: Some("80".to_owned()),
                ..SetupOptions::default()
            };
            if let Err(refusal) = resolve(&config, &options) {
                assert!(!refusal.message.is_empty());
            }
            for name in config.fixtures.keys() {
                let fixture = Some(name.clone());
                let _ = resolve(&config, &SetupOptions { fixture, ..options.clone() });
            }
        }
        Err(error) => {
            assert!(!error.mistakes().is_empty(), "{error}");
            assert!(error.to_string().starts_with("conewright.toml:"), "{error}");
        }
    }
});
