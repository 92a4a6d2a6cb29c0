//! Records as documents, for a browser to open or to keep. Who runs the daemon gives what writes them.

use super::paper::Paper;
use super::site::Site;
use crate::api::reply::{reply, whole};
use crate::api::stored::{in_pieces, read};
use crate::program::PROGRAM;
use crate::record;
use crate::store::{Reader, Which};
use axum::extract::{Path, State};
use axum::http::HeaderValue;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY};
use axum::response::Response;
use protocol::api::{Code, Done, Refusal};
use std::sync::Arc;

/// The complete record, as text.
const JSON: Paper = Paper {
    ending: "json",
    kind: "application/json",
    write: |record, _| Ok(record.write().into_bytes()),
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
    // A store that refuses is read as it is.
    let _ = site.api.engine.flush().await;
    let made = read(&site.api, "the record was not made", move |api| {
        let which: Which = id.parse()?;
        let mut record = Reader::open(&api.directory)?.session(which, PROGRAM)?;
        record.cautions = record::cautions(&record);
        let name = format!("session-{}.{}", record.session.id, paper.ending);
        Ok((paper.write)(record, &config).map(|bytes| (bytes, name)))
    });
    match made.await {
        Ok((Ok((bytes, name)), place)) => {
            let mut response = whole(paper.kind, in_pieces(bytes.into(), place));
            let headers = response.headers_mut();
            headers.insert(CONTENT_SECURITY_POLICY, POLICY);
            // A page is opened; anything else is kept.
            let way = if paper.ending == "html" {
                "inline"
            } else {
                "attachment"
            };
            let named = format!("{way}; filename=\"{name}\"");
            headers.extend(
                HeaderValue::try_from(named)
                    .ok()
                    .map(|named| (CONTENT_DISPOSITION, named)),
            );
            response
        }
        Ok((Err(why), _)) => {
            let message = format!("the record cannot be written as {}: {why}", paper.ending);
            let refusal = Refusal::new(Code::Internal, message);
            reply::<Done>(Err(refusal.hint("take it in another form")))
        }
        Err(refusal) => reply::<Done>(Err(refusal)),
    }
}
