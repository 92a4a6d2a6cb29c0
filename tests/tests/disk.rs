//! The disk full, read-only, taken away, or of a newer program, under the real daemon and the real verbs.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::client::Client;
use conewright_tests::disk::{Disk, Trouble, fast_dir};
use conewright_tests::kept::{Kept, found};
use conewright_tests::script::{Act, Kind};
use conewright_tests::toolroom::{Begun, Toolroom};
use daemon::bench::SetUp;
use daemon::store::FILE_NAME;
use serde_json::Value;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use tempfile::TempDir;

/// A toolroom whose data lies on a disk that the test steers, with a session, an open step and two marks.
fn at_work() -> (Toolroom, TempDir, Client, Kept) {
    let mut room = Toolroom::new(SetUp::default(), 3);
    let under = fast_dir();
    room.put_data_on(under.path(), Disk::new(room.folder()));
    room.start_daemon();
    let client = Client::new(&room.file("socket"));
    let mut kept = Kept::default();
    for act in [Act::Open, Act::Step(Kind::Zero)] {
        done(&client, &mut kept, &act);
    }
    for _ in 0..2 {
        settled(&room, &client, &mut kept);
    }
    (room, under, client, kept)
}

fn done(client: &Client, kept: &mut Kept, act: &Act) {
    let (status, answer) = act.with(client).unwrap();
    assert_eq!(status, 200, "{act:?}: {answer}");
    assert!(kept.after(act, &answer), "{act:?}: {answer}");
}

/// A settled mark, as soon as the readings allow it.
fn settled(room: &Toolroom, client: &Client, kept: &mut Kept) {
    let mark = Act::Mark(None);
    let answered = std::cell::RefCell::new(Value::Null);
    room.until("a settled mark", || {
        let (status, answer) = mark.with(client).unwrap();
        answered.replace(answer);
        status == 200
    });
    let answer = answered.into_inner();
    assert!(kept.after(&mark, &answer), "{answer}");
}

fn readings(client: &Client) -> u64 {
    let (_, status) = client.get("/v1/status").unwrap();
    status["cables"][0]["readings"].as_u64().unwrap()
}

fn refused(client: &Client, act: &Act, code: &str, word: &str) {
    let (status, answer) = act.with(client).unwrap();
    assert!(status >= 400, "{act:?} was not refused: {answer}");
    assert_eq!(answer["code"], code, "{answer}");
    let message = answer["message"].as_str().unwrap();
    assert!(message.contains(word), "{message}");
    assert!(answer["hint"].is_string(), "{answer}");
}

#[test]
fn full_while_it_streams_and_marks() {
    let (mut room, _under, client, mut kept) = at_work();
    let typed = Act::Mark(Some("0.2".to_owned()));
    room.disk()
        .fail(Trouble::Full.calls(), 1, Trouble::Full, true);
    refused(&client, &typed, "store_full", "no room");
    refused(&client, &Act::Undo, "store_full", "was not");
    // The live view goes on, and the readings of meanwhile are kept.
    let before = readings(&client);
    room.until("readings go on", || readings(&client) > before + 50);
    let (_, status) = client.get("/v1/status").unwrap();
    assert!(status["notice"].is_string(), "{status}");
    assert_eq!(status["marks"].as_array().unwrap().len(), 2);
    room.disk().heal();
    done(&client, &mut kept, &typed);
    settled(&room, &client, &mut kept);
    let (_, record) = client.get("/v1/sessions/latest/record").unwrap();
    let seqs: Vec<u64> = record["steps"][0]["readings"]["bench"]
        .as_array()
        .unwrap()
        .iter()
        .map(|reading| reading[0].as_u64().unwrap())
        .collect();
    assert!(seqs.windows(2).all(|pair| pair[1] == pair[0] + 1), "a gap");
    assert!(*seqs.last().unwrap() > before);
    assert!(room.stop_daemon().success());
    assert_eq!(found(&room.data()).unwrap(), kept);
}

/// A verb that writes a file meets a full or failing disk at its n-th call: the old file is as it was, and nothing lies
/// beside it.
fn writes_whole(verb: &[&str], name: &str, sound: impl Fn(&Path) -> bool) {
    let (mut room, _under, _client, _kept) = at_work();
    let target = fast_dir();
    let file = target.path().canonicalize().unwrap().join(name);
    let steering = fast_dir();
    let disk = Disk::new(steering.path());
    for trouble in [Trouble::Full, Trouble::Io] {
        for for_good in [true, false] {
            for n in 1.. {
                fs::write(&file, b"the old file").unwrap();
                let mut command = room.command(verb);
                command.arg(&file).arg("--json");
                disk.load(&mut command, file.parent().unwrap(), None);
                disk.fail(trouble.calls(), n, trouble, for_good);
                let output = command.output().unwrap();
                let place = format!("{trouble:?} at call {n}, for good: {for_good}");
                let said: Value = serde_json::from_slice(&output.stdout).unwrap();
                let old = fs::read(&file).unwrap() == b"the old file";
                assert!(old || sound(&file), "{place}: neither the old nor the new");
                if output.status.success() {
                    assert!(!old, "{place}: said to be written");
                } else {
                    assert_eq!(output.status.code(), Some(1), "{place}");
                    assert!(said["error"]["hint"].is_string(), "{place}: {said}");
                    assert!(disk.met() > 0, "{place}: {said}");
                }
                let beside: Vec<_> = fs::read_dir(target.path())
                    .unwrap()
                    .map(|entry| entry.unwrap().file_name())
                    .collect();
                // A disk that refuses to remove as well keeps what was begun.
                if trouble == Trouble::Full {
                    assert_eq!(beside.len(), 1, "{place}: {beside:?}");
                }
                for entry in fs::read_dir(target.path()).unwrap() {
                    fs::remove_file(entry.unwrap().path()).unwrap();
                }
                if disk.met() == 0 {
                    assert!(output.status.success() && n > 2, "{place}: {said}");
                    break;
                }
            }
        }
    }
    assert!(room.stop_daemon().success());
}

#[test]
fn full_while_exporting() {
    writes_whole(&["export", "1", "--to"], "record.json", |file| {
        let text = fs::read_to_string(file).unwrap();
        matches!(
            protocol::record::verify(&text),
            Ok(protocol::record::Verified::Agrees { .. })
        )
    });
}

#[test]
fn full_while_copying_the_store() {
    writes_whole(&["store", "backup", "--force"], "copy.db", |file| {
        let place = tempfile::tempdir().unwrap();
        fs::copy(file, place.path().join(FILE_NAME)).unwrap();
        found(place.path()).is_ok_and(|kept| kept.marks.len() == 2)
    });
}

#[test]
fn read_only_at_the_start_and_in_the_middle() {
    let (mut room, _under, client, mut kept) = at_work();
    let typed = Act::Mark(Some("0.2".to_owned()));
    let trouble = Trouble::ReadOnly;
    room.disk().fail(trouble.calls(), 1, trouble, true);
    refused(&client, &typed, "store_failed", "not stored");
    room.disk().heal();
    done(&client, &mut kept, &typed);
    assert!(room.stop_daemon().success());
    room.disk().fail(trouble.calls(), 1, trouble, true);
    let Begun::Refused { code, said } = room.try_daemon() else {
        panic!("it starts where it cannot store");
    };
    assert_eq!(code, Some(1));
    assert!(said.contains("Read-only file system"), "{said}");
    assert!(said.contains("hint:"), "{said}");
    room.disk().heal();
    assert_eq!(found(&room.data()).unwrap(), kept);
}

#[test]
fn a_data_directory_that_was_taken_away() {
    let (mut room, under, client, mut kept) = at_work();
    let away = under.path().join("away");
    fs::rename(room.data(), &away).unwrap();
    let typed = Act::Mark(Some("0.2".to_owned()));
    refused(&client, &typed, "store_failed", "removed or replaced");
    assert!(
        !room.data().join(FILE_NAME).exists(),
        "nothing is begun anew in its place unasked"
    );
    // Put back, it goes on without a restart, and nothing of what was refused is there.
    fs::rename(&away, room.data()).unwrap();
    let there = found(conewright_tests::by_count::image(&room.data()).path()).unwrap();
    assert!(kept.agrees(None, &there), "{kept:?}\n{there:?}");
    done(&client, &mut kept, &typed);
    fs::rename(room.data(), &away).unwrap();
    refused(&client, &typed, "store_failed", "removed or replaced");
    room.kill_daemon();
    fs::rename(&away, room.data()).unwrap();
    room.start_daemon();
    let there = found(conewright_tests::by_count::image(&room.data()).path()).unwrap();
    assert!(kept.agrees(None, &there), "{kept:?}\n{there:?}");
    done(&client, &mut kept, &typed);
    assert!(room.stop_daemon().success());
    assert_eq!(found(&room.data()).unwrap(), kept);
}

#[test]
fn a_store_of_a_newer_program_is_left_alone() {
    let (mut room, _under, _client, kept) = at_work();
    assert!(room.stop_daemon().success());
    let path = room.data().join(FILE_NAME);
    let whole = fs::read(&path).unwrap();
    // The file's format puts the user's version, big-endian, at byte 60.
    let mut newer = whole.clone();
    newer[60..64].copy_from_slice(&99_u32.to_be_bytes());
    fs::write(&path, &newer).unwrap();
    let Begun::Refused { code, said } = room.try_daemon() else {
        panic!("it takes a newer store");
    };
    assert_eq!(code, Some(1));
    assert!(
        said.contains("newer program") && said.contains("--data"),
        "{said}"
    );
    assert_eq!(fs::read(&path).unwrap(), newer, "it is left as it is");
    let checked = room.run(&["store", "check", "--json"]);
    assert_eq!(checked.status.code(), Some(1));
    fs::write(&path, whole).unwrap();
    assert_eq!(found(&room.data()).unwrap(), kept);
}

#[test]
fn a_copy_is_made_while_it_streams_and_marks() {
    let (mut room, _under, client, mut kept) = at_work();
    let folder = fast_dir();
    let mut before = kept.clone();
    std::thread::scope(|scope| {
        let copies = scope.spawn(|| {
            for n in 0..4 {
                let place = folder.path().join(n.to_string());
                fs::create_dir(&place).unwrap();
                let file = place.join(FILE_NAME);
                let copied = room.json(&["store", "backup", file.to_str().unwrap()]);
                assert_eq!(copied["sound"], true, "{copied}");
                let mode = fs::metadata(&file).unwrap().permissions().mode();
                assert_eq!(mode & 0o777, 0o600);
                let checked = room.json(&["store", "check"]);
                assert_eq!(checked["sound"], true, "{checked}");
            }
        });
        let mut n = 0;
        while !copies.is_finished() {
            done(&client, &mut kept, &Act::Mark(Some(format!("0.{n:03}"))));
            n += 1;
        }
    });
    // Each copy is the store at some moment: the marks up to one, and those before all of the copy before.
    for n in 0..4 {
        let there = found(&folder.path().join(n.to_string())).unwrap();
        assert!(there.marks.len() >= before.marks.len(), "{n}");
        let first: Vec<_> = kept.marks.iter().take(there.marks.len()).collect();
        assert_eq!(there.marks.iter().collect::<Vec<_>>(), first, "{n}");
        before = there;
    }
    // The last one, once the marking is over, gives the same record from a daemon of its own.
    let place = folder.path().join("last");
    fs::create_dir(&place).unwrap();
    done(&client, &mut kept, &Act::CloseSession);
    let file = place.join(FILE_NAME);
    room.must(&["store", "backup", file.to_str().unwrap()]);
    let again = room.run(&["store", "backup", file.to_str().unwrap(), "--json"]);
    assert_eq!(again.status.code(), Some(1));
    let said: Value = serde_json::from_slice(&again.stdout).unwrap();
    assert_eq!(said["error"]["code"], "file_exists");
    let record = |of: &Path| {
        let file = room.file("out.json");
        let mut export = room.command(&["export", "1", "--to", file.to_str().unwrap()]);
        export.env("CONEWRIGHT_DATA", of);
        if of == place {
            export.env("CONEWRIGHT_SOCKET", place.join("socket"));
        }
        let output = export.output().unwrap();
        assert!(output.status.success(), "{output:?}");
        fs::read_to_string(file).unwrap()
    };
    let own = record(&room.data());
    let of_the_copy = record(&place);
    let mut stop = room.command(&["daemon", "stop"]);
    stop.env("CONEWRIGHT_DATA", &place)
        .env("CONEWRIGHT_SOCKET", place.join("socket"));
    assert!(stop.output().unwrap().status.success());
    assert_eq!(own, of_the_copy);
    assert!(room.stop_daemon().success());
    // And without a daemon.
    let checked = room.json(&["store", "check"]);
    assert_eq!(checked["marks"], kept.marks.len());
    fs::write(room.data().join(FILE_NAME), vec![7; 20_000]).unwrap();
    let checked = room.run(&["store", "check", "--json"]);
    assert_eq!(checked.status.code(), Some(1));
    let said: Value = serde_json::from_slice(&checked.stdout).unwrap();
    assert_eq!(said["sound"], false, "{said}");
}
