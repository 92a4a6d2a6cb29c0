//! A mark with its outcome, from the request to the answer after the commit: in a long session beside a short one, and among
//! clients that have sent half a request beside none.

use super::stats::{Times, timed};
use super::{Line, rounds};
use crate::process::Place;
use serde_json::json;
use std::io::Write;
use std::os::unix::net::UnixStream;

const ROUNDS: usize = 20;
const SHORT: usize = 10;
const LONG: usize = 1_000;
/// Marks timed in each round.
const TIMED: usize = 10;
/// What is promised of the long session beside the short one.
const TWICE: f64 = 2.0;

/// Clients with a head and half a body each, and what a mark among them may take, ms.
const HALF_REQUESTS: usize = 150;
const AMONG_MS: f64 = 100.0;

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
    let asked = json!({ "value": value }).to_string();
    // The answer is not read into values: that would be the client's time.
    let answer = place.ask("POST", "/v1/marks", &asked).unwrap();
    assert!(answer.starts_with("HTTP/1.1 200 "), "{answer}");
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

/// Marks among half requests, which are held until each mark is answered, beside marks with no other client.
pub(super) fn among_half_requests() -> Vec<Line> {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let daemon = place.start();
    open(&place);
    let half = b"POST /v1/marks HTTP/1.1\r\nhost: x\r\ncontent-length: 20\r\n\r\n{";
    let (mut alone, mut among) = (Times::default(), Times::default());
    for n in 0..rounds(ROUNDS) {
        alone.push(timed(|| mark(&place, 2 * n)).0);
        let held: Vec<UnixStream> = (0..HALF_REQUESTS)
            .map(|_| {
                let mut stream = UnixStream::connect(place.socket()).unwrap();
                stream.write_all(half).unwrap();
                stream
            })
            .collect();
        among.push(timed(|| mark(&place, 2 * n + 1)).0);
        drop(held);
    }
    daemon.stop();
    let (without, with) = (alone.median(), among.at(1.0));
    vec![
        Line::told(
            format!(
                "a mark among {HALF_REQUESTS} half requests, the slowest of {}",
                rounds(ROUNDS)
            ),
            format!("{with:.2} ms"),
        )
        .beside(format!("without them: {without:.2} ms"), with / without)
        .reach(format!("under {AMONG_MS} ms"), with < AMONG_MS),
    ]
}
