//! The paths of the page.

use super::beside::{BESIDE, beside};
use super::guard::guard;
use super::link::Rights;
use super::once::answer;
use super::papers::{PAPER, paper};
use super::paths::{CHECK, ENTER, PLAN};
use super::site::Site;
use super::{events, files, form, steps};
use crate::api::reply::{body, reply};
use crate::api::router::{no_method, no_path, shared};
use axum::Router;
use axum::extract::{Extension, Request, State};
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderValue, Method};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use protocol::api::{Code, Done, Refusal};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// How long a browser keeps the secret of its link, s: a week. The link may become invalid before.
const COOKIE_LASTS: u32 = 7 * 24 * 3_600;

pub(super) fn router(site: Arc<Site>) -> Router {
    let files = files::FILES.iter();
    let own = files
        .fold(Router::new(), |router, file| {
            router.route(file.path, get(files::file))
        })
        .route(ENTER, post(enter))
        .route("/page/me", get(me))
        .route("/page/events", get(events::events))
        .route("/page/choices", get(form::choices))
        .route(PLAN, post(form::plan))
        .route("/page/steps", get(steps::steps))
        .route(CHECK, post(steps::check))
        .route(BESIDE, get(beside))
        .route("/page/go", post(go))
        .route(PAPER, get(paper))
        .with_state(Arc::clone(&site));
    shared()
        .with_state(site.api.clone())
        .merge(own)
        .fallback(no_path)
        .method_not_allowed_fallback(no_method)
        .layer(from_fn_with_state(Arc::clone(&site), once))
        .layer(from_fn_with_state(site, guard))
}

/// The secret of a link, as the page found it in its address.
#[derive(Deserialize)]
struct Secret {
    token: String,
}

/// What the link allows.
#[derive(Serialize)]
struct Allowed {
    may_mark: bool,
}

impl Allowed {
    fn by(rights: Rights) -> Self {
        Self {
            may_mark: rights == Rights::Mark,
        }
    }
}

/// Changes the secret for a cookie that no script can read, and no other site makes use of.
async fn enter(State(site): State<Arc<Site>>, request: Request) -> Response {
    let invalid = || {
        Refusal::new(Code::NotAllowed, "the link is not valid any more")
            .hint("`conewright page` on the daemon's computer prints the valid one")
    };
    let entered = body::<Secret>(request).await.and_then(|Secret { token }| {
        let rights = site.links.rights(&token).ok_or_else(invalid)?;
        Ok((token, rights))
    });
    let (token, rights) = match entered {
        Ok(entered) => entered,
        Err(refusal) => return reply::<Done>(Err(refusal)),
    };
    let mut response = reply(Ok(Allowed::by(rights)));
    let cookie = format!(
        "{}={token}; Path=/; Max-Age={COOKIE_LASTS}; HttpOnly; SameSite=Strict",
        site.cookie()
    );
    // A valid secret has letters and digits only.
    let cookie = HeaderValue::try_from(cookie).ok();
    let headers = response.headers_mut();
    headers.extend(cookie.map(|cookie| (SET_COOKIE, cookie)));
    response
}

async fn me(Extension(rights): Extension<Option<Rights>>) -> Response {
    reply(Ok(Allowed::by(rights.unwrap_or(Rights::View))))
}

/// The indicator was taken to the place of the target.
async fn go(State(site): State<Arc<Site>>) -> Response {
    reply(match site.show.go() {
        true => Ok(Done {}),
        false => Err(
            Refusal::new(Code::BadValue, "there is no target to go to yet")
                .hint("a round, a sweep or a run-out gives one"),
        ),
    })
}

/// Makes a change that is sent twice only once.
async fn once(State(site): State<Arc<Site>>, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    // These change nothing.
    if request.method() != Method::POST || [ENTER, PLAN, CHECK].contains(&path) {
        return next.run(request).await;
    }
    match answer(&site.once, request, next).await {
        Ok(answer) => answer.into_response(),
        Err(refusal) => reply::<Done>(Err(refusal)),
    }
}
