//! A session of the real daemon on a disk whose n-th call fails: once, or from then on.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::client::{Answered, Client};
use crate::disk::{Calls, Disk, Trouble, fast_dir};
use crate::kept::{Kept, found};
use crate::script::{Act, Kind, passes, typed};
use crate::toolroom::{Begun, DEADLINE, Toolroom};
use daemon::bench::SetUp;
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

/// A fault to meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fault {
    /// What goes wrong.
    pub trouble: Trouble,
    /// Whether it goes on so, until it is put right.
    pub for_good: bool,
}

/// Every fault of a disk.
pub const OF_DISKS: [Fault; 7] = [
    Fault::once(Trouble::Io),
    Fault::for_good(Trouble::Io),
    Fault::once(Trouble::Full),
    Fault::for_good(Trouble::Full),
    Fault::for_good(Trouble::ReadOnly),
    Fault::once(Trouble::Short),
    Fault::for_good(Trouble::Short),
];

impl Fault {
    pub(crate) const fn once(trouble: Trouble) -> Self {
        Self {
            trouble,
            for_good: false,
        }
    }

    pub(crate) const fn for_good(trouble: Trouble) -> Self {
        Self {
            trouble,
            for_good: true,
        }
    }

    /// What a message about it must say, in one of these words.
    const fn words(&self) -> &'static [&'static str] {
        match self.trouble {
            Trouble::Io | Trouble::Short | Trouble::Gone => &[
                "I/O error",
                "nput/output error",
                "the disk does not read it",
            ],
            Trouble::Full => &["no room", "No space left", "full"],
            Trouble::ReadOnly => &["ead-only", "readonly"],
        }
    }
}

/// Runs that are not as promised, after which a sweep is given up.
const MOST_WRONG: usize = 20;

/// What came of a run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Run {
    /// Whether the fault was met at all: when not, `n` is beyond the last call.
    pub met: bool,
    /// Whether the daemon refused to start.
    pub not_started: bool,
    /// How many acts were refused.
    pub refused: u32,
}

/// Runs with a fault at the first call, and at every `stride`-th after it, until none meets it any more; the faults take
/// turns. The report of a run that was not as promised names the fault.
#[must_use]
pub fn sweep(
    faults: &[Fault],
    stride: u64,
    run: impl Fn(Fault, u64) -> Result<Run, String>,
) -> Vec<Result<Run, String>> {
    let mut runs = Vec::new();
    let (mut through, mut wrong) = (0, 0);
    for (turn, n) in (1_u64..).step_by(stride as usize).enumerate() {
        let fault = faults[turn % faults.len()];
        let done = run(fault, n).map_err(|wrong| format!("{fault:?} at call {n}: {wrong}"));
        let met = done.as_ref().map_or(true, |run| run.met);
        through = if met { 0 } else { through + 1 };
        wrong += usize::from(done.is_err());
        runs.push(done);
        // They differ in the calls that can meet them: each has to have gone through. What is never as promised has no end.
        if through >= faults.len() || wrong > MOST_WRONG {
            break;
        }
    }
    runs
}

/// A session that is run with a fault at each of its calls.
pub type Script = fn() -> Vec<Act>;

/// A session with every kind of change, on typed marks: the cable's readings are stored beside them.
#[must_use]
pub fn of_marks() -> Vec<Act> {
    vec![
        Act::Open,
        Act::Step(Kind::Zero),
        typed("0.010"),
        typed("0.025"),
        Act::Undo,
        typed("0.020"),
        typed("0.011"),
        Act::Note("dressed".to_owned()),
        Act::Clamp(true),
        typed("0.012"),
        Act::CloseStep,
        Act::Step(Kind::Zero),
        typed("0.001"),
        Act::CloseSession,
    ]
}

/// A session whose steps record, and hand what they found to those after them.
#[must_use]
pub fn of_recordings() -> Vec<Act> {
    vec![
        Act::Open,
        Act::Step(Kind::Dial),
        typed("0.0000"),
        typed("1.0004"),
        typed("2.0002"),
        Act::CloseStep,
        Act::Step(Kind::Feed),
        Act::Mark(None),
        Act::Record(6),
        Act::Mark(None),
        Act::Undo,
        Act::Note("it goes on".to_owned()),
        Act::Mark(None),
        Act::Mark(None),
        Act::Record(3),
        Act::Mark(None),
        Act::CloseStep,
        Act::Step(Kind::Contact),
        Act::Print("90,80,85"),
        Act::CloseStep,
        Act::Step(Kind::Turns),
        Act::Mark(None),
        Act::Record(6),
        Act::Mark(None),
        Act::Record(6),
        Act::Mark(None),
        Act::CloseStep,
        Act::Step(Kind::Size),
        typed("40.06"),
        typed("38.06"),
        Act::CloseSession,
    ]
}

/// Runs the script on a disk whose `nth` call fails, and sees to it that nothing was lost and nothing was said that is not
/// so.
///
/// # Errors
/// What was not as promised.
pub fn on_a_disk(script: Script, fault: Fault, nth: u64) -> Result<Run, String> {
    let mut room = Toolroom::new(SetUp::default(), nth);
    let under = fast_dir();
    room.put_data_on(under.path(), Disk::new(room.folder()));
    room.disk()
        .fail(fault.trouble.calls(), nth, fault.trouble, fault.for_good);
    let mut run = Run::default();
    if !starts_or_says_why(&mut room, fault, &mut run)? {
        room.disk().heal();
        if let Begun::Refused { said, .. } = room.try_daemon() {
            return Err(format!("the daemon does not start again: {said}"));
        }
    }
    let client = Client::new(&room.file("socket"));
    let mut kept = Kept::default();
    for act in script() {
        let gone =
            |error: std::io::Error| format!("{act:?}: the daemon is gone: {error}\n{}", room.log());
        let (status, mut answer) = settled(&act, &client).map_err(gone)?;
        if status != 200 {
            run.refused += 1;
            refused_well(fault, &answer).map_err(|wrong| format!("{act:?}: {wrong}"))?;
            let look = |when: &str| {
                let left = image(&room.data());
                let there = found(left.path()).map_err(|wrong| format!("{when}: {wrong}"))?;
                let unsure = answer["message"]
                    .as_str()
                    .is_some_and(|said| said.contains("not certain"));
                if kept.agrees(unsure.then_some(&act), &there) {
                    return Ok(());
                }
                Err(format!(
                    "{act:?}, {when}: {kept:?}\nis not what is there: {there:?}"
                ))
            };
            // A daemon that is killed just then must have told the truth.
            look("at once after the refusal")?;
            let (status, now) = client.get("/v1/status").map_err(gone)?;
            let marks = now["marks"].as_array().map_or(0, Vec::len);
            if status != 200 || marks != kept.counting() {
                return Err(format!(
                    "{act:?}: {} marks are kept, and {now}",
                    kept.counting()
                ));
            }
            room.disk().heal();
            let (status, again) = settled(&act, &client).map_err(gone)?;
            if status != 200 {
                return Err(format!(
                    "{act:?} is refused on a disk that works again: {again}"
                ));
            }
            answer = again;
        }
        if !kept.after(&act, &answer) {
            return Err(format!("{act:?} cannot have been answered so: {answer}"));
        }
    }
    let ended = room.stop_daemon();
    run.met = room.disk().met() > 0;
    if !run.met && !ended.success() {
        return Err(format!("the daemon ended with {ended} and without a fault"));
    }
    room.disk().heal();
    kept.is_at(&room.data())?;
    Ok(run)
}

/// Whether the daemon starts; where it does not, it has to say why.
fn starts_or_says_why(room: &mut Toolroom, fault: Fault, run: &mut Run) -> Result<bool, String> {
    let Begun::Refused { code, said } = room.try_daemon() else {
        return Ok(true);
    };
    run.not_started = true;
    if code != Some(1) {
        return Err(format!("the daemon ended with {code:?}: {said}"));
    }
    told_well(fault, &said, said.contains("hint:"))?;
    Ok(false)
}

/// Does these acts, all of which are acknowledged.
fn done(acts: &[Act], client: &Client, kept: &mut Kept) -> Result<(), String> {
    for act in acts {
        let (_, answer) = settled(act, client).map_err(|e| e.to_string())?;
        if !kept.after(act, &answer) {
            return Err(format!("{act:?}: {answer}"));
        }
    }
    Ok(())
}

/// Does an act, and goes on trying while the readings settle or the cable comes alive.
pub(crate) fn settled(act: &Act, client: &Client) -> std::io::Result<Answered> {
    let until = Instant::now() + DEADLINE;
    loop {
        let answered = act.with(client)?;
        if answered.0 == 200 || !passes(&answered.1) || Instant::now() > until {
            return Ok(answered);
        }
    }
}

/// Breaks the disk for good in the script's middle, before its act number `broken`, kills the daemon, and starts it again on a
/// disk whose `nth` call fails.
///
/// # Errors
/// What was not as promised.
pub fn recovering(
    (script, broken): (Script, usize),
    fault: Fault,
    nth: u64,
) -> Result<Run, String> {
    let mut room = Toolroom::new(SetUp::default(), nth);
    let under = fast_dir();
    room.put_data_on(under.path(), Disk::new(room.folder()));
    room.start_daemon();
    let client = Client::new(&room.file("socket"));
    let mut kept = Kept::default();
    let acts = script();
    let (before, after) = acts.split_at(broken);
    done(before, &client, &mut kept)?;
    room.disk().fail(Calls::FILES, 1, Trouble::Io, true);
    let (status, answer) = after[0].with(&client).map_err(|e| e.to_string())?;
    if status == 200 {
        return Err(format!("acknowledged on a broken disk: {answer}"));
    }
    room.kill_daemon();
    room.disk()
        .fail(fault.trouble.calls(), nth, fault.trouble, fault.for_good);
    let mut run = Run::default();
    starts_or_says_why(&mut room, fault, &mut run)?;
    run.met = room.disk().met() > 0;
    room.kill_daemon();
    room.disk().heal();
    kept.is_at(image(&room.data()).path())?;
    room.start_daemon();
    done(after, &client, &mut kept)?;
    let _ = room.stop_daemon();
    kept.is_at(&room.data())?;
    Ok(run)
}

/// What a kill at this instant would leave, at a place of its own.
#[must_use]
pub fn image(data: &Path) -> tempfile::TempDir {
    let image = fast_dir();
    for entry in std::fs::read_dir(data).unwrap() {
        let entry = entry.unwrap();
        // A daemon that a verb has started keeps its log in a folder of its own.
        let is_file = entry.file_type().unwrap().is_file();
        if is_file && !entry.file_name().to_string_lossy().ends_with("-shm") {
            std::fs::copy(entry.path(), image.path().join(entry.file_name())).unwrap();
        }
    }
    image
}

fn told_well(fault: Fault, said: &str, hint: bool) -> Result<(), String> {
    // A fault that was met once is over when the system is asked for its reason; SQLite has its own word then.
    let once = if fault.for_good {
        &[]
    } else {
        Fault::once(Trouble::Io).words()
    };
    let mut words = fault.words().iter().chain(once);
    let cause = words.any(|word| said.contains(*word));
    match (cause, hint) {
        (true, true) => Ok(()),
        (false, _) => Err(format!("the message does not name the cause: {said}")),
        (_, false) => Err(format!("the message has no hint: {said}")),
    }
}

fn refused_well(fault: Fault, answer: &Value) -> Result<(), String> {
    let message = answer["message"].as_str().unwrap_or_default();
    let code = answer["code"].as_str().unwrap_or_default();
    if !matches!(code, "store_full" | "store_failed") {
        return Err(format!("refused as {code}: {message}"));
    }
    told_well(fault, message, answer["hint"].is_string())
}
