//! The form that opens a step: the kinds with their options as they are declared, and what is wrong with some before the open
//! step is closed for them.

use super::site::Site;
use crate::api::reply::{body, reply};
use axum::extract::{Request, State};
use axum::response::Response;
use protocol::api::{Done, Refusal};
use protocol::step::{Field, StepKind, StepOptions};
use serde::Serialize;
use serde_json::{Map, Value};
use std::sync::Arc;

#[derive(Debug, Serialize)]
struct Steps {
    /// In the order of the work.
    kinds: Vec<Kind>,
    /// The cables that an option may name.
    cables: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Kind {
    kind: StepKind,
    word: String,
    purpose: String,
    options: Vec<Field>,
}

pub(super) async fn steps(State(site): State<Arc<Site>>) -> Response {
    reply(site.api.engine.configured().await.map(|configured| {
        let style = configured.config.live_style(None);
        let cables = configured.config.cables.iter();
        let kind = |kind: StepKind| Kind {
            kind,
            word: style.term("kind", kind.word()),
            purpose: style.term("purpose", kind.purpose()),
            options: kind.fields(),
        };
        Steps {
            kinds: StepKind::ALL.map(kind).into(),
            cables: cables.map(|cable| cable.name.clone()).collect(),
        }
    }))
}

pub(super) async fn check(State(site): State<Arc<Site>>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(stated) => checked(&site, stated).await,
        Err(refusal) => Err(refusal),
    })
}

async fn checked(site: &Site, stated: Map<String, Value>) -> Result<Done, Refusal> {
    let options = StepOptions::try_from(stated)?;
    let configured = site.api.engine.configured().await?;
    let status = site.api.engine.status().await?;
    // Without a session the request that opens the step is refused.
    if let Some(setup) = &status.setup {
        config::resolve_step(&configured.config, setup, &options)?;
    }
    Ok(Done {})
}
