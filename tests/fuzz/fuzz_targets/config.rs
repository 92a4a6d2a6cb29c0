//! Any text as a configuration: taken, or refused with every mistake at its line and with what was expected. The udev
//! rules that are made of one hold only what the program writes there.

#![no_main]

use conewright_config::{Config, resolve};
use conewright_daemon::doctor::rules;
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
                let _ = resolve(
                    &config,
                    &SetupOptions {
                        fixture,
                        ..options.clone()
                    },
                );
            }
            // What a name or a serial number says does not become a rule of its own: udev's lines are the program's.
            for line in rules(&config).lines().filter(|line| !line.is_empty()) {
                let own = ["#", "ACTION==", "SUBSYSTEM==", "LABEL=", "KERNEL=="]
                    .iter()
                    .any(|key| line.starts_with(key));
                assert!(own && !line.contains(char::is_control), "{line:?}");
                if !line.starts_with('#') {
                    assert_eq!(line.matches('"').count() % 2, 0, "{line:?}");
                    let outside: String = line.split('"').step_by(2).collect();
                    assert!(!outside.contains("RUN") && !line.contains('\\'), "{line:?}");
                }
            }
        }
        Err(error) => {
            assert!(!error.mistakes().is_empty(), "{error}");
            assert!(error.to_string().starts_with("conewright.toml:"), "{error}");
        }
    }
});
