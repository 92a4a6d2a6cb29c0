//! Records as documents, for a browser to open or to keep. Who runs the daemon gives what writes them.

use super::paper::Paper;
use super::site::Site;
use crate::api::reply::{reply, whole};
use crate::api::stored::{in_line, sent};
use crate::record;
use crate::store::StoreError;
use axum::extract::{Path, State};
use axum::http::HeaderValue;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY};
use axum::response::Response;
use protocol::api::{Code, Done, Refusal};
use std::io;
use std::sync::{Arc, OnceLock};

/// The complete record, as text.
const JSON: Paper = Paper {
    ending: "json",
    kind: "application/json",
    write: |record, _, out| {
        io::copy(record, out).map_or_else(|error| Err(error.to_string()), |_| Ok(()))
    },
};

/// A document runs nothing and loads nothing; its styles stand in it.
const POLICY: HeaderValue = HeaderValue::from_static(
    "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; \
     frame-ancestors 'none'; form-action 'none'",
);

/// The path of a record's document.
pub(super) const PAPER: &str = "/page/records/{id}/{ending}";

pub(super) async fn paper(
    State(site): State<Arc<Site>>,
    Path((id, ending)): Path<(String, String)>,
) -> Response {
    let papers = site.papers.iter().chain([&JSON]);
    let endings: Vec<_> = papers.clone().map(|paper| paper.ending).collect();
    let Some(paper) = papers.copied().find(|paper| paper.ending == ending) else {
        let refusal = Refusal::new(
            Code::NotFound,
            format!("a record is not written as {ending:?}"),
        )
        .hint(format!("it is written as {}", endings.join(", ")));
        return reply::<Done>(Err(refusal));
    };
    let config = match site.api.engine.configured().await {
        Ok(configured) => configured.config,
        Err(refusal) => return reply::<Done>(Err(refusal)),
    };
    let not_done = "the record was not made";
    let _in_line = match in_line(&site.api, not_done) {
        Ok(in_line) => in_line,
        Err(refusal) => return reply::<Done>(Err(refusal)),
    };
    let number = Arc::new(OnceLock::new());
    let begun = Arc::clone(&number);
    let made = sent(&site.api, not_done, move |api, out| {
        let store = |error: StoreError| error.refusal(not_done);
        let which = id.parse().map_err(store)?;
        let begun = |session| {
            let _ = begun.set(session);
        };
        let written = record::read(&api.directory, which, begun, |mut record| {
            (paper.write)(&mut record, &config, out)
        });
        written.map_err(store)?.map_err(|why| {
            let message = format!("the record cannot be written as {}: {why}", paper.ending);
            Refusal::new(Code::Internal, message).hint("take it in another form")
        })
    });
    let body = match made.await {
        Ok(body) => body,
        Err(refusal) => return reply::<Done>(Err(refusal)),
    };
    let mut response = whole(paper.kind, body);
    let headers = response.headers_mut();
    headers.insert(CONTENT_SECURITY_POLICY, POLICY);
    // A page is opened; anything else is kept.
    let way = if paper.ending == "html" {
        "inline"
    } else {
        "attachment"
    };
    let session: i64 = number.get().copied().unwrap_or_default();
    let named = format!("{way}; filename=\"session-{session}.{}\"", paper.ending);
    headers.extend(
        HeaderValue::try_from(named)
            .ok()
            .map(|named| (CONTENT_DISPOSITION, named)),
    );
    response
}
