//! `session`: open, list, show, close.

use super::card;
use super::found;
use super::history::{self, History};
use super::planned::plan;
use super::which::record;
use super::written::Written;
use super::{job, opening};
use crate::args::{ListArgs, SessionVerb};
use crate::client::Client;
use crate::layout::{self, Table};
use crate::{Answer, Failure, outcome_text};
use config::Config;
use jiff::civil::{Date, DateTime, Time as TimeOfDay};
use jiff::tz::TimeZone;
use metrology::Counted;
use metrology::uncertainty::Verdict;
use protocol::api::{SessionFilter, SessionLine};
use protocol::record::Record;
use protocol::sheet::words::verdict_word;

pub(super) async fn run(
    client: Client,
    config: &Config,
    verb: SessionVerb,
    written: Written,
) -> Result<Answer, Failure> {
    match verb {
        SessionVerb::Open { name, start, setup } => {
            opening::open(&client, config, name, &start, *setup, written).await
        }
        SessionVerb::List(wanted) => {
            let list = client
                .sessions(&filter(&wanted, &TimeZone::system())?)
                .await?;
            let text = if list.sessions.is_empty() {
                nothing(&wanted)
            } else {
                lines(&list.sessions)
            };
            Answer::new(text, &list)
        }
        SessionVerb::Show { session, beside } => {
            let record = record(&client, session.as_deref()).await?;
            let style = written.style(Some(&record.setup));
            let history = history::beside(&client, &record, beside.as_deref(), style).await?;
            let columns = history.as_ref().map_or_else(String::new, History::text);
            let mut answer = Answer::new(summary(&record, written) + &columns, &record)?;
            if let Some(history) = history {
                answer.json["history"] = Answer::new("", &history)?.json;
            }
            Ok(answer)
        }
        SessionVerb::Card {
            session,
            to,
            written: args,
        } => {
            let record = record(&client, session.as_deref()).await?;
            card::write(&record, &to, written.document(&args, &record.setup))
        }
        SessionVerb::Job { session, to } => {
            job::write(&client, config, session.as_deref(), &to).await
        }
        SessionVerb::Found { session, regrind } => {
            let record = record(&client, session.as_deref()).await?;
            found::of_session(config, &record, &regrind, written)
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

/// What is wanted, as the daemon is asked for it; days are the user's own.
fn filter(wanted: &ListArgs, zone: &TimeZone) -> Result<SessionFilter, Failure> {
    let since = wanted.since.as_deref();
    let until = wanted.until.as_deref();
    let filter = SessionFilter {
        part: wanted.part.clone(),
        taper: wanted.taper.clone(),
        fixture: wanted.fixture.clone(),
        since: since
            .map(|text| moment("since", text, TimeOfDay::MIN, zone))
            .transpose()?,
        until: until
            .map(|text| moment("until", text, TimeOfDay::MAX, zone))
            .transpose()?,
        verdict: wanted.verdict.as_deref().map(decision).transpose()?,
    };
    if let (Some(from), Some(to)) = (filter.since, filter.until)
        && from > to
    {
        return Err(
            Failure::bad_value("--since lies after --until, so no day is left")
                .hint("exchange the two"),
        );
    }
    Ok(filter)
}

/// A day, or a moment of one, as ns of UTC. A day alone begins and ends at the given time of day.
fn moment(what: &str, text: &str, alone: TimeOfDay, zone: &TimeZone) -> Result<i64, Failure> {
    let text = text.trim();
    let wrong = || {
        Failure::bad_value(format!("{what}: `{text}` is not a date"))
            .hint("write it like `2026-03-31`, or `2026-03-31T14:00`")
    };
    // A date alone would be read as its midnight.
    let at = if text.contains(['T', 't', ' ', ':']) {
        text.parse::<DateTime>().map_err(|_| wrong())?
    } else {
        text.parse::<Date>()
            .map_err(|_| wrong())?
            .to_datetime(alone)
    };
    let utc = zone.to_timestamp(at).map_err(|_| wrong())?;
    i64::try_from(utc.as_nanosecond()).map_err(|_| wrong())
}

fn decision(text: &str) -> Result<Verdict, Failure> {
    [Verdict::In, Verdict::Out, Verdict::Undecided]
        .into_iter()
        .find(|verdict| verdict_word(*verdict).eq_ignore_ascii_case(text.trim()))
        .ok_or_else(|| {
            Failure::bad_value(format!("--verdict `{text}`: it is in, out or undecided"))
                .hint("write one of these words")
        })
}

/// What is said of an empty list.
fn nothing(wanted: &ListArgs) -> String {
    let ListArgs {
        part,
        taper,
        fixture,
        since,
        until,
        verdict,
    } = wanted;
    let stated = [part, taper, fixture, since, until, verdict];
    if stated.iter().any(|option| option.is_some()) {
        "no session is of that kind; without options all are listed\n".to_owned()
    } else {
        "no session yet\n".to_owned()
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
            layout::local_time(s.opened_utc_ns),
            s.closed_utc_ns
                .map_or("open".to_owned(), layout::local_time),
            s.verdict
                .map_or(String::new(), |v| verdict_word(v).to_owned()),
        ]);
    }
    table.text()
}

fn summary(record: &Record, written: Written) -> String {
    let style = written.style(Some(&record.setup));
    let session = &record.session;
    let state = session.closed_utc_ns.map_or("open".to_owned(), |t| {
        format!("closed {}", layout::local_time(t))
    });
    let mut text = format!(
        "session {}: {} (opened {}, {state})\n{}",
        session.id,
        session.name,
        layout::local_time(session.opened_utc_ns),
        plan(&record.setup, style)
    );
    for step in &record.steps {
        let marks = step.evidence.marks.iter().filter(|m| !m.taken_back).count();
        let state = if step.closed.is_some() { "" } else { ", open" };
        text.push_str(&format!(
            "step {}: {}, {}{state}\n",
            step.number,
            step.plan.kind().name(),
            Counted(marks, "mark")
        ));
        if let Some(outcome) = &step.outcome {
            text.push_str(&outcome_text::outcome(outcome, &record.setup, style));
        }
    }
    for event in &record.events {
        text.push_str(&format!(
            "{}  {}\n",
            layout::local_time(event.utc_ns),
            event.text
        ));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::Offset;

    fn wanted(since: Option<&str>, until: Option<&str>, verdict: Option<&str>) -> ListArgs {
        let text = |option: Option<&str>| option.map(str::to_owned);
        ListArgs {
            since: text(since),
            until: text(until),
            verdict: text(verdict),
            ..ListArgs::default()
        }
    }

    /// Two hours east of Greenwich a day begins two hours before UTC's does.
    #[test]
    fn days_are_the_users_own() {
        let east = TimeZone::fixed(Offset::constant(2));
        let (since, until) = (Some("2026-03-01"), Some("2026-03-01"));
        let day = filter(&wanted(since, until, Some("Out")), &east).unwrap();
        // 2026-03-01T00:00:00Z is 1 772 323 200 s after 1970, by `date -u -d 2026-03-01 +%s`.
        let begins = (1_772_323_200 - 7_200) * 1_000_000_000_i64;
        assert_eq!(day.since, Some(begins));
        assert_eq!(day.until, Some(begins + 86_400_000_000_000 - 1));
        assert_eq!(day.verdict, Some(Verdict::Out));
        let hour = filter(&wanted(Some("2026-03-01T14:30"), None, None), &east).unwrap();
        assert_eq!(hour.since, Some(begins + 52_200 * 1_000_000_000));
        assert_eq!((hour.until, hour.verdict), (None, None));
    }

    #[test]
    fn what_cannot_be_meant_is_told() {
        let zone = TimeZone::UTC;
        for (since, until, verdict, message) in [
            (
                Some("yesterday"),
                None,
                None,
                "since: `yesterday` is not a date",
            ),
            (
                None,
                Some("2026-02-30"),
                None,
                "until: `2026-02-30` is not a date",
            ),
            (
                None,
                None,
                Some("good"),
                "--verdict `good`: it is in, out or undecided",
            ),
            (
                Some("2026-03-02"),
                Some("2026-03-01"),
                None,
                "--since lies after --until, so no day is left",
            ),
        ] {
            let failure = filter(&wanted(since, until, verdict), &zone).unwrap_err();
            assert_eq!(failure.message, message);
            assert!(failure.hint.is_some(), "{message}");
        }
    }
}
