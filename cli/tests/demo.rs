//! The demo as a user runs it: the real executable, its own daemon, a pty, the store, the record.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod demo_place;

use demo_place::{daemon_process, ended, made};
use protocol::fold::{Outcome, StepKind};
use protocol::plan::Condition;
use protocol::record::{EventKind, Record, StepRecord, Verified, verify};
use rustix::process::{Pid, PidfdFlags, Signal, kill_process, pidfd_open};
use serde_json::Value;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use metrology::size::SizeOutcome;
use metrology::uncertainty::Verdict;

/// A directory for temporary files whose path is short enough for a socket.
fn temporary() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn demo(temporary: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_conewright"))
        .arg("demo")
        .args(arguments)
        .env("TMPDIR", temporary)
        .env_remove("CONEWRIGHT_CONFIG")
        .env_remove("CONEWRIGHT_DATA")
        .env_remove("CONEWRIGHT_SOCKET")
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// Every kind of step, the part as found before it was ground and as left after it.
fn the_whole_job(record: &Record) {
    let steps: Vec<(StepKind, Option<Condition>)> = record
        .steps
        .iter()
        .map(|step| (step.plan.kind(), step.plan.condition))
        .collect();
    let (found, left) = (Some(Condition::Found), Some(Condition::Left));
    assert_eq!(
        steps,
        [
            (StepKind::Dial, None),
            (StepKind::Runout, found),
            (StepKind::Sweep, found),
            (StepKind::Size, found),
            (StepKind::Zero, None),
            (StepKind::Size, left),
            (StepKind::Runout, left),
            (StepKind::Contact, left),
        ]
    );
    let outcome = |number: usize| record.steps[number].outcome.as_ref().unwrap();
    let (Outcome::Runout(before), Outcome::Runout(after)) = (outcome(1), outcome(6)) else {
        panic!("no run-outs");
    };
    assert_eq!(before.section.verdict, Some(Verdict::Out));
    assert_eq!(after.section.verdict, Some(Verdict::In));
    let (Outcome::Size(before), Outcome::Size(after)) = (outcome(3), outcome(5)) else {
        panic!("no sizes");
    };
    // 70 µm over size at the gauge plane, and 12 arc-seconds too steep: 2.8 µm less 24 mm on.
    let left = |size: &SizeOutcome| size.stock_on_diameter_um.unwrap();
    assert!((left(before) - 67.2).abs() < 2.0, "{}", left(before));
    assert!((0.0..2.0).contains(&left(after)), "{}", left(after));
    // What the set-up was brought to, the part has: beyond the sum of both intervals they differ in less than 1 of 100 runs.
    let Outcome::Zero(zero) = outcome(4) else {
        panic!("no zero");
    };
    let set = zero.half_angle_error_arcsec.unwrap();
    let ground = after.half_angle_error_arcsec.unwrap();
    let sure = zero.half_angle_expanded_arcsec.unwrap() + after.half_angle_expanded_arcsec.unwrap();
    assert!((ground - set).abs() < sure, "{set} and {ground} ± {sure}");
}

#[test]
fn at_once_and_everything_is_on_record() {
    let temporary = temporary();
    let to = temporary.path().join("out/seat.json");
    std::fs::create_dir(to.parent().unwrap()).unwrap();
    let inner = temporary.path().join("t");
    std::fs::create_dir(&inner).unwrap();
    let output = demo(&inner, &["--fast", "--to", to.to_str().unwrap()]);
    assert!(output.status.success(), "{}", said(&output));

    let text = std::fs::read_to_string(&to).unwrap();
    assert!(matches!(
        verify(&text),
        Ok(Verified::Agrees { steps: 8, .. })
    ));
    let record = Record::read(&text).unwrap();
    assert!(record.session.closed_utc_ns.is_some());
    assert!(!record.cautions.is_empty());
    let taper = record.setup.taper.as_ref().unwrap();
    // ISO 1119 prints 4.771 888 061° for the cone angle of 1:12; half of it.
    assert!((taper.half_angle.deg() - 4.771_888_061 / 2.0).abs() < 1e-9);
    let stack = record.setup.stack.as_ref().unwrap();
    // 100 mm · sin(2.385 944°), sine bar: H = C sin α.
    assert!(
        (stack.height.mm() - 4.163_054).abs() < 1e-6,
        "{}",
        stack.height
    );
    assert!(stack.within);

    the_whole_job(&record);
    let is_zero = |step: &&StepRecord| step.plan.kind() == StepKind::Zero;
    let step = record.steps.iter().find(is_zero).unwrap();
    let Some(Outcome::Zero(zero)) = &step.outcome else {
        panic!("no outcome");
    };
    assert_eq!(zero.verdict, Some(Verdict::In));
    let first = zero.rounds.first().unwrap();
    // 300 µm over 80 mm is 773 arc-seconds.
    assert!(
        (first.residual_arcsec.abs() - 773.5).abs() < 5.0,
        "{}",
        first.residual_arcsec
    );
    let last = zero.rounds.last().unwrap();
    assert!(last.clamped && last.residual_arcsec.abs() < 4.0);
    // The first tightening showed the shift, and the last one came out right because of it.
    let shift = zero.clamp_shift.as_ref().unwrap();
    assert!(shift.agree && shift.seen.len() >= 2);
    assert!((shift.slope - 1.0e-4).abs() < 1e-5, "{}", shift.slope);
    assert!(zero.pivot.is_some());
    let passes = record
        .events
        .iter()
        .filter(|event| event.what == EventKind::Note && event.text.contains("expected"));
    assert!((2..=16).contains(&passes.count()));
    assert!(step.evidence.readings["bench"].len() > 100);

    for ending in ["html", "csv", "pdf"] {
        assert!(std::fs::metadata(to.with_extension(ending)).unwrap().len() > 1_000);
    }
    let directory = made(&inner);
    let lines = String::from_utf8(output.stdout).unwrap();
    assert!(
        lines.contains(directory.to_str().unwrap()),
        "it says where it is:\n{lines}"
    );
    let cautions = lines
        .lines()
        .filter(|line| line.starts_with("caution "))
        .count();
    assert_eq!(
        cautions,
        config::shipped::cautions_for(&[
            config::shipped::Occasion::Zero,
            config::shipped::Occasion::Measure,
            config::shipped::Occasion::Grind,
        ])
        .count(),
        "each caution once:\n{lines}"
    );
    assert_eq!(
        daemon_process(&directory),
        None,
        "the daemon was left behind"
    );
}

/// Nothing in a killed process can end its daemon: the pipe between them does.
#[test]
fn killed_it_leaves_no_daemon_behind() {
    let temporary = temporary();
    let mut demo = Command::new(env!("CARGO_BIN_EXE_conewright"))
        .args(["demo", "--fast"])
        .env("TMPDIR", temporary.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Its first line is told when the daemon has answered.
    let mut line = String::new();
    BufReader::new(demo.stdout.as_mut().unwrap())
        .read_line(&mut line)
        .unwrap();
    let daemon = daemon_process(&made(temporary.path())).expect("a daemon at work");
    let daemon = pidfd_open(daemon, PidfdFlags::empty()).unwrap();
    demo.kill().unwrap();
    demo.wait().unwrap();
    assert!(
        ended(&daemon),
        "the daemon goes on without its demo, whose first line was {line:?}"
    );
}

#[test]
fn as_one_document() {
    let temporary = temporary();
    let output = demo(temporary.path(), &["--fast", "--json", "--seed", "7"]);
    assert!(output.status.success(), "{}", said(&output));
    let document: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(document["verdict"], "in");
    assert_eq!(document["seed"], 7);
    assert!((0.0..2.0).contains(&document["left_on_diameter_um"].as_f64().unwrap()));
    for file in document["files"].as_array().unwrap() {
        assert!(Path::new(file.as_str().unwrap()).is_file());
    }
}

#[test]
fn a_place_that_cannot_be_written_is_told_and_no_daemon_stays() {
    let temporary = temporary();
    let output = demo(
        temporary.path(),
        &["--fast", "--to", "/proc/none/seat.json"],
    );
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    assert!(
        said(&output).contains("/proc/none/seat.json cannot be written"),
        "{}",
        said(&output)
    );
    assert_eq!(daemon_process(&made(temporary.path())), None);
}

/// A demo under way: its lines are read as far as one that begins with `until`.
fn under_way(temporary: &Path, until: &str) -> (std::process::Child, std::io::Lines<impl BufRead>) {
    use std::io::{BufRead, BufReader};
    let mut child = Command::new(env!("CARGO_BIN_EXE_conewright"))
        .args(["demo", "--fast"])
        .env("TMPDIR", temporary)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let reached = lines.any(|line| line.unwrap().starts_with(until));
    assert!(reached, "no line begins with {until}");
    (child, lines)
}

#[test]
fn interrupted_it_ends_its_daemon_and_says_so() {
    for (signal, name) in [
        (Signal::INT, "INT"),
        (Signal::TERM, "TERM"),
        (Signal::HUP, "HUP"),
    ] {
        let temporary = temporary();
        let (child, _lines) = under_way(temporary.path(), "round 1");
        let directory = made(temporary.path());
        assert!(
            daemon_process(&directory).is_some(),
            "the daemon is a process of its own"
        );
        kill_process(Pid::from_child(&child), signal).unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{}", said(&output));
        assert!(
            said(&output).contains(&format!("ended by SIG{name}")),
            "{}",
            said(&output)
        );
        assert_eq!(daemon_process(&directory), None);
    }
}

#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let temporary = temporary();
    let (child, lines) = under_way(temporary.path(), "round 1");
    drop(lines);
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(said(&output), "");
    assert_eq!(daemon_process(&made(temporary.path())), None);
}
