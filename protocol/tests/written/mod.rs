//! A record of given steps, and its JSON held against the published schema.

#![allow(
    unreachable_pub,
    clippy::unwrap_used,
    reason = "a test's module, and a panic is a test's message"
)]

use conewright_protocol::evidence::Time;
use conewright_protocol::record::{FORMAT, Record, SCHEMA, SessionInfo, StepRecord, VERSION};
use metrology::setup::Setup;
use serde_json::Value;

/// A session that is still open, without events.
pub fn record(name: &str, setup: Setup, steps: Vec<StepRecord>) -> Record {
    Record {
        format: FORMAT.into(),
        version: VERSION,
        program: "0.1.0".into(),
        session: SessionInfo {
            id: 1,
            name: name.into(),
            opened_utc_ns: Time(1_700_000_000_000_000_000),
            closed_utc_ns: None,
        },
        setup,
        cables: Vec::new(),
        steps,
        events: Vec::new(),
        cautions: Vec::new(),
        digest: String::new(),
        signature: None,
    }
}

/// Checks that a record keeps to the schema, and that with each wrong value in its place it does not. Gives its JSON.
pub fn keeps_to_the_schema(record: Record, wrong: &[(&str, Value)]) -> Value {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let written: Value = serde_json::from_str(&record.write()).unwrap();
    let faults: Vec<String> = schema
        .iter_errors(&written)
        .map(|fault| format!("{}: {fault:.600}", fault.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
    for (pointer, value) in wrong {
        let mut changed = written.clone();
        *changed
            .pointer_mut(pointer)
            .unwrap_or_else(|| panic!("{pointer}")) = value.clone();
        assert!(!schema.is_valid(&changed), "{pointer}");
    }
    written
}
