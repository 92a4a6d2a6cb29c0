//! What is around the zero in a whole job: the indicator's check, the part as found, the grind in passes, the part as left.

use super::lines;
use super::lines::Sized;
use super::script::{Script, off};
use crate::Failure;
use crate::client::ClientError;
use daemon::bench::Under;
use metrology::grind::{NextPass, PassDone, PassRule, next_pass};
use metrology::size::{Finish, SizeOutcome};
use metrology::uncertainty::Verdict;
use protocol::api::{Code, MarkRequest};
use protocol::fold::Outcome;
use protocol::step::{
    CommonOptions, ContactAnalysis, ContactOptions, DialOptions, PartState, RunoutAnalysis,
    RunoutOptions, SizeAnalysis, SizeOptions, StepOptions, SweepAnalysis, SweepOptions,
};

/// Times that a mark is tried again when the readings had not settled.
const MOST_TRIES: u32 = 5;
/// More passes than this mean that the grind leads nowhere.
const MOST_PASSES: u32 = 16;
/// Steps of the dial's check: between whole millimetres, where this indicator errs.
const NOMINALS_MM: [f64; 3] = [0.0, 0.5, 1.5];
/// Positions of a run-out.
const PER_TURN: u32 = 6;
/// Places of a sweep along the cone, mm from its big end.
const ALONG_MM: [f64; 4] = [0.0, 8.0, 16.0, 24.0];
/// Planes of a size.
const PLANES_MM: [f64; 2] = [0.0, 24.0];
/// A roughing pass, and what is kept for finishing, µm of infeed.
const PASS_UM: [f64; 2] = [10.0, 4.0];
/// The size is right when at most this is left on diameter, µm.
const WITHIN_UM: f64 = 2.0;
/// Where the print of the gauge bears: big end, middle, small end.
const PRINT: &str = "92,88,90";

fn text(text: &str) -> Option<String> {
    Some(text.to_owned())
}

/// The options that every kind has, of a part in this state.
fn part(state: &str) -> CommonOptions {
    CommonOptions {
        state: PartState {
            condition: text(state),
        },
        cable: None,
    }
}

impl Script<'_> {
    /// Checks the indicator on gauge blocks, going up and down.
    pub async fn check_the_indicator(&mut self) -> Result<(), Failure> {
        self.say("the indicator is checked on gauge blocks", None)
            .await;
        self.client
            .open_step(&StepOptions::Dial(DialOptions {
                nominals: NOMINALS_MM.map(|mm| mm.to_string()).to_vec(),
                ..DialOptions::default()
            }))
            .await?;
        let down = NOMINALS_MM.iter().rev().skip(1);
        for (count, height) in NOMINALS_MM.iter().chain(down).enumerate() {
            // On the way up the places come by themselves.
            let station = (count >= NOMINALS_MM.len()).then(|| height.to_string());
            self.take_at(Under::Blocks(*height), station).await?;
        }
        let Outcome::Dial(dial) = self.closed().await? else {
            return Err(off("a dial step has another outcome"));
        };
        let found = format!("errors span {:.1} µm", dial.error_span_um);
        self.narrator.event("indicator", &found)
    }

    /// Reads the run-out in a round of the clock.
    pub async fn run_out(&mut self, state: &str) -> Result<Option<Verdict>, Failure> {
        self.say(format!("the run-out of the seat, as {state}"), None)
            .await;
        self.client
            .open_step(&StepOptions::Runout(RunoutOptions {
                common: part(state),
                per_turn: Some(PER_TURN.to_string()),
                analysis: RunoutAnalysis {
                    limit: text("5um"),
                    ..RunoutAnalysis::default()
                },
                ..RunoutOptions::default()
            }))
            .await?;
        for position in 0..PER_TURN {
            let angle = f64::from(position) * 360.0 / f64::from(PER_TURN);
            self.take_at(Under::Spindle(angle), None).await?;
        }
        let Outcome::Runout(found) = self.closed().await? else {
            return Err(off("a run-out step has another outcome"));
        };
        let decided = found
            .section
            .verdict
            .map_or_else(String::new, lines::decided);
        let line = format!("as {state} {:.1} µm, {decided}", found.section.tir_um);
        self.narrator.event("run-out", &line)?;
        self.say(format!("run-out {line}"), None).await;
        Ok(found.section.verdict)
    }

    /// Sweeps the cone as found, laid on the same stack.
    pub async fn sweep(&mut self) -> Result<(), Failure> {
        self.say(
            "the cone as found lies on the same stack and is swept",
            None,
        )
        .await;
        self.client
            .open_step(&StepOptions::Sweep(SweepOptions {
                common: part("found"),
                analysis: SweepAnalysis {
                    subject: text("part"),
                    ..SweepAnalysis::default()
                },
                ..SweepOptions::default()
            }))
            .await?;
        for place in ALONG_MM {
            self.on_the_bench(move |bench| bench.move_to(place))?;
            self.take_at(Under::Cone, Some(place.to_string())).await?;
        }
        let Outcome::Sweep(found) = self.closed().await? else {
            return Err(off("a sweep has another outcome"));
        };
        let error = found
            .half_angle_error_arcsec
            .ok_or_else(|| off("the sweep tells no half angle"))?;
        let sure = found
            .half_angle_expanded_arcsec
            .map_or_else(String::new, |expanded| format!(" ± {expanded:.1}"));
        let line = format!("half angle as found {error:+.1}{sure} arcsec");
        self.narrator.event("sweep", &line)?;
        self.say(line, None).await;
        self.on_the_bench(|bench| {
            bench.move_to(0.0);
            bench.stand_on(Under::Edge);
        })?;
        Ok(())
    }

    /// Measures the size as found.
    pub async fn size_found(&mut self) -> Result<(), Failure> {
        self.open_size("found").await?;
        let size = self.diameters().await?;
        self.client.close_step().await?;
        let left = left(&size)?;
        let line = format!("{left:+.1} µm left on diameter as found");
        self.narrator.event("size", &line)?;
        self.say(line, None).await;
        Ok(())
    }

    /// Grinds in passes: each is told from what is left and from what those before it took.
    pub async fn grind(&mut self) -> Result<Sized, Failure> {
        self.open_size("left").await?;
        let mut size = self.diameters().await?;
        let mut done: Vec<PassDone> = Vec::new();
        for passes in 0..=MOST_PASSES {
            let before_um = left(&size)?;
            let rule = PassRule {
                depth_um: PASS_UM[0],
                allowance_um: PASS_UM[1],
                within_um: WITHIN_UM,
                expanded_um: size
                    .stock_expanded_um
                    .ok_or_else(|| off("the size has no interval"))?,
            };
            let (infeed_um, expects_um) = match next_pass(before_um, &rule, &done) {
                NextPass::AtSize => {
                    self.client.close_step().await?;
                    let left_um = before_um;
                    self.say(format!("at size: {left_um:+.1} µm left"), None)
                        .await;
                    return Ok(Sized { left_um, passes });
                }
                NextPass::TooFar => {
                    return Err(off(format!("the part is under size: {before_um} µm")));
                }
                NextPass::Rough {
                    infeed_um,
                    expects_um,
                }
                | NextPass::Finish {
                    infeed_um,
                    expects_um,
                } => (infeed_um, expects_um),
            };
            self.say_shortly(format!(
                "pass {}: infeed {infeed_um:.1} µm, {expects_um:+.1} µm should be left",
                passes + 1
            ))
            .await;
            self.on_the_bench(move |bench| bench.grind(infeed_um))?;
            self.client.ground(false).await?;
            size = self.diameters().await?;
            let after_um = left(&size)?;
            let line = format!(
                "infeed {infeed_um:.1} µm; expected {expects_um:+.1}, measured {after_um:+.1} µm left on diameter"
            );
            self.client
                .note(&format!("pass {}: {line}", passes + 1))
                .await?;
            self.narrator
                .event(&format!("pass {}", passes + 1), &line)?;
            self.say_shortly(line).await;
            done.push(PassDone {
                infeed_um,
                before_um,
                after_um,
            });
        }
        Err(off(format!("{MOST_PASSES} passes do not bring it to size")))
    }

    /// Wipes it, and takes a print.
    pub async fn contact(&mut self) -> Result<(), Failure> {
        self.client
            .open_step(&StepOptions::Contact(ContactOptions {
                state: part("left").state,
                analysis: ContactAnalysis {
                    film: text("2um,5um"),
                    ..ContactAnalysis::default()
                },
            }))
            .await?;
        let request = MarkRequest {
            station: text(PRINT),
            ..MarkRequest::default()
        };
        self.client.mark(&request).await?;
        let Outcome::Contact(_) = self.closed().await? else {
            return Err(off("a contact step has another outcome"));
        };
        let line = format!("the gauge bears {PRINT} % at big end, middle, small end");
        self.narrator.event("contact", &line)?;
        self.say_shortly(line).await;
        Ok(())
    }

    async fn open_size(&mut self, state: &str) -> Result<(), Failure> {
        self.client
            .open_step(&StepOptions::Size(SizeOptions {
                common: CommonOptions {
                    cable: text("typed"),
                    ..part(state)
                },
                planes: PLANES_MM.map(|mm| mm.to_string()).to_vec(),
                analysis: SizeAnalysis {
                    diameter_u: text("0.3um"),
                    temperature: text("22"),
                    pass_depth: Some(format!("{}um", PASS_UM[0])),
                    allowance: Some(format!("{}um", PASS_UM[1])),
                    ..SizeAnalysis::default()
                },
                ..SizeOptions::default()
            }))
            .await?;
        Ok(())
    }

    /// Measures both planes with a micrometer and types what it shows.
    async fn diameters(&mut self) -> Result<SizeOutcome, Failure> {
        for plane in PLANES_MM {
            let shown = self.on_the_bench(move |bench| bench.measure_diameter_mm(plane))?;
            let request = MarkRequest {
                station: Some(plane.to_string()),
                value: Some(format!("{shown:.4}")),
                ..MarkRequest::default()
            };
            self.client.mark(&request).await?;
        }
        let status = self.client.status().await?;
        match status.outcome {
            Some(Outcome::Size(size)) if size.finish != Some(Finish::Undersize) => Ok(size),
            Some(Outcome::Size(_)) => Err(off("the part is under size")),
            _ => {
                let why = status.no_outcome.as_deref();
                Err(off(why.unwrap_or("a size has no outcome")))
            }
        }
    }

    /// Puts the indicator there, lets it come to rest, and marks.
    async fn take_at(&mut self, under: Under, station: Option<String>) -> Result<(), Failure> {
        self.on_the_bench(move |bench| bench.stand_on(under))?;
        let request = MarkRequest {
            station,
            ..MarkRequest::default()
        };
        for _ in 0..MOST_TRIES {
            self.ears.readings(self.pace.dwell()).await?;
            match self.client.mark(&request).await {
                Ok(marked) => {
                    self.say_shortly(format!("{} is marked", marked.place))
                        .await;
                    return Ok(());
                }
                Err(ClientError::Refused(refusal)) if refusal.code == Code::NotSettled => {}
                Err(error) => return Err(error.into()),
            }
        }
        Err(off("the readings do not settle"))
    }

    /// Closes the step, and gives what it came to.
    async fn closed(&mut self) -> Result<Outcome, Failure> {
        let closed = self.client.close_step().await?;
        closed
            .outcome
            .ok_or_else(|| off("a step was closed without an outcome"))
    }
}

fn left(size: &SizeOutcome) -> Result<f64, Failure> {
    size.stock_on_diameter_um
        .ok_or_else(|| off("the size tells nothing of what is left"))
}
