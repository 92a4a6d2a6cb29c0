//! The daemon of the demo: this same program as a process of its own, ended with the demo.

use super::place::Place;
use crate::Failure;
use crate::client::{Client, ClientError};
use rustix::process::{Pid, Signal, kill_process};
use std::fs::File;
use std::os::unix::process::CommandExt;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// It answers well within this, or does not come.
const START: Duration = Duration::from_secs(15);
/// It writes out what it holds and ends well within this, or hangs.
const END: Duration = Duration::from_secs(10);
const PAUSE: Duration = Duration::from_millis(5);
const LAST_LINES: usize = 8;

/// The daemon's process. Dropped before its end it is killed: what it had acknowledged is on the disk.
#[derive(Debug)]
pub struct Companion {
    child: Child,
    log: std::path::PathBuf,
}

impl Companion {
    /// Starts it.
    ///
    /// # Errors
    /// When the process cannot be started.
    pub fn start(place: &Place) -> Result<Self, Failure> {
        let cannot = |e: std::io::Error| {
            Failure::new(
                "daemon_did_not_start",
                format!("the daemon cannot be started: {e}"),
            )
        };
        let log = place.daemon_log();
        let said = File::create(&log).map_err(cannot)?;
        let mut command = Command::new(std::env::current_exe().map_err(cannot)?);
        if let Some(config) = &place.paths.config {
            command.arg("--config").arg(config);
        }
        let child = command
            .arg("--data")
            .arg(&place.paths.data)
            .arg("--socket")
            .arg(&place.paths.socket)
            .args(["daemon", "run", "--held"])
            // Never written to. Its end, when this process is gone, ends the daemon: also after a kill, which nothing
            // here would live to answer.
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(said)
            // A key that interrupts the demo must not reach it: the demo ends it, after its last question.
            .process_group(0)
            .spawn()
            .map_err(cannot)?;
        Ok(Self { child, log })
    }

    /// Returns when it answers.
    ///
    /// # Errors
    /// When it ends instead, or does not answer in time; with what it said.
    pub async fn ready(&mut self, client: &Client) -> Result<(), Failure> {
        let deadline = Instant::now() + START;
        loop {
            let ended = self.child.try_wait().ok().flatten();
            match client.status().await {
                Ok(_) => return Ok(()),
                Err(ClientError::NotRunning { .. }) => {}
                Err(error) => return Err(error.into()),
            }
            if let Some(status) = ended {
                return Err(self.failed(&format!("it ended with {status}")));
            }
            if Instant::now() >= deadline {
                return Err(self.failed(&format!("it has not answered for {} s", START.as_secs())));
            }
            tokio::time::sleep(PAUSE).await;
        }
    }

    fn failed(&self, why: &str) -> Failure {
        let said = std::fs::read_to_string(&self.log).unwrap_or_default();
        let lines: Vec<_> = said.lines().collect();
        let mut message = format!("the daemon did not start: {why}");
        for line in &lines[lines.len().saturating_sub(LAST_LINES)..] {
            message.push_str("\n  ");
            message.push_str(line);
        }
        Failure::new("daemon_did_not_start", message)
    }

    /// Ends it, and waits until it has gone.
    ///
    /// # Errors
    /// When it had to be killed, or did not end as it should.
    pub async fn end(&mut self) -> Result<(), Failure> {
        let deadline = Instant::now() + END;
        self.ask_to_end();
        while Instant::now() < deadline {
            if let Some(status) = self.gone() {
                return if status.success() {
                    Ok(())
                } else {
                    Err(Failure::new(
                        "daemon_failed",
                        format!("the daemon ended with {status}; see {}", self.log.display()),
                    ))
                };
            }
            tokio::time::sleep(PAUSE).await;
        }
        Err(Failure::new(
            "daemon_hangs",
            format!(
                "the daemon has not ended for {} s and was killed; see {}",
                END.as_secs(),
                self.log.display()
            ),
        ))
    }

    fn gone(&mut self) -> Option<ExitStatus> {
        self.child.try_wait().ok().flatten()
    }

    fn ask_to_end(&self) {
        let pid = i32::try_from(self.child.id()).ok().and_then(Pid::from_raw);
        if let Some(pid) = pid {
            // It may have gone by itself; then there is nobody to tell.
            let _ = kill_process(pid, Signal::TERM);
        }
    }
}

impl Drop for Companion {
    fn drop(&mut self) {
        if self.gone().is_none() {
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}
