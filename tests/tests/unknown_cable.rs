//! An unknown cable, as a user meets it: found out by listening, kept in the configuration, its bytes captured.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::toolroom::Toolroom;
use daemon::bench::SetUp;
use protocol::capture::Capture;
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::process::Stdio;

#[test]
fn what_was_identified_is_configured_and_heard() {
    let room = Toolroom::new(SetUp::default(), 41);
    // The reading has to change, or a stuck line would look like a frame.
    room.cable
        .bench(|bench| bench.move_over(80.0, 4_000))
        .unwrap();
    let port = room.file("port");
    let found = room.json(&[
        "cable",
        "identify",
        port.to_str().unwrap(),
        "--name",
        "found",
    ]);
    // The bench writes its unit: the frame that demands one is the closest, and the permissive one would fit too.
    assert_eq!(
        (&found["frame"], &found["settings"]),
        (&"text-unit".into(), &"9600 8N1".into())
    );
    let others = found["others"].as_array().unwrap();
    assert!(
        others.iter().any(|other| other["frame"] == "text"),
        "{found}"
    );
    // The lines that it prints are a configuration that the program reads.
    std::fs::write(
        room.file("found.toml"),
        found["configuration"].as_str().unwrap(),
    )
    .unwrap();
    let path = room.file("found.toml");
    let config = config::Config::load(&path).unwrap();
    assert_eq!(config.cables[0].name, "found");
    let listed = room.json(&["--config", path.to_str().unwrap(), "cable", "list"]);
    assert_eq!(listed["cables"][0]["name"], "found", "{listed}");
}

#[test]
fn a_silent_port_is_not_found_and_says_what_to_do() {
    let room = Toolroom::new(SetUp::default(), 42);
    room.cable.silence(true).unwrap();
    let port = room.file("port");
    let args = [
        "cable",
        "identify",
        port.to_str().unwrap(),
        "--seconds",
        "2",
    ];
    let output = room.run(&args);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(
        said.contains("not found") && said.contains("--ask"),
        "{said}"
    );
}

/// Bytes that are no reading are shown while the cable is listened to, so that wrong settings are seen for what they are.
#[test]
fn what_is_no_reading_is_shown_while_listening() {
    let room = Toolroom::new(SetUp::default(), 45);
    let mut listening = room
        .command(&["cable", "listen", "bench"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut heard = BufReader::new(listening.stdout.take().unwrap()).lines();
    assert!(heard.next().unwrap().unwrap().contains("mm"));
    room.cable.silence(true).unwrap();
    assert!(room.cable.send(b"BATTERY LOW\r\n").unwrap());
    let mut said = BufReader::new(listening.stderr.take().unwrap()).lines();
    // The stream was joined in mid-line, and half a line is told as well.
    let told = said.find(|line| line.as_ref().unwrap().contains("BATTERY LOW"));
    let told = told.unwrap().unwrap();
    assert!(told.contains("bench were not readings"), "{told}");
    listening.kill().unwrap();
    listening.wait().unwrap();
}

#[test]
fn a_capture_holds_what_the_cable_sent_and_is_never_overwritten() {
    let room = Toolroom::new(SetUp::default(), 43);
    let file = room.file("bench.capture");
    let args = [
        "cable",
        "capture",
        "bench",
        file.to_str().unwrap(),
        "--seconds",
        "0.5",
    ];
    let done: Value = room.json(&args);
    assert!(done["bytes"].as_u64().unwrap() > 100, "{done}");
    let capture = Capture::parse(&std::fs::read_to_string(&file).unwrap()).unwrap();
    let bytes: usize = capture.chunks().map(|chunk| chunk.bytes.len()).sum();
    assert_eq!(bytes as u64, done["bytes"].as_u64().unwrap());
    assert!(capture.frame().is_ok());
    let again = room.run(&args);
    assert_eq!(again.status.code(), Some(1), "it is there already");
    let wrong = room.run(&["cable", "capture", "bunch", "x.capture"]);
    assert!(
        String::from_utf8_lossy(&wrong.stderr).contains("bench"),
        "it names those there are"
    );
}

/// What a report of a fault contains is played, and captured again: the same bytes, in the same order.
#[test]
fn a_capture_is_replayed_to_whoever_listens_and_ends_by_itself() {
    let room = Toolroom::new(SetUp::default(), 44);
    let (sent, again) = (room.file("sent.capture"), room.file("again.capture"));
    let path = |file: &std::path::Path| file.to_str().unwrap().to_owned();
    let _ = room.json(&[
        "cable",
        "capture",
        "bench",
        &path(&sent),
        "--seconds",
        "0.5",
    ]);
    let link = room.file("replayed");
    let mut playing = room
        .command(&["cable", "replay", &path(&sent), "--link", &path(&link)])
        .args(["--name", "again"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    // The lines that it prints are a configuration that hears it.
    let mut out = BufReader::new(playing.stdout.take().unwrap());
    let mut lines = String::new();
    while !lines.ends_with("\n\n") || lines.matches("\n\n").count() < 2 {
        assert!(out.read_line(&mut lines).unwrap() > 0, "{lines}");
    }
    let (first, configuration) = lines.split_once("\n\n").unwrap();
    assert_eq!(first, format!("virtual cable {}", link.display()));
    let config = room.file("again.toml");
    std::fs::write(&config, configuration).unwrap();
    let args = ["--config", &path(&config), "cable", "capture", "again"];
    let done = room.json(&[&args[..], &[&path(&again)]].concat());
    assert_eq!(done["hung_up"], true, "{done}");
    let status = playing.wait().unwrap();
    assert!(status.success(), "{status}");
    let bytes = |file: &std::path::Path| -> Vec<u8> {
        let capture = Capture::parse(&std::fs::read_to_string(file).unwrap()).unwrap();
        capture.chunks().flat_map(|c| c.bytes.clone()).collect()
    };
    assert!(bytes(&sent).len() > 100);
    assert_eq!(bytes(&again), bytes(&sent));

    let output = room.run(&["cable", "replay", &path(&config)]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        said.contains("again.toml") && said.contains("conewright capture 1"),
        "{said}"
    );
}
