//! Where the configuration is.

use crate::model::Config;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// The variable that names the file.
pub const VARIABLE: &str = "CONEWRIGHT_CONFIG";
/// Its place below the directory of configurations.
pub const PLACE: &str = "conewright/conewright.toml";

impl Config {
    /// The file to load: the one that was named, the one that the environment names, or the one at its usual
    /// place when it is there. `None` means that the program runs without.
    ///
    /// A file that was named is returned whether it is there or not: that it is missing is an error, which
    /// [`Config::load`] tells. `env` gives a variable of the environment; an empty one counts as not set.
    /// The usual place is below `XDG_CONFIG_HOME`, or below `~/.config` when that is not set or, against the
    /// XDG base directory specification, no path from the root.
    pub fn find(
        explicit: Option<&Path>,
        env: &dyn Fn(&str) -> Option<OsString>,
    ) -> Option<PathBuf> {
        let set = |name: &str| {
            env(name)
                .filter(|value| !value.is_empty())
                .map(PathBuf::from)
        };
        if let Some(named) = explicit.map(Path::to_owned).or_else(|| set(VARIABLE)) {
            return Some(named);
        }
        Self::usual_place(env)
            // A file that cannot be looked at is not passed over in silence: loading it tells why.
            .filter(|path| path.try_exists().unwrap_or(true))
    }

    /// The usual place, whether there is a file or not; `None` without a home.
    pub fn usual_place(env: &dyn Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
        let directory = |name: &str| {
            env(name)
                .map(PathBuf::from)
                .filter(|directory| directory.is_absolute())
        };
        directory("XDG_CONFIG_HOME")
            .or_else(|| Some(directory("HOME")?.join(".config")))
            .map(|directory| directory.join(PLACE))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn find(explicit: Option<&str>, variables: &[(&str, &Path)]) -> Option<PathBuf> {
        Config::find(explicit.map(Path::new), &|name| {
            let (_, value) = variables.iter().find(|(n, _)| *n == name)?;
            Some(value.as_os_str().to_owned())
        })
    }

    #[test]
    fn the_nearest_word_wins() {
        let home = tempfile::tempdir().unwrap();
        let xdg = tempfile::tempdir().unwrap();
        let variables = [
            ("HOME", home.path()),
            ("XDG_CONFIG_HOME", xdg.path()),
            (VARIABLE, Path::new("by-variable.toml")),
        ];
        let place_in = |directory: &Path| {
            let place = directory.join(PLACE);
            fs::create_dir_all(place.parent().unwrap()).unwrap();
            fs::write(&place, "").unwrap();
            place
        };
        // Named files are returned without being there.
        assert_eq!(
            find(Some("named.toml"), &variables),
            Some("named.toml".into())
        );
        assert_eq!(find(None, &variables), Some("by-variable.toml".into()));
        // The usual places count only when there is a file.
        assert_eq!(find(None, &variables[..2]), None);
        let in_home = place_in(&home.path().join(".config"));
        assert_eq!(
            find(None, &variables[..2]),
            None,
            "XDG_CONFIG_HOME stands for ~/.config"
        );
        assert_eq!(find(None, &variables[..1]), Some(in_home.clone()));
        let in_xdg = place_in(xdg.path());
        assert_eq!(find(None, &variables[..2]), Some(in_xdg));
        // Empty and relative values count as not set.
        let odd = [
            ("HOME", home.path()),
            ("XDG_CONFIG_HOME", Path::new("here")),
            (VARIABLE, Path::new("")),
        ];
        assert_eq!(find(None, &odd), Some(in_home));
        assert_eq!(find(None, &[]), None);
    }
}
