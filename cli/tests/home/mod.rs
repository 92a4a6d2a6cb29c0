//! A user's home with the program in it, and nothing of the user's own.

#![allow(dead_code, unreachable_pub, reason = "each test uses its part of it")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// A home; the daemon that belongs to it is stopped at the end.
pub struct Home(TempDir);

impl Home {
    pub fn new() -> Self {
        Self(tempfile::tempdir().expect("a directory for the test"))
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    pub fn data(&self) -> PathBuf {
        self.path().join(".local/share/conewright")
    }

    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_conewright"));
        command
            .env_clear()
            .env("HOME", self.path())
            .current_dir(self.path())
            .stdin(Stdio::null())
            .args(args);
        command
    }

    pub fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().expect("it starts")
    }

    /// Stdout of a verb that is done.
    pub fn done(&self, args: &[&str]) -> String {
        let out = self.run(args);
        let told = String::from_utf8_lossy(&out.stderr).into_owned();
        assert_eq!(out.status.code(), Some(0), "{args:?}: {told}");
        String::from_utf8(out.stdout).expect("UTF-8")
    }

    /// Stdout of a verb that is done, whether its answer is in tolerance or not.
    pub fn done_or_out(&self, args: &[&str]) -> String {
        let out = self.run(args);
        let told = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(matches!(out.status.code(), Some(0 | 3)), "{args:?}: {told}");
        String::from_utf8(out.stdout).expect("UTF-8")
    }

    /// The one document that `--json` prints, and the exit code; anything after the document fails.
    pub fn json(&self, args: &[&str]) -> (Value, i32) {
        let out = self.run(&[args, &["--json"]].concat());
        let document = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| {
            panic!("{args:?}: {e}: {}", String::from_utf8_lossy(&out.stdout));
        });
        (document, out.status.code().expect("it exits by itself"))
    }

    /// Writes a file into the home.
    pub fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path().join(name), text).expect("the file is written");
    }

    pub fn configure(&self, config: &str) {
        let place = ".config/conewright";
        std::fs::create_dir_all(self.path().join(place)).expect("a directory for it");
        self.write(&format!("{place}/conewright.toml"), config);
    }

    /// All that the daemons of this home have logged.
    pub fn log(&self) -> String {
        let Ok(files) = std::fs::read_dir(self.data().join("log")) else {
            return String::new();
        };
        files
            .filter_map(|file| std::fs::read_to_string(file.ok()?.path()).ok())
            .collect()
    }
}

impl Drop for Home {
    fn drop(&mut self) {
        // Most verbs need no daemon, and so there is none.
        if self.data().exists() {
            let _ = self.command(&["daemon", "stop"]).output();
        }
    }
}
