//! The daemon killed at random moments of a session: while it starts, streams, records, marks, takes back, changes steps of every
//! kind, exports. After each kill the disk is compared with what was acknowledged, and the next daemon goes on.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::by_count::image;
use crate::chance::Chance;
use crate::client::Client;
use crate::hearing::{self, Hearing, Touched};
use crate::kept::{Kept, found_with_records};
use crate::script::{Act, Kind, passes, typed};
use crate::toolroom::{DEADLINE, Toolroom};
use daemon::bench::SetUp;
use daemon::store::{Reader, Which};
use protocol::api::LiveReading;
use protocol::record::{Verified, verify};
use rustix::process::{Pid, Signal, kill_process};
use serde_json::Value;
use std::collections::BTreeMap;
use std::process::{Child, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

/// Kills over one data directory; then a new one, so that comparing does not take longer and longer.
const OVER_ONE: usize = 50;
/// Quicker than life, so that a life of a quarter of a second holds marks.
const SETTLE: &str = "[settle]\nhold = \"0.03s\"\nlongest = \"0.1s\"\nleast_readings = 5\n";
/// A daemon is killed within this time after its start; every fifth while it starts, and of the others every second by the
/// user's own hand in the instant of an answer, when what was answered has to be on the disk already.
const LIFE_MS: f64 = 320.0;
const STARTING_MS: f64 = 50.0;
/// The table moves by 10 mm a second, so that its cable tells places.
const TABLE_UM_PER_MIN: f64 = 600_000.0;

/// What came of many kills.
#[derive(Debug, Default)]
pub struct Told {
    /// How many.
    pub kills: usize,
    /// Of these, before the daemon answered.
    pub starting: usize,
    /// Of these, in the instant of an answer.
    pub at_an_answer: usize,
    /// Acts that were under way when it was killed, by what was found of them: done, not done.
    pub under_way: (usize, usize),
    /// Acts that were acknowledged.
    pub acknowledged: usize,
    /// Marks among them.
    pub marks: usize,
    /// Of these, beginnings, ends and turns of what is recorded.
    pub moments: usize,
    /// Steps that were closed, and came to an outcome that was compared with the disk.
    pub outcomes: usize,
    /// What became of the readings that a live view was told of.
    pub readings: hearing::Kept,
    /// Exports that ended, were killed themselves, or lost their daemon.
    pub exports: (usize, usize, usize),
    /// From starting the process to its first answer, the longest of those that were left to start.
    pub longest_start: Duration,
    /// What was not as promised.
    pub failures: Vec<String>,
}

/// Kills so many times.
#[must_use]
pub fn campaign(kills: usize, seed: u64) -> Told {
    let mut told = Told::default();
    let mut chance = Chance::seeded(seed);
    while told.kills < kills {
        let mut user = User::new(chance.below(1 << 30) as u64);
        for _ in 0..OVER_ONE.min(kills - told.kills) {
            if let Err(wrong) = user.life(&mut chance, &mut told) {
                told.failures
                    .push(format!("seed {seed}, kill {}: {wrong}", told.kills));
                break;
            }
        }
        if let Err(wrong) = user.finish() {
            told.failures
                .push(format!("seed {seed}, at the end: {wrong}"));
        }
    }
    told
}

/// A user, who knows what was acknowledged.
struct User {
    room: Toolroom,
    client: Client,
    kept: Kept,
    /// An outcome, and what was acknowledged when it was told.
    seen: Option<(Kept, Value)>,
    /// What was done to steps since this daemon was started.
    touched: BTreeMap<(i64, u32), Touched>,
}

impl User {
    fn new(seed: u64) -> Self {
        // On a real disk: bringing something there takes its time, and a kill may fall into that.
        let mut room = Toolroom::with(SetUp::default(), seed, SETTLE);
        let table = SetUp {
            drift_um_per_min: TABLE_UM_PER_MIN,
            ..SetUp::default()
        };
        room.add_table("table", table, seed);
        Self {
            client: Client::new(&room.file("socket")),
            room,
            kept: Kept::default(),
            seen: None,
            touched: BTreeMap::new(),
        }
    }

    /// One life of the daemon: from its start to its kill, and the look at what is left.
    fn life(&mut self, chance: &mut Chance, told: &mut Told) -> Result<(), String> {
        let daemon = self.room.spawn_daemon();
        let begun = Instant::now();
        let exports = chance.below(5) == 0;
        let life = match chance.below(5) {
            // An export lets the daemon come to an answer first.
            0 if !exports => chance.between(0.0, STARTING_MS),
            _ => chance.between(STARTING_MS, LIFE_MS),
        };
        let killer = killer(&daemon, Duration::from_secs_f64(life * 1e-3));
        let hasty = (chance.below(2) == 0).then(|| Hasty {
            process: Pid::from_child(&daemon),
            answers: 1 + chance.below(4),
        });
        self.touched.clear();
        let open = self.kept.step().map(|step| (step, Touched::default()));
        self.touched.extend(open);
        let mut life = Life {
            daemon,
            begun,
            exports,
            hasty,
            hearing: None,
        };
        let lived = self.until_killed(chance, told, &mut life);
        let Life {
            mut daemon,
            hearing,
            ..
        } = life;
        // The moment is past, or the daemon is at fault: in either case it is gone after this.
        killer.join().unwrap();
        let ended = daemon.wait().unwrap();
        if ended.code().is_some() {
            return Err(format!(
                "the daemon ended by itself with {ended}\n{}",
                self.room.log()
            ));
        }
        told.kills += 1;
        let under_way = lived?;
        // An export that found its daemon gone has started another.
        if exports {
            self.room.must(&["daemon", "stop"]);
        }
        let heard = hearing.map(Hearing::end).unwrap_or_default();
        self.look(under_way.as_ref(), &heard, told)
    }

    /// Works until the daemon is gone; gives the act that was not answered.
    fn until_killed(
        &mut self,
        chance: &mut Chance,
        told: &mut Told,
        life: &mut Life,
    ) -> Result<Option<Act>, String> {
        let status = loop {
            if let Ok((200, status)) = self.client.get("/v1/status") {
                break status;
            }
            if life.begun.elapsed() > Duration::from_secs_f64(LIFE_MS * 1e-3) {
                told.starting += 1;
                return Ok(None);
            }
            std::thread::yield_now();
        };
        told.longest_start = told.longest_start.max(life.begun.elapsed());
        life.hearing = Hearing::begin(&self.room.file("socket"));
        self.goes_on(&status)?;
        if life.exports {
            self.export(chance, told)?;
            if life.daemon.try_wait().unwrap().is_some() {
                // What answers now is the one that the export has started, which nobody kills.
                return Ok(None);
            }
        }
        loop {
            let act = self.next(chance);
            let Ok((status, answer)) = act.with(&self.client) else {
                return Ok(Some(act));
            };
            if status != 200 {
                if passes(&answer) {
                    continue;
                }
                return Err(format!("{act:?}: {answer}"));
            }
            if life.hasty.as_mut().is_some_and(Hasty::strikes) {
                told.at_an_answer += 1;
            }
            if !self.kept.after(&act, &answer) {
                return Err(format!("{act:?} cannot have been answered so: {answer}"));
            }
            self.count(&act, &answer, told);
            let Ok((200, status)) = self.client.get("/v1/status") else {
                return Ok(None);
            };
            self.seen = Some((self.kept.clone(), status["outcome"].clone()));
        }
    }

    /// Takes note of what was acknowledged in this life.
    fn count(&mut self, act: &Act, answer: &Value, told: &mut Told) {
        told.acknowledged += 1;
        if let Act::CloseStep = act {
            told.outcomes += usize::from(!answer["outcome"].is_null());
        }
        let Some(step) = self.kept.step() else {
            return;
        };
        let touched = self.touched.entry(step).or_default();
        match act {
            Act::Step(_) => touched.opened = true,
            Act::Mark(_) | Act::Print(_) => {
                told.marks += 1;
                let number = answer["number"].as_u64().unwrap_or(0);
                touched.marks.insert(number as u32);
                if self.kept.kind().is_some_and(Kind::records) {
                    told.moments += 1;
                }
            }
            _ => {}
        }
    }

    /// What the user does next.
    fn next(&self, chance: &mut Chance) -> Act {
        if self.kept.session().is_none() {
            return Act::Open;
        }
        let Some(kind) = self.kept.kind() else {
            return Act::Step(match chance.below(Kind::ALL.len() + 3) {
                // The main job as often as three others.
                0..2 => Kind::Zero,
                2 => Kind::Places,
                n => Kind::ALL[n - 3],
            });
        };
        match chance.below(100) {
            0..65 => self.next_mark(kind, chance),
            65..77 if self.kept.counting() > 0 => Act::Undo,
            77..85 => Act::Note(format!("note {}", chance.below(1000))),
            85..90 if kind == Kind::Size => Act::Ground,
            85..90 => Act::Clamp(!self.kept.clamped),
            90..97 => Act::CloseStep,
            // What a check of the indicator says is told when its step is closed.
            97..99 if kind != Kind::Dial => Act::CloseSession,
            _ => self.next_mark(kind, chance),
        }
    }

    fn next_mark(&self, kind: Kind, chance: &mut Chance) -> Act {
        let a_value = |chance: &mut Chance| typed(&format!("0.{:03}", chance.below(1000)));
        match kind {
            kind if kind.records() => {
                if self.kept.is_recording() && chance.below(2) == 0 {
                    Act::Record(1 + chance.below(6) as u64)
                } else {
                    Act::Mark(None)
                }
            }
            Kind::Contact => Act::Print(["90,80,85", "90,40,0"][chance.below(2)]),
            Kind::Size => typed(&format!("4{}.{:03}", chance.below(2), chance.below(1000))),
            _ if chance.below(4) == 0 => a_value(chance),
            _ => Act::Mark(None),
        }
    }

    /// That a daemon just started has the step, its marks and its outcome as they were.
    fn goes_on(&self, status: &Value) -> Result<(), String> {
        let step = status["step"]["number"]
            .as_u64()
            .map(|number| number as u32);
        if step != self.kept.step().map(|(_, number)| number) {
            return Err(format!("the step does not go on: {status}"));
        }
        let marks = status["marks"].as_array().map_or(0, Vec::len);
        if marks != self.kept.counting() {
            return Err(format!(
                "{} marks count, and there are: {status}",
                self.kept.counting()
            ));
        }
        if status["recording"].as_bool().unwrap_or(false) != self.kept.is_recording() {
            return Err(format!("what is recorded does not go on: {status}"));
        }
        match &self.seen {
            Some((kept, outcome)) if *kept == self.kept && *outcome != status["outcome"] => Err(
                format!("without the kill {outcome}\nafter it {}", status["outcome"]),
            ),
            _ => Ok(()),
        }
    }

    /// Exports over the record of before. It is killed itself, or its daemon is, or it ends: the file is whole.
    fn export(&mut self, chance: &mut Chance, told: &mut Told) -> Result<(), String> {
        if self.kept.sessions.is_empty() {
            return Ok(());
        }
        let file = self.room.file("record.json");
        let mut export = self
            .room
            .command(&["export", "--to", file.to_str().unwrap()])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        if chance.below(2) == 0 {
            killer(&export, Duration::from_secs_f64(chance.between(0.0, 0.06)))
                .join()
                .unwrap();
        }
        let ended = export.wait().unwrap();
        match ended.code() {
            Some(0) => told.exports.0 += 1,
            None => told.exports.1 += 1,
            Some(_) => told.exports.2 += 1,
        }
        if !file.exists() {
            return Ok(());
        }
        let text = std::fs::read_to_string(&file).unwrap();
        match verify(&text) {
            Ok(Verified::Agrees { .. }) => Ok(()),
            other => Err(format!("the exported record is not whole: {other:?}")),
        }
    }

    /// Compares what is left with what was acknowledged; what was under way is there whole or not at all.
    fn look(
        &mut self,
        under_way: Option<&Act>,
        heard: &[LiveReading],
        told: &mut Told,
    ) -> Result<(), String> {
        let data = self.room.data();
        if !data.join(daemon::store::FILE_NAME).exists() && self.kept.sessions.is_empty() {
            return Ok(());
        }
        let left = image(&data);
        let (there, records) = found_with_records(left.path())?;
        if !self.kept.agrees(under_way, &there) {
            return Err(format!(
                "under way {under_way:?}\nacknowledged {:?}\nfound {there:?}",
                self.kept
            ));
        }
        told.readings
            .add(&hearing::compare(heard, &self.touched, &records)?);
        match under_way {
            Some(_) if self.kept.agrees(None, &there) => told.under_way.1 += 1,
            Some(_) => told.under_way.0 += 1,
            None => {}
        }
        self.kept = there;
        Ok(())
    }

    /// The last daemon is stopped in order, and every session's record holds what was acknowledged, and verifies.
    fn finish(&mut self) -> Result<(), String> {
        self.room.start_daemon();
        let status = self.client.get("/v1/status").map_err(|e| e.to_string())?.1;
        self.goes_on(&status)?;
        self.kept.is_left_by(&mut self.room)?;
        let mut reader = Reader::open(&self.room.data()).map_err(|e| e.to_string())?;
        for session in self.kept.sessions.keys() {
            let record = reader
                .session(Which::Number(*session), "")
                .map_err(|e| e.to_string())?;
            let text = record.write();
            match verify(&text) {
                Ok(Verified::Agrees { .. }) => {}
                other => return Err(format!("session {session}: {other:?}\n{text}")),
            }
        }
        Ok(())
    }
}

/// The life of one daemon.
struct Life {
    daemon: Child,
    begun: Instant,
    /// Whether a record is exported in it.
    exports: bool,
    hasty: Option<Hasty>,
    hearing: Option<Hearing>,
}

/// Kills in the instant of an answer.
struct Hasty {
    process: Pid,
    /// Which answer, counted from now.
    answers: usize,
}

impl Hasty {
    /// Takes note of an answer; kills when it is the one.
    fn strikes(&mut self) -> bool {
        self.answers = self.answers.wrapping_sub(1);
        self.answers == 0 && kill_process(self.process, Signal::KILL).is_ok()
    }
}

/// Kills a process after a time. Nothing is waited for here but the moment itself.
fn killer(process: &Child, after: Duration) -> std::thread::JoinHandle<()> {
    let id = Pid::from_child(process);
    std::thread::spawn(move || {
        let (never, moment) = mpsc::channel::<()>();
        let _ = moment.recv_timeout(after.min(DEADLINE));
        drop(never);
        // It may have ended by itself; it is told then by its exit code.
        let _ = kill_process(id, Signal::KILL);
    })
}
