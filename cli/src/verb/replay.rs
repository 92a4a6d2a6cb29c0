//! `cable replay`: a capture played into a virtual cable, for whoever has to see what its sender saw.

use crate::client::block_on;
use crate::{Answer, Failure};
use daemon::cable::{Replay, SPEEDS, replay_lines};
use protocol::capture::Capture;
use serde_json::json;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How often it is looked whether everything was said.
const LOOK: Duration = Duration::from_millis(20);
/// What a pty has taken is lost when its far end goes: whoever listens has this long to read the end.
const READ_THE_END: Duration = Duration::from_secs(1);

/// What `cable replay` was asked.
pub(super) struct Playing<'a> {
    pub file: &'a Path,
    pub speed: f64,
    pub repeat: bool,
    pub link: Option<PathBuf>,
    pub name: &'a str,
    /// Whether what is said before the end would spoil the one document.
    pub silent: bool,
}

/// Plays a capture to whoever opens the virtual cable, until everything was said or the user interrupts.
pub(super) fn run(playing: &Playing<'_>) -> Result<Answer, Failure> {
    let file = playing.file.display().to_string();
    let unreadable = |what: String| {
        Failure::new("bad_capture", format!("{file}: {what}"))
            .hint("a capture is what `conewright cable capture` writes")
    };
    if !SPEEDS.contains(&playing.speed) {
        return Err(Failure::bad_value(format!(
            "--speed {}: it must be from {} to {} times",
            playing.speed,
            SPEEDS.start(),
            SPEEDS.end()
        )));
    }
    let text = std::fs::read_to_string(playing.file).map_err(|e| unreadable(e.to_string()))?;
    let capture = Capture::parse(&text).map_err(|e| unreadable(e.to_string()))?;
    capture.frame().map_err(|e| unreadable(e.to_string()))?;
    let no_cable = |error: std::io::Error| {
        Failure::new("no_virtual_cable", format!("no virtual cable: {error}"))
    };
    let replay = Replay::start(&capture, playing.speed, playing.link.clone()).map_err(no_cable)?;
    let path = replay.path().map_err(no_cable)?;
    let lines =
        replay_lines(&capture, playing.name, &path).map_err(|e| unreadable(e.to_string()))?;
    if playing.silent {
        eprintln!("virtual cable {}", path.display());
    } else {
        let mut out = std::io::stdout().lock();
        writeln!(out, "virtual cable {}\n\n{lines}", path.display())
            .and_then(|()| out.flush())
            .map_err(|e| Failure::output(&e))?;
        eprintln!("waiting for somebody to listen; Ctrl-C ends it");
    }
    let turns = block_on(async {
        tokio::select! {
            turns = play(&replay, playing.repeat) => turns.map_err(no_cable),
            _ = tokio::signal::ctrl_c() => Ok(0),
        }
    })?;
    let bytes: usize = capture.chunks().map(|chunk| chunk.bytes.len()).sum();
    let text = if turns == 0 {
        "interrupted\n".to_owned()
    } else {
        format!("everything was said: {bytes} bytes\n")
    };
    let document = json!({
        "file": file,
        "port": path.display().to_string(),
        "bytes": bytes,
        "completed": turns > 0,
        "configuration": lines,
    });
    Answer::new(text, &document)
}

/// Until everything was said, and read; with `repeat` for ever.
async fn play(replay: &Replay, repeat: bool) -> std::io::Result<u64> {
    loop {
        while !replay.is_over()? {
            tokio::time::sleep(LOOK).await;
        }
        if !repeat {
            tokio::time::sleep(READ_THE_END).await;
            return Ok(1);
        }
        replay.again()?;
    }
}
