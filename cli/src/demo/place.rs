//! The demo's own directory: its configuration, its data, its socket. It is kept, to be looked at.

use super::pace::Pace;
use crate::{Failure, Paths};
use protocol::api::{OpenSession, SetupOptions};
use std::fs::{self, DirBuilder};
use std::io;
use std::os::unix::fs::DirBuilderExt;
use std::path::{Path, PathBuf};

/// Where everything of one demo lies.
#[derive(Debug, Clone)]
pub struct Place {
    /// The directory.
    pub directory: PathBuf,
    /// The places that the daemon and its client work with.
    pub paths: Paths,
}

/// Two earlier shifts of the clamp on this fixture, invented. With the one of this session three agree, and the
/// advice becomes to aim off by them.
const EARLIER_SHIFTS: [&str; 2] = ["8.1um/80mm", "7.9um/80mm"];

impl Place {
    /// Makes a new directory and writes the configuration into it.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn make(port: &Path, pace: &Pace) -> Result<Self, Failure> {
        let directory = new_directory()?;
        let config = directory.join("conewright.toml");
        fs::write(&config, configuration(port, pace)).map_err(|e| cannot(&config, &e))?;
        let data = directory.join("data");
        let paths = Paths::resolve(
            Some(config.as_os_str()),
            Some(data.as_os_str()),
            None,
            |_| None,
        )?;
        Ok(Self { directory, paths })
    }

    /// What the daemon said.
    pub fn daemon_log(&self) -> PathBuf {
        self.directory.join("daemon.log")
    }
}

/// The set-up of the part that is in the configuration, as a session of this name.
pub fn seat(name: &str) -> OpenSession {
    let text = |text: &str| Some(text.to_owned());
    OpenSession {
        name: name.to_owned(),
        options: SetupOptions {
            taper: text("seat"),
            tolerance: text("AT4"),
            bar: text("100"),
            bar_kind: text("sine"),
            kit: text("metric-88"),
            span: text("80"),
            fixture: text("plate"),
            big_end: text("A"),
            indicator_side: text("wheel"),
            resolution: text("1um"),
            ..SetupOptions::default()
        },
    }
}

fn cannot(path: &Path, error: &io::Error) -> Failure {
    Failure::new(
        "cannot_write",
        format!("{} cannot be written: {error}", path.display()),
    )
    .hint("name another place for temporary files: TMPDIR=DIR conewright demo")
}

fn new_directory() -> Result<PathBuf, Failure> {
    let base = std::env::temp_dir();
    let id = std::process::id();
    for turn in 0.. {
        let directory = base.join(if turn == 0 {
            format!("conewright-demo-{id}")
        } else {
            format!("conewright-demo-{id}-{turn}")
        });
        // Others may write where temporary files lie: only a directory that was not there before is ours.
        match DirBuilder::new().mode(0o700).create(&directory) {
            Ok(()) => return Ok(directory),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && turn < 1_000 => {}
            Err(error) => return Err(cannot(&directory, &error)),
        }
    }
    Err(Failure::new("internal", "no name for a directory is left"))
}

fn configuration(port: &Path, pace: &Pace) -> String {
    let shifts = EARLIER_SHIFTS
        .map(|shift| format!("\"{shift}\""))
        .join(", ");
    format!(
        "# Written by `conewright demo`. The virtual bench stands where an instrument would be.\n\
         [cable.bench]\n\
         port = \"{}\"\n\
         settings = \"9600 8N1\"\n\
         cadence = \"streams\"\n\
         frame = \"text\"\n\
         unit = \"mm\"\n\
         resolution = \"0.001mm\"\n\
         \n\
         # The part: a spindle's seat for a bearing with a tapered bore. Invented.\n\
         [taper.seat]\n\
         ratio = \"1:12\"\n\
         gauge_diameter = \"40mm\"\n\
         length = \"30mm\"\n\
         source = \"invented for the demo\"\n\
         \n\
         # Two earlier shifts of this clamp.\n\
         [fixture.plate]\n\
         clamp_shifts = [{shifts}]\n\
         \n\
         [settle]\n\
         hold = {}\n\
         longest = {}\n",
        port.display(),
        pace.hold_s,
        pace.longest_s,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_configuration_is_one_that_the_program_takes() {
        for pace in [Pace::WATCHED, Pace::FAST] {
            let text = configuration(Path::new("/dev/pts/7"), &pace);
            let config = config::Config::parse(&text, "demo").unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(config.cables.len(), 1);
            assert_eq!(config.fixtures["plate"].clamp_shifts.len(), 2);
            assert!((config.settle.hold_s - pace.hold_s).abs() < 1e-12);
        }
    }
}
