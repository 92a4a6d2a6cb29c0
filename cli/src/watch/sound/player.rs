//! The program that plays: a general one of the system, which takes samples on its standard input. No library is linked: the
//! usual ones need a system package to be built with, which a bare machine has not.

use super::mixer::{Mixer, RATE};
use std::ffi::OsStr;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::PathBuf;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use tokio::sync::mpsc;

/// The programs, the best first, each with its Debian package.
const PLAYERS: [(&str, &str, &[&str]); 3] = [
    (
        "pw-cat",
        "pipewire-bin",
        &[
            "--playback",
            "--raw",
            "--rate=22050",
            "--channels=1",
            "--format=s16",
            "--latency=100ms",
            "-",
        ],
    ),
    (
        "paplay",
        "pulseaudio-utils",
        &[
            "--raw",
            "--rate=22050",
            "--channels=1",
            "--format=s16le",
            "--latency-msec=100",
        ],
    ),
    (
        "aplay",
        "alsa-utils",
        &[
            "--quiet",
            "--file-type=raw",
            "--rate=22050",
            "--channels=1",
            "--format=S16_LE",
            "--buffer-time=100000",
        ],
    ),
];

/// So many samples are made at once: what happens is heard that much later.
const CHUNK: usize = RATE as usize / 50;
/// Samples are made so far ahead of the time at which they sound.
const AHEAD: Duration = Duration::from_millis(100);
/// Whoever was held up for longer than this does not catch up: old sounds help nobody.
const BEHIND: Duration = Duration::from_millis(500);

/// Whoever ended says why within this.
const LAST_WORDS: Duration = Duration::from_millis(500);

/// This computer has no program that plays sound.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no program that plays sound is installed: looked for {}", names())]
pub struct NoPlayer;

impl NoPlayer {
    /// What helps.
    #[must_use]
    pub fn hint() -> String {
        let packages = PLAYERS.map(|(_, package, _)| package);
        format!("one of these packages has one: {}", packages.join(", "))
    }
}

fn names() -> String {
    PLAYERS.map(|(name, ..)| name).join(", ")
}

type Found = (&'static str, PathBuf, &'static [&'static str]);

/// The player while it plays.
pub struct Player {
    name: &'static str,
    running: Arc<Mutex<Running>>,
    thread: Option<JoinHandle<()>>,
}

#[derive(Default)]
struct Running {
    child: Option<Child>,
    stop: bool,
}

impl Player {
    /// Starts the first player on the path; should it end, the next one.
    ///
    /// # Errors
    /// When there is none.
    pub fn start(
        path: &OsStr,
        mixer: Arc<Mutex<Mixer>>,
        ended: mpsc::Sender<String>,
    ) -> Result<Self, NoPlayer> {
        let found = on_path(path);
        let name = found.first().ok_or(NoPlayer)?.0;
        let running = Arc::<Mutex<Running>>::default();
        let shared = Arc::clone(&running);
        let thread = std::thread::Builder::new()
            .name("sound".to_owned())
            .spawn(move || {
                let mut why = String::new();
                for player in &found {
                    match play(player, &shared, &mixer) {
                        Some(ended) => why = ended,
                        None => return,
                    }
                }
                // The view may have ended meanwhile.
                let _ = ended.try_send(why);
            })
            .ok();
        Ok(Self {
            name,
            running,
            thread,
        })
    }

    /// Its name.
    pub const fn name(&self) -> &'static str {
        self.name
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        {
            let mut running = lock(&self.running);
            running.stop = true;
            // A write that waits for the player fails when it is gone.
            if let Some(child) = &mut running.child {
                let _ = child.kill();
            }
        }
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn lock(running: &Mutex<Running>) -> MutexGuard<'_, Running> {
    running.lock().unwrap_or_else(PoisonError::into_inner)
}

fn on_path(path: &OsStr) -> Vec<Found> {
    let runs = |file: &PathBuf| {
        let about = file.metadata();
        about.is_ok_and(|about| about.is_file() && about.permissions().mode() & 0o111 != 0)
    };
    let find = |name: &str| {
        std::env::split_paths(path)
            .map(|folder| folder.join(name))
            .find(runs)
    };
    PLAYERS
        .into_iter()
        .filter_map(|(name, _, arguments)| Some((name, find(name)?, arguments)))
        .collect()
}

/// Plays until it is stopped; gives why the player ended where it ended by itself.
fn play(
    (name, file, arguments): &Found,
    running: &Mutex<Running>,
    mixer: &Mutex<Mixer>,
) -> Option<String> {
    let (input, errors) = {
        let mut running = lock(running);
        if running.stop {
            return None;
        }
        let child = Command::new(file)
            .args(*arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn();
        let mut child = match child {
            Ok(child) => child,
            Err(error) => return Some(format!("`{name}` cannot be started: {error}")),
        };
        let taken = (child.stdin.take(), child.stderr.take());
        running.child = Some(child);
        taken
    };
    // What is not read would fill its pipe and hold the player.
    let (tell, said) = std::sync::mpsc::channel();
    let name = *name;
    std::thread::spawn(move || {
        let lines = errors
            .map(BufReader::new)
            .into_iter()
            .flat_map(BufRead::lines);
        // Some print their whole usage after the reason, others a line whenever they were held up.
        let (mut own, mut last) = (None, None);
        for line in lines.map_while(Result::ok) {
            if line.starts_with(&format!("{name}:")) {
                own = Some(line);
            } else if !line.trim().is_empty() {
                last = Some(line);
            }
        }
        // Whoever asked may have gone.
        let _ = tell.send(own.or(last));
    });
    if let Some(input) = input {
        feed(input, running, mixer);
    }
    let child = lock(running).child.take();
    let status = child.and_then(|mut child| {
        // It takes no more samples, whatever else it does.
        let _ = child.kill();
        child.wait().ok()
    });
    if lock(running).stop {
        return None;
    }
    // What it left running may hold its way to speak open.
    let said = said.recv_timeout(LAST_WORDS).ok().flatten();
    let how = said.or_else(|| status.map(|status| status.to_string()));
    Some(format!("`{name}` has ended: {}", how.unwrap_or_default()))
}

/// Gives the player its samples, as they are due, until it takes no more.
fn feed(mut input: ChildStdin, running: &Mutex<Running>, mixer: &Mutex<Mixer>) {
    let mut samples = [0_i16; CHUNK];
    let mut due = Instant::now();
    while !lock(running).stop {
        mixer
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .fill(&mut samples);
        let bytes: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
        if input.write_all(&bytes).is_err() {
            return;
        }
        due += Duration::from_secs_f64(CHUNK as f64 / f64::from(RATE));
        let now = Instant::now();
        if due + BEHIND < now {
            due = now;
        }
        std::thread::sleep(due.saturating_duration_since(now + AHEAD));
    }
}
