//! A mark with its outcome, from the request to the answer after the commit: in a long session beside a short one.

use super::stats::{Times, timed};
use super::{Line, rounds};
use crate::process::Place;
use serde_json::json;

const ROUNDS: usize = 20;
const SHORT: usize = 10;
const LONG: usize = 1_000;
/// Marks timed in each round.
const TIMED: usize = 10;
/// What is promised of the long session beside the short one.
const TWICE: f64 = 2.0;

fn post(place: &Place, path: &str, body: &serde_json::Value) {
    let (status, answer) = place.post(path, body);
    assert_eq!(status, 200, "{answer}");
}

fn open(place: &Place) {
    let session = json!({ "name": "marks", "span": "80", "cable": "typed", "resolution": "0.001" });
    post(place, "/v1/sessions", &session);
    post(place, "/v1/steps", &json!({ "kind": "zero" }));
}

/// One mark. The readings go round within a few micrometres, as they do of a set-up that is not touched.
fn mark(place: &Place, n: usize) {
    let value = format!("0.{:03}", 100 + n * 7 % 5);
    post(place, "/v1/marks", &json!({ "value": value }));
}

pub(super) fn row() -> Vec<Line> {
    let directories = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let places = directories.each_ref().map(|dir| Place::new(dir.path(), ""));
    let daemons = places.each_ref().map(Place::start);
    let [short, long] = &places;
    open(long);
    (0..LONG).for_each(|n| mark(long, n));
    let (mut in_short, mut in_long) = (Times::default(), Times::default());
    for round in 0..rounds(ROUNDS) {
        open(short);
        (0..SHORT).for_each(|n| mark(short, n));
        for n in 0..TIMED {
            in_short.push(timed(|| mark(short, SHORT + n)).0);
            in_long.push(timed(|| mark(long, LONG + round * TIMED + n)).0);
        }
        post(short, "/v1/sessions/current/close", &json!({}));
    }
    daemons.into_iter().for_each(|daemon| daemon.stop());
    let (few, many) = (in_short.median(), in_long.median());
    vec![
        Line::told(
            format!("a mark with its outcome, after {LONG} marks"),
            format!("{many:.2} ms"),
        )
        .beside(format!("after {SHORT}: {few:.2} ms"), many / few)
        .reach("at most twice", many <= TWICE * few),
    ]
}
