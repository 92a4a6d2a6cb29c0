//! Playing a capture into a virtual cable: what a user has sent, heard again by everything that listens to ports.

use super::proposal::{quoted, registers};
use crate::bench::{Bench, Manner, SetUp, Speech, VirtualCable};
use metrology::Unit;
use protocol::capture::{Capture, Chunk, FrameError};
use protocol::frame::{Modbus, TextPattern};
use std::io;
use std::path::{Path, PathBuf};

/// Slower and faster than this a replay is no use: the silences that tell frames apart do not scale for ever.
pub const SPEEDS: std::ops::RangeInclusive<f64> = 0.01..=1000.0;

/// A virtual cable has no damaged characters. These bytes stand for one, and no frame whose bytes can be any is good
/// with them: they are too many for three bytes, no digits of thirteen, and wrong for a checksum.
const DAMAGED: [u8; 4] = [0xaa; 4];

/// A capture that waits in a virtual cable for somebody to listen, and is then played.
#[derive(Debug)]
pub struct Replay {
    cable: VirtualCable,
}

impl Replay {
    /// Plays `capture` so many times as fast as it was captured, from the moment on that somebody opens the cable. `link`
    /// is a name that is kept pointing at it.
    ///
    /// # Errors
    /// The speed is not within [`SPEEDS`], the frame cannot be understood, or no virtual cable can be had.
    pub fn start(capture: &Capture, speed: f64, link: Option<PathBuf>) -> io::Result<Self> {
        if !SPEEDS.contains(&speed) {
            let (slowest, fastest) = (SPEEDS.start(), SPEEDS.end());
            return Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                format!("the speed {speed} is not from {slowest} to {fastest}"),
            ));
        }
        let frame = capture.frame().map_err(io::Error::other)?;
        let chunks = capture.chunks().map(|chunk| {
            let mut bytes = chunk.bytes.clone();
            if chunk.damaged {
                bytes.extend(DAMAGED);
            }
            Chunk {
                at_ns: (chunk.at_ns as f64 / speed).round() as i64,
                bytes,
                damaged: false,
            }
        });
        let speech = Speech {
            frame,
            unit: Unit::Mm,
            manner: Manner::Replays {
                chunks: chunks.collect(),
            },
            line: None,
            // The daemon that opens it may run in another folder.
            link: link.map(std::path::absolute).transpose()?,
        };
        // The model behind it is never asked for a reading.
        let bench = Bench::new(0, SetUp::default());
        Ok(Self {
            cable: VirtualCable::speaking(bench, speech)?,
        })
    }

    /// The name to open.
    ///
    /// # Errors
    /// The virtual cable has ended.
    pub fn path(&self) -> io::Result<PathBuf> {
        self.cable.path()
    }

    /// Whether everything was said.
    ///
    /// # Errors
    /// The virtual cable has ended.
    pub fn is_over(&self) -> io::Result<bool> {
        self.cable.replayed()
    }

    /// Says everything once more.
    ///
    /// # Errors
    /// The virtual cable has ended.
    pub fn again(&self) -> io::Result<()> {
        self.cable.replay_again()
    }
}

/// The lines of the configuration that listen to a capture's replay on the port `path`, as the capture's own head says
/// that it is to be understood.
///
/// A cable that was polled is heard as a stream: a capture holds the answers, and the replay waits for no request.
///
/// # Errors
/// What in the head cannot be understood.
pub fn replay_lines(capture: &Capture, name: &str, path: &Path) -> Result<String, FrameError> {
    capture.frame()?;
    let cadence = match capture.get("cadence") {
        Some("press") => "press",
        _ => "streams",
    };
    let mut lines = vec![
        format!("[cable.{name}]"),
        format!("port = {}", quoted(&path.to_string_lossy())),
    ];
    lines.extend(capture.get("settings").map(|settings| {
        let words: Vec<&str> = settings.split_whitespace().take(2).collect();
        format!("settings = {}", quoted(&words.join(" ")))
    }));
    lines.push(format!("cadence = {}", quoted(cadence)));
    let frame = capture.get("frame").unwrap_or_default();
    lines.push(if !frame.starts_with('{') {
        format!("frame = {}", quoted(frame))
    } else if let Ok(modbus) = serde_json::from_str::<Modbus>(frame) {
        format!("frame = {}", registers(&modbus))
    } else {
        let pattern: TextPattern = serde_json::from_str(frame)?;
        format!("frame = {}", config::frame::FrameTable::Text(pattern))
    });
    lines.extend(
        capture
            .get("unit")
            .map(|unit| format!("unit = {}", quoted(unit))),
    );
    lines.push(String::new());
    Ok(lines.join("\n"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::Config;

    fn captures() -> Vec<(String, Capture)> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../protocol/tests/captures");
        let files = std::fs::read_dir(folder).unwrap();
        files
            .map(|file| file.unwrap().path())
            .map(|path| {
                let text = std::fs::read_to_string(&path).unwrap();
                (path.display().to_string(), Capture::parse(&text).unwrap())
            })
            .collect()
    }

    #[test]
    fn the_lines_of_every_capture_are_taken_by_the_configuration() {
        let captures = captures();
        assert!(captures.len() > 40);
        for (file, capture) in captures {
            let lines = replay_lines(&capture, "replay", Path::new("/dev/pts/7")).unwrap();
            let config = Config::parse(&lines, "lines").unwrap_or_else(|e| panic!("{file}: {e}"));
            let [cable] = config.cables.as_slice() else {
                panic!("{file}: {lines}");
            };
            // The same frame is understood: it is described as the capture describes it.
            let own = format!("{:?}", capture.frame().unwrap());
            let read = format!("{:?}", cable.decoder().unwrap());
            assert_eq!(own, read, "{file}: {lines}");
            assert_eq!(
                Some(cable.settings.baud),
                capture.bits_per_second(),
                "{file}"
            );
        }
    }

    #[test]
    fn the_port_of_a_relative_link_is_one_that_the_configuration_takes() {
        let here = tempfile::tempdir_in(".").unwrap();
        let link = Path::new(here.path().file_name().unwrap()).join("bench.port");
        let (_, capture) = captures().remove(0);
        let replay = Replay::start(&capture, 1.0, Some(link)).unwrap();
        let lines = replay_lines(&capture, "replay", &replay.path().unwrap()).unwrap();
        Config::parse(&lines, "lines").unwrap();
    }

    #[test]
    fn a_speed_out_of_domain_is_refused() {
        let (_, capture) = captures().remove(0);
        for speed in [0.0, 0.009, 1001.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Replay::start(&capture, speed, None).is_err(), "{speed}");
        }
        for speed in [0.01, 1000.0] {
            assert!(Replay::start(&capture, speed, None).is_ok(), "{speed}");
        }
    }
}
