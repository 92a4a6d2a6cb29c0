//! The scenario: open, measure as found, zero by the advice, clamp, see the shift, aim off, zero again, grind, measure as left, close,
//! write the record.
//!
//! The hand knows what a user at the bench knows: the status, and the advice in it.

use super::ears::Ears;
use super::lines::{self, Sized};
use super::narrator::Narrator;
use super::pace::Pace;
use super::papers::Papers;
use super::place;
use crate::Failure;
use crate::client::{Client, ClientError};
use config::shipped::{Occasion, cautions_for};
use daemon::bench::{Bench, VirtualCable};
use metrology::Angle;
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::zero::{Tap, ZeroOutcome};
use protocol::api::{Code, MarkRequest, Status};
use protocol::fold::{Outcome, StepKind};
use protocol::step::StepOptions;

/// More rounds than this at one stage mean that the advice leads nowhere.
const MOST_ROUNDS: u32 = 8;
/// Times that the clamp is tightened before the demo gives up.
const MOST_CLAMPINGS: u32 = 8;
/// Times that a mark is tried again when the readings had not settled.
const MOST_TRIES: u32 = 5;

/// The parts of the scenario.
pub struct Script<'a> {
    /// Asks the daemon.
    pub client: Client,
    /// The bench.
    pub cable: &'a VirtualCable,
    /// Hears the readings.
    pub ears: Ears,
    /// How fast.
    pub pace: Pace,
    /// Tells.
    pub narrator: &'a mut Narrator,
    /// Where the record is written.
    pub papers: &'a Papers,
    /// Named in the record.
    pub seed: u64,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// What the grind came to.
    pub sized: Sized,
    /// The session's number.
    pub session: i64,
    /// How many rounds it took.
    pub rounds: usize,
    /// The last verdict.
    pub verdict: Option<Verdict>,
    /// What the half angle is off, stack included.
    pub half_angle_error_arcsec: Option<f64>,
    /// Its expanded uncertainty.
    pub half_angle_expanded_arcsec: Option<f64>,
}

pub(super) fn off(what: impl Into<String>) -> Failure {
    Failure::new(
        "demo_off",
        format!("the demo did not go as it should: {}", what.into()),
    )
}

impl Script<'_> {
    /// Plays it.
    ///
    /// # Errors
    /// When the daemon refuses, or anything comes out otherwise than it should.
    pub async fn play(&mut self) -> Result<Played, Failure> {
        self.cautions()?;
        let session = self.open().await?;
        self.check_the_indicator().await?;
        self.run_out("found").await?;
        self.sweep().await?;
        self.size_found().await?;
        self.client
            .open_step(&StepOptions::usual(StepKind::Zero))
            .await?;
        let mut zero = self.zero_loose().await?;
        for clamping in 1.. {
            zero = self.tighten().await?;
            if zero.verdict == Some(Verdict::In) {
                break;
            }
            if clamping == MOST_CLAMPINGS {
                return Err(off(format!(
                    "after {clamping} clampings the verdict is not in tolerance"
                )));
            }
            self.loosen_and_aim_off().await?;
        }
        self.client.close_step().await?;
        let sized = self.grind().await?;
        if self.run_out("left").await? != Some(Verdict::In) {
            return Err(off("the run-out as left is not in tolerance"));
        }
        self.contact().await?;
        self.close(session).await?;
        Ok(Played {
            sized,
            session,
            rounds: zero.rounds.len(),
            verdict: zero.verdict,
            half_angle_error_arcsec: zero.half_angle_error_arcsec,
            half_angle_expanded_arcsec: zero.half_angle_expanded_arcsec,
        })
    }

    fn cautions(&mut self) -> Result<(), Failure> {
        for caution in cautions_for(&[
            Occasion::Always,
            Occasion::Zero,
            Occasion::Measure,
            Occasion::Grind,
        ]) {
            self.narrator.event("caution", &caution.text)?;
        }
        Ok(())
    }

    pub(super) async fn say(&self, text: impl Into<String>, stands_at: Option<&str>) {
        self.narrator
            .caption(text, stands_at, self.pace.pause)
            .await;
    }

    async fn open(&mut self) -> Result<i64, Failure> {
        let opened = self
            .client
            .open_session(&place::seat("spindle seat"))
            .await?;
        let stack = opened
            .setup
            .stack
            .as_ref()
            .ok_or_else(|| off("the plan has no stack"))?;
        if !stack.within {
            return Err(off(format!("the stack is off by {} µm", stack.error_um)));
        }
        let plan = lines::plan(&opened.setup);
        self.narrator
            .event("session", &format!("{}, {}", opened.session, opened.name))?;
        self.narrator.event("plan", &plan)?;
        self.say(format!("the session is open: {}", opened.name), None)
            .await;
        self.say(plan.as_str(), None).await;
        self.client
            .note(&format!(
                "demo on the virtual bench, seed {}: a simulated hand that stops 5 % off and slides 2 %",
                self.seed
            ))
            .await?;
        // The ring has its readings before the first mark.
        self.ears.readings(self.pace.dwell()).await?;
        Ok(opened.session)
    }

    /// Rounds and taps with the clamp loose, until the advice is that enough is enough.
    async fn zero_loose(&mut self) -> Result<ZeroOutcome, Failure> {
        for _ in 0..MOST_ROUNDS {
            let zero = self.round().await?;
            if zero.verdict == Some(Verdict::In) {
                return Ok(zero);
            }
            if !zero.at_target {
                self.tap(&zero).await?;
            }
        }
        Err(off(format!(
            "{MOST_ROUNDS} rounds do not bring it into tolerance"
        )))
    }

    async fn tighten(&mut self) -> Result<ZeroOutcome, Failure> {
        self.say("the clamp is tightened", None).await;
        self.on_the_bench(Bench::clamp)?;
        self.client.clamp(true).await?;
        self.narrator.event("clamp", "tight")?;
        let zero = self.round().await?;
        let shift = zero
            .clamp_shift
            .as_ref()
            .ok_or_else(|| off("the clamp's shift was not seen"))?;
        let seen = shift
            .seen
            .last()
            .copied()
            .ok_or_else(|| off("no shift is of this session"))?;
        let next = match (zero.verdict, shift.agree) {
            (Some(Verdict::In), _) => "",
            (_, true) => ", and they agree: aim off by that",
            (_, false) => ", and they do not agree",
        };
        let text = format!(
            "tightening turned it by {:+.1} arcsec; {} seen on this fixture{next}",
            Angle::from_rad(seen.atan()).arcsec(),
            shift.count,
        );
        self.narrator.event("shift", &text)?;
        self.say(text, None).await;
        if !shift.agree {
            return Err(off("the shifts of the clamp do not agree"));
        }
        Ok(zero)
    }

    /// With the clamp loose again, taps until the residual is the opposite of what the clamp will do.
    async fn loosen_and_aim_off(&mut self) -> Result<(), Failure> {
        self.say("the clamp is loosened, to aim off by what it does", None)
            .await;
        self.on_the_bench(Bench::loosen)?;
        self.client.clamp(false).await?;
        self.narrator.event("clamp", "loose")?;
        for _ in 0..MOST_ROUNDS {
            let zero = self.round().await?;
            if zero.at_target {
                return Ok(());
            }
            let aims_off = |tap: &Tap| tap.clamp_arcsec().is_some();
            if !zero.tap.as_ref().is_some_and(aims_off) {
                return Err(off("the advice does not aim off"));
            }
            self.tap(&zero).await?;
        }
        Err(off(format!(
            "{MOST_ROUNDS} rounds do not bring it to the aim"
        )))
    }

    /// One pass over the stations, each marked when its readings have settled.
    async fn round(&mut self) -> Result<ZeroOutcome, Failure> {
        let mut status = self.client.status().await?;
        let round = status.next_round.ok_or_else(|| off("no round is next"))?;
        while status.next_round == Some(round) {
            let station = status
                .next_station
                .clone()
                .ok_or_else(|| off("no station is next"))?;
            self.go_to(&station, &status).await?;
            self.mark(&station).await?;
            status = self.client.status().await?;
        }
        let zero = outcome(&status)?;
        self.narrator
            .event(&format!("round {round}"), &lines::round(&zero, &status))?;
        Ok(zero)
    }

    async fn go_to(&mut self, station: &str, status: &Status) -> Result<(), Failure> {
        let to = position(status.setup.as_ref(), station)?;
        let here = self.cable.truth().map_err(|e| lost(&e))?.x_mm;
        if (to - here).abs() > 1e-9 {
            self.say_shortly(format!("the table goes to {station}"))
                .await;
            let travel = self.pace.travel;
            self.on_the_bench(move |bench| bench.move_over(to, travel))?;
            self.ears.readings(travel + 1).await?;
        }
        self.ears.readings(self.pace.dwell()).await
    }

    pub(super) async fn say_shortly(&self, text: String) {
        self.narrator
            .caption(text, None, std::time::Duration::ZERO)
            .await;
    }

    async fn mark(&mut self, station: &str) -> Result<(), Failure> {
        for _ in 0..MOST_TRIES {
            match self.client.mark(&MarkRequest::default()).await {
                Ok(marked) if marked.station.as_deref() == Some(station) => {
                    self.say_shortly(format!("{station} is marked")).await;
                    return Ok(());
                }
                Ok(marked) => {
                    return Err(off(format!(
                        "{station} was to be marked, not {:?}",
                        marked.station
                    )));
                }
                Err(ClientError::Refused(refusal)) if refusal.code == Code::NotSettled => {
                    self.ears.readings(self.pace.dwell()).await?;
                }
                Err(error) => return Err(error.into()),
            }
        }
        Err(off(format!("the readings at {station} do not settle")))
    }

    /// Follows the advice, as well as this hand can.
    async fn tap(&mut self, zero: &ZeroOutcome) -> Result<(), Failure> {
        let tap: &Tap = zero
            .tap
            .as_ref()
            .ok_or_else(|| off("there is no advice after a round"))?;
        let status = self.client.status().await?;
        self.go_to(&tap.station, &status).await?;
        let advice = lines::tap(tap);
        self.narrator.event("tap", &advice)?;
        self.narrator
            .caption(
                format!("tapping: {advice}"),
                Some(&tap.station),
                self.pace.pause,
            )
            .await;
        let (x_mm, target_mm, over) = (tap.station_mm, tap.target_mm, self.pace.tap);
        self.on_the_bench(move |bench| bench.follow(x_mm, target_mm, over))?;
        self.ears.readings(over + 1).await?;
        self.narrator
            .caption(
                "the hand stops, a little off, as hands do",
                Some(&tap.station),
                self.pace.pause,
            )
            .await;
        Ok(())
    }

    async fn close(&mut self, session: i64) -> Result<(), Failure> {
        let last =
            "angle and run-out in tolerance, at size: the session is closed and its record written";
        // The screen that all of this was for.
        let pause = self.pace.pause * 4;
        self.narrator.caption(last, None, pause).await;
        self.client.close_session().await?;
        self.narrator.event("closed", "the session")?;
        let record = self.client.record(&session.to_string()).await?;
        let agrees = self.papers.write(&record)?;
        for (file, what) in self.papers.files().iter().zip([
            format!("the record, complete; {agrees}"),
            "the record, to read and print".to_owned(),
            "its readings, for a spreadsheet".to_owned(),
            "the record, to hand over".to_owned(),
        ]) {
            self.narrator
                .event("record", &format!("{}: {what}", file.display()))?;
        }
        self.say_shortly(format!("the record is written, and {agrees}"))
            .await;
        Ok(())
    }

    pub(super) fn on_the_bench<R: Send + 'static>(
        &self,
        act: impl FnOnce(&mut Bench) -> R + Send + 'static,
    ) -> Result<R, Failure> {
        self.cable.bench(act).map_err(|e| lost(&e))
    }
}

pub(super) fn lost(error: &std::io::Error) -> Failure {
    Failure::new("no_bench", format!("the virtual bench is gone: {error}"))
}

fn outcome(status: &Status) -> Result<ZeroOutcome, Failure> {
    match &status.outcome {
        Some(Outcome::Zero(zero)) => Ok(zero.clone()),
        _ => {
            let why = status.no_outcome.as_deref();
            Err(off(why.unwrap_or("a round has no outcome")))
        }
    }
}

fn position(setup: Option<&Setup>, station: &str) -> Result<f64, Failure> {
    setup
        .and_then(|setup| setup.stations.iter().find(|s| s.name == station))
        .map(|station| station.position.mm())
        .ok_or_else(|| off(format!("the session knows no station {station}")))
}
