//! The daemon's log: to stderr, or to a file that is renewed daily.

use crate::Failure;
use std::io::{IsTerminal, stderr};
use std::path::Path;
use tracing_appender::non_blocking::WorkerGuard;
use tracing_appender::rolling::{Builder, Rotation};
use tracing_subscriber::EnvFilter;

/// What is logged, in the directives of `tracing`: `debug`, or `info,conewright_daemon=trace`.
const VARIABLE: &str = "CONEWRIGHT_LOG";
/// Files of this many days are kept.
const DAYS: usize = 14;

/// Begins the log, which ends when what this returns is dropped.
///
/// A file is written by a thread of its own: a slow disk is not to hold up a reading.
pub(super) fn begin(directory: Option<&Path>) -> Result<Option<WorkerGuard>, Failure> {
    let filter = match std::env::var(VARIABLE) {
        Ok(directives) if !directives.is_empty() => {
            EnvFilter::try_new(&directives).map_err(|e| {
                Failure::usage(format!("{VARIABLE}={directives}: {e}"))
                    .hint(format!("{VARIABLE} is a level such as info or debug"))
            })?
        }
        _ => EnvFilter::new("info"),
    };
    let log = tracing_subscriber::fmt().with_env_filter(filter);
    let Some(directory) = directory else {
        let colour = stderr().is_terminal()
            && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        log.with_writer(stderr).with_ansi(colour).init();
        return Ok(None);
    };
    let file = Builder::new()
        .rotation(Rotation::DAILY)
        .filename_prefix("conewright")
        .filename_suffix("log")
        .max_log_files(DAYS)
        .build(directory)
        .map_err(|e| {
            Failure::new(
                "cannot_write",
                format!("no log can be written in {}: {e}", directory.display()),
            )
            .hint("name another directory: --log-dir DIR")
        })?;
    let (writer, guard) = tracing_appender::non_blocking(file);
    log.with_writer(writer).with_ansi(false).init();
    Ok(Some(guard))
}
