//! A session of the real daemon over a port whose n-th call fails, and over one that fails again at the n-th call while it is
//! opened anew.

use crate::by_count::{Fault, Run};
use crate::client::Client;
use crate::disk::{Calls, Disk, Trouble, fast_dir};
use crate::kept::Kept;
use crate::script::{Act, Kind, passes, typed};
use crate::toolroom::{DEADLINE, Toolroom};
use daemon::bench::SetUp;
use serde_json::Value;
use std::time::Instant;

/// Every fault of a port.
pub const OF_PORTS: [Fault; 3] = [
    Fault::once(Trouble::Io),
    Fault::once(Trouble::Gone),
    Fault::for_good(Trouble::Gone),
];

/// A settled mark is within this of what the instrument shows, mm: its noise and drift are far less, and a reading that is
/// put together from two is far off.
const WITHIN_MM: f64 = 0.002;

/// A toolroom on a port that can be made to fail, and what was acknowledged in it.
struct OverAPort {
    room: Toolroom,
    client: Client,
    kept: Kept,
    fault: Fault,
    run: Run,
    /// Where the data are.
    _under: tempfile::TempDir,
}

impl OverAPort {
    fn new(fault: Fault, seed: u64) -> Self {
        let mut room = Toolroom::new(SetUp::default(), seed);
        let under = fast_dir();
        room.put_data_on(under.path(), Disk::new(room.folder()));
        Self {
            client: Client::new(&room.file("socket")),
            room,
            kept: Kept::default(),
            fault,
            run: Run::default(),
            _under: under,
        }
    }

    /// Does an act, and goes on trying while the cable is away.
    fn act(&mut self, act: &Act) -> Result<(), String> {
        let until = Instant::now() + DEADLINE;
        let answer = loop {
            let (status, answer) = act.with(&self.client).map_err(|e| e.to_string())?;
            if status == 200 {
                break answer;
            }
            if *act != Act::Mark(None) || !passes(&answer) {
                return Err(format!("{act:?}: {answer}"));
            }
            self.put_right_when_told()?;
            if Instant::now() > until {
                return Err(format!(
                    "{act:?}: {answer}, and the cable does not come back"
                ));
            }
        };
        if let Some(value) = answer["value_mm"]
            .as_f64()
            .filter(|_| *act == Act::Mark(None))
            && (value - SetUp::default().at_a_mm).abs() > WITHIN_MM
        {
            return Err(format!(
                "{act:?}: the instrument never showed this: {answer}"
            ));
        }
        if !self.kept.after(act, &answer) {
            return Err(format!("{act:?} cannot have been answered so: {answer}"));
        }
        Ok(())
    }

    /// A port that stays broken is told, with its reason, before it is put right.
    fn put_right_when_told(&mut self) -> Result<(), String> {
        if self.room.disk().met() == 0 || !self.fault.for_good {
            return Ok(());
        }
        let (_, status) = self.client.get("/v1/status").map_err(|e| e.to_string())?;
        let cable: &Value = &status["cables"][0];
        if cable["state"] == "gone" {
            let detail = cable["detail"].as_str().unwrap_or_default();
            if detail.is_empty() {
                return Err(format!("the cable is gone and does not say why: {cable}"));
            }
            self.run.refused += 1;
            self.room.disk().heal();
        }
        Ok(())
    }

    /// Ends in order, with everything on the disk.
    fn end(mut self, faults: u64) -> Result<Run, String> {
        self.run.met = self.room.disk().met() >= faults;
        self.room.disk().heal();
        self.kept.is_left_by(&mut self.room)?;
        Ok(self.run)
    }
}

/// Runs a session over a port whose `nth` call fails: the cable says why and comes back, typed marks go on meanwhile, and
/// a settled mark is what the instrument showed.
///
/// # Errors
/// What was not as promised.
pub fn on_a_port(fault: Fault, nth: u64) -> Result<Run, String> {
    let mut over = OverAPort::new(fault, nth);
    let disk = over.room.disk();
    disk.fail(Calls::PORT, nth, fault.trouble, fault.for_good);
    over.room.start_daemon();
    for act in [
        Act::Open,
        Act::Step(Kind::Zero),
        typed("0.01"),
        Act::Mark(None),
        Act::Mark(None),
        typed("0.02"),
        Act::CloseSession,
    ] {
        over.act(&act)?;
    }
    over.end(1)
}

/// Runs a session over a port that goes while a stretch is recorded, and fails again at its `nth` call after that, of which
/// the first are those that open it anew. The stretch goes on, and comes to what the record says.
///
/// # Errors
/// What was not as promised.
pub fn on_a_port_that_comes_back(fault: Fault, nth: u64) -> Result<Run, String> {
    let mut over = OverAPort::new(fault, nth);
    over.room.start_daemon();
    for act in [
        Act::Open,
        Act::Step(Kind::Feed),
        Act::Mark(None),
        Act::Record(5),
    ] {
        over.act(&act)?;
    }
    let disk = over.room.disk();
    disk.fail_twice(
        Calls::PORT,
        Trouble::Gone,
        nth,
        fault.trouble,
        fault.for_good,
    );
    let until = Instant::now() + DEADLINE;
    while over.room.disk().met() < 2 {
        if Instant::now() > until {
            return Err("the port is not opened again".to_owned());
        }
        std::thread::yield_now();
    }
    while fault.for_good && over.run.refused == 0 {
        over.put_right_when_told()?;
        if Instant::now() > until {
            return Err("the cable is not told to be gone".to_owned());
        }
    }
    for act in [
        Act::Record(5),
        Act::Mark(None),
        Act::CloseStep,
        Act::Step(Kind::Zero),
        Act::Mark(None),
        Act::CloseSession,
    ] {
        over.act(&act)?;
    }
    over.end(2)
}
