//! The daemon's log: to stderr, or to daily files.

use crate::Failure;
use config::model::Log;
use std::fs::DirBuilder;
use std::io::{IsTerminal, stderr};
use std::os::unix::fs::DirBuilderExt;
use std::path::Path;
use tracing_appender::non_blocking::WorkerGuard;
use tracing_appender::rolling::{Builder, RollingFileAppender, Rotation};
use tracing_subscriber::EnvFilter;

/// What is logged, as `tracing` says it: `debug`, or `info,conewright_daemon=trace`. Wins over the
/// configuration, since it is for one run.
const VARIABLE: &str = "CONEWRIGHT_LOG";

/// Begins the log, which ends when what this returns is dropped.
///
/// A file is written by a thread of its own: a slow disk is not to hold up a reading.
pub(super) fn begin(log: &Log) -> Result<Option<WorkerGuard>, Failure> {
    let filter = match std::env::var(VARIABLE) {
        Ok(directives) if !directives.is_empty() => {
            EnvFilter::try_new(&directives).map_err(|e| {
                Failure::usage(format!("{VARIABLE}={directives}: {e}"))
                    .hint(format!("{VARIABLE} is a level such as info or debug"))
            })?
        }
        _ => EnvFilter::new(log.level.name()),
    };
    let subscriber = tracing_subscriber::fmt().with_env_filter(filter);
    let Some(file) = &log.file else {
        let colour = stderr().is_terminal()
            && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        subscriber.with_writer(stderr).with_ansi(colour).init();
        return Ok(None);
    };
    let (writer, guard) = tracing_appender::non_blocking(daily(file, log.keep)?);
    subscriber.with_writer(writer).with_ansi(false).init();
    Ok(Some(guard))
}

/// `log/conewright.log` becomes `log/conewright.2026-01-31.log`, and so on.
fn daily(file: &Path, keep: usize) -> Result<RollingFileAppender, Failure> {
    let part = |part: Option<&std::ffi::OsStr>| part.map(|p| p.to_string_lossy().into_owned());
    let mut builder = Builder::new()
        .rotation(Rotation::DAILY)
        .max_log_files(keep)
        .filename_prefix(part(file.file_stem()).unwrap_or_default());
    if let Some(ending) = part(file.extension()) {
        builder = builder.filename_suffix(ending);
    }
    let cannot = |e: &dyn std::fmt::Display| {
        Failure::new(
            "cannot_write",
            format!("no log can be written beside {}: {e}", file.display()),
        )
        .hint("name another file: --log FILE, or [log] in the configuration")
    };
    let directory = file.parent().unwrap_or(Path::new("."));
    // Notes and names of parts go into it, which are nobody else's matter.
    DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(directory)
        .map_err(|e| cannot(&e))?;
    builder.build(directory).map_err(|e| cannot(&e))
}
