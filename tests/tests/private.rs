//! Nobody in: who may come to the daemon and its files, and what comes out of it into other programs.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::process::Place;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What others have tried to write into exports: a formula of a spreadsheet, an element of a page, a way out of a directory, a line of
/// its own, quotes.
const NASTY: [&str; 10] = [
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1:A9)",
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "../../../etc/passwd",
    "a,b;c\"d'e",
    "</title><svg onload=alert(1)>",
    "javascript:alert(1)",
];

/// Every file and directory below one, with its rights.
fn rights(directory: &Path) -> BTreeMap<PathBuf, u32> {
    let mut found = BTreeMap::new();
    let mut folders = vec![directory.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let metadata = fs::symlink_metadata(&path).unwrap();
            if metadata.is_dir() {
                folders.push(path.clone());
            }
            found.insert(path, metadata.permissions().mode() & 0o777);
        }
    }
    found
}

/// With a umask that would let everybody read, started by a verb so that it logs to a file of its own.
#[test]
fn what_the_daemon_writes_is_its_users_alone() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let open_to_all = |args: &[&str]| {
        let mut shell = Command::new("sh");
        let verb = place.command(args);
        shell
            .arg("-c")
            .arg("umask 000 && exec \"$0\" \"$@\"")
            .arg(verb.get_program())
            .args(verb.get_args())
            .env_clear();
        for (name, value) in verb.get_envs() {
            shell.env(name, value.unwrap());
        }
        let output = shell.output().unwrap();
        assert!(output.status.success(), "{output:?}");
    };
    open_to_all(&["session", "open", "spindle seat", "--span", "80"]);
    open_to_all(&["step", "zero"]);
    open_to_all(&["mark", "--value", "0.012"]);
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&place.socket()), 0o600);
    assert_eq!(mode(place.socket().parent().unwrap()), 0o700);
    assert_eq!(mode(&place.data()), 0o700);
    let found = rights(&place.data());
    let names: Vec<&str> = found
        .keys()
        .map(|path| path.file_name().unwrap().to_str().unwrap())
        .collect();
    for expected in [
        "conewright.db",
        "conewright.db-wal",
        "conewright.db-shm",
        "lock",
        "log",
    ] {
        assert!(names.contains(&expected), "{names:?}");
    }
    for (path, mode) in &found {
        assert_eq!(mode & 0o077, 0, "{} is {mode:o}", path.display());
    }
    place.json(&["daemon", "stop"]);
    for (path, mode) in &rights(&place.data()) {
        assert_eq!(mode & 0o077, 0, "{} is {mode:o}", path.display());
    }
}

/// An older program, or a copy that was brought back, may have left the files open to others.
#[test]
fn files_that_others_could_read_are_closed_to_them() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    place.start().stop();
    let file = place.data().join("conewright.db");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o666)).unwrap();
    let running = place.start();
    place.post("/v1/sessions", &json!({ "name": "x", "span": "80" }));
    for (path, mode) in &rights(&place.data()) {
        assert_eq!(mode & 0o077, 0, "{} is {mode:o}", path.display());
    }
    running.stop();
}

/// Another user who gets at the socket all the same is turned away by who he is. Only root can be two users; elsewhere the rights of
/// the socket, tested above, are the same promise.
#[test]
fn another_user_is_turned_away() {
    if !rustix::process::geteuid().is_root() {
        println!("not root: the check of the peer's user is not tried");
        return;
    }
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    // Everything that the rights forbid is permitted for this test.
    for path in [
        directory.path(),
        place.socket().parent().unwrap(),
        &place.socket(),
    ] {
        fs::set_permissions(path, fs::Permissions::from_mode(0o777)).unwrap();
    }
    let ask = "import socket, sys
s = socket.socket(socket.AF_UNIX)
s.connect(sys.argv[1])
try:
    s.sendall(b'GET /v1/status HTTP/1.1\\r\\nhost: x\\r\\n\\r\\n')
    print(len(s.recv(100)))
except OSError:
    print(0)";
    let asked_as = |user: u32| {
        let mut python = Command::new("python3");
        python.args(["-c", ask]).arg(place.socket());
        std::os::unix::process::CommandExt::uid(&mut python, user);
        let output = python.output().unwrap();
        assert!(output.status.success(), "{output:?}");
        String::from_utf8(output.stdout).unwrap().trim().to_owned()
    };
    let nobody = 65_534;
    assert_eq!(asked_as(nobody), "0");
    assert_ne!(asked_as(0), "0");
    assert!(place.log().contains("another user"), "{}", place.log());
    running.stop();
}

/// Names are names: whatever a client calls a part, a note, a fixture, a station or a session, the daemon opens no other file than its own.
#[test]
fn no_path_of_a_client_is_opened() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let canary = place.file("canary");
    fs::write(&canary, "untouched").unwrap();
    let running = place.start();
    let path = canary.to_str().unwrap();
    for name in [
        path,
        "../canary",
        "../../canary",
        "file:///etc/passwd",
        "canary\u{0}",
    ] {
        for field in [
            "name",
            "taper",
            "bar",
            "kit",
            "fixture",
            "cable",
            "station_error",
        ] {
            let mut body = json!({ "name": "x", "span": "80" });
            body[field] = json!(name);
            let (status, _) = place.post("/v1/sessions", &body);
            assert!(status == 200 || status == 422, "{field} {name}: {status}");
            if status == 200 {
                place.post("/v1/sessions/current/close", &json!({}));
            }
        }
        let encoded = name.replace('/', "%2F").replace('\u{0}', "%00");
        let answer = place.ask("GET", &format!("/v1/sessions/{encoded}/record"), "");
        assert!(answer.unwrap().contains("404"));
    }
    let fds = format!("/proc/{}/fd", running.pid());
    for fd in fs::read_dir(fds).unwrap() {
        let target = fs::read_link(fd.unwrap().path()).unwrap_or_default();
        assert_ne!(target, canary);
    }
    assert_eq!(fs::read_to_string(&canary).unwrap(), "untouched");
    running.stop();
    // Beside what was there: the data, the socket's directory, and this test's own log; nothing with such a name.
    let names: Vec<PathBuf> = rights(directory.path()).into_keys().collect();
    let strange = names.iter().filter(|path| {
        let known = path.starts_with(place.data()) || path.starts_with(place.file("run"));
        !known
            && ![
                &canary,
                &place.file("daemon.err"),
                &place.file("conewright.toml"),
            ]
            .contains(path)
    });
    assert_eq!(strange.count(), 0, "{names:?}");
}

/// The cells of a table as a spreadsheet reads it.
fn cells(text: &str) -> Vec<Vec<String>> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes())
        .records()
        .map(|row| row.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

#[test]
fn exports_are_safe_in_a_spreadsheet_and_a_browser() {
    let directory = tempfile::tempdir().unwrap();
    // A cable's name stands in the record as well.
    let config =
        "[cable.\"=1+1\"]\nport = \"/dev/none\"\ncadence = \"streams\"\nframe = \"text\"\n";
    let place = Place::new(directory.path(), config);
    let running = place.start();
    for nasty in NASTY {
        let options = json!({ "name": nasty, "span": "80", "fixture": nasty, "stations": [format!("{nasty}=40")] });
        let (status, _) = place.post("/v1/sessions", &options);
        if status != 200 {
            // A name that is refused goes nowhere; the part's own name and a note are free.
            let (status, said) =
                place.post("/v1/sessions", &json!({ "name": nasty, "span": "80" }));
            assert_eq!(status, 200, "{nasty}: {said}");
        }
        assert_eq!(
            place
                .post("/v1/notes", &json!({ "text": format!("{nasty}\n{nasty}") }))
                .0,
            200
        );
        place.post("/v1/steps", &json!({ "kind": "zero" }));
        for station in ["A", "B", nasty] {
            place.post(
                "/v1/marks",
                &json!({ "station": station, "value": "-0.012" }),
            );
        }
        for form in ["csv", "html", "json", "pdf"] {
            let file = place.file(&format!("export.{form}"));
            place.json(&["export", "current", "--to", file.to_str().unwrap()]);
            if form == "pdf" {
                assert!(fs::read(&file).unwrap().starts_with(b"%PDF-"), "{nasty}");
                continue;
            }
            let text = fs::read_to_string(&file).unwrap();
            match form {
                "csv" => safe_table(&text),
                "html" => safe_page(&text, nasty),
                _ => {
                    let record: Value = serde_json::from_str(&text).unwrap();
                    assert_eq!(
                        record["session"]["name"], nasty,
                        "the record has it as it was said"
                    );
                }
            }
        }
        assert_eq!(place.post("/v1/sessions/current/close", &json!({})).0, 200);
    }
    running.stop();
}

fn safe_table(text: &str) {
    let rows = cells(text);
    assert!(rows.len() >= 3, "{text}");
    let width = rows[0].len();
    for row in &rows {
        assert_eq!(row.len(), width, "{row:?}");
        for cell in row {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
            assert!(!formula || cell.parse::<f64>().is_ok(), "{cell}");
        }
    }
}

/// The page as a browser's parser reads it: only the elements and attributes that the program itself writes.
fn safe_page(text: &str, nasty: &str) {
    let page = scraper::Html::parse_document(text);
    let mut title = None;
    for node in page.tree.nodes() {
        let Some(element) = node.value().as_element() else {
            continue;
        };
        let name = element.name();
        let foreign = [
            "script", "img", "iframe", "object", "embed", "link", "base", "form", "a",
        ];
        assert!(!foreign.contains(&name), "<{name}> out of {nasty}");
        for (attribute, value) in element.attrs() {
            assert!(!attribute.starts_with("on"), "{attribute} out of {nasty}");
            assert!(
                !value.to_lowercase().contains("javascript:"),
                "{attribute}={value}"
            );
        }
        if name == "title" && title.is_none() {
            title = node
                .first_child()
                .and_then(|text| Some(text.value().as_text()?.to_string()));
        }
    }
    assert!(title.unwrap().contains(nasty), "the name is there, as text");
    let whole: String = page.root_element().text().collect();
    assert!(whole.contains(nasty), "{nasty}");
}

/// The log is read by others, and sent with a report: it names what happened, and neither notes nor parts.
#[test]
fn the_log_holds_no_words_of_the_users() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "[log]\nlevel = \"trace\"\n");
    let running = place.start();
    let secret = "customer-4711-secret";
    place.post("/v1/sessions", &json!({ "name": secret, "span": "80" }));
    place.post("/v1/notes", &json!({ "text": secret }));
    place.post("/v1/steps", &json!({ "kind": "zero" }));
    place.post("/v1/marks", &json!({ "value": "0.1", "station": secret }));
    place.post("/v1/sessions", &json!({ "name": secret, "taper": secret }));
    place.post("/v1/notes", &json!({ "text": "x".repeat(100_000) }));
    running.stop();
    let log = place.log();
    assert!(log.contains("the daemon answers"), "{log}");
    assert!(!log.contains(secret), "{log}");
}
