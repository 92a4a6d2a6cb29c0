//! The session that an argument names.

use crate::Failure;
use crate::client::Client;
use protocol::record::Record;

/// The record of the session that was named; of the current one, or else the latest, when none was.
pub(super) async fn record(client: &Client, session: Option<&str>) -> Result<Record, Failure> {
    Ok(client.record(named(client, session).await?).await?)
}

/// What the daemon is asked for: the session that was named, or else the current one, or the latest.
pub(super) async fn named<'a>(
    client: &Client,
    session: Option<&'a str>,
) -> Result<&'a str, Failure> {
    Ok(match session {
        Some(named) => {
            let known = matches!(named, "current" | "latest") || named.parse::<u64>().is_ok();
            if !known {
                return Err(Failure::bad_value(format!(
                    "`{named}` is not a session: a session is named by its number, `current` or `latest`"
                ))
                .hint("conewright session list shows them"));
            }
            named
        }
        None if client.status().await?.session.is_some() => "current",
        None => "latest",
    })
}
