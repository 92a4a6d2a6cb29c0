//! The verbs that ask the daemon, as whole processes: the daemon is the real one, started by the verbs.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

mod home;

use daemon::bench::{Bench, SetUp, VirtualCable};
use home::Home;
use protocol::frame::Frame;
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

/// Longer than anything here takes on a computer that has other things to do.
const PATIENCE: Duration = Duration::from_secs(30);

/// A set-up.
const SETUP: &str = "--taper 1:12 --length 30 --tolerance 5arcsec --bar 100 --kit metric-88 --span 80 --resolution 0.0001";

/// Asks again until the answer is right. The daemon says when; there is nothing to wait on but asking.
fn eventually<T>(what: &str, mut ask: impl FnMut() -> Option<T>) -> T {
    let deadline = Instant::now() + PATIENCE;
    loop {
        if let Some(answer) = ask() {
            return answer;
        }
        assert!(Instant::now() < deadline, "{what} did not come");
    }
}

/// A dial with divisions of 2 µm, read by eye.
#[test]
fn a_dial_read_in_divisions_is_told_in_them() {
    let home = Home::new();
    let setup: Vec<&str> = SETUP.split(' ').collect();
    let dial = ["--division", "2um", "--cable", "typed"];
    home.done(
        &[
            &["session", "open", "spindle 7"],
            &setup[..setup.len() - 2],
            &dial[..],
        ]
        .concat(),
    );
    home.done(&["step", "zero"]);
    let echo = home.done(&["mark", "A", "--value", "12div"]);
    assert!(
        echo.contains("+0.024 mm") || echo.contains("0.024 mm"),
        "{echo}"
    );
    assert!(echo.contains(", +12 div"), "{echo}");
    for (station, value) in [("B", "13.5div"), ("A", "12div")] {
        home.done(&["mark", station, "--value", value]);
    }
    // Three µm over the span, tapped at A where it turns at B: one division and a half.
    let (status, _) = home.json(&["status"]);
    assert_eq!(status["outcome"]["tap"]["station"], "A", "{status:#}");
    let told = home.done_or_out(&["status"]);
    assert!(
        told.contains("1½ div toward the indicator, to +13½ div on the dial"),
        "{told}"
    );
    // In inches they are the divisions of the same dial.
    let told = home.done_or_out(&["--unit", "in", "status"]);
    assert!(told.contains("1½ div toward the indicator"), "{told}");
    home.done(&["export", "--to", "seat.json"]);
    let text = std::fs::read_to_string(home.path().join("seat.json")).unwrap();
    let record: Value = serde_json::from_str(&text).unwrap();
    let source = &record["steps"][0]["marks"][1]["source"];
    assert_eq!(source["shown"], "13.5div", "{source}");
    assert_eq!(source["value_mm"].to_string(), "0.027");
    home.done(&["verify", "seat.json"]);
}

#[test]
fn a_set_up_with_typed_readings_from_opening_to_a_verified_record() {
    let home = Home::new();
    let setup: Vec<&str> = SETUP.split(' ').collect();
    let (opened, code) = home.json(&[&["session", "open", "spindle 7"][..], &setup].concat());
    assert_eq!(code, 0, "{opened}");
    let session = opened["session"].as_i64().unwrap();
    assert_eq!(home.json(&["step", "zero"]).1, 0);
    for (station, value, number) in [("A", "0", 1), ("B", "0.3000", 2), ("A", "0", 3)] {
        let (marked, code) = home.json(&["mark", station, "--value", value]);
        assert_eq!(code, 0, "{marked}");
        assert_eq!(marked["number"], number);
        assert_eq!(marked["station"], station);
        assert_eq!(marked["readings"], 1);
        assert_eq!(marked["spread_um"], 0.0);
        assert_eq!(marked["value_mm"].as_f64(), value.parse().ok());
    }
    let (undone, _) = home.json(&["undo"]);
    assert_eq!(undone["number"], 3);
    // The number of a mark that was taken back is not used again.
    assert_eq!(home.json(&["mark", "--value=-0.0001"]).0["number"], 4);
    home.done(&["note", "dressed", "twice"]);
    assert_eq!(home.json(&["clamp"]).0["clamped"], true);
    for (station, value) in [("A", "0"), ("B", "0.0008"), ("A", "0")] {
        assert_eq!(home.json(&["mark", station, "--value", value]).1, 0);
    }
    let (status, _) = home.json(&["status"]);
    assert_eq!(status["session"], session);
    assert_eq!(
        status["step"],
        serde_json::json!({"kind": "zero", "number": 1})
    );
    assert_eq!(status["cables"], serde_json::json!([]));
    let outcome = &status["outcome"];
    assert_eq!(outcome["kind"], "zero");
    assert_eq!(outcome["rounds"].as_array().unwrap().len(), 2);
    assert_eq!(outcome["clamp_shift"]["count"], 1);
    let text = home.done(&["status"]);
    assert!(text.contains("result") && text.contains("tap"), "{text}");

    let (closed, _) = home.json(&["step", "close"]);
    assert_eq!(&closed["outcome"], outcome);
    assert_eq!(home.json(&["session", "close"]).0["session"], session);
    let (list, _) = home.json(&["session", "list"]);
    assert_eq!(list["sessions"][0]["name"], "spindle 7");
    let shown = home.done(&["session", "show"]);
    assert!(shown.contains("dressed twice"), "{shown}");

    for file in ["r.json", "r.csv", "r.html", "r.pdf"] {
        let (written, code) = home.json(&["export", "--to", file]);
        assert_eq!(
            (code, &written["session"]),
            (0, &Value::from(session)),
            "{written}"
        );
        let bytes = std::fs::metadata(home.path().join(file)).unwrap().len();
        assert_eq!(written["bytes"].as_u64(), Some(bytes));
    }
    // Paper and file carry one seal.
    let record: Value =
        serde_json::from_str(&std::fs::read_to_string(home.path().join("r.json")).unwrap())
            .unwrap();
    let pages = pdf_extract::extract_text(home.path().join("r.pdf")).unwrap();
    assert!(
        pages.contains(record["digest"].as_str().unwrap()),
        "{pages}"
    );
    let german = [
        "export",
        "--to",
        "r.html",
        "--language",
        "de",
        "--unit",
        "in",
    ];
    home.done(&german);
    let page = std::fs::read_to_string(home.path().join("r.html")).unwrap();
    assert!(page.contains("Einstellprotokoll"), "{page}");
    // Metric blocks are named by what is engraved on them.
    let engraved = "2 + 1,16 + 1,003 mm";
    assert!(page.contains(engraved), "{page}");
    assert!(!page.replace(engraved, "").contains(" mm"), "{page}");
    let status = home.done(&["--unit", "in", "status"]);
    assert!(
        !status.contains(" mm") && !status.contains("µm"),
        "{status}"
    );
    let card = home.done(&["session", "card", "--to", "card.pdf", "--paper", "letter"]);
    assert!(
        card.contains("card of session") && card.contains("card.pdf"),
        "{card}"
    );
    let card = std::fs::read(home.path().join("card.pdf")).unwrap();
    assert!(card.starts_with(b"%PDF-"));
    for (wrong, said) in [
        (
            &["session", "card", "--to", "card.html"][..],
            "its ending is not .pdf",
        ),
        (
            &["export", "--to", "r.html", "--paper", "a4"],
            "--paper is for a .pdf",
        ),
        (
            &["export", "--to", "r.pdf", "--decimal-comma"],
            "--decimal-comma is for a .csv",
        ),
        (
            &["export", "--to", "r.json", "--unit", "in"],
            "--unit is for a .html, .pdf or .csv",
        ),
        (&["export", "--to", "r.html", "--language", "fr"], "en, de"),
        (
            &["export", "--to", "r.doc"],
            "none of .json, .csv, .html, .pdf",
        ),
    ] {
        let (refused, code) = home.json(wrong);
        assert_ne!(code, 0, "{refused}");
        assert!(refused.to_string().contains(said), "{refused}");
    }
    assert_eq!(home.json(&["verify", "r.json"]).0["agrees"], true);
    // One digit of one mark, and the record no longer agrees.
    let record = std::fs::read_to_string(home.path().join("r.json")).unwrap();
    let forged = record.replacen("0.0008", "0.0009", 1);
    assert_ne!(record, forged);
    home.write("r.json", &forged);
    let (verified, code) = home.json(&["verify", "r.json"]);
    assert_eq!((code, &verified["agrees"]), (3, &Value::Bool(false)));
    assert!(verified["place"].is_string(), "{verified}");

    // The same marks in a table give what the step gave.
    let table = "round,station_mm,reading_mm,clamped\n1,0,0,0\n1,80,0.3000,0\n1,0,-0.0001,0\n\
        2,0,0,1\n2,80,0.0008,1\n2,0,0,1\n";
    home.write("t.csv", table);
    let (analysed, _) = home.json(&[&["analyse", "zero", "t.csv"][..], &setup].concat());
    for field in ["over_span_um", "over_taper_um", "residual_arcsec"] {
        let (live, table) = (
            outcome[field].as_f64().unwrap(),
            analysed[field].as_f64().unwrap(),
        );
        assert!(
            (live - table).abs() < 1e-6 * live.abs(),
            "{field}: {live} and {table}"
        );
    }
}

#[test]
fn what_cannot_be_done_now_is_refused_and_stored_nowhere() {
    let home = Home::new();
    let refused = |args: &[&str]| {
        let (document, exit) = home.json(args);
        let error = &document["error"];
        assert!(
            error["hint"].is_string(),
            "{args:?} says what to do: {document}"
        );
        (error["code"].as_str().unwrap_or_default().to_owned(), exit)
    };
    let told = |code: &str, exit| (code.to_owned(), exit);
    assert_eq!(
        refused(&["mark", "A", "--value", "0"]),
        told("no_session", 1)
    );
    assert_eq!(refused(&["step", "zero"]), told("no_session", 1));
    assert_eq!(refused(&["session", "close"]), told("no_session", 1));
    for (options, code) in [
        (vec!["--taper", "mores-2"], "unknown_name"),
        (vec!["--taper", "90deg"], "bad_value"),
        (vec!["--length=-3"], "bad_value"),
        (vec!["--kit", "metrik-88"], "unknown_name"),
        (vec!["--span", "80furlong"], "bad_value"),
    ] {
        let args = [vec!["session", "open", "x"], options].concat();
        assert_eq!(refused(&args), told(code, 2), "{args:?}");
    }
    assert_eq!(
        home.json(&["session", "list"]).0["sessions"],
        serde_json::json!([])
    );

    home.done(&["session", "open", "x", "--span", "80"]);
    assert_eq!(refused(&["session", "open", "y"]), told("session_open", 1));
    assert_eq!(refused(&["mark", "A", "--value", "0"]), told("no_step", 1));
    home.done(&["step", "zero"]);
    assert_eq!(refused(&["step", "zero"]), told("step_open", 1));
    assert_eq!(refused(&["undo"]), told("no_mark", 1));
    assert_eq!(refused(&["mark", "A"]), told("no_cable", 1));
    assert_eq!(
        refused(&["mark", "Q", "--value", "0"]),
        told("unknown_name", 2)
    );
    assert_eq!(
        refused(&["mark", "A", "--value", "x"]),
        told("bad_value", 2)
    );
    assert_eq!(refused(&["export", "--to", "r.txt"]), told("bad_value", 2));
    assert_eq!(
        refused(&["export", "99", "--to", "r.json"]),
        told("not_found", 1)
    );
    assert_eq!(
        refused(&["export", "--to", "none/r.json"]),
        told("cannot_write", 1)
    );
    let (status, _) = home.json(&["status"]);
    assert!(status.get("marks").is_none(), "{status}");
}

#[test]
fn a_cable_is_listed_listened_to_and_marked() {
    let home = Home::new();
    let bench = Bench::new(7, SetUp::default());
    let frame = Frame::shipped("text").unwrap();
    let cable = VirtualCable::start(bench, frame, 50.0).unwrap();
    home.configure(&format!(
        "[cable.bench]\nport = {:?}\nsettings = \"9600 8N1\"\ncadence = \"streams\"\n\
         frame = \"text\"\nunit = \"mm\"\nresolution = \"0.001mm\"\n",
        cable.path().unwrap()
    ));
    let (heard, code) = home.json(&["cable", "listen", "--count", "3"]);
    assert_eq!(code, 0, "{heard}");
    assert_eq!(heard["readings"].as_array().unwrap().len(), 3);
    let lines = home.done(&["cable", "listen", "bench", "--count", "2"]);
    assert_eq!(lines.lines().count(), 2);
    assert!(lines.lines().all(|l| l.contains(" mm")), "{lines}");
    // The time is over before the first reading: that is how it is meant to end.
    assert_eq!(home.json(&["cable", "listen", "--seconds", "0"]).1, 0);
    let (unknown, code) = home.json(&["cable", "listen", "bensh"]);
    assert_eq!(code, 2);
    assert_eq!(unknown["error"]["hint"], "did you mean `bench`?");

    let (list, _) = home.json(&["cable", "list"]);
    assert!(list["ports"].is_array());
    assert_eq!(list["cables"][0]["name"], "bench");
    assert_eq!(list["cables"][0]["state"], "live");
    assert!(list["cables"][0]["skipped_bytes"].is_u64());

    home.done(&["session", "open", "x", "--span", "80"]);
    home.done(&["step", "zero"]);
    // A mark waits until the readings before it agree for half a second.
    let marked = eventually("a settled mark", || {
        let (marked, code) = home.json(&["mark", "A"]);
        match code {
            0 => Some(marked),
            _ => {
                assert_eq!(marked["error"]["code"], "not_settled", "{marked}");
                None
            }
        }
    });
    assert!(marked["readings"].as_u64().unwrap() >= 3, "{marked}");
    let off = marked["value_mm"].as_f64().unwrap() - SetUp::default().at_a_mm;
    assert!(off.abs() < 0.002, "{marked}");

    // A cable that is pulled is told as gone, with its last value and that value's age.
    cable.unplug().unwrap();
    let gone = eventually("the cable's leaving", || {
        let (status, _) = home.json(&["status"]);
        (status["cables"][0]["state"] == "gone").then(|| status["cables"][0].clone())
    });
    assert!(
        gone["reading_mm"].is_f64() && gone["age_s"].is_f64(),
        "{gone}"
    );
    assert_eq!(
        home.json(&["mark", "B"]).0["error"]["code"],
        "cable_not_live"
    );
}

#[test]
fn verbs_that_come_at_once_share_one_daemon() {
    let home = Home::new();
    let verbs: Vec<Child> = (0..6)
        .map(|_| {
            home.command(&["status"])
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for verb in verbs {
        let out = verb.wait_with_output().unwrap();
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
    }
    // It has a session of its own: the end of the terminal that started it is none of its matter.
    let lock = std::fs::read_to_string(home.data().join("lock")).unwrap();
    let pid = rustix::process::Pid::from_raw(lock.trim().parse().unwrap());
    assert_eq!(rustix::process::getsid(pid).ok(), pid);
    home.done(&["daemon", "stop"]);
    // None was started only to find another one at work.
    assert_eq!(
        std::fs::read_to_string(home.data().join("daemon.log")).unwrap(),
        ""
    );
    // The log is written by a thread of its own, so its last line says that all of it is there.
    let log = eventually("the log's end", || {
        Some(home.log()).filter(|log| log.contains("the daemon has stopped"))
    });
    assert_eq!(log.matches("the daemon answers").count(), 1, "{log}");
}

#[test]
fn a_daemon_that_cannot_start_says_why() {
    let home = Home::new();
    home.configure("[cable.bench]\nprot = \"/dev/ttyUSB0\"\n");
    let (broken, code) = home.json(&["status"]);
    assert_eq!(
        (code, &broken["error"]["code"]),
        (1, &Value::from("daemon_did_not_start"))
    );
    let message = broken["error"]["message"].as_str().unwrap();
    assert!(message.contains("conewright.toml:2:1"), "{message}");
    assert!(message.contains("did you mean `port`?"), "{message}");
    // The ports are still listed: they are needed to put the configuration right.
    let (list, code) = home.json(&["cable", "list"]);
    assert_eq!(code, 1);
    assert!(list["ports"].is_array(), "{list}");

    home.write("file", "");
    let (nowhere, code) = home.json(&["--data", "file/data", "status"]);
    assert_eq!(code, 1);
    let message = nowhere["error"]["message"].as_str().unwrap();
    assert!(message.contains("file/data"), "{message}");
    let long = format!("/{}", "s".repeat(120));
    let (long, code) = home.json(&["--socket", &long, "status"]);
    assert_eq!(
        (code, &long["error"]["code"]),
        (1, &Value::from("socket_path_too_long"))
    );
}

#[test]
fn a_daemon_in_the_foreground_keeps_others_out_and_ends_by_a_signal() {
    let home = Home::new();
    for signal in [rustix::process::Signal::INT, rustix::process::Signal::TERM] {
        let mut daemon = home
            .command(&["daemon", "run"])
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut said = BufReader::new(daemon.stderr.take().unwrap()).lines();
        let answers = said
            .by_ref()
            .map_while(Result::ok)
            .any(|l| l.contains("the daemon answers"));
        assert!(answers, "the daemon said that it answers");
        let second = home.run(&["daemon", "run"]);
        let told = String::from_utf8_lossy(&second.stderr).into_owned();
        assert_eq!(second.status.code(), Some(1), "{told}");
        assert!(
            told.contains(&format!("process id {}", daemon.id())),
            "{told}"
        );

        let pid = rustix::process::Pid::from_child(&daemon);
        rustix::process::kill_process(pid, signal).unwrap();
        let last: Vec<String> = said.map_while(Result::ok).collect();
        assert!(daemon.wait().unwrap().success(), "{last:?}");
        assert!(
            last.iter().any(|l| l.contains("the daemon has stopped")),
            "{last:?}"
        );
        assert!(!home.data().join("socket").exists());
    }
}

#[test]
fn stopping_is_no_start() {
    let home = Home::new();
    assert_eq!(
        home.json(&["daemon", "stop"]),
        (serde_json::json!({"stopped": false}), 0)
    );
    assert!(!home.data().exists());
    home.done(&["status"]);
    assert_eq!(
        home.json(&["daemon", "stop"]),
        (serde_json::json!({"stopped": true}), 0)
    );
    assert!(!home.data().join("socket").exists());
    // What was started before is stopped, and the next verb starts it again.
    home.done(&["status"]);
    eventually("the second start", || {
        (home.log().matches("the daemon answers").count() == 2).then_some(())
    });
}

/// *Out* is an answer of its own, wherever it is told.
#[test]
fn out_of_tolerance_is_told_by_the_exit_code_too() {
    let home = Home::new();
    let sense = ["--big-end", "A", "--indicator-side", "wheel"];
    let setup: Vec<&str> = SETUP.split(' ').chain(sense).collect();
    home.done(&[&["session", "open", "seat"][..], &setup].concat());
    home.done(&["step", "zero"]);
    for (station, value) in [
        ("A", "0"),
        ("B", "0.05"),
        ("A", "0"),
        ("A", "0"),
        ("B", "0.05"),
        ("A", "0"),
    ] {
        home.done(&["mark", station, "--value", value]);
    }
    for verb in [&["status"][..], &["step", "close"]] {
        let (told, code) = home.json(verb);
        assert_eq!(
            (&told["outcome"]["verdict"], code),
            (&Value::from("out"), 3)
        );
    }
    assert_eq!(
        home.json(&["status"]).1,
        0,
        "nothing is open, and nothing is out"
    );
}

/// A name with marks that turn the direction of what follows is shown with their numbers, and kept as it is.
#[test]
fn a_name_that_would_read_otherwise_is_shown_as_it_is() {
    let home = Home::new();
    let name = "seat \u{202e}7-A\u{200b}";
    home.done(&["session", "open", name]);
    for args in [&["session", "list"][..], &["session", "show"], &["status"]] {
        let text = home.done(args);
        assert!(
            text.contains("seat \\u{202e}7-A\\u{200b}"),
            "{args:?}: {text}"
        );
        assert!(!text.contains('\u{202e}'), "{args:?}: {text}");
    }
    let (record, _) = home.json(&["session", "show"]);
    assert!(record.to_string().contains(name), "{record}");
    home.done(&["export", "1", "--to", "r.html"]);
    let page = std::fs::read_to_string(home.path().join("r.html")).unwrap();
    assert!(page.contains("seat \\u{202e}7-A") && !page.contains('\u{202e}'));
}

#[test]
fn cautions_are_said_in_full_once_a_session_and_where_hands_go_in() {
    let home = Home::new();
    let setup: Vec<&str> = SETUP.split(' ').collect();
    home.done(&[&["session", "open", "spindle 7"][..], &setup].concat());
    let talk = |args: &[&str]| String::from_utf8(home.run(args).stderr).unwrap();
    let first = talk(&["step", "zero"]);
    assert!(
        first.contains("Stop the wheel") && first.contains("Local rules"),
        "{first}"
    );
    home.done(&["step", "close"]);
    let again = talk(&["step", "zero"]);
    assert_eq!(
        again.trim(),
        "the cautions of this session hold; to read them again: conewright cautions"
    );
    assert!(talk(&["clamp"]).contains("caution: Back a magnetic hold"));
    home.done(&["step", "close"]);
    let dye = talk(&["step", "contact"]);
    assert!(
        dye.contains("marking dye") && !dye.contains("Stop the wheel"),
        "{dye}"
    );
    home.done(&["session", "close"]);
    home.done(&[&["session", "open", "spindle 8"][..], &setup].concat());
    assert_eq!(talk(&["step", "zero"]), first);
    let all = home.done(&["cautions"]);
    for caution in config::shipped::shipped_cautions() {
        assert!(all.contains(&caution.text), "{all}");
    }
}
