//! Starting the daemon for a verb that needs it.
//!
//! Readiness is an answered request, not a file and not a time: whoever started the daemon, it is there when
//! it answers. Verbs that come at the same moment take turns by a lock, so that one starts it and the others
//! find it running.

use super::{Client, ClientError};
use crate::{Failure, Paths};
use config::own::{self, Use};
use protocol::api::Status;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// A daemon that has not answered by then does not come. Opening the store after a crash takes part of it.
const DEADLINE: Duration = Duration::from_secs(15);
const FIRST_PAUSE: Duration = Duration::from_millis(4);
const LONGEST_PAUSE: Duration = Duration::from_millis(100);
/// A daemon that finds another one at work ends at once, and the other, started by hand, may be about to answer.
const GRACE: Duration = Duration::from_millis(300);
/// How much of the daemon's log is shown when it did not start.
const LAST_LINES: usize = 8;
const DID_NOT_START: &str = "daemon_did_not_start";

/// Returns when a daemon answers, after starting one if there was none.
pub(super) async fn ensure(client: &Client, paths: &Paths) -> Result<(), Failure> {
    if answers(client, paths).await? {
        return Ok(());
    }
    let deadline = Instant::now() + DEADLINE;
    make_data_directory(paths)?;
    let turn = private_file(&paths.data.join("starting"), false)?;
    let mut pause = Pause(FIRST_PAUSE);
    while turn.try_lock().is_err() {
        if Instant::now() >= deadline {
            let waited = format!(
                "another command has been starting it for {} s",
                DEADLINE.as_secs()
            );
            return Err(did_not_start(paths, &waited));
        }
        pause.wait().await;
    }
    if answers(client, paths).await? {
        return Ok(());
    }
    let mut child = spawn(paths)?;
    let mut pause = Pause(FIRST_PAUSE);
    let mut ended: Option<(ExitStatus, Instant)> = None;
    loop {
        pause.wait().await;
        if answers(client, paths).await? {
            return Ok(());
        }
        let now = Instant::now();
        match &ended {
            None => ended = child.try_wait().ok().flatten().map(|status| (status, now)),
            Some((status, at)) if now - *at >= GRACE => {
                return Err(did_not_start(paths, &format!("it ended with {status}")));
            }
            Some(_) => {}
        }
        if Instant::now() >= deadline {
            let waited = format!("it has not answered for {} s", DEADLINE.as_secs());
            return Err(did_not_start(paths, &waited));
        }
    }
}

/// Waits between two looks, longer each time.
struct Pause(Duration);

impl Pause {
    async fn wait(&mut self) {
        tokio::time::sleep(self.0).await;
        self.0 = (self.0 * 2).min(LONGEST_PAUSE);
    }
}

async fn answers(client: &Client, paths: &Paths) -> Result<bool, Failure> {
    match client.status().await {
        Ok(status) => regard(paths, &status).map(|()| true),
        Err(ClientError::NotRunning { .. }) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

/// Tells what is wrong with the daemon's configuration, and refuses to work with another one than was named.
///
/// # Errors
/// Another file was named than the daemon works with.
pub(super) fn regard(paths: &Paths, status: &Status) -> Result<(), Failure> {
    let Some(config) = &status.config else {
        return Ok(());
    };
    if let Some(trouble) = &config.trouble {
        eprintln!("warning: {trouble}");
    }
    let Some(named) = &paths.config else {
        return Ok(());
    };
    let real = |path: &Path| fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let is_its = |file: &String| real(Path::new(file)) == real(named);
    if config.file.as_ref().is_some_and(is_its) {
        return Ok(());
    }
    let file = config.file.as_deref().unwrap_or("no configuration");
    Err(Failure::new(
        "other_configuration",
        format!("the running daemon works with {file}, and not with {}", named.display()),
    )
    .hint("leave --config (or CONEWRIGHT_CONFIG) out; or stop that daemon, and repeat the command: conewright daemon stop"))
}

/// The failure, with the last lines that the daemon said.
fn did_not_start(paths: &Paths, why: &str) -> Failure {
    let log = paths.daemon_log();
    let said = fs::read_to_string(&log).unwrap_or_default();
    let lines: Vec<&str> = said.lines().collect();
    let last = &lines[lines.len().saturating_sub(LAST_LINES)..];
    let mut message = format!("the daemon did not start: {why}");
    for line in last {
        message.push_str("\n  ");
        message.push_str(line);
    }
    Failure::new(DID_NOT_START, message).hint(format!(
        "all of what it said is in {}; to see it live: conewright daemon run",
        log.display()
    ))
}

fn cannot(what: &str, error: &io::Error) -> Failure {
    Failure::new(DID_NOT_START, format!("{what}: {error}"))
}

const ANOTHER_DIRECTORY: &str =
    "name a directory that you may write: --data DIR, or CONEWRIGHT_DATA=DIR";

fn make_data_directory(paths: &Paths) -> Result<(), Failure> {
    let own = rustix::process::geteuid().as_raw();
    let made = own::directory(&paths.data, own, Use::Data);
    let made = made.and_then(|closed| {
        own::files(&paths.data, own, &["starting", "daemon.log"])?;
        Ok(closed)
    });
    match made {
        Ok(None) => Ok(()),
        Ok(Some(closed)) => {
            eprintln!("warning: {closed}");
            Ok(())
        }
        Err(error) => Err(Failure::new(
            DID_NOT_START,
            format!("the data directory cannot be used: {error}"),
        )
        .hint(ANOTHER_DIRECTORY)),
    }
}

fn private_file(path: &Path, truncate: bool) -> Result<File, Failure> {
    OpenOptions::new()
        .create(true)
        .write(true)
        .truncate(truncate)
        .mode(0o600)
        .open(path)
        .map_err(|e| {
            cannot(&format!("{} cannot be written", path.display()), &e).hint(ANOTHER_DIRECTORY)
        })
}

/// Starts this same executable as the daemon, with the same places.
fn spawn(paths: &Paths) -> Result<Child, Failure> {
    // What an earlier daemon said would only be mistaken for the reason of this one.
    let stderr = private_file(&paths.daemon_log(), true)?;
    let program = std::env::current_exe()
        .map_err(|e| cannot("this program's own file cannot be found", &e))?;
    let mut command = Command::new(program);
    if let Some(config) = &paths.config {
        command.arg("--config").arg(config);
    }
    command
        .arg("--data")
        .arg(&paths.data)
        .arg("--socket")
        .arg(&paths.socket)
        .args(["daemon", "run", "--detached"])
        // A verb that runs within a service of its own: what its manager waits for is not this daemon.
        .env_remove("NOTIFY_SOCKET")
        // The daemon outlives this directory, this terminal and this pipe.
        .current_dir("/")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(stderr)
        .spawn()
        .map_err(|e| cannot("the daemon cannot be started", &e))
}
