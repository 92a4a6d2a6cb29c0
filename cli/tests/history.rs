//! `session show`: a session beside an earlier one, asked of the real daemon.

use serde_json::Value;
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// A user's home, with the daemon that belongs to it ended at the end.
struct Home(TempDir);

impl Home {
    /// Stdout, stderr and exit code of a verb.
    fn run(&self, args: &[&str]) -> (String, String, i32) {
        let out = Command::new(env!("CARGO_BIN_EXE_conewright"))
            .env_clear()
            .env("HOME", self.0.path())
            .current_dir(self.0.path())
            .stdin(Stdio::null())
            .args(args)
            .output()
            .expect("it starts");
        let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
        let code = out.status.code().expect("it exits by itself");
        (text(out.stdout), text(out.stderr), code)
    }

    fn done(&self, args: &[&str]) -> String {
        let (out, told, code) = self.run(args);
        assert_eq!(code, 0, "{args:?}: {told}");
        out
    }

    /// A session of a part with a zero step of two rounds, the second tight, that ends `left_um` out.
    fn session(&self, part: &str, left_um: &str) {
        let setup = ["--taper", "1:12", "--length", "30", "--span", "80"];
        let held = ["--fixture", "table", "--tolerance", "5arcsec"];
        self.done(&[&["session", "open", part], &setup[..], &held[..]].concat());
        self.done(&["step", "zero"]);
        for (station, value) in [("A", "0"), ("B", "0.010"), ("A", "0")] {
            self.done(&["mark", station, "--value", value]);
        }
        self.done(&["clamp"]);
        for (station, value) in [("A", "0"), ("B", left_um), ("A", "0")] {
            self.done(&["mark", station, "--value", value]);
        }
        self.done(&["step", "close"]);
        self.done(&["session", "close"]);
    }
}

impl Drop for Home {
    fn drop(&mut self) {
        self.run(&["daemon", "stop"]);
    }
}

#[test]
fn a_session_is_shown_beside_the_last_of_its_part_or_fixture_or_the_one_named() {
    let home = Home(tempfile::tempdir().expect("a directory for the test"));
    home.session("spindle 7", "0.001");
    let (alone, ..) = home.run(&["--json", "session", "show"]);
    let alone: Value = serde_json::from_str(&alone).unwrap();
    let first = alone["session"]["id"].as_i64().unwrap();
    assert!(alone.get("history").is_none(), "there is nothing before it");
    home.session("another", "0.002");
    home.session("spindle 7", "0.0003");

    let text = home.done(&["session", "show"]);
    let words = format!("beside session {first}, the last of this part:");
    assert!(text.contains(&words), "{text}");
    let row = |name: &str| {
        let found = text.lines().find(|line| line.trim().starts_with(name));
        found.unwrap_or_else(|| panic!("{name}: {text}"))
    };
    // 10 µm in 80 mm is 25.78″ both times; then 0.3 µm and 1 µm.
    assert_eq!(row("residual as found").matches("+25.78\"").count(), 2);
    assert!(
        row("residual as left").contains("+0.77\"") && row("residual as left").contains("+2.58\"")
    );
    assert!(
        row("clamp shifts by").contains("-25.01\"") && row("clamp shifts by").contains("-23.20\"")
    );

    let shown = |args: &[&str]| -> Value {
        let out = home.done(&[&["--json", "session", "show"], args].concat());
        serde_json::from_str(&out).unwrap()
    };
    let middle = shown(&[&(first + 1).to_string()]);
    assert_eq!(middle["history"]["because"], "same_fixture");
    let named = shown(&["latest", "--beside", &(first + 1).to_string()]);
    assert_eq!(named["history"]["because"], "named");
    assert_eq!(named["history"]["beside"]["part"], "another");
    assert_eq!(
        named["session"]["name"], "spindle 7",
        "the record is there as ever"
    );
    assert!(
        (named["history"]["beside"]["clamp_shifts_arcsec"][0]
            .as_f64()
            .unwrap()
            + 20.63)
            .abs()
            < 0.01
    );

    for (beside, why) in [
        ((first + 2).to_string(), "the one that is shown"),
        ("yesterday".to_owned(), "not the number of a session"),
        ("99".to_owned(), "99"),
    ] {
        let (_, told, code) = home.run(&["session", "show", "--beside", &beside]);
        assert!(code != 0 && told.contains(why), "{beside}: {told}");
    }
}
