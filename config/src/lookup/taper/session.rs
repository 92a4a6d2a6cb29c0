//! A taper that is named by the session that found or set it. Only who can ask the daemon knows its angle.

use protocol::api::{Code, Refusal};

const BEGINS: &str = "session:";

/// The session that a taper is named by: `12` of `session:12`; its part's name may stand for the number.
///
/// ```
/// use conewright_config::named_session;
/// assert_eq!(named_session("session:12"), Some("12"));
/// assert_eq!(named_session(" Session: spindle 7"), Some("spindle 7"));
/// assert_eq!(named_session("1:12"), None);
/// ```
#[must_use]
pub fn named_session(spec: &str) -> Option<&str> {
    let spec = spec.trim();
    let begins = spec.get(..BEGINS.len())?;
    let session = spec[BEGINS.len()..].trim();
    (begins.eq_ignore_ascii_case(BEGINS) && !session.is_empty()).then_some(session)
}

/// Refuses it where no session can be looked up.
pub(super) fn elsewhere(spec: &str, session: &str) -> Refusal {
    Refusal::new(
        Code::BadValue,
        format!("the taper `{spec}` is that of a session, which only `session open` looks up"),
    )
    .hint(format!(
        "`conewright session found {session}` tells its half angle; then write that: `2.386deg`"
    ))
}
