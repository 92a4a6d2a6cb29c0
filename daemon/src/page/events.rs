//! The screen as Server-Sent Events: first what was read in the last minute, then a frame whenever something has changed, and a
//! beat while nothing does. A page that hears neither knows that the link is lost.

use super::show::Frames;
use super::site::{MOST_VIEWERS, Site};
use crate::api::Phase;
use crate::api::reply::{reply, whole};
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::response::Response;
use protocol::api::{Code, Done, Refusal};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::OwnedSemaphorePermit;

/// The longest time without an event.
const BEAT: Duration = Duration::from_millis(500);

struct Viewer {
    site: Arc<Site>,
    frames: Frames,
    /// What was read before it came; sent first.
    trace: Option<Bytes>,
    _place: OwnedSemaphorePermit,
}

pub(super) async fn events(State(site): State<Arc<Site>>) -> Response {
    let Ok(place) = Arc::clone(&site.viewers).try_acquire_owned() else {
        let refusal = Refusal::new(
            Code::BadRequest,
            format!("{MOST_VIEWERS} screens show the page already"),
        )
        .hint("close it on one of them");
        return reply::<Done>(Err(refusal));
    };
    let viewer = Viewer {
        frames: site.show.frames(),
        trace: Some(site.show.trace()),
        site,
        _place: place,
    };
    let stream = futures_util::stream::unfold(viewer, next);
    whole("text/event-stream", Body::from_stream(stream))
}

/// The next event. It is asked for only when the client has room for it: a slow one misses frames, and gets the newest.
async fn next(mut viewer: Viewer) -> Option<(Result<Bytes, Infallible>, Viewer)> {
    if let Some(trace) = viewer.trace.take() {
        return Some((Ok(trace), viewer));
    }
    let mut phase = viewer.site.api.phase.clone();
    let bytes = tokio::select! {
        changed = viewer.frames.changed() => {
            changed.ok()?;
            viewer.frames.borrow_and_update().clone()
        }
        () = tokio::time::sleep(BEAT) => viewer.site.show.beat(viewer.site.api.engine.now_s()),
        _ = phase.wait_for(|phase| *phase >= Phase::Draining) => return None,
    };
    Some((Ok(bytes), viewer))
}
