//! A whole job on a virtual bench: indicator, part as found, zero, grind, part as left, record.
//!
//! Nothing inside is put on: the daemon is this same program as a process of its own, with a configuration,
//! a data directory and a socket of its own; the readings come through a pty as from a real instrument; and
//! everything is asked for through the client that every verb uses. Only the part, the table and the hand are
//! simulated, and the hand knows nothing but the advice.

mod companion;
mod ears;
mod job;
mod lines;
mod narrator;
mod pace;
mod papers;
mod place;
mod practice;
mod script;

use crate::client::{Client, block_on};
use crate::watch::{self, Ended, Hands};
use crate::{DemoOptions, Exit, Failure};
use companion::Companion;
use config::model::Screen;
use daemon::bench::{Bench, ClampShift, SetUp, VirtualCable};
use ears::Ears;
use narrator::Narrator;
use pace::Pace;
use papers::Papers;
use place::Place;
use protocol::frame::Frame;
use protocol::style::Style;
use script::{Played, Script};
use serde_json::json;
use std::io;
use tokio::signal::unix::{SignalKind, signal};

/// The seed unless one is given: any is as good.
const SEED: u64 = 12;

/// The bench: a spindle's 1:12 seat on a sine bar, 0.3 mm out over the 80 mm between the stations; tightening
/// the clamp turns it by 8 µm over them, give or take a tenth of a micrometre.
fn set_up() -> SetUp {
    SetUp {
        clamp: ClampShift {
            slope: 1.0e-4,
            slope_sd: 1.2e-6,
        },
        ..SetUp::default()
    }
}

/// Runs the demo.
///
/// # Errors
/// When bench, daemon or record cannot be used, when it was ended before its end, and when anything came out
/// otherwise than it should.
pub fn run(options: &DemoOptions) -> Result<Exit, Failure> {
    if options.practice {
        return practice::run(options);
    }
    let paced = !options.fast && !options.json && watch::possible();
    let pace = if paced { Pace::WATCHED } else { Pace::FAST };
    let seed = options.seed.unwrap_or(SEED);
    let (cable, place) = bench(Bench::new(seed, set_up()), &pace)?;
    let narrator = match (options.json, paced) {
        (true, _) => Narrator::silent(),
        (false, true) => Narrator::captions(),
        (false, false) => Narrator::lines(),
    };
    let papers = Papers::named(options.to.as_deref(), &place)?;
    let (played, narrator) = block_on(perform(&cable, &place, pace, narrator, &papers, seed))?;
    narrator.at_the_end(&place);
    if options.json {
        let content = json!({
            "directory": place.directory,
            "seed": seed,
            "session": played.session,
            "rounds": played.rounds,
            "verdict": played.verdict,
            "half_angle_error_arcsec": played.half_angle_error_arcsec,
            "half_angle_expanded_arcsec": played.half_angle_expanded_arcsec,
            "passes": played.sized.passes,
            "left_on_diameter_um": played.sized.left_um,
            "agrees": true,
            "files": papers.files(),
        });
        return crate::Answer::new(String::new(), &content)?.print(true);
    }
    Ok(Exit::Done)
}

/// An instrument on this bench, and a place of its own for the daemon that reads it.
fn bench(bench: Bench, pace: &Pace) -> Result<(VirtualCable, Place), Failure> {
    let frame = Frame::shipped("text")
        .ok_or_else(|| Failure::new("internal", "the frame `text` is not shipped"))?;
    let cable = VirtualCable::start(bench, frame, pace.rate_hz).map_err(|e| no_bench(&e))?;
    let place = Place::make(&cable.path().map_err(|e| no_bench(&e))?, pace)?;
    Ok((cable, place))
}

fn no_bench(error: &io::Error) -> Failure {
    Failure::new(
        "no_bench",
        format!("the virtual bench cannot be set up: {error}"),
    )
    .hint("it needs a pseudo-terminal: see whether /dev/ptmx is there and may be opened")
}

/// Plays the script with the daemon beside it, and ends the daemon whatever came of it.
async fn perform(
    cable: &VirtualCable,
    place: &Place,
    pace: Pace,
    mut narrator: Narrator,
    papers: &Papers,
    seed: u64,
) -> Result<(Played, Narrator), Failure> {
    // Listened for from here on, so that none of them leaves the daemon behind.
    let interrupted = interrupted()?;
    let client = Client::new(&place.paths);
    let mut companion = Companion::start(place)?;
    let steering = narrator.steering();
    let acted = async {
        companion.ready(&client).await?;
        let ears = Ears::open(&client).await?;
        let mut script = Script {
            client: client.clone(),
            cable,
            ears,
            pace,
            narrator: &mut narrator,
            papers,
            seed,
        };
        script.play().await
    };
    let shown = async {
        match steering.clone() {
            Some(steering) => {
                match watch::show(
                    client.clone(),
                    Screen::default(),
                    Style::default(),
                    Hands::Steered(steering),
                )
                .await?
                {
                    Ended::Quit => Err(left("key q")),
                    Ended::Signal(name) => Err(left(name)),
                    Ended::Finished => Err(left("its own script")),
                }
            }
            None => Err(left(interrupted.await)),
        }
    };
    // The screen is given back when its half of the race is dropped, before anything is printed.
    let played = tokio::select! {
        played = acted => played,
        failure = shown => failure,
    };
    let ended = companion.end().await;
    let played = match played {
        Ok(played) => played,
        Err(failure) => {
            narrator.at_a_failure(place);
            return Err(failure);
        }
    };
    ended?;
    Ok((played, narrator))
}

fn left(by: &str) -> Failure {
    Failure::new(
        "ended_early",
        format!("the demo was ended by {by} before its end"),
    )
    .hint("all of it: conewright demo; at once: conewright demo --fast")
}

/// Waits for a signal that ends the demo.
fn interrupted() -> Result<impl Future<Output = &'static str>, Failure> {
    let listen = |kind| {
        signal(kind)
            .map_err(|e| Failure::new("internal", format!("signals cannot be listened for: {e}")))
    };
    let mut interrupt = listen(SignalKind::interrupt())?;
    let mut terminate = listen(SignalKind::terminate())?;
    let mut hang_up = listen(SignalKind::hangup())?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => "SIGINT",
            _ = terminate.recv() => "SIGTERM",
            _ = hang_up.recv() => "SIGHUP",
        }
    })
}
