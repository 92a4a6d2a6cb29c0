//! The surface of the API: what is no request of it, what is too large, and who may ask.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]
#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Place, raw, request, soon, streaming};
use config::Config;
use hyper::Method;
use protocol::api::{CableState, Live, MAX_BODY};
use serde_json::json;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::UnixStream;

#[tokio::test]
async fn what_is_no_request_is_refused_in_the_same_form() {
    let bench = Place::new(Config::default()).start();
    let socket = bench.place.socket();
    let large = format!("{{\"text\":\"{}\"}}", "x".repeat(MAX_BODY));
    let just_fits = format!("{{\"text\":\"{}\"}}", "x".repeat(MAX_BODY - 11));
    assert_eq!(just_fits.len(), MAX_BODY);
    for (legend, method, path, body, status, code) in [
        (
            "an unknown path",
            Method::GET,
            "/v1/weather",
            "",
            404,
            "not_found",
        ),
        (
            "another version",
            Method::GET,
            "/v2/status",
            "",
            404,
            "not_found",
        ),
        (
            "a wrong method",
            Method::DELETE,
            "/v1/marks",
            "",
            405,
            "bad_request",
        ),
        (
            "no JSON",
            Method::POST,
            "/v1/notes",
            "{text",
            400,
            "bad_request",
        ),
        (
            "no fields",
            Method::POST,
            "/v1/notes",
            "",
            400,
            "bad_request",
        ),
        (
            "an unknown kind",
            Method::POST,
            "/v1/steps",
            "{\"kind\":\"polish\"}",
            400,
            "bad_request",
        ),
        (
            "too much",
            Method::POST,
            "/v1/notes",
            &*large,
            413,
            "too_large",
        ),
        (
            "just not too much",
            Method::POST,
            "/v1/notes",
            &*just_fits,
            409,
            "no_session",
        ),
        (
            "no such session",
            Method::GET,
            "/v1/sessions/7/record",
            "",
            404,
            "not_found",
        ),
        (
            "no session is open",
            Method::GET,
            "/v1/sessions/current/record",
            "",
            404,
            "not_found",
        ),
        (
            "no path is opened",
            Method::GET,
            "/v1/sessions/..%2F..%2Fetc%2Fpasswd/record",
            "",
            404,
            "not_found",
        ),
        (
            "an unknown taper",
            Method::POST,
            "/v1/sessions",
            "{\"name\":\"x\",\"taper\":\"morze-2\"}",
            422,
            "unknown_name",
        ),
        (
            "a part without a name",
            Method::POST,
            "/v1/sessions",
            "{\"name\":\" \"}",
            422,
            "bad_value",
        ),
    ] {
        let (got, reply) = request(&socket, method, path, body.as_bytes().to_vec()).await;
        assert_eq!(
            (got, &reply["code"]),
            (status, &json!(code)),
            "{legend}: {reply}"
        );
        assert!(
            reply["message"].is_string() && reply["hint"].is_string(),
            "{legend}: {reply}"
        );
    }
    let unknown = json!({ "name": "x", "colour": "blue" });
    bench.done("/v1/sessions", unknown).await;
    bench.stop().await.1.unwrap();
}

/// A body of a gigabyte is refused by what it announces, and by what it sends.
#[tokio::test]
async fn a_huge_body_is_not_taken_in() {
    let bench = Place::new(Config::default()).start();
    for head in [
        "content-length: 1073741824\r\n\r\n",
        "transfer-encoding: chunked\r\n\r\n",
    ] {
        let mut stream = UnixStream::connect(bench.place.socket()).await.unwrap();
        let request = format!("POST /v1/notes HTTP/1.1\r\nhost: conewright\r\n{head}");
        stream.write_all(request.as_bytes()).await.unwrap();
        let piece = format!("10000\r\n{}\r\n", "x".repeat(0x1_0000));
        let sent = async {
            // Until the daemon closes; it must long before this ends.
            for _ in 0..16_384 {
                if stream.write_all(piece.as_bytes()).await.is_err() {
                    return;
                }
            }
            panic!("the daemon took in a gigabyte");
        };
        soon(sent).await;
        let mut answer = Vec::new();
        // The rest of what was sent may reset the connection after the answer.
        let _ = soon(stream.read_to_end(&mut answer)).await;
        let answer = String::from_utf8_lossy(&answer);
        assert!(
            answer.contains("413") && answer.contains("too_large"),
            "{answer}"
        );
    }
    bench.status().await;
    bench.stop().await.1.unwrap();
}

/// The record stands for itself, without the envelope.
#[tokio::test]
async fn a_record_names_its_own_version() {
    let bench = Place::new(Config::default()).start();
    bench.open(json!({ "span": "80" })).await;
    let path = "/v1/sessions/current/record";
    let (status, text) = raw(&bench.place.socket(), Method::GET, path, Vec::new()).await;
    assert_eq!(status, 200);
    assert!(text.contains("conewright-record"), "{text}");
    assert!(!text.contains("\"api\""), "{text}");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_watcher_sees_everything_after_its_snapshot() {
    let bench = Place::new(streaming()).start();
    let mut watch = bench.watch().await;
    let Live::Snapshot(status) = watch.next().await else {
        panic!("the first event is a snapshot");
    };
    assert_eq!(status.cables[0].state, CableState::Quiet);
    assert_eq!(status.indicator.as_deref(), Some("bench"));
    bench.dwell("bench", 100).await;
    bench.skipped("bench", 17, "\\x00\\xff").await;
    let mut settled = Vec::new();
    loop {
        match watch.next().await {
            Live::Reading(reading) => settled.push(reading.settled),
            Live::Snapshot(status) if status.cables[0].skipped_bytes == 17 => {
                assert_eq!(status.cables[0].last_skipped.as_deref(), Some("\\x00\\xff"));
                break;
            }
            Live::Snapshot(_) => {}
        }
    }
    assert_eq!(settled.len(), 20);
    assert!(!settled[0], "one reading is no dwell");
    assert!(settled[19], "20 equal ones are");
    bench.open_zero().await;
    let Live::Snapshot(status) = watch.next().await else {
        panic!("a session is no reading");
    };
    assert_eq!(status.session.unwrap().name, "spindle seat");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn live_views_are_bounded_in_number() {
    let bench = Place::new(Config::default()).start();
    let mut open = Vec::new();
    for _ in 0..32 {
        open.push(bench.watch().await);
    }
    let (status, reply) = bench.get("/v1/events").await;
    assert_eq!(status, 400, "{reply}");
    assert_eq!(reply["code"], "bad_request");
    open.pop();
    // The daemon notices that one has gone when it next looks at its connection.
    soon(async {
        loop {
            let path = "/v1/events".to_owned();
            let stream = UnixStream::connect(bench.place.socket()).await.unwrap();
            let (mut reader, mut writer) = stream.into_split();
            let head = format!("GET {path} HTTP/1.1\r\nhost: conewright\r\n\r\n");
            writer.write_all(head.as_bytes()).await.unwrap();
            let mut answer = [0; 12];
            reader.read_exact(&mut answer).await.unwrap();
            if &answer == b"HTTP/1.1 200" {
                break;
            }
        }
    })
    .await;
    bench.stop().await.1.unwrap();
}

/// Connections that say nothing, or stop in the middle, keep others out for a moment and no reading at all.
#[tokio::test]
async fn connections_that_say_nothing_are_let_go() {
    let bench = Place::new(streaming()).start();
    let mut watch = bench.watch().await;
    let mut idle = Vec::new();
    for n in 0..300 {
        let mut stream = UnixStream::connect(bench.place.socket()).await.unwrap();
        if n % 2 == 0 {
            stream.write_all(b"GET /v1/status HT").await.unwrap();
        }
        idle.push(stream);
    }
    bench.state("bench", CableState::Live, None).await;
    bench.reading("bench", 5, 1_000).await;
    assert_eq!(watch.next_reading().await.value.um(), 5.0);
    bench.status().await;
    let mut left = [0; 1];
    // Whatever it is told, the first of them is closed.
    soon(async { while idle[1].read(&mut left).await.is_ok_and(|n| n > 0) {} }).await;
    bench.stop().await.1.unwrap();
}
