//! The loop at the rim: events of the background process and keys in, requests and screens out.

use super::hand::{Answer, Request};
use super::look::Look;
use super::practice::{Act, Practising};
use super::sound::Ears;
use super::state::{Steering, Tone, Watch};
use super::terminal::{Keys, Screen};
use crate::Failure;
use crate::client::{Client, ClientError};
use config::model::Colour;
use protocol::api::{AcceptRequest, Code, Live, Refusal};
use protocol::step::StepOptions;
use protocol::style::Style;
use ratatui::crossterm::event::Event;
use rustix::time::{ClockId, clock_gettime};
use std::io::{self, Write};
use std::time::Duration;
use tokio::signal::unix::{Signal, SignalKind, signal};
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, MissedTickBehavior, interval, sleep, sleep_until, timeout};

/// How the live view ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The user left.
    Quit,
    /// By this signal.
    Signal(&'static str),
    /// Whoever steered it has come to the end.
    Finished,
}

/// Whose hands are at the bench.
#[derive(Debug)]
pub enum Hands {
    /// The user's, at a machine.
    Users,
    /// Another's, who tells what they do: keys only leave and show the help. Its end is the view's.
    Steered(watch::Receiver<Steering>),
    /// The user's, by keys at a virtual bench.
    Practice(Practising),
}

/// Two screens are at least this far apart: faster than the eye follows, and no load at a hundred readings a
/// second.
const FRAME: Duration = Duration::from_millis(33);
/// Ages are counted on at this pace when nothing else happens.
const TICK: Duration = Duration::from_millis(250);
/// Waits before the next attempt to connect: from the first to the longest.
const RETRY: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(2));
/// Whoever leaves while a mark is being made waits this long for its answer.
const LAST_ANSWER: Duration = Duration::from_secs(3);

/// Seconds of a steady clock that counts sleep, so that an age is true after the lid was opened.
fn now_s() -> f64 {
    let now = clock_gettime(ClockId::Boottime);
    now.tv_sec as f64 + now.tv_nsec as f64 * 1e-9
}

enum Linked {
    Live(Live),
    Lost(String),
}

/// Shows the live view until the user leaves, a signal comes, or whoever steers it has come to the end; `words` has its language
/// and decimal sign.
///
/// # Errors
/// When the terminal cannot be used.
pub async fn show(
    client: Client,
    how: config::model::Screen,
    words: Style,
    hands: Hands,
) -> Result<Ended, Failure> {
    let mut signals = Signals::listen().map_err(|e| terminal_failure(&e))?;
    let mut screen = Screen::take().map_err(|e| terminal_failure(&e))?;
    let mut keys = Keys::read().map_err(|e| terminal_failure(&e))?;
    let mut view = Watch::new(Look { words, ..look(how) });
    view.sound = how.sound && !matches!(hands, Hands::Steered(_));
    let ended = turn(
        &client,
        hands,
        &mut view,
        &mut screen,
        &mut keys,
        &mut signals,
    )
    .await;
    drop(keys);
    drop(screen);
    // What was refused in the last moment has not been seen by anyone.
    if let Some(message) = view.message.filter(|m| m.tone == Tone::Refused) {
        // Not printed, since that panics where the terminal is gone.
        let _ = writeln!(io::stderr(), "not done: {}", message.text);
    }
    ended.map_err(|e| terminal_failure(&e))
}

fn look(how: config::model::Screen) -> Look {
    let text = |name| std::env::var_os(name).map(|v| v.to_string_lossy().into_owned());
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(text)
        .find(|value| !value.is_empty());
    let mut look = Look::of(
        text("NO_COLOR").as_deref(),
        locale.as_deref(),
        text("TERM").as_deref(),
    );
    look.unit = how.unit;
    match how.colour {
        Colour::Auto => {}
        Colour::Always => look.colour = true,
        Colour::Never => look.colour = false,
    }
    look
}

fn terminal_failure(error: &io::Error) -> Failure {
    Failure::new(
        "no_terminal",
        format!("the terminal cannot be used: {error}"),
    )
    .hint("in a terminal: conewright watch; without one: conewright status")
}

async fn turn(
    client: &Client,
    mut hands: Hands,
    view: &mut Watch,
    screen: &mut Screen,
    keys: &mut Keys,
    signals: &mut Signals,
) -> io::Result<Ended> {
    let (link, mut linked) = mpsc::channel(256);
    let follower = tokio::spawn(follow(client.clone(), link));
    let _follower = AbortOnDrop(follower.abort_handle());
    let (answer, mut answers) = mpsc::channel(1);
    let mut tick = interval(TICK);
    tick.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let mut drawn = Instant::now() - FRAME;
    let mut changed = true;
    let mut ears = Ears::default();
    hands.look(view);
    loop {
        tokio::select! {
            biased;
            name = signals.next() => return Ok(Ended::Signal(name)),
            event = keys.next() => match event {
                None => return Err(io::ErrorKind::UnexpectedEof.into()),
                Some(event) => match event? {
                    Event::Key(key) => match view.on_key(key, now_s()) {
                        None => {}
                        Some(Request::OnTheBench(act)) => hands.act(act),
                        Some(Request::Quit) => {
                            // A mark that waits for rest is dropped by leaving.
                            if view.waiting
                                && !view.known.waits_for_rest()
                                && let Ok(Some(last)) = timeout(LAST_ANSWER, answers.recv()).await
                            {
                                view.on_answer(last);
                            }
                            return Ok(Ended::Quit);
                        }
                        Some(request) => {
                            let (client, answer) = (client.clone(), answer.clone());
                            tokio::spawn(async move {
                                // The view may have ended meanwhile.
                                let _ = answer.send(ask(&client, request).await).await;
                            });
                        }
                    },
                    Event::Paste(text) => view.on_paste(&text),
                    _ => {}
                },
            },
            Some(given) = answers.recv() => {
                if let Answer::Clamped(tight) = given {
                    hands.act(Act::Clamp(tight));
                }
                if view.on_answer(given) && !ears.refused() {
                    screen.bell()?;
                }
            }
            why = ears.ended() => view.sound_ended(&why),
            Some(first) = linked.recv() => {
                let mut next = Some(first);
                while let Some(event) = next {
                    match event {
                        Linked::Live(live) => view.on_live(live, now_s()),
                        Linked::Lost(why) => view.on_lost(&why, now_s()),
                    }
                    next = linked.try_recv().ok();
                }
            }
            goes_on = hands.changed() => {
                if !goes_on {
                    return Ok(Ended::Finished);
                }
                hands.look(view);
            }
            _ = tick.tick() => {}
            () = sleep_until(drawn + FRAME), if changed => {}
        }
        changed = drawn.elapsed() < FRAME;
        if !changed {
            screen.draw(view, now_s())?;
            drawn = Instant::now();
            ears.follow(view, now_s());
        }
    }
}

impl Hands {
    /// Waits until they have done something; false when they do no more. The user's own are not waited for.
    async fn changed(&mut self) -> bool {
        match self {
            Self::Users => std::future::pending().await,
            Self::Steered(captions) => captions.changed().await.is_ok(),
            Self::Practice(bench) => bench.standing.changed().await.is_ok(),
        }
    }

    /// What they have done, for the view.
    fn look(&mut self, view: &mut Watch) {
        match self {
            Self::Users => {}
            Self::Steered(captions) => {
                view.steering = Some(captions.borrow_and_update().clone());
            }
            Self::Practice(bench) => {
                view.practice = Some(bench.standing.borrow_and_update().clone());
            }
        }
    }

    /// Does something on the virtual bench.
    fn act(&self, act: Act) {
        if let Self::Practice(bench) = self {
            // Its end is seen by its standing, which then changes no more.
            let _ = bench.acts.send(act);
        }
    }
}

struct AbortOnDrop(tokio::task::AbortHandle);

impl Drop for AbortOnDrop {
    fn drop(&mut self) {
        self.0.abort();
    }
}

/// Follows what is live, and connects again whenever the stream ends: a background process that is started
/// again is found again.
async fn follow(client: Client, to: mpsc::Sender<Linked>) {
    let mut pause = RETRY.0;
    loop {
        let why = match client.events().await {
            Err(error) => words(error),
            Ok(mut events) => loop {
                match events.next().await {
                    Ok(Some(live)) => {
                        pause = RETRY.0;
                        if to.send(Linked::Live(live)).await.is_err() {
                            return;
                        }
                    }
                    Ok(None) => break "the background process has ended".to_owned(),
                    Err(error) => break words(error),
                }
            },
        };
        if to.send(Linked::Lost(why)).await.is_err() {
            return;
        }
        sleep(pause).await;
        pause = (pause * 2).min(RETRY.1);
    }
}

fn words(error: ClientError) -> String {
    Failure::from(error).message
}

async fn ask(client: &Client, request: Request) -> Answer {
    let answered = match request {
        Request::Mark(mark) => client.mark(&mark).await.map(Answer::Marked),
        Request::Undo => client.undo().await.map(Answer::Undone),
        Request::LeavePress => client.leave_press().await.map(|_| Answer::PressLeft),
        Request::Clamp(tight) => client.clamp(tight).await.map(|_| Answer::Clamped(tight)),
        Request::Ground { not: false } => client.ground(false).await.map(Answer::Ground),
        Request::Ground { not: true } => client.ground(true).await.map(Answer::NotGround),
        Request::Accept(cable) => {
            let request = AcceptRequest { cable };
            client.accept(&request).await.map(Answer::Accepted)
        }
        Request::Note(text) => client.note(&text).await.map(|_| Answer::Noted),
        Request::NextStep { close, kind } => {
            let closed = if close {
                client.close_step().await.map(|_| ())
            } else {
                Ok(())
            };
            match closed {
                Ok(()) => client
                    .open_step(&StepOptions::usual(kind))
                    .await
                    .map(|step| Answer::Stepped(Box::new(step))),
                Err(error) => Err(error),
            }
        }
        // Leaving asks nothing of the daemon, nor does the bench.
        Request::Quit | Request::OnTheBench(_) => Ok(Answer::Noted),
    };
    answered.unwrap_or_else(|error| match error {
        ClientError::Refused(refusal) => Answer::Refused(refusal),
        other => {
            let failure = Failure::from(other);
            Answer::Refused(Refusal {
                code: Code::Internal,
                message: failure.message,
                hint: failure.hint,
            })
        }
    })
}

/// The signals that end the view, each after the terminal was given back.
struct Signals {
    terminate: Signal,
    hang_up: Signal,
    interrupt: Signal,
    quit: Signal,
}

impl Signals {
    fn listen() -> io::Result<Self> {
        Ok(Self {
            terminate: signal(SignalKind::terminate())?,
            hang_up: signal(SignalKind::hangup())?,
            interrupt: signal(SignalKind::interrupt())?,
            quit: signal(SignalKind::quit())?,
        })
    }

    async fn next(&mut self) -> &'static str {
        tokio::select! {
            _ = self.terminate.recv() => "SIGTERM",
            _ = self.hang_up.recv() => "SIGHUP",
            _ = self.interrupt.recv() => "SIGINT",
            _ = self.quit.recv() => "SIGQUIT",
        }
    }
}
