//! Who may ask the page for what.
//!
//! Another site that a browser has open may send requests here too. So the Host must be the address that the request came to
//! (a name that was pointed here afterwards is none), a change must come from the page's own origin, and the cookie with the
//! link's secret goes out with requests of the page alone.

use super::arrived::Arrived;
use super::files;
use super::link::Rights;
use super::paths::ENTER;
use super::site::Site;
use crate::api::reply::refused;
use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, ORIGIN, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;
use protocol::api::{Code, Refusal};
use std::net::SocketAddr;
use std::sync::Arc;

/// What a browser says of where a request comes from.
const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");
/// The page takes everything from itself, and runs nothing that stands in a text.
const POLICY: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; \
     manifest-src 'self'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'",
);

/// Lets a request through, or says why not.
pub(super) async fn guard(
    State(site): State<Arc<Site>>,
    mut request: Request,
    next: Next,
) -> Response {
    let mut response = match admitted(&site, &request) {
        Ok(rights) => {
            request.extensions_mut().insert(rights);
            next.run(request).await
        }
        Err((status, refusal)) => refused(status, refusal),
    };
    let headers = response.headers_mut();
    // A document has a stricter one of its own.
    headers.entry(CONTENT_SECURITY_POLICY).or_insert(POLICY);
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}

fn admitted(site: &Site, request: &Request) -> Result<Option<Rights>, (StatusCode, Refusal)> {
    let forbidden = |why: String, hint: &str| {
        let refusal = Refusal::new(Code::NotAllowed, why).hint(hint);
        (StatusCode::FORBIDDEN, refusal)
    };
    let own_link = "open the page by the link that `conewright page` prints";
    let headers = request.headers();
    let arrived = request.extensions().get::<Arrived>().cloned();
    let host = only(headers, &HOST);
    let named = arrived.as_ref().zip(host);
    let Some((arrived, host)) = named.filter(|(arrived, host)| is_name_of(arrived.at, host)) else {
        let shown = host.unwrap_or("none");
        return Err(forbidden(
            format!("the page is not served under the name {shown:?}"),
            own_link,
        ));
    };
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    let origin = only(headers, &ORIGIN);
    if changes && origin.and_then(|origin| origin.strip_prefix("http://")) != Some(host) {
        let shown = origin.unwrap_or("none");
        return Err(forbidden(
            format!("the request comes from another site: its origin is {shown:?}"),
            own_link,
        ));
    }
    let path = request.uri().path();
    let from = headers.get(FETCH_SITE).map(HeaderValue::as_bytes);
    // A link on another page may lead here: the page itself holds no data.
    if path != "/" && !matches!(from, None | Some(b"same-origin" | b"none")) {
        return Err(forbidden(
            "the request comes from another site".to_owned(),
            own_link,
        ));
    }
    let rights = presented(headers, &site.cookie()).and_then(|token| site.links.rights(token));
    if rights.is_some() {
        arrived.earns_its_place();
    }
    if path == ENTER || files::find(path).is_some() {
        return Ok(rights);
    }
    match rights {
        Some(Rights::View) if changes => Err(forbidden(
            "this link may only look".to_owned(),
            "use the link for marking that `conewright page` prints",
        )),
        Some(rights) => Ok(Some(rights)),
        None => {
            let refusal = Refusal::new(Code::NotAllowed, "the link is not valid any more")
                .hint("`conewright page` on the daemon's computer prints the valid one");
            Err((StatusCode::UNAUTHORIZED, refusal))
        }
    }
}

/// A header that may stand once.
fn only<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut all = headers.get_all(name).iter();
    match (all.next(), all.next()) {
        (Some(value), None) => value.to_str().ok(),
        _ => None,
    }
}

/// Whether a request that came over this address may name its host so.
fn is_name_of(at: SocketAddr, host: &str) -> bool {
    host == at.to_string() || (at.ip().is_loopback() && host == format!("localhost:{}", at.port()))
}

/// The secret in the cookie.
fn presented<'a>(headers: &'a HeaderMap, cookie: &str) -> Option<&'a str> {
    let all = headers.get_all(COOKIE).iter();
    let mut pairs = all
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='));
    pairs
        .find(|(name, _)| *name == cookie)
        .map(|(_, value)| value)
}
