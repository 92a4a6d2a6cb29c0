//! Two sessions side by side, as figures with words: the page draws them and computes nothing.

use super::site::Site;
use crate::api::reply::reply;
use crate::api::stored::read;
use crate::program::PROGRAM;
use crate::store::{Reader, Which};
use axum::extract::{Path, State};
use axum::response::Response;
use protocol::api::{Code, Done, Refusal};
use protocol::evidence::Time;
use protocol::sheet::compared::{Compared, Row, rows};
use protocol::sheet::{Figure, Value};
use serde::Serialize;
use std::sync::Arc;

/// The path of two sessions, the one that is looked at first.
pub(super) const BESIDE: &str = "/page/beside/{this}/{other}";

#[derive(Debug, Serialize)]
struct Pair {
    this: i64,
    beside: i64,
    rows: Vec<Line>,
}

#[derive(Debug, Serialize)]
struct Line {
    name: &'static str,
    this: Option<Cell>,
    beside: Option<Cell>,
}

/// What a session says in a row.
#[derive(Debug, Serialize)]
struct Cell {
    /// A moment, which the browser tells by its own clock; the words follow it.
    #[serde(skip_serializing_if = "Option::is_none")]
    utc_ns: Option<Time>,
    text: String,
}

impl Cell {
    fn of(figure: &Figure) -> Self {
        Self {
            utc_ns: match figure.value {
                Value::Moment(time) => Some(time),
                _ => None,
            },
            text: figure.text(|_| String::new()),
        }
    }
}

impl Line {
    fn of(row: &Row) -> Self {
        Self {
            name: row.name,
            this: row.this.as_ref().map(Cell::of),
            beside: row.beside.as_ref().map(Cell::of),
        }
    }
}

pub(super) async fn beside(
    State(site): State<Arc<Site>>,
    Path((this, other)): Path<(String, String)>,
) -> Response {
    if this == other {
        let message = format!("session {this} cannot stand beside itself");
        let refusal = Refusal::new(Code::BadValue, message).hint("choose two sessions");
        return reply::<Done>(Err(refusal));
    }
    let config = match site.api.engine.configured().await {
        Ok(configured) => configured.config,
        Err(refusal) => return reply::<Done>(Err(refusal)),
    };
    // A store that refuses is read as it is.
    let _ = site.api.engine.flush().await;
    let pair = read(&site.api, "the sessions were not compared", move |api| {
        let mut reader = Reader::open(&api.directory)?;
        // One record at a time: each holds every reading of its session.
        let mut compared = |which: &str| {
            let which: Which = which.parse()?;
            let record = reader.session(which, PROGRAM)?;
            Ok::<_, crate::store::StoreError>(Compared::of(
                &record,
                config.live_style(Some(&record.setup)),
            ))
        };
        let (this, beside) = (compared(&this)?, compared(&other)?);
        Ok(Pair {
            this: this.session,
            beside: beside.session,
            rows: rows(&this, &beside).iter().map(Line::of).collect(),
        })
    });
    reply(pair.await.map(|(pair, _)| pair))
}
