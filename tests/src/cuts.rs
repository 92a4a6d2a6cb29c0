//! A session of the real daemon over a journal of all that it did to its files, and power cuts at its moments.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::by_count::of_recordings;
use crate::chance::Chance;
use crate::client::Client;
use crate::disk::{Disk, fast_dir};
use crate::kept::{Kept, found};
use crate::power::{Power, Unsynced, entries};
use crate::script::{Act, Kind, passes};
use crate::toolroom::{DEADLINE, Toolroom};
use daemon::bench::SetUp;
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

/// An act, its answer, and how long the journal was when the answer was there.
#[derive(Debug)]
pub struct Acknowledged {
    /// What was done.
    pub act: Act,
    /// What the daemon answered.
    pub answer: Value,
    /// Everything that the answer promises lies before this place in the journal.
    pub journal: u64,
}

/// A session, and all that the daemon did to its files meanwhile.
#[derive(Debug)]
pub struct Recorded {
    /// What was done, in order.
    pub acts: Vec<Acknowledged>,
    /// The calls.
    pub journal: Vec<u8>,
    /// The disk before.
    pub before: Power,
    /// What was acknowledged before.
    pub kept: Kept,
}

/// A short session: two settled marks and an undo among `typed` typed ones, notes, the clamp, two steps.
fn script(typed: usize) -> Vec<Act> {
    let mut acts = vec![Act::Open, Act::Step(Kind::Zero)];
    acts.extend([Act::Mark(None), Act::Mark(None), Act::Undo, Act::Mark(None)]);
    for n in 0..typed {
        acts.push(Act::Mark(Some(format!("0.{:03}", n % 1000))));
        match n % 7 {
            2 => acts.push(Act::Undo),
            4 => acts.push(Act::Note(format!("note {n}"))),
            5 => acts.push(Act::Clamp(n % 2 == 0)),
            _ => {}
        }
    }
    acts.extend([
        Act::CloseStep,
        Act::Step(Kind::Zero),
        Act::Mark(None),
        Act::Mark(Some("0.1".to_owned())),
    ]);
    acts.push(Act::CloseSession);
    // And one whose steps record, with a turn under way at the end.
    acts.extend(of_recordings());
    acts.extend([Act::Open, Act::Step(Kind::Turns), Act::Mark(None)]);
    acts.extend([Act::Record(4), Act::Mark(None), Act::Record(4)]);
    acts
}

/// Does an act, and goes on trying while the readings settle or the cable comes alive.
///
/// # Panics
/// When it is refused for another reason, or until the deadline.
fn acknowledged(client: &Client, act: &Act) -> Value {
    let until = Instant::now() + DEADLINE;
    loop {
        let (status, answer) = act.with(client).unwrap();
        if status == 200 {
            return answer;
        }
        let passing = passes(&answer);
        assert!(passing && Instant::now() < until, "{act:?}: {answer}");
    }
}

impl Recorded {
    /// A session with so many typed marks, from an empty disk to the daemon's orderly end.
    #[must_use]
    pub fn session(typed: usize) -> Self {
        let mut room = Toolroom::new(SetUp::default(), 41);
        let under = room.file("disk");
        std::fs::create_dir(&under).unwrap();
        let disk = Disk::new(room.folder());
        room.put_data_on(&under, disk);
        room.start_daemon();
        let client = Client::new(&room.file("socket"));
        let acts = script(typed)
            .into_iter()
            .map(|act| {
                let answer = acknowledged(&client, &act);
                let journal = room.disk().written();
                Acknowledged {
                    act,
                    answer,
                    journal,
                }
            })
            .collect();
        room.must(&["daemon", "stop"]);
        Self {
            acts,
            journal: room.disk().journal(),
            before: Power::default(),
            kept: Kept::default(),
        }
    }

    /// Starts the daemon over what a cut has left, and stops it: what it does to its files while it recovers.
    #[must_use]
    pub fn recovery(left: &Path, kept: Kept) -> Self {
        let mut room = Toolroom::new(SetUp::default(), 43);
        let disk = Disk::new(room.folder());
        let before = Power::holding(left);
        room.put_data_on(left, disk);
        room.start_daemon();
        room.must(&["daemon", "stop"]);
        Self {
            acts: Vec::new(),
            journal: room.disk().journal(),
            before,
            kept,
        }
    }
}

/// What came of many cuts.
#[derive(Debug, Default)]
pub struct Told {
    /// Calls in the journal.
    pub calls: usize,
    /// Moments at which the power was cut.
    pub moments: usize,
    /// States of the disk that were made, opened and compared.
    pub images: usize,
    /// Of these, those in which something unsynced was at stake.
    pub at_stake: usize,
    /// What was not as promised.
    pub failures: Vec<String>,
}

/// Cuts the power at about so many moments of the recording, evenly spread and at every acknowledgement, and makes what
/// may be left in every way.
#[must_use]
pub fn campaign(recorded: &Recorded, moments: usize, seed: u64) -> Told {
    let calls = entries(&recorded.journal);
    let every = (calls.len() / moments.max(1)).max(1);
    let mut told = Told {
        calls: calls.len(),
        ..Told::default()
    };
    let mut chance = Chance::seeded(seed);
    let mut power = recorded.before.clone();
    let mut kept = recorded.kept.clone();
    let mut acts = recorded.acts.iter().peekable();
    for (n, (end, call)) in calls.iter().enumerate() {
        power.apply(call);
        let mut now = n % every == 0 || n + 1 == calls.len();
        while let Some(act) = acts.next_if(|act| act.journal <= *end) {
            assert!(kept.after(&act.act, &act.answer), "{act:?}");
            now = true;
        }
        if !now {
            continue;
        }
        told.moments += 1;
        for unsynced in Unsynced::ALL {
            told.images += 1;
            told.at_stake += usize::from(!power.is_synced());
            let image = fast_dir();
            power.cut(unsynced, &mut chance, image.path());
            let under_way = acts.peek().map(|act| &act.act);
            let wrong = match judge(image.path(), &kept, under_way) {
                Ok(()) => continue,
                Err(wrong) => wrong,
            };
            told.failures
                .push(format!("after call {n}, unsynced {unsynced:?}: {wrong}"));
        }
    }
    told
}

/// Cuts the power at so many moments of the recording, has the daemon start over what is left, and cuts it again at every
/// call that the daemon makes while it recovers.
#[must_use]
pub fn recovery_campaign(recorded: &Recorded, moments: usize, seed: u64) -> Told {
    let calls = entries(&recorded.journal);
    let mut chance = Chance::seeded(seed);
    let mut all = Told::default();
    for moment in 0..moments {
        // Not the very beginning: the session has to be there.
        let at = calls.len() * (moment + 1) / (moments + 1) + chance.below(9);
        let mut power = recorded.before.clone();
        let mut kept = recorded.kept.clone();
        let mut acts = recorded.acts.iter().peekable();
        for (end, call) in calls.iter().take(at) {
            power.apply(call);
            while let Some(act) = acts.next_if(|act| act.journal <= *end) {
                assert!(kept.after(&act.act, &act.answer), "{act:?}");
            }
        }
        let left = fast_dir();
        let unsynced = Unsynced::ALL[moment % Unsynced::ALL.len()];
        power.cut(unsynced, &mut chance, left.path());
        // What was under way may be there or not; which of both is settled by the first look at it.
        let under_way = acts.peek().map(|act| &act.act);
        let copy = fast_dir();
        copy_files(&left.path().join("data"), &copy.path().join("data"));
        match judge(copy.path(), &kept, under_way) {
            Ok(()) => kept = found(&copy.path().join("data")).unwrap(),
            Err(wrong) => {
                all.failures.push(format!("after call {at}: {wrong}"));
                continue;
            }
        }
        let told = campaign(&Recorded::recovery(left.path(), kept), usize::MAX, seed);
        all.calls += told.calls;
        all.moments += told.moments;
        all.images += told.images;
        all.at_stake += told.at_stake;
        let place = |wrong| format!("recovering from a cut after call {at}: {wrong}");
        all.failures.extend(told.failures.into_iter().map(place));
    }
    all
}

fn copy_files(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
    }
}

/// Compares what is left with what was acknowledged.
fn judge(left: &Path, kept: &Kept, under_way: Option<&Act>) -> Result<(), String> {
    let data = left.join("data");
    if !data.exists() {
        return if kept.sessions.is_empty() {
            Ok(())
        } else {
            Err("the data directory is gone".to_owned())
        };
    }
    let found = found(&data)?;
    if kept.agrees(under_way, &found) {
        return Ok(());
    }
    Err(format!(
        "acknowledged {} marks, found {}; under way {under_way:?}\nacknowledged {kept:?}\nfound {found:?}",
        kept.marks.len(),
        found.marks.len()
    ))
}
