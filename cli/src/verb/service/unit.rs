//! The unit files: made from those of the package, for another executable and other places.

use crate::{Failure, Paths};
use std::path::{Path, PathBuf};

/// The units, the socket first: it is there before its service.
pub(super) const UNITS: [&str; 2] = ["conewright.socket", "conewright.service"];
const SOCKET: &str = include_str!("../../../package/systemd/conewright.socket");
const SERVICE: &str = include_str!("../../../package/systemd/conewright.service");
/// How a file begins that this program may replace and remove.
const MARK: &str = "# Written by `conewright service install`";

/// What the service starts, and with which places.
pub(super) struct Service<'a> {
    pub executable: &'a Path,
    pub paths: &'a Paths,
    /// The configuration, where the service would not find it by itself.
    pub config: Option<PathBuf>,
    /// The folder of a log file that the configuration names.
    pub log_folder: Option<PathBuf>,
}

impl Service<'_> {
    /// The texts of [`UNITS`].
    ///
    /// # Errors
    /// A path cannot be written into a unit file.
    pub fn texts(&self) -> Result<[String; 2], Failure> {
        let executable = plain(self.executable)?;
        let data = plain(&self.paths.data)?;
        let socket = plain(&self.paths.socket)?;
        let mut start = format!("ExecStart={}", quoted(executable));
        if let Some(config) = &self.config {
            start.push_str(&format!(" --config {}", argument(plain(config)?)));
        }
        start.push_str(&format!(
            " --data {} --socket {} daemon run",
            argument(data),
            argument(socket)
        ));
        let mut writes = format!("ReadWritePaths={}", quoted(data));
        let folders = [self.paths.socket.parent(), self.log_folder.as_deref()];
        for folder in folders.into_iter().flatten() {
            // A folder that is not there yet would keep the service from starting.
            writes.push_str(&format!(" {}", quoted(&format!("-{}", plain(folder)?))));
        }
        let make = format!("ExecStartPre=+/bin/mkdir -p -m 0700 {}", argument(data));
        let listen = format!("ListenStream={}", socket.replace('%', "%%"));
        Ok([
            with(SOCKET, &[listen]),
            with(SERVICE, &[make, start, writes]),
        ])
    }
}

/// A unit with other lines in place of those that set the same.
fn with(unit: &str, lines: &[String]) -> String {
    let mut text = format!("{MARK}; `conewright service remove` removes it.\n");
    for line in unit.lines() {
        let key = |line: &str| line.split_once('=').map(|(key, _)| key.to_owned());
        let other = lines.iter().find(|other| key(other) == key(line));
        text.push_str(other.map_or(line, String::as_str));
        text.push('\n');
    }
    text
}

/// Whether a file is one of this program's own.
pub(super) fn is_own(text: &str) -> bool {
    text.starts_with(MARK)
}

/// The executable that a service of this program's own starts.
pub(super) fn executable(text: &str) -> Option<PathBuf> {
    let start = text
        .lines()
        .find_map(|line| line.strip_prefix("ExecStart=\""))?;
    let mut path = String::new();
    let mut characters = start.chars();
    loop {
        match characters.next()? {
            '"' => return Some(path.replace("%%", "%").into()),
            '\\' => path.push(characters.next()?),
            character => path.push(character),
        }
    }
}

/// A path as a text that fits into a line.
fn plain(path: &Path) -> Result<&str, Failure> {
    path.to_str()
        .filter(|text| !text.chars().any(char::is_control))
        .ok_or_else(|| {
            Failure::bad_value(format!(
                "{} cannot be written into a unit file: it has a control character, or is not UTF-8",
                path.display()
            ))
            .hint("give the file or the directory another name")
        })
}

/// As systemd reads it: `\` and `"` are escaped, and `%` begins no specifier (systemd.service(5), systemd.unit(5)).
fn quoted(text: &str) -> String {
    let escaped = text.replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{}\"", escaped.replace('%', "%%"))
}

/// The same after the executable, where `$` would begin a variable.
fn argument(text: &str) -> String {
    quoted(text).replace('$', "$$")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(executable: &str, data: &str) -> Result<[String; 2], Failure> {
        let paths = Paths {
            config: None,
            data: data.into(),
            socket: format!("{data}/socket").into(),
        };
        let service = Service {
            executable: Path::new(executable),
            paths: &paths,
            config: Some("/home/user/my taper.toml".into()),
            log_folder: Some("/var/log/taper".into()),
        };
        service.texts()
    }

    #[test]
    fn the_units_name_this_executable_and_these_places() {
        let [socket, service] = texts("/home/user/bin/conewright", "/srv/jobs").unwrap();
        assert!(
            socket.contains("\nListenStream=/srv/jobs/socket\n"),
            "{socket}"
        );
        for line in [
            "ExecStartPre=+/bin/mkdir -p -m 0700 \"/srv/jobs\"",
            "ExecStart=\"/home/user/bin/conewright\" --config \"/home/user/my taper.toml\" \
             --data \"/srv/jobs\" --socket \"/srv/jobs/socket\" daemon run",
            "ReadWritePaths=\"/srv/jobs\" \"-/srv/jobs\" \"-/var/log/taper\"",
            "Type=notify",
        ] {
            assert!(service.lines().any(|l| l == line), "{line}\n{service}");
        }
        assert!(!service.contains("/usr/bin/conewright"), "{service}");
        assert!(is_own(&socket) && is_own(&service) && !is_own(SERVICE));
    }

    #[test]
    fn an_odd_executable_is_found_again_in_its_unit() {
        for path in [
            "/opt/a b/conewright",
            "/opt/50%/conewright",
            "/opt/\"q\"/c\\d/$x",
        ] {
            let [_, service] = texts(path, "/srv/jobs").unwrap();
            assert_eq!(executable(&service), Some(path.into()), "{service}");
        }
        assert_eq!(executable(SERVICE), None);
    }

    #[test]
    fn a_line_break_in_a_path_is_rejected() {
        let failure = texts("/opt/x\nExecStart=/bin/sh", "/srv/jobs").unwrap_err();
        assert!(failure.message.contains("control character"), "{failure}");
    }
}
