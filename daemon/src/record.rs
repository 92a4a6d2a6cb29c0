//! The record of a session, from the store.

use crate::store::{Reader, StoreError, Which};
use config::shipped::{Occasion, cautions_for, occasions};
use config::{Cable, Cadence};
use protocol::record::{CableSettings, Record};
use std::path::Path;

/// A session's record as text with its seal, read and computed from the store of a data directory.
pub(crate) fn text(directory: &Path, which: Which, program: &str) -> Result<String, StoreError> {
    let mut record = Reader::open(directory)?.session(which, program)?;
    record.cautions = cautions(&record);
    Ok(record.write())
}

/// The cautions that belong to the steps of a session.
pub(crate) fn cautions(record: &Record) -> Vec<String> {
    let work: Vec<Occasion> = record
        .steps
        .iter()
        .flat_map(|step| occasions(step.plan.kind()).iter().copied())
        .collect();
    cautions_for(&work)
        .map(|caution| caution.text.clone())
        .collect()
}

/// A cable as configured, in the words of the configuration.
pub(crate) fn settings(cable: &Cable) -> CableSettings {
    let mut other = vec![format!("unit = {}", cable.unit.sign())];
    let mut set = |key: &str, value: Option<String>| {
        other.extend(value.map(|value| format!("{key} = {value}")));
    };
    set("resolution", cable.resolution.map(|r| r.to_string()));
    set("invert", cable.invert.then(|| "true".to_owned()));
    set(
        "scale",
        (cable.scale != 1.0).then(|| cable.scale.to_string()),
    );
    set("error_limit", cable.error_limit.map(|e| e.to_string()));
    set("repeatability", cable.repeatability.map(|r| r.to_string()));
    set(
        "lever_angle",
        cable.lever_angle.map(|angle| format!("{}deg", angle.deg())),
    );
    set("dtr", cable.settings.dtr.map(|level| level.to_string()));
    set("rts", cable.settings.rts.map(|level| level.to_string()));
    match &cable.cadence {
        Cadence::Streams { stale_after_s } => {
            set("stale_after", Some(format!("{stale_after_s}s")));
        }
        Cadence::Polled {
            request,
            interval_s,
            timeout_s,
        } => {
            set("request", Some(request.escape_ascii().to_string()));
            set("interval", Some(format!("{interval_s}s")));
            set("timeout", Some(format!("{timeout_s}s")));
        }
        Cadence::Press => {}
    }
    CableSettings {
        name: cable.name.clone(),
        port: cable.port.to_string(),
        settings: cable.settings.to_string(),
        cadence: cable.cadence.name().to_owned(),
        // A frame of the user's own is nowhere else described.
        frame: match &cable.described {
            Some(table) => table.to_string(),
            None => cable.frame.clone(),
        },
        instrument: None,
        other,
    }
}
