//! `session`: open, list, show, close.

use crate::args::SessionVerb;
use crate::client::Client;
use crate::layout::{Pairs, Table, angle, arcsec};
use crate::{Answer, Failure, outcome_text};
use jiff::Timestamp;
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::{Length, Unit};
use protocol::api::{OpenSession, SessionLine};
use protocol::evidence::Time;
use protocol::record::Record;

pub(super) async fn run(client: Client, verb: SessionVerb) -> Result<Answer, Failure> {
    match verb {
        SessionVerb::Open { name, setup } => {
            let options = (*setup).into();
            let opened = client.open_session(&OpenSession { name, options }).await?;
            let text = format!(
                "session {}: {}\n{}",
                opened.session,
                opened.name,
                plan(&opened.setup)
            );
            Answer::new(text, &opened)
        }
        SessionVerb::List => {
            let list = client.sessions().await?;
            let text = if list.sessions.is_empty() {
                "no session yet\n".to_owned()
            } else {
                lines(&list.sessions)
            };
            Answer::new(text, &list)
        }
        SessionVerb::Show { session } => {
            let record = record(&client, session.as_deref()).await?;
            Answer::new(summary(&record), &record)
        }
        SessionVerb::Close => {
            let closed = client.close_session().await?;
            let text = format!(
                "session {0} closed: {1}\nits record: conewright export {0} --to FILE.html",
                closed.session, closed.name
            );
            Answer::new(text, &closed)
        }
    }
}

/// The record of the session that was named; of the current one, or else the latest, when none was.
pub(super) async fn record(client: &Client, session: Option<&str>) -> Result<Record, Failure> {
    let session = match session {
        Some(named) => {
            let known = matches!(named, "current" | "latest") || named.parse::<u64>().is_ok();
            if !known {
                return Err(Failure::bad_value(format!(
                    "`{named}` is no session: a session is named by its number, `current` or `latest`"
                ))
                .hint("conewright session list shows them"));
            }
            named
        }
        None if client.status().await?.session.is_some() => "current",
        None => "latest",
    };
    Ok(client.record(session).await?)
}

/// What is to be set, and what the stack really sets.
fn plan(setup: &Setup) -> String {
    let mut pairs = Pairs::default();
    if let Some(taper) = &setup.taper {
        pairs.add("taper", &taper.name);
        pairs.add("half angle", angle(taper.half_angle));
    }
    pairs.add_some("length", setup.length.map(|l| l.to_string()));
    pairs.add_some("tolerance", setup.tolerance.map(|t| t.to_string()));
    if let Some(stack) = &setup.stack {
        let of = setup
            .kit
            .as_ref()
            .map_or(String::new(), |k| format!(" of {}", k.name));
        pairs.add("stack", format!("{}{of}", sum(&stack.blocks)));
        let mut sets = format!("{} mm", stack.sum.decimal(Unit::Mm));
        if let Some(deg) = stack.angle_set_deg {
            sets.push_str(&format!(", half angle {deg:.7}°"));
        }
        if let Some(error) = stack.angle_error_arcsec {
            sets.push_str(&format!(", {} from the wanted one", arcsec(error)));
        }
        pairs.add("sets", sets);
    }
    let stations: Vec<String> = setup
        .stations
        .iter()
        .map(|s| format!("{} at {}", s.name, s.position))
        .collect();
    pairs.add_some(
        "stations",
        (!stations.is_empty()).then(|| stations.join(", ")),
    );
    pairs.add_some("fixture", setup.fixture.as_ref().map(|f| f.name.clone()));
    pairs.add(
        "indicator",
        setup
            .indicator
            .cable
            .as_ref()
            .map_or("readings are typed".to_owned(), |c| format!("cable {c}")),
    );
    pairs.text()
}

/// Blocks as a sum: `20 + 1.005`.
pub(super) fn sum(blocks: &[Length]) -> String {
    let blocks: Vec<String> = blocks.iter().map(|b| b.decimal(Unit::Mm)).collect();
    blocks.join(" + ")
}

/// A moment in the user's own time.
fn local(utc: Time) -> String {
    match Timestamp::from_nanosecond(i128::from(utc.0)) {
        Ok(at) => at
            .to_zoned_datetime(jiff::tz::TimeZone::system())
            .strftime("%Y-%m-%d %H:%M")
            .to_string(),
        Err(_) => String::new(),
    }
}

fn lines(sessions: &[SessionLine]) -> String {
    let mut table = Table::new(&[
        "session", "part", "taper", "fixture", "steps", "opened", "closed", "verdict",
    ]);
    for s in sessions {
        table.row([
            s.session.to_string(),
            s.name.clone(),
            s.taper.clone().unwrap_or_default(),
            s.fixture.clone().unwrap_or_default(),
            s.steps.to_string(),
            local(s.opened_utc_ns),
            s.closed_utc_ns.map_or("open".to_owned(), local),
            s.verdict.map_or(String::new(), |v| word(v).to_owned()),
        ]);
    }
    table.text()
}

const fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::In => "in",
        Verdict::Out => "out",
        Verdict::Undecided => "undecided",
    }
}

fn summary(record: &Record) -> String {
    let session = &record.session;
    let state = session
        .closed_utc_ns
        .map_or("open".to_owned(), |t| format!("closed {}", local(t)));
    let mut text = format!(
        "session {}: {} (opened {}, {state})\n{}",
        session.id,
        session.name,
        local(session.opened_utc_ns),
        plan(&record.setup)
    );
    for step in &record.steps {
        let marks = step.evidence.marks.iter().filter(|m| !m.taken_back).count();
        let state = if step.closed.is_some() { "" } else { ", open" };
        text.push_str(&format!(
            "step {}: {}, {marks} marks{state}\n",
            step.number,
            step.plan.kind().name()
        ));
        if let Some(outcome) = &step.outcome {
            text.push_str(&outcome_text::outcome(outcome, &record.setup));
        }
    }
    for event in &record.events {
        text.push_str(&format!("{}  {}\n", local(event.utc_ns), event.text));
    }
    text
}
