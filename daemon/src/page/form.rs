//! The form that opens a session: what it offers, and what a session would be as it is filled in.

use super::site::Site;
use crate::api::reply::{body, reply};
use crate::engine::Configured;
use axum::extract::{Request, State};
use axum::response::Response;
use config::{shipped_kits, shipped_tapers};
use protocol::api::{Code, Refusal, SetupOptions, SetupPlan};
use serde::Serialize;
use std::sync::Arc;

/// What the form offers; each may also be typed.
#[derive(Debug, Serialize)]
struct Choices {
    tapers: Vec<String>,
    kits: Vec<String>,
    bars: Vec<String>,
    fixtures: Vec<String>,
    cables: Vec<String>,
    tolerances: Vec<&'static str>,
    /// The documents that a record can be had as.
    records: Vec<&'static str>,
}

pub(super) async fn choices(State(site): State<Arc<Site>>) -> Response {
    reply(site.api.engine.configured().await.map(|configured| {
        let config = &configured.config;
        Choices {
            tapers: both(
                config.tapers.keys(),
                shipped_tapers().iter().map(|t| &t.name),
            ),
            kits: both(config.kits.keys(), shipped_kits().iter().map(|k| &k.name)),
            bars: config.bars.keys().cloned().collect(),
            fixtures: configured.fixtures(),
            cables: config
                .cables
                .iter()
                .map(|cable| cable.name.clone())
                .collect(),
            tolerances: vec!["AT3", "AT4", "AT5", "AT6", "5arcsec", "10arcsec", "2um"],
            records: ["json"]
                .into_iter()
                .chain(site.papers.iter().map(|paper| paper.ending))
                .collect(),
        }
    }))
}

/// The user's own first.
fn both<'a>(
    own: impl Iterator<Item = &'a String>,
    shipped: impl Iterator<Item = &'a String>,
) -> Vec<String> {
    own.chain(shipped).cloned().collect()
}

pub(super) async fn plan(State(site): State<Arc<Site>>, request: Request) -> Response {
    reply(match body::<SetupOptions>(request).await {
        Ok(options) => planned(&site, options).await,
        Err(refusal) => Err(refusal),
    })
}

/// A stack is searched for, which is no work for the thread that answers the others.
async fn planned(site: &Site, options: SetupOptions) -> Result<SetupPlan, Refusal> {
    let configured: Box<Configured> = site.api.engine.configured().await?;
    let planned = tokio::task::spawn_blocking(move || configured.plan(&options)).await;
    planned.unwrap_or_else(|error| {
        Err(
            Refusal::new(Code::Internal, format!("the plan was not made: {error}"))
                .hint("try again"),
        )
    })
}
