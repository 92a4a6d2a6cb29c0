//! `daemon`: the background process itself, and its end.

use super::{log, supervisor};
use crate::client::{Client, ClientError, block_on};
use crate::document::streamed::{self, Form};
use crate::{Answer, Failure, Paths};
use config::Config;
use daemon::reload::{self, ConfigSource};
use daemon::{Fatal, Home, Paper, Parts, Socket};
use metrology::setup::Setup;
use rustix::fs::Mode;
use rustix::process::{Pid, Signal as Signum, kill_process, setsid, umask};
use serde_json::json;
use std::io::{self, Read, Write};
use std::path::PathBuf;
use std::task::Poll;
use std::time::{Duration, Instant};
use tokio::signal::unix::{Signal, SignalKind, signal};

/// How the daemon runs.
pub(super) struct Running {
    /// Where it logs, whatever the configuration says.
    pub log: Option<PathBuf>,
    /// Started by another verb: it leaves that verb's terminal, and logs beside its data.
    pub detached: bool,
    /// Standard input is a pipe that another process holds: it ends with that process, however that one ended.
    pub held: bool,
}

/// Runs the daemon in this process until it is told to stop.
pub(super) fn run(paths: &Paths, running: Running) -> Result<Answer, Failure> {
    if running.detached {
        // A process that leads its group already has no terminal to leave.
        let _ = setsid();
    }
    // Whatever it writes is its user's alone, the log among it, which libraries make.
    umask(Mode::from_raw_mode(0o077));
    let (config, source, config_file) = configuration(paths)?;
    let mut log = config.log.clone();
    log.file = match running.log.or(log.file) {
        None if running.detached => Some(paths.data.join("log/conewright.log")),
        named => named,
    };
    let home = Home::acquire(&paths.data)?;
    let socket = match supervisor::socket()? {
        Some(listener) => Socket::handed_over(listener, &paths.socket, &home)?,
        None => Socket::listen(&paths.socket, &home)?,
    };
    // Only now: a daemon that finds another one at work leaves no file behind.
    let _log = log::begin(&log)?;
    let let_go = let_go(running.held)?;
    let stop = async {
        tokio::select! {
            () = told_to_stop() => {}
            () = let_go => tracing::info!("whoever held it is gone"),
        }
    };
    let parts = Parts {
        papers: papers(),
        config_file,
        ready: Box::new(supervisor::ready),
        ..Parts::real(home, socket, config, source)
    };
    daemon::run_blocking(parts, stop)?;
    Answer::new("", &json!({ "stopped": true }))
}

/// The documents that the live page makes of a record.
fn papers() -> Vec<Paper> {
    vec![
        Paper {
            ending: "html",
            kind: "text/html; charset=utf-8",
            write: |record, config, out| paper(Form::Html, record, config, out),
        },
        Paper {
            ending: "csv",
            kind: "text/csv; charset=utf-8",
            write: |record, config, out| paper(Form::Csv, record, config, out),
        },
        Paper {
            ending: "pdf",
            kind: "application/pdf",
            write: |record, config, out| paper(Form::Pdf, record, config, out),
        },
    ]
}

fn paper(
    form: Form,
    record: &mut dyn Read,
    config: &Config,
    out: &mut dyn Write,
) -> Result<(), String> {
    let style = |setup: &Setup| (config.document_style(setup), config.document.paper);
    let written = streamed::write(record, form, style, None, out);
    written.map_or_else(|why| Err(why.to_string()), |_| Ok(()))
}

/// The configuration, and where a changed one comes from: also a file that is not there yet, since the daemon
/// may have been started before its user wrote one.
fn configuration(paths: &Paths) -> Result<(Config, ConfigSource, Option<PathBuf>), Failure> {
    let environment = |name: &str| std::env::var_os(name);
    match Config::find(paths.config.as_deref(), &environment) {
        Some(path) => Ok((super::load(&path)?, reload::file(path.clone()), Some(path))),
        None => {
            let place = Config::usual_place(&environment);
            let later = place.clone().map_or_else(reload::fixed, reload::file);
            Ok((Config::default(), later, place))
        }
    }
}

/// Ready when standard input has ended, where the daemon is held by it; otherwise never.
fn let_go(held: bool) -> Result<impl Future<Output = ()>, Failure> {
    let (ended, end) = tokio::sync::oneshot::channel();
    // A thread of its own: the runtime would wait at its end for a read that does not come back.
    let reading = held.then(|| {
        std::thread::Builder::new()
            .name("held".to_owned())
            .spawn(move || {
                // A pipe that fails holds nothing any more either.
                let _ = io::copy(&mut io::stdin().lock(), &mut io::sink());
                // A daemon told to stop otherwise no longer listens.
                let _ = ended.send(());
            })
    });
    reading
        .transpose()
        .map_err(|e| Failure::new("internal", format!("no thread for standard input: {e}")))?;
    Ok(async move {
        // Without a thread the sender is dropped at once, which says nothing.
        if !held || end.await.is_err() {
            std::future::pending().await
        }
    })
}

/// Ready when the process is asked to end: by the keyboard, by the system, or because its terminal is gone.
async fn told_to_stop() {
    let asked = |kind: SignalKind| async move {
        match signal(kind) {
            Ok(mut signal) => Signal::recv(&mut signal).await,
            Err(error) => {
                tracing::warn!(%error, "a signal cannot be waited for; `conewright daemon stop` still works");
                std::future::pending().await
            }
        }
    };
    tokio::select! {
        _ = asked(SignalKind::interrupt()) => tracing::info!("interrupted"),
        _ = asked(SignalKind::terminate()) => tracing::info!("told to end"),
        _ = asked(SignalKind::hangup()) => tracing::info!("the terminal is gone"),
        _ = asked(SignalKind::quit()) => tracing::info!("told to quit"),
        () = ignored() => {}
    }
}

/// Takes in the signals that would end a process that does not know them, and goes on: a slip of somebody's `kill` is no reason
/// to lose a view of the dial.
async fn ignored() {
    let kinds = [
        SignalKind::user_defined1(),
        SignalKind::user_defined2(),
        SignalKind::alarm(),
    ];
    let mut signals: Vec<_> = kinds
        .into_iter()
        .filter_map(|kind| signal(kind).ok())
        .collect();
    std::future::poll_fn(|context| {
        for signal in &mut signals {
            while signal.poll_recv(context).is_ready() {
                tracing::info!("a signal without a meaning here was ignored");
            }
        }
        Poll::<()>::Pending
    })
    .await;
}

impl From<Fatal> for Failure {
    fn from(fatal: Fatal) -> Self {
        let code = match fatal {
            Fatal::Held { .. } => "data_held",
            Fatal::SocketInUse { .. } | Fatal::NotASocket { .. } | Fatal::HandedOver { .. } => {
                "socket_in_use"
            }
            Fatal::File { .. } => "cannot_write",
            Fatal::NotOwn(_) => "not_own",
            Fatal::Store(_) => "store_failed",
            Fatal::Fault(_) => "internal",
        };
        Self {
            hint: fatal.hint(),
            ..Self::new(code, fatal.to_string())
        }
    }
}

/// A daemon writes out what it holds before it goes; one that has not gone by then hangs.
const STOPPING: Duration = Duration::from_secs(15);
const PAUSE: Duration = Duration::from_millis(10);

/// Stops the daemon, and returns when it is gone. That none was running is no failure: it is what was wanted.
pub(super) fn stop(paths: &Paths) -> Result<Answer, Failure> {
    let client = Client::new(paths);
    let was_held = daemon::is_held(&paths.data);
    // The socket of a service stays when its daemon ends, and that of a daemon of its own goes before its data is let go.
    let is_there = || paths.socket.exists() && (!was_held || daemon::is_held(&paths.data));
    block_on(async {
        match client.stop().await {
            Ok(()) => {}
            Err(ClientError::NotRunning { socket }) => return stop_holder(paths, &socket).await,
            Err(error) => return Err(error.into()),
        }
        let deadline = Instant::now() + STOPPING;
        // It stops answering first and removes the socket last, when everything is in the store's file.
        while is_there() {
            if Instant::now() >= deadline {
                return Err(Failure::new(
                    "still_running",
                    format!("the daemon is still running after {} s", STOPPING.as_secs()),
                ));
            }
            tokio::time::sleep(PAUSE).await;
        }
        Answer::new("daemon stopped", &json!({ "stopped": true }))
    })
}

/// Ends the daemon that holds the data directory when nobody answers at the socket: its file may have been removed, or it is
/// another daemon's.
async fn stop_holder(paths: &Paths, socket: &str) -> Result<Answer, Failure> {
    let holder = || daemon::holder_of(&paths.data);
    let Some(pid) = holder() else {
        let text = format!("no daemon was running at {socket}");
        return Answer::new(text, &json!({ "stopped": false }));
    };
    let process = i32::try_from(pid).ok().and_then(Pid::from_raw);
    let told = process.map(|process| kill_process(process, Signum::TERM));
    if !matches!(told, Some(Ok(()))) {
        return Err(Failure::new(
            "still_running",
            format!(
                "process {pid} holds {} and cannot be told to end",
                paths.data.display()
            ),
        )
        .hint("end it as the user whose it is"));
    }
    let deadline = Instant::now() + STOPPING;
    while holder() == Some(pid) {
        if Instant::now() >= deadline {
            return Err(Failure::new(
                "still_running",
                format!(
                    "process {pid} is still running after {} s",
                    STOPPING.as_secs()
                ),
            ));
        }
        tokio::time::sleep(PAUSE).await;
    }
    let text = format!(
        "daemon stopped: nobody answered at {socket}, so process {pid}, which held the data directory, was told to end"
    );
    Answer::new(text, &json!({ "stopped": true, "process": pid }))
}
