//! The record of a session, from the store.

use crate::program::PROGRAM;
use crate::store::{Reader, StoreError, Which};
use config::shipped::{Occasion, cautions_for, occasions};
use config::{Cable, Cadence};
use protocol::record::{CableSettings, Record};
use std::io::Write;
use std::path::Path;

/// Writes a session's record with its seal, read and computed from the store of a data directory, piece by piece; `begun` is
/// called before the first.
pub(crate) fn write(
    directory: &Path,
    which: Which,
    begun: impl FnOnce(),
    out: &mut impl Write,
) -> Result<(), StoreError> {
    let finish = |record: &mut Record| record.cautions = cautions(record);
    Reader::open(directory)?.write_session(which, PROGRAM, finish, begun, out)
}

/// A session's record from an archive or a copy of the store.
///
/// # Errors
/// There is no such session, or the file cannot be read.
pub fn of_file(file: &Path, session: &str) -> Result<Record, StoreError> {
    let mut record = Reader::open_file(file)?.session(session.parse()?, PROGRAM)?;
    record.cautions = cautions(&record);
    Ok(record)
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
