//! A session beside an earlier one of the same part, or held in the same fixture.

use crate::Failure;
use crate::client::Client;
use crate::layout::{self, Table};
use protocol::api::{SessionFilter, SessionLine};
use protocol::record::Record;
use protocol::sheet::Figure;
use protocol::sheet::compared::{Compared, rows};
use protocol::style::Style;
use serde::Serialize;

/// Why an earlier session is shown beside this one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Because {
    /// It is of the same part, by its name.
    SamePart,
    /// It was held in the same fixture.
    SameFixture,
    /// The user named it.
    Named,
}

/// Two sessions side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct History {
    /// The one that was asked for.
    pub this: Compared,
    /// The one beside it.
    pub beside: Compared,
    /// Why that one.
    pub because: Because,
}

/// The session to show beside this one: the latest earlier one of the same part, or else in the same fixture.
fn earlier(record: &Record, sessions: &[SessionLine]) -> Option<(i64, Because)> {
    let this = record.session.id;
    let latest = |same: &dyn Fn(&SessionLine) -> bool| {
        let before = sessions.iter().filter(|line| line.session < this);
        before.filter(|line| same(line)).map(|l| l.session).max()
    };
    let name = record.session.name.trim().to_lowercase();
    let of_part = latest(&|line| line.name.trim().to_lowercase() == name);
    let fixture = record.setup.fixture.as_ref().map(|fixture| &fixture.name);
    let in_fixture = || latest(&|line| line.fixture.is_some() && line.fixture.as_ref() == fixture);
    of_part
        .map(|session| (session, Because::SamePart))
        .or_else(|| in_fixture().map(|session| (session, Because::SameFixture)))
}

/// The session beside this one: the one that was named, or the one that fits best; none when there is none.
///
/// # Errors
/// When the named one is this one, is not a number, or is not there.
pub async fn beside(
    client: &Client,
    record: &Record,
    named: Option<&str>,
    style: Style,
) -> Result<Option<History>, Failure> {
    let (session, because) = match named {
        Some(named) => {
            let session = named.parse::<i64>().ok().filter(|session| *session > 0);
            let Some(session) = session else {
                return Err(Failure::bad_value(format!(
                    "`{named}` is not the number of a session"
                ))
                .hint("conewright session list shows them"));
            };
            if session == record.session.id {
                return Err(Failure::bad_value(format!(
                    "session {session} is the one that is shown: name another one to set beside it"
                ))
                .hint("conewright session list shows them"));
            }
            (session, Because::Named)
        }
        None => {
            let list = client.sessions(&SessionFilter::default()).await?;
            match earlier(record, &list.sessions) {
                Some(found) => found,
                None => return Ok(None),
            }
        }
    };
    let other = client.record(&session.to_string()).await?;
    Ok(Some(History {
        this: Compared::of(record, style),
        beside: Compared::of(&other, style),
        because,
    }))
}

impl History {
    /// Both in columns.
    #[must_use]
    pub fn text(&self) -> String {
        let why = match self.because {
            Because::SamePart => ", the last of this part",
            Because::SameFixture => ", the last in this fixture",
            Because::Named => "",
        };
        let this = format!("session {}", self.this.session);
        let beside = format!("session {}", self.beside.session);
        let mut table = Table::new(&["", &this, &beside]);
        for row in rows(&self.this, &self.beside) {
            table.row([row.name.to_owned(), cell(row.this), cell(row.beside)]);
        }
        format!("beside {beside}{why}:\n{}", table.text())
    }
}

fn cell(figure: Option<Figure>) -> String {
    figure.map_or_else(|| "-".to_owned(), |figure| figure.text(layout::local_time))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::example;
    use metrology::setup::Fixture;
    use protocol::evidence::Time;

    fn line(session: i64, name: &str, fixture: Option<&str>) -> SessionLine {
        SessionLine {
            session,
            name: name.into(),
            opened_utc_ns: Time(session),
            closed_utc_ns: None,
            taper: None,
            fixture: fixture.map(str::to_owned),
            steps: 0,
            kinds: Vec::new(),
            verdict: None,
        }
    }

    #[test]
    fn the_same_part_comes_before_the_same_fixture_and_nothing_later_does() {
        let mut record = example::record();
        assert_eq!(record.session.id, 7);
        let part = record.session.name.to_uppercase();
        let sessions = [
            line(9, &part, Some("table")),
            line(7, &part, Some("table")),
            line(6, "another", Some("table")),
            line(4, &part, None),
            line(2, &part, None),
        ];
        assert_eq!(earlier(&record, &sessions), Some((4, Because::SamePart)));
        // A session without a fixture is not like another without one.
        assert_eq!(earlier(&record, &sessions[..3]), None);
        record.setup.fixture = Some(Fixture {
            name: "table".into(),
            pivot: None,
            learned_pivot: None,
            clamp_shifts: vec![],
        });
        let found = earlier(&record, &sessions[..3]);
        assert_eq!(found, Some((6, Because::SameFixture)));
        assert_eq!(earlier(&record, &[]), None);
    }

    #[test]
    fn a_job_stands_beside_a_bare_zero_in_columns() {
        let (job, mut bare) = (example::job(), example::record());
        bare.session.id = 3;
        let history = History {
            this: Compared::of(&job, Style::default()),
            beside: Compared::of(&bare, Style::default()),
            because: Because::SamePart,
        };
        let text = history.text();
        let row = |name: &str| {
            let found = text.lines().find(|line| line.trim().starts_with(name));
            found.unwrap_or_else(|| panic!("{name}: {text}")).trim()
        };
        assert!(text.starts_with("beside session 3, the last of this part"));
        for (name, this, beside) in [
            ("residual as found", "+772.35\"", "+772.20\""),
            ("residual as left", "+36.74\" ± 2.75\"", "+36.74\" ± "),
            ("swept angle as found", "+155.11\"", "-"),
            ("bow as left", "+0.99 µm", "-"),
            ("run-out as found", "28.31 µm", "-"),
            ("run-out as left", "2.70 µm", "-"),
            ("roundness as left", "1.23 µm", "-"),
            ("left on diameter", "+58.63 µm", "-"),
            ("bears", "at the big end", "-"),
            ("indicator checked", "u 0.46 µm", "-"),
        ] {
            let cells: Vec<&str> = row(name)[name.len()..]
                .split("  ")
                .map(str::trim)
                .filter(|cell| !cell.is_empty())
                .collect();
            assert_eq!(cells.len(), 2, "{name}: {cells:?}");
            assert!(cells[0].contains(this), "{name}: {cells:?}");
            assert!(cells[1].contains(beside), "{name}: {cells:?}");
        }
        assert!(row("verdicts").contains("run-out as found out, zero out"));
        // What a single reading a round says of the level is not the half angle's.
        let left = &history.this.fields["zero"]["left"];
        assert!((left["residual_arcsec"].as_f64().unwrap() - 36.74).abs() < 0.01);
    }

    /// Programs read these fields; they stay as they are.
    #[test]
    fn the_json_of_two_sessions_keeps_its_fields_and_values() {
        let (job, mut bare) = (example::job(), example::record());
        bare.session.id = 3;
        let history = History {
            this: Compared::of(&job, Style::default()),
            beside: Compared::of(&bare, Style::default()),
            because: Because::SamePart,
        };
        let json = serde_json::to_value(&history).unwrap();
        insta::assert_snapshot!(serde_json::to_string_pretty(&json).unwrap());
    }

    #[test]
    fn what_was_measured_once_is_as_left() {
        let mut job = example::job();
        job.steps
            .retain(|step| step.number == 3 || step.number == 1);
        let summary = Compared::of(&job, Style::default());
        let runout = &summary.fields["runout"];
        assert_eq!(runout.get("found"), None);
        assert!((runout["left"]["tir_um"].as_f64().unwrap() - 28.31).abs() < 0.01);
        // The check that the session made itself is its last, by the date of its step.
        let made = job.steps[0].closed.unwrap().0;
        assert_eq!(summary.indicator_check.unwrap().checked_utc_ns, Some(made));
        job.steps.clear();
        let stated = Compared::of(&job, Style::default())
            .indicator_check
            .unwrap();
        assert_eq!(stated.u_um, 0.3);
    }
}
