//! Where things lie: the configuration, the data directory and the socket, from options and environment, in
//! one place.

use crate::Failure;
use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};

/// A Unix socket's address holds this many bytes of path (`sun_path` is 108 with its closing zero).
pub const LONGEST_SOCKET_PATH: usize = 107;

/// The places that every verb works with; all absolute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Paths {
    /// The configuration, where it was named; otherwise it is searched for, and may be missing.
    pub config: Option<PathBuf>,
    /// The data directory.
    pub data: PathBuf,
    /// The daemon's socket.
    pub socket: PathBuf,
}

impl Paths {
    /// Takes the places from what was named by option (or its environment variable, which the table of
    /// options reads), and the rest from `environment`.
    ///
    /// A data directory that was named has a daemon of its own, so its socket lies inside it unless a socket
    /// was named too: otherwise a verb with `--data` would talk to the daemon of another directory.
    ///
    /// # Errors
    /// When no place for the data is known, or the socket's path is too long.
    pub fn resolve(
        config: Option<&OsStr>,
        data: Option<&OsStr>,
        socket: Option<&OsStr>,
        environment: impl Fn(&str) -> Option<OsString>,
    ) -> Result<Self, Failure> {
        let named = |place: Option<&OsStr>| {
            place
                .filter(|place| !place.is_empty())
                .map(|place| absolute(Path::new(place)))
                .transpose()
        };
        // A relative path in an XDG variable is to be ignored, by the specification of those variables.
        let directory = |name: &str| {
            environment(name)
                .map(PathBuf::from)
                .filter(|p| p.is_absolute())
        };
        let usual_data = directory("XDG_DATA_HOME")
            .or_else(|| directory("HOME").map(|home| home.join(".local/share")))
            .map(|base| base.join("conewright"));
        let named_data = named(data)?;
        let own_daemon = named_data.is_some() && named_data != usual_data;
        let Some(data) = named_data.or(usual_data) else {
            return Err(Failure::new(
                "no_data_directory",
                "there is no place for the data: neither XDG_DATA_HOME nor HOME is set",
            )
            .hint("name a directory: --data DIR, or CONEWRIGHT_DATA=DIR"));
        };
        let socket = match (named(socket)?, directory("XDG_RUNTIME_DIR")) {
            (Some(socket), _) => socket,
            (None, Some(runtime)) if !own_daemon => runtime.join("conewright/socket"),
            (None, _) => data.join("socket"),
        };
        let length = socket.as_os_str().len();
        if length > LONGEST_SOCKET_PATH {
            return Err(Failure::new(
                "socket_path_too_long",
                format!(
                    "the socket's path has {length} bytes, and the system allows {LONGEST_SOCKET_PATH}: {}",
                    socket.display()
                ),
            )
            .hint("name a shorter one: --socket PATH, or CONEWRIGHT_SOCKET=PATH"));
        }
        Ok(Self {
            config: named(config)?,
            data,
            socket,
        })
    }

    /// What the detached daemon says before and beside its log: the reason when it does not start.
    #[must_use]
    pub fn daemon_log(&self) -> PathBuf {
        self.data.join("daemon.log")
    }
}

fn absolute(path: &Path) -> Result<PathBuf, Failure> {
    std::path::absolute(path).map_err(|e| {
        Failure::usage(format!(
            "`{}` cannot be made an absolute path: {e}",
            path.display()
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn resolve(
        data: Option<&str>,
        socket: Option<&str>,
        environment: &[(&str, &str)],
    ) -> Result<Paths, Failure> {
        Paths::resolve(None, data.map(OsStr::new), socket.map(OsStr::new), |name| {
            environment
                .iter()
                .find(|(n, _)| *n == name)
                .map(|(_, value)| value.into())
        })
    }

    #[test]
    fn the_places_follow_options_then_environment() {
        let home = ("HOME", "/home/user");
        let runtime = ("XDG_RUNTIME_DIR", "/run/user/7");
        let usual = "/home/user/.local/share/conewright";
        for (legend, data, socket, environment, want_data, want_socket) in [
            (
                "nothing named, a runtime directory",
                None,
                None,
                vec![home, runtime],
                usual,
                "/run/user/7/conewright/socket",
            ),
            (
                "no runtime directory: the socket lies with the data",
                None,
                None,
                vec![home],
                usual,
                "/home/user/.local/share/conewright/socket",
            ),
            (
                "XDG_DATA_HOME wins over HOME",
                None,
                None,
                vec![home, ("XDG_DATA_HOME", "/srv/d"), runtime],
                "/srv/d/conewright",
                "/run/user/7/conewright/socket",
            ),
            (
                "a relative XDG variable is ignored",
                None,
                None,
                vec![home, ("XDG_DATA_HOME", "d"), ("XDG_RUNTIME_DIR", "r")],
                usual,
                "/home/user/.local/share/conewright/socket",
            ),
            (
                "another data directory has its own daemon",
                Some("/srv/jobs"),
                None,
                vec![home, runtime],
                "/srv/jobs",
                "/srv/jobs/socket",
            ),
            (
                "the usual data directory, named, is the usual daemon's",
                Some(usual),
                None,
                vec![home, runtime],
                usual,
                "/run/user/7/conewright/socket",
            ),
            (
                "what was named as nothing counts as not named",
                Some(""),
                Some(""),
                vec![home, runtime],
                usual,
                "/run/user/7/conewright/socket",
            ),
            (
                "a named socket wins over everything",
                Some("/srv/jobs"),
                Some("/srv/s"),
                vec![home, runtime],
                "/srv/jobs",
                "/srv/s",
            ),
        ] {
            let paths = resolve(data, socket, &environment).expect(legend);
            assert_eq!(paths.data, Path::new(want_data), "{legend}");
            assert_eq!(paths.socket, Path::new(want_socket), "{legend}");
        }
    }

    #[test]
    fn without_home_a_directory_must_be_named() {
        let failure = resolve(None, None, &[]).unwrap_err();
        assert_eq!(failure.code, "no_data_directory");
        assert!(resolve(Some("/srv/jobs"), None, &[]).is_ok());
    }

    #[test]
    fn a_socket_path_may_have_107_bytes_and_not_108() {
        let path = |length: usize| format!("/{}", "s".repeat(length - 1));
        assert!(resolve(Some("/d"), Some(&path(107)), &[]).is_ok());
        let failure = resolve(Some("/d"), Some(&path(108)), &[]).unwrap_err();
        assert_eq!(failure.code, "socket_path_too_long");
    }
}
