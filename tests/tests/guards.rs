//! What stands at the program's edges, with real processes: whose directories and sockets it uses, a socket whose file is gone,
//! clients that hold connections, and a configuration that is never ignored.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::process::{Place, Running};
use serde_json::{Value, json};
use std::fs::{self, Permissions};
use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown, lchown, symlink};
use std::os::unix::net::UnixStream;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Another user, by number.
const NOBODY: u32 = 65_534;
/// Longer than anything here takes on however busy a machine.
const DEADLINE: Duration = Duration::from_secs(60);

/// Only root can make a file another user's.
fn is_root() -> bool {
    let root = rustix::process::geteuid().is_root();
    if !root {
        println!(
            "not root: what belongs to another user is not tried here, but in config/src/own.rs"
        );
    }
    root
}

/// The error of a verb that must fail.
fn refused(command: &mut Command) -> (String, String) {
    let output = command.arg("--json").output().unwrap();
    assert!(!output.status.success(), "{output:?}");
    let said: Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = |key: &str| said["error"][key].as_str().unwrap_or_default().to_owned();
    (text("code"), text("message"))
}

fn set_mode(path: &Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
}

#[test]
fn an_open_data_directory_is_closed_with_a_word() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let mode = |path: &Path| fs::metadata(path).unwrap().mode() & 0o777;
    for path in [place.data(), place.socket().parent().unwrap().to_owned()] {
        fs::create_dir(&path).unwrap();
        set_mode(&path, 0o777);
    }
    let running = place.start();
    assert_eq!(mode(&place.data()), 0o700);
    assert_eq!(mode(place.socket().parent().unwrap()), 0o755);
    let log = place.log();
    assert_eq!(log.matches("its mode was 0777").count(), 2, "{log}");
    running.stop();
    // A verb that starts the daemon says it where its user sees it.
    set_mode(&place.data(), 0o777);
    let output = place.run(&["status"]);
    let talk = String::from_utf8(output.stderr).unwrap();
    assert!(talk.contains("warning: other users had access"), "{talk}");
    place.json(&["daemon", "stop"]);
}

#[test]
fn directories_and_links_of_another_user_are_refused() {
    if !is_root() {
        return;
    }
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    fs::create_dir(place.data()).unwrap();
    set_mode(&place.data(), 0o777);
    chown(place.data(), Some(NOBODY), None).unwrap();
    let (_, message) = refused(&mut place.command(&["status"]));
    assert!(message.contains("belongs to another user"), "{message}");
    assert_eq!(fs::read_dir(place.data()).unwrap().count(), 0, "untouched");
    chown(place.data(), Some(0), None).unwrap();

    let run = place.socket().parent().unwrap().to_owned();
    fs::create_dir(&run).unwrap();
    set_mode(&run, 0o777);
    chown(&run, Some(NOBODY), None).unwrap();
    let (code, message) = refused(&mut place.command(&["daemon", "run"]));
    assert_eq!(code, "not_own");
    assert!(message.contains("belongs to another user"), "{message}");

    let link = place.file("link");
    symlink(place.data(), &link).unwrap();
    lchown(&link, Some(NOBODY), None).unwrap();
    let through = link.join("data");
    let mut linked = place.command(&["daemon", "run", "--data"]);
    let (code, message) = refused(linked.arg(&through));
    assert_eq!(code, "not_own");
    assert!(
        message.contains("a link that another user made"),
        "{message}"
    );
    assert!(!through.exists());
}

#[test]
fn nothing_is_sent_to_another_users_socket() {
    if !is_root() {
        return;
    }
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let run = place.socket().parent().unwrap().to_owned();
    fs::create_dir(&run).unwrap();
    for path in [directory.path(), &*run] {
        set_mode(path, 0o777);
    }
    let listen = "import socket, sys
s = socket.socket(socket.AF_UNIX)
s.bind(sys.argv[1])
s.listen()
print('ready', flush=True)
c, _ = s.accept()
print(len(c.recv(100)), flush=True)";
    let mut foreign = Command::new("python3")
        .args(["-c", listen])
        .arg(place.socket())
        .uid(NOBODY)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::new(foreign.stdout.take().unwrap()).lines();
    assert_eq!(said.next().unwrap().unwrap(), "ready");
    let (code, message) = refused(&mut place.command(&["note", "a secret"]));
    assert_eq!(code, "foreign_socket");
    assert!(message.contains("nothing was sent"), "{message}");
    assert_eq!(
        said.next().unwrap().unwrap(),
        "0",
        "bytes that it was given"
    );
    foreign.wait().unwrap();
}

/// Waits until the daemon answers at its socket.
fn answers(place: &Place, running: &Running<'_>) {
    let until = Instant::now() + DEADLINE;
    while place.ask("GET", "/v1/status", "").is_err() {
        let pid = running.pid();
        assert!(Instant::now() < until, "daemon {pid}: {}", place.log());
        std::thread::yield_now();
    }
}

#[test]
fn a_removed_socket_is_there_again() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    place.open_zero();
    fs::remove_file(place.socket()).unwrap();
    answers(&place, &running);
    // And with its directory, as a cleaned runtime directory.
    // The daemon may put the socket back while it is being removed.
    let runtime = place.file("run");
    while let Err(error) = fs::remove_dir_all(&runtime) {
        assert_eq!(error.kind(), ErrorKind::DirectoryNotEmpty, "{error}");
    }
    answers(&place, &running);
    fs::rename(place.socket(), place.file("moved")).unwrap();
    answers(&place, &running);
    let status = place.json(&["status"]);
    assert_eq!(status["step"]["kind"], "zero", "the same daemon");
    assert_eq!(fs::metadata(place.socket()).unwrap().mode() & 0o777, 0o600);
    running.stop();
    assert!(!place.socket().exists());
}

#[test]
fn a_daemon_without_its_socket_is_stopped_through_its_lock() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let mut running = place.start();
    let elsewhere = place.file("elsewhere");
    let mut stop = place.command(&["daemon", "stop", "--json"]);
    let stopped = stop.env("CONEWRIGHT_SOCKET", &elsewhere).output().unwrap();
    let said: Value = serde_json::from_slice(&stopped.stdout).unwrap();
    assert_eq!(said["stopped"], true, "{said}");
    assert_eq!(said["process"], running.pid());
    assert!(running.ended().success(), "{}", place.log());
    assert_eq!(place.json(&["daemon", "stop"])["stopped"], false);
}

/// How long a mark takes: the median of some.
fn mark_takes(place: &Place) -> Duration {
    let mut took: Vec<Duration> = (0..9)
        .map(|_| {
            let begun = Instant::now();
            let (status, marked) = place.post("/v1/marks", &json!({ "value": "0.012" }));
            assert_eq!(status, 200, "{marked}");
            begun.elapsed()
        })
        .collect();
    took.sort_unstable();
    took[took.len() / 2]
}

/// Without the guard a mark takes 5 000 times as long among half requests, and 1 000 times among idle connections.
const TIMES: u32 = 100;

#[test]
fn a_mark_among_150_half_requests_takes_no_longer() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    place.open_zero();
    let alone = mark_takes(&place);
    let half = "POST /v1/marks HTTP/1.1\r\nhost: x\r\ncontent-length: 20\r\n\r\n{";
    let whole = "GET /v1/status HTTP/1.1\r\nhost: x\r\n\r\n";
    let head = "POST /v1/marks HTTP/1.1\r\nho";
    for (kind, said) in [
        ("half", half),
        ("idle after one request", whole),
        ("half a head", head),
        ("silent", ""),
    ] {
        let held: Vec<_> = (0..150)
            .map(|_| {
                let mut stream = UnixStream::connect(place.socket()).unwrap();
                stream.write_all(said.as_bytes()).unwrap();
                if said == whole {
                    // It is idle when it was answered.
                    assert_eq!(stream.read(&mut [0; 1]).unwrap(), 1);
                }
                stream
            })
            .collect();
        let among = mark_takes(&place);
        assert!(
            among < TIMES * alone,
            "{kind}: {among:?}, and alone {alone:?}"
        );
        drop(held);
    }
    running.stop();
}

/// A client that sends slowly is served; one that does not send what it announced is told so.
#[test]
fn a_body_that_does_not_come_is_refused() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    let mut stream = UnixStream::connect(place.socket()).unwrap();
    stream.set_read_timeout(Some(DEADLINE)).unwrap();
    stream
        .write_all(b"POST /v1/notes HTTP/1.1\r\nhost: x\r\ncontent-length: 20\r\n\r\n{")
        .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    assert!(answer.contains("was not complete after 2 s"), "{answer}");
    running.stop();
}

const CABLE: &str =
    "[cable.bench]\nport = \"/dev/none\"\ncadence = \"streams\"\nframe = \"text\"\nunit = \"mm\"\n";

#[test]
fn another_configuration_than_the_daemons_is_refused_aloud() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), CABLE);
    let running = place.start();
    let other = place.file("other.toml");
    fs::write(&other, "").unwrap();
    for verb in [&["status"][..], &["cable", "list"], &["session", "list"]] {
        let mut command = place.command(verb);
        let output = command.arg("--config").arg(&other).output().unwrap();
        let talk = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{verb:?}: {talk}");
        assert!(talk.contains("works with"), "{verb:?}: {talk}");
    }
    // The same file by another way is the same.
    let link = place.file("link.toml");
    symlink(place.file("conewright.toml"), &link).unwrap();
    place.json(&["status", "--config", link.to_str().unwrap()]);
    let checked = place.json(&["config", "check", other.to_str().unwrap()]);
    assert_eq!(checked["well"], true);
    running.stop();
}

#[test]
fn a_broken_configuration_is_told_at_every_verb_and_a_changed_one_taken_over() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), CABLE);
    let running = place.start();
    place.open_zero();
    let file = place.file("conewright.toml");
    fs::write(&file, CABLE.replace("port", "prot")).unwrap();
    for verb in [
        &["status"][..],
        &["note", "x"],
        &["session", "list"],
        &["mark", "A", "--value", "0.010"],
        &["cable", "list"],
    ] {
        let output = place.run(verb);
        let talk = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.success(), "{verb:?}: {talk}");
        assert!(talk.contains("did you mean `port`?"), "{verb:?}: {talk}");
    }
    let output = place.run(&["config", "check"]);
    assert_eq!(output.status.code(), Some(1));
    fs::write(
        &file,
        format!("{CABLE}[settle]\nhold = \"0.25s\"\n[log]\nkeep = 3\n"),
    )
    .unwrap();
    let status = place.json(&["status"]);
    assert_eq!(status["config"].get("trouble"), None, "{status}");
    let notice = status["notice"].as_str().unwrap();
    assert!(
        notice.contains("the open session keeps the set-up") && notice.contains("[log]"),
        "{notice}"
    );
    let shown = place.json(&["config", "show"]);
    let line = |key: &str| {
        let keys = shown["keys"].as_array().unwrap();
        keys.iter().find(|held| held["key"] == key).unwrap()["line"].clone()
    };
    assert_eq!(line("settle.hold"), 7, "{shown}");
    assert_eq!(line("settle.longest"), Value::Null);
    let text = String::from_utf8(place.run(&["config", "check"]).stdout).unwrap();
    assert!(text.contains("the running daemon works with it"), "{text}");
    running.stop();
}
