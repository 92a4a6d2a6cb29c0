//! The record of a session, from the store.

use crate::files::FILE_NAME;
use crate::program::PROGRAM;
use crate::store::{Reader, StoreError, Which, file_error};
use config::shipped::{Occasion, cautions_for, occasions};
use config::{Cable, Cadence};
use protocol::record::{CableSettings, Record};
use std::io::{self, BufWriter, PipeReader, PipeWriter, Write};
use std::path::Path;
use std::thread;

/// What goes through a pipe at a time, bytes.
const PIECE: usize = 64 * 1024;

/// Writes a session's record with its seal, read and computed from the store of a data directory, piece by piece; `begun` is
/// given the session's number before the first.
pub(crate) fn write(
    directory: &Path,
    which: Which,
    begun: impl FnOnce(i64),
    out: &mut impl Write,
) -> Result<(), StoreError> {
    write_from(&mut Reader::open(directory)?, which, begun, out)
}

fn write_from(
    reader: &mut Reader,
    which: Which,
    begun: impl FnOnce(i64),
    out: &mut impl Write,
) -> Result<(), StoreError> {
    let finish = |record: &mut Record| record.cautions = cautions(record);
    reader.write_session(which, PROGRAM, finish, begun, out)
}

/// Reads a session's record from the store of a data directory as JSON while it is written; so it is held nowhere.
///
/// # Errors
/// There is no such session, or the store cannot be read. When `read` ends early, what it returns counts.
pub(crate) fn read<T>(
    directory: &Path,
    which: Which,
    begun: impl FnOnce(i64) + Send,
    read: impl FnOnce(PipeReader) -> T,
) -> Result<T, StoreError> {
    piped(&directory.join(FILE_NAME), which, begun, read)
}

/// Reads a session's record from an archive or a copy of the store, as JSON while it is written; so it is held nowhere.
///
/// # Errors
/// There is no such session, or the file cannot be read. When `read` ends early, what it returns counts.
pub fn of_file<T>(
    file: &Path,
    session: &str,
    read: impl FnOnce(PipeReader) -> T,
) -> Result<T, StoreError> {
    piped(file, session.parse()?, |_| (), read)
}

fn piped<T>(
    store: &Path,
    which: Which,
    begun: impl FnOnce(i64) + Send,
    read: impl FnOnce(PipeReader) -> T,
) -> Result<T, StoreError> {
    let mut reader = Reader::open_file(store)?;
    let not_handed_over = || file_error(store, "hand over the record from");
    let (from, to) = io::pipe().map_err(not_handed_over())?;
    let mut pipe = Pipe { to, left: false };
    thread::scope(|scope| {
        let writes = scope.spawn(move || {
            let mut out = BufWriter::with_capacity(PIECE, &mut pipe);
            let written = write_from(&mut reader, which, begun, &mut out)
                .and_then(|()| out.flush().map_err(not_handed_over()));
            // What is left in it has nowhere to go.
            let _ = out.into_parts();
            if pipe.left { Ok(()) } else { written }
        });
        let read = read(from);
        match writes.join() {
            Ok(written) => written.map(|()| read),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

/// The end of a pipe that is written to.
struct Pipe {
    to: PipeWriter,
    /// Whether the other end is closed.
    left: bool,
}

impl Write for Pipe {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.to.write(bytes);
        self.left |= written
            .as_ref()
            .is_err_and(|error| error.kind() == io::ErrorKind::BrokenPipe);
        written
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
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
