//! A practice: the user sets up the virtual bench by keys in the live view, and is told at the end how that went.

use super::companion::Companion;
use super::lines;
use super::narrator::Narrator;
use super::pace::Pace;
use super::papers::Papers;
use super::place::{self, Place};
use super::script::{lost, off};
use super::{bench, interrupted};
use crate::client::{Client, block_on};
use crate::watch::{self, Act, Ended, Hands, Practising, Standing};
use crate::{DemoOptions, Exit, Failure};
use config::model::Screen;
use daemon::bench::{Bench, Knock, SetUp, VirtualCable};
use metrology::random::Random;
use metrology::uncertainty::Verdict;
use metrology::zero::ZeroOutcome;
use metrology::{Angle, Counted};
use protocol::api::Status;
use protocol::fold::{Outcome, StepKind};
use protocol::step::StepOptions;
use protocol::style::Style;
use tokio::sync::mpsc::UnboundedReceiver;
use tokio::sync::{mpsc, watch as channel};

/// How far out it begins over the span, mm to either side.
const OUT_MM: [f64; 2] = [0.08, 0.20];
/// Where it turns, in spans from A: beyond B, or before A by enough for a tap there to be felt.
const PIVOTS: [[f64; 2]; 2] = [[1.15, 1.6], [-0.8, -0.5]];

/// The bench that a seed means.
fn set_up(seed: u64) -> SetUp {
    let usual = super::set_up();
    // Of its own, so that the readings' chance does not depend on it.
    let mut random = Random::new(seed ^ 0x7a11_0c0e_5e7b_0000);
    let out_mm = random.sign() * random.between(OUT_MM[0], OUT_MM[1]);
    let [from, to] = random.pick(&PIVOTS);
    SetUp {
        slope: out_mm / usual.span_mm,
        at_a_mm: random.between(-0.02, 0.02),
        pivot_mm: random.between(from, to) * usual.span_mm,
        ..usual
    }
}

/// Runs the practice.
///
/// # Errors
/// Without a terminal; when bench, daemon or record cannot be used; and when a signal ended it.
pub fn run(options: &DemoOptions) -> Result<Exit, Failure> {
    if options.json {
        return Err(
            Failure::usage("--json: a practice is shown in the live view")
                .hint("the whole demo as one document: conewright --json demo"),
        );
    }
    if !watch::possible() {
        return Err(Failure::new(
            "no_terminal",
            "a practice needs a terminal for screen and keys",
        )
        .hint("without one: conewright demo --fast"));
    }
    let seed = options.seed.unwrap_or(super::SEED);
    let (cable, place) = bench(Bench::new(seed, set_up(seed)), &Pace::PRACTICE)?;
    let papers = Papers::named(options.to.as_deref(), &place)?;
    let mut narrator = Narrator::lines();
    let practice = Practice {
        client: Client::new(&place.paths),
        cable: &cable,
        papers: &papers,
        seed,
    };
    match block_on(practice.with_its_daemon(&place, &mut narrator)) {
        Ok(()) => {
            narrator.at_the_end(&place);
            Ok(Exit::Done)
        }
        Err(failure) => {
            narrator.at_a_failure(&place);
            Err(failure)
        }
    }
}

struct Practice<'a> {
    client: Client,
    cable: &'a VirtualCable,
    papers: &'a Papers,
    seed: u64,
}

impl Practice<'_> {
    /// Practises with a daemon beside it, and ends the daemon whatever came of it.
    async fn with_its_daemon(self, place: &Place, narrator: &mut Narrator) -> Result<(), Failure> {
        // Listened for from here on, so that none of them leaves the daemon behind.
        let interrupted = interrupted()?;
        let mut companion = Companion::start(place)?;
        let practised = async {
            companion.ready(&self.client).await?;
            self.practise(narrator).await
        };
        let practised = tokio::select! {
            practised = practised => practised,
            by = interrupted => Err(left(by)),
        };
        let ended = companion.end().await;
        practised?;
        ended
    }

    async fn practise(&self, narrator: &mut Narrator) -> Result<(), Failure> {
        self.client.open_session(&place::seat("practice")).await?;
        let note = format!("practice on the virtual bench, seed {}", self.seed);
        self.client.note(&note).await?;
        self.client
            .open_step(&StepOptions::usual(StepKind::Zero))
            .await?;
        let hand = self.hand().await?;
        let (acts, todo) = mpsc::unbounded_channel();
        let (tell, standing) = channel::channel(hand.standing());
        let hands = Hands::Practice(Practising { acts, standing });
        let view = watch::show(
            self.client.clone(),
            Screen::default(),
            Style::default(),
            hands,
        );
        let done = async move {
            let mut hand = hand;
            hand.work(todo, tell).await?;
            Ok::<Hand<'_>, Failure>(hand)
        };
        // The view ends first, and with it what the hand waits for.
        let (ended, hand) = tokio::join!(view, done);
        match ended? {
            Ended::Quit => self.told(&hand?, narrator).await,
            Ended::Signal(name) => Err(left(name)),
            Ended::Finished => hand.and(Err(off("the bench has ended by itself"))),
        }
    }

    /// The hand at the first station.
    async fn hand(&self) -> Result<Hand<'_>, Failure> {
        let status = self.client.status().await?;
        let setup = status
            .setup
            .ok_or_else(|| off("the session has no set-up"))?;
        let mut stations: Vec<_> = setup
            .stations
            .iter()
            .map(|station| (station.name.clone(), station.position.mm()))
            .collect();
        stations.sort_by(|a, b| a.1.total_cmp(&b.1));
        Ok(Hand {
            cable: self.cable,
            stations,
            at: 0,
            tight: false,
            light: 0,
            firm: 0,
            clampings: 0,
        })
    }

    /// Closes the session, writes its record, and tells how it went.
    async fn told(&self, hand: &Hand<'_>, narrator: &mut Narrator) -> Result<(), Failure> {
        let status = self.client.status().await?;
        self.client.close_step().await?;
        let closed = self.client.close_session().await?;
        for (label, line) in account(
            hand,
            &status,
            self.cable.truth().map_err(|e| lost(&e))?.slope,
        ) {
            narrator.event(label, &line)?;
        }
        if !status.marks.is_empty() {
            let record = self.client.record(&closed.session.to_string()).await?;
            let agrees = self.papers.write(&record)?;
            for file in self.papers.files() {
                narrator.event("record", &file.display().to_string())?;
            }
            narrator.event("record", &agrees)?;
        }
        let again = format!(
            "conewright demo --practice --seed {} is this bench; another number is another one",
            self.seed
        );
        narrator.event("again", &again)?;
        narrator.event(
            "caution",
            "nothing here could hurt you; a machine can: conewright cautions",
        )
    }
}

/// How it went, as lines with their labels.
fn account(hand: &Hand<'_>, status: &Status, slope: f64) -> Vec<(&'static str, String)> {
    let zero = match &status.outcome {
        Some(Outcome::Zero(zero)) if !zero.rounds.is_empty() => Some(zero),
        _ => None,
    };
    let rounds = zero.map_or(0, |zero| zero.rounds.len());
    let mut lines = vec![(
        "taken",
        format!(
            "{}, {} and {}; the clamp was tightened {}",
            Counted(rounds, "round"),
            Counted(hand.firm as usize, "firm tap"),
            Counted(hand.light as usize, "light tap"),
            Counted(hand.clampings as usize, "time"),
        ),
    )];
    match zero {
        Some(zero) => {
            lines.push(("reached", lines::round(zero, status)));
            lines.push(("verdict", verdict(zero, hand.tight)));
        }
        None => lines.push((
            "reached",
            "no round was complete: mark A, B and A again".to_owned(),
        )),
    }
    lines.extend(asked(status).map(|asked| ("asked", asked)));
    let truth = Angle::from_rad(slope.atan()).arcsec();
    lines.push((
        "truth",
        format!("the bench stands at {truth:+.1} arcsec, which no indicator shows"),
    ));
    lines
}

fn verdict(zero: &ZeroOutcome, tight: bool) -> String {
    let measured_tight = zero.rounds.last().is_some_and(|round| round.clamped);
    match (zero.verdict, tight, measured_tight) {
        (Some(Verdict::In), true, true) => "done: in tolerance with the clamp tight",
        (Some(Verdict::In), true, false) => {
            "not done: no round was marked after the clamp was tightened"
        }
        (Some(Verdict::In), false, _) => {
            "nearly done: in tolerance, but the clamp is loose, and tightening it turns the set-up"
        }
        _ => "not done: the last round is not in tolerance",
    }
    .to_owned()
}

/// What the part allows, as it was stated.
fn asked(status: &Status) -> Option<String> {
    let Some(Outcome::Zero(zero)) = &status.outcome else {
        return None;
    };
    let [low, high] = zero.limits_arcsec?;
    let tolerance = status.setup.as_ref()?.tolerance?;
    Some(format!(
        "half angle {low:+.1} to {high:+.1} arcsec ({tolerance})"
    ))
}

fn left(by: &str) -> Failure {
    Failure::new("ended_early", format!("the practice was ended by {by}"))
        .hint("the key q ends it and tells how it went")
}

/// The user's hand at the bench.
struct Hand<'a> {
    cable: &'a VirtualCable,
    /// By their places, mm from A.
    stations: Vec<(String, f64)>,
    at: usize,
    tight: bool,
    light: u32,
    firm: u32,
    clampings: u32,
}

impl Hand<'_> {
    /// Does what the keys say until there are no more of them. Where the bench is gone, nothing is told any more, which
    /// ends the view.
    async fn work(
        &mut self,
        mut todo: UnboundedReceiver<Act>,
        tell: channel::Sender<Standing>,
    ) -> Result<(), Failure> {
        while let Some(act) = todo.recv().await {
            self.act(act)?;
            // The view may have ended meanwhile.
            let _ = tell.send(self.standing());
        }
        Ok(())
    }

    fn act(&mut self, act: Act) -> Result<(), Failure> {
        let pace = Pace::PRACTICE;
        match act {
            Act::Tap { toward, firm } => {
                *(if firm {
                    &mut self.firm
                } else {
                    &mut self.light
                }) += 1;
                self.on_the_bench(move |bench| bench.knock(Knock { toward, firm }, pace.tap))?;
            }
            Act::Go { forth } => {
                let last = self.stations.len().saturating_sub(1);
                let to = match forth {
                    true => (self.at + 1).min(last),
                    false => self.at.saturating_sub(1),
                };
                if to != self.at {
                    self.at = to;
                    let x_mm = self.stations[to].1;
                    self.on_the_bench(move |bench| bench.move_over(x_mm, pace.travel))?;
                }
            }
            Act::Clamp(tight) => {
                if tight && !self.tight {
                    self.clampings += 1;
                }
                self.tight = tight;
                self.on_the_bench(if tight { Bench::clamp } else { Bench::loosen })?;
            }
        }
        Ok(())
    }

    fn on_the_bench<R: Send + 'static>(
        &self,
        act: impl FnOnce(&mut Bench) -> R + Send + 'static,
    ) -> Result<R, Failure> {
        self.cable.bench(act).map_err(|e| lost(&e))
    }

    fn standing(&self) -> Standing {
        let at = self.stations.get(self.at);
        Standing {
            at: at.map(|(name, _)| name.clone()).unwrap_or_default(),
            tight: self.tight,
            light: self.light,
            firm: self.firm,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_means_a_bench_and_every_bench_can_be_set() {
        assert_eq!(set_up(7), set_up(7));
        assert_ne!(set_up(7).slope, set_up(8).slope);
        for seed in 0..200 {
            let set_up = set_up(seed);
            let out_mm = (set_up.slope * set_up.span_mm).abs();
            assert!((OUT_MM[0]..OUT_MM[1]).contains(&out_mm), "{seed}: {out_mm}");
            // A firm tap at A is to be seen on a display of a micrometre.
            let mut bench = Bench::new(seed, set_up);
            let knock = Knock {
                toward: true,
                firm: true,
            };
            assert!(bench.knock(knock, 1) > 0.005, "{seed}");
        }
    }
}
