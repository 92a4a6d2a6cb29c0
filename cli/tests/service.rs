//! The daemon as a service: the verbs with a `systemctl` that writes down what it is asked for, and what a service manager hands
//! over and waits for.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod home;

use home::Home;
use std::fs;
use std::os::fd::OwnedFd;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::os::unix::net::{UnixDatagram, UnixListener};
use std::path::PathBuf;
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

/// Longer than anything here takes on a computer that has other things to do.
const PATIENCE: Duration = Duration::from_secs(30);

/// Writes down its arguments; fails where a file `fails` has the verb; knows of a state.
const SYSTEMCTL: &str = r#"#!/bin/sh
echo "$*" >> "$HOME/asked"
if [ -f "$HOME/fails" ]; then
    read -r verb < "$HOME/fails"
    if [ "$2" = "$verb" ]; then echo "it was not done" >&2; exit 1; fi
fi
if [ "$2" = show ]; then echo ActiveState=active; echo UnitFileState=enabled; fi
"#;

/// A home whose PATH has that `systemctl` and nothing else.
fn with_systemd() -> Home {
    let home = Home::new();
    fs::create_dir(home.path().join("bin")).unwrap();
    home.write("bin/systemctl", SYSTEMCTL);
    let program = home.path().join("bin/systemctl");
    fs::set_permissions(program, fs::Permissions::from_mode(0o755)).unwrap();
    home
}

fn on_path(home: &Home, mut command: Command) -> Output {
    command.env("PATH", home.path().join("bin"));
    command.output().unwrap()
}

fn service(home: &Home, verb: &str) -> Output {
    on_path(home, home.command(&["service", verb]))
}

fn unit(home: &Home, name: &str) -> PathBuf {
    home.path().join(".config/systemd/user").join(name)
}

/// Stdout and stderr.
fn said(output: &Output) -> String {
    let text = |bytes| String::from_utf8_lossy(bytes).into_owned();
    text(&output.stdout) + &text(&output.stderr)
}

fn asked(home: &Home) -> Vec<String> {
    let text = fs::read_to_string(home.path().join("asked")).unwrap_or_default();
    let _ = fs::remove_file(home.path().join("asked"));
    text.lines().map(str::to_owned).collect()
}

#[test]
fn a_service_is_installed_looked_at_and_removed_and_the_data_stays() {
    let home = with_systemd();
    // The daemon that a verb has started holds the data.
    home.done(&["session", "list"]);
    let installed = service(&home, "install");
    let text = said(&installed);
    assert_eq!(installed.status.code(), Some(0), "{text}");
    assert!(text.contains("conewright service remove"), "{text}");
    assert!(text.contains("was stopped"), "{text}");
    assert_eq!(
        asked(&home),
        [
            "--user show --property=Version",
            "--user stop conewright.socket conewright.service",
            "--user daemon-reload",
            "--user enable --now conewright.socket conewright.service",
        ]
    );
    let written = fs::read_to_string(unit(&home, "conewright.service")).unwrap();
    assert!(
        written.contains(env!("CARGO_BIN_EXE_conewright")),
        "{written}"
    );
    assert!(
        written.contains(&home.data().display().to_string()),
        "{written}"
    );
    let status = service(&home, "status");
    assert_eq!(status.status.code(), Some(0));
    assert!(
        said(&status).contains("active, enabled"),
        "{}",
        said(&status)
    );
    asked(&home);
    let again = service(&home, "install");
    assert_eq!(again.status.code(), Some(0), "{}", said(&again));
    asked(&home);

    let removed = service(&home, "remove");
    assert_eq!(removed.status.code(), Some(0), "{}", said(&removed));
    assert!(
        said(&removed).contains("the data stays"),
        "{}",
        said(&removed)
    );
    assert_eq!(
        asked(&home),
        [
            "--user disable --now conewright.socket conewright.service",
            "--user daemon-reload",
        ]
    );
    assert!(!unit(&home, "conewright.service").exists());
    assert!(!unit(&home, "conewright.socket").exists());
    assert!(home.data().join("conewright.db").is_file());
    let nothing = service(&home, "remove");
    assert_eq!(nothing.status.code(), Some(0));
    assert!(
        said(&nothing).contains("nothing to remove"),
        "{}",
        said(&nothing)
    );
    assert!(asked(&home).is_empty());
    let status = service(&home, "status");
    assert!(
        said(&status).contains("installed no service"),
        "{}",
        said(&status)
    );
}

#[test]
fn without_systemd_nothing_is_written() {
    let home = Home::new();
    let refused = service(&home, "install");
    assert_eq!(refused.status.code(), Some(1));
    assert!(
        said(&refused).contains("has no systemd"),
        "{}",
        said(&refused)
    );
    assert!(!unit(&home, "conewright.service").exists());
    // As after su: it is there, and does not answer this user.
    let home = with_systemd();
    home.write("fails", "show\n");
    let refused = service(&home, "install");
    assert_eq!(refused.status.code(), Some(1));
    assert!(
        said(&refused).contains("it was not done"),
        "{}",
        said(&refused)
    );
    assert!(said(&refused).contains("not with su"), "{}", said(&refused));
    assert!(!unit(&home, "conewright.service").exists());
}

#[test]
fn a_service_that_does_not_start_is_reported() {
    let home = with_systemd();
    home.write("fails", "enable\n");
    let failed = service(&home, "install");
    assert_eq!(failed.status.code(), Some(1));
    assert!(said(&failed).contains("enable --now"), "{}", said(&failed));
    assert!(
        said(&failed).contains("journalctl --user"),
        "{}",
        said(&failed)
    );
    // Its files are there, and are removed although systemd fails again.
    home.write("fails", "disable\n");
    let removed = service(&home, "remove");
    assert_eq!(removed.status.code(), Some(0), "{}", said(&removed));
    assert!(
        said(&removed).contains("systemd was not told"),
        "{}",
        said(&removed)
    );
    assert!(!unit(&home, "conewright.service").exists());
}

#[test]
fn a_unit_of_somebody_else_is_left_as_it_is() {
    let home = with_systemd();
    let foreign = unit(&home, "conewright.service");
    fs::create_dir_all(foreign.parent().unwrap()).unwrap();
    fs::write(&foreign, "[Service]\nExecStart=/bin/true\n").unwrap();
    for verb in ["install", "remove"] {
        let refused = service(&home, verb);
        assert_eq!(refused.status.code(), Some(1));
        assert!(
            said(&refused).contains("not written by this program"),
            "{}",
            said(&refused)
        );
    }
    assert!(said(&service(&home, "status")).contains("not written by this program"));
    assert!(fs::read_to_string(&foreign).unwrap().contains("/bin/true"));
    // A masked unit is a link.
    fs::remove_file(&foreign).unwrap();
    symlink("/dev/null", &foreign).unwrap();
    let refused = service(&home, "install");
    assert!(
        said(&refused).contains("not written by this program"),
        "{}",
        said(&refused)
    );
}

#[test]
fn an_executable_that_moved_is_told_and_installing_again_puts_it_right() {
    let home = with_systemd();
    let (old, new) = (
        home.path().join("old-conewright"),
        home.path().join("new-conewright"),
    );
    fs::copy(env!("CARGO_BIN_EXE_conewright"), &old).unwrap();
    let run = |program: &PathBuf, verb| {
        let mut command = Command::new(program);
        command
            .env_clear()
            .env("HOME", home.path())
            .args(["service", verb]);
        on_path(&home, command)
    };
    assert_eq!(run(&old, "install").status.code(), Some(0));
    fs::rename(&old, &new).unwrap();
    let moved = run(&new, "status");
    assert_eq!(moved.status.code(), Some(1));
    assert!(
        said(&moved).contains("which is not there"),
        "{}",
        said(&moved)
    );
    let put_right = run(&new, "install");
    assert_eq!(put_right.status.code(), Some(0), "{}", said(&put_right));
    assert_eq!(run(&new, "status").status.code(), Some(0));
    let other = service(&home, "status");
    assert_eq!(other.status.code(), Some(0));
    assert!(
        said(&other).contains("another executable"),
        "{}",
        said(&other)
    );
}

#[test]
fn with_sudo_no_service_of_root_is_made() {
    let home = with_systemd();
    let mut command = home.command(&["service", "install"]);
    command.env("SUDO_UID", "1000");
    let refused = on_path(&home, command);
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        said(&refused).contains("without sudo"),
        "{}",
        said(&refused)
    );
}

/// A daemon of a service manager, which hands a socket over as number 3 and is told at another one.
fn started(home: &Home, handed_over: Option<&UnixListener>) -> (Child, UnixDatagram) {
    let place = home.path().join("notify");
    let notified = UnixDatagram::bind(&place).unwrap();
    notified.set_read_timeout(Some(PATIENCE)).unwrap();
    let program = env!("CARGO_BIN_EXE_conewright");
    let mut command = Command::new("/bin/sh");
    let with = "exec 3<&0 </dev/null; LISTEN_FDS=1 LISTEN_PID=$$ exec \"$0\" daemon run";
    let without = "exec \"$0\" daemon run";
    command
        .args(["-c", handed_over.map_or(without, |_| with), program])
        .env_clear()
        .env("HOME", home.path())
        .env("NOTIFY_SOCKET", &place)
        .stdin(handed_over.map_or_else(Stdio::null, |listener| {
            Stdio::from(OwnedFd::from(listener.try_clone().unwrap()))
        }))
        .stderr(Stdio::null());
    (command.spawn().unwrap(), notified)
}

fn next_word(notified: &UnixDatagram) -> String {
    let mut bytes = [0; 256];
    let length = notified
        .recv(&mut bytes)
        .expect("the daemon says that it is ready");
    String::from_utf8_lossy(&bytes[..length]).into_owned()
}

#[test]
fn a_daemon_that_answers_says_so_to_the_service_manager() {
    let home = Home::new();
    let (mut daemon, notified) = started(&home, None);
    assert_eq!(next_word(&notified).trim(), "READY=1");
    assert!(home.data().join("socket").exists());
    home.done(&["daemon", "stop"]);
    assert!(daemon.wait().unwrap().success());
}

#[test]
fn a_socket_that_was_handed_over_is_served_and_stays() {
    let home = Home::new();
    fs::create_dir_all(home.data()).unwrap();
    let path = home.data().join("socket");
    let listener = UnixListener::bind(&path).unwrap();
    let (mut daemon, notified) = started(&home, Some(&listener));
    assert_eq!(next_word(&notified).trim(), "READY=1");
    home.done(&["session", "list"]);
    let stopped = home.done(&["daemon", "stop"]);
    assert!(stopped.contains("daemon stopped"), "{stopped}");
    assert!(daemon.wait().unwrap().success());
    assert!(path.exists(), "the manager listens there for the next one");
    // Otherwise the next verb would wait for a manager that starts nothing.
    drop(listener);
}

#[test]
fn a_socket_elsewhere_than_clients_look_is_rejected() {
    let home = Home::new();
    let elsewhere = UnixListener::bind(home.path().join("elsewhere")).unwrap();
    let (mut daemon, _) = started(&home, Some(&elsewhere));
    assert_eq!(daemon.wait().unwrap().code(), Some(1));
}
