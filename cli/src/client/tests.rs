//! The client against a socket that answers with given bytes: what it makes of every kind of answer.

use super::{Client, ClientError};
use crate::{Failure, Paths};
use protocol::api::{Code, Live, MarkRequest};
use std::path::Path;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::UnixListener;
use tokio::task::JoinHandle;

fn client(directory: &Path) -> Client {
    Client::new(&Paths {
        config: None,
        data: directory.to_owned(),
        socket: directory.join("socket"),
    })
}

/// Answers one connection with these bytes, and gives what was asked.
fn answering(directory: &Path, answer: String) -> JoinHandle<String> {
    let listener = UnixListener::bind(directory.join("socket")).unwrap();
    tokio::spawn(async move {
        let (mut stream, _) = listener.accept().await.unwrap();
        let mut request = Vec::new();
        while !whole(&request) {
            let mut chunk = [0; 1024];
            let n = stream.read(&mut chunk).await.unwrap();
            assert!(n > 0, "the request broke off");
            request.extend_from_slice(&chunk[..n]);
        }
        stream.write_all(answer.as_bytes()).await.unwrap();
        stream.shutdown().await.unwrap();
        String::from_utf8(request).unwrap()
    })
}

/// Whether a request has its head and as much of a body as the head says.
fn whole(request: &[u8]) -> bool {
    let text = String::from_utf8_lossy(request);
    let Some((head, body)) = text.split_once("\r\n\r\n") else {
        return false;
    };
    let length = head
        .lines()
        .find_map(|line| {
            line.to_lowercase()
                .strip_prefix("content-length: ")?
                .parse()
                .ok()
        })
        .unwrap_or(0);
    body.len() >= length
}

fn http(status: &str, body: &str) -> String {
    format!(
        "HTTP/1.1 {status}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    )
}

#[tokio::test]
async fn nobody_listens() {
    let directory = tempfile::tempdir().unwrap();
    let client = client(directory.path());
    let not_running =
        |answer: &Result<_, ClientError>| matches!(answer, Err(ClientError::NotRunning { .. }));
    assert!(not_running(&client.status().await), "no socket");
    // A daemon that was killed leaves its socket behind.
    drop(UnixListener::bind(directory.path().join("socket")).unwrap());
    assert!(not_running(&client.status().await), "a left-over socket");
}

#[tokio::test]
async fn a_status_with_fields_that_are_not_known_yet() {
    let directory = tempfile::tempdir().unwrap();
    let body = r#"{"api":1,"program":"9.9.9","cables":[],"clamped":true,"moon":"full"}"#;
    let served = answering(directory.path(), http("200 OK", body));
    let status = client(directory.path()).status().await.unwrap();
    assert!(status.clamped && status.session.is_none());
    assert!(
        served
            .await
            .unwrap()
            .starts_with("GET /v1/status HTTP/1.1\r\n")
    );
}

#[tokio::test]
async fn a_mark_is_asked_for_and_answered() {
    let directory = tempfile::tempdir().unwrap();
    let body = r#"{"api":1,"program":"0.1.0","number":3,"station":"B","round":2,
        "value_mm":0.0042,"spread_um":0.4,"readings":9,"resolution_mm":0.0001}"#;
    let served = answering(directory.path(), http("200 OK", body));
    let request = MarkRequest {
        station: Some("B".to_owned()),
        ..MarkRequest::default()
    };
    let marked = client(directory.path()).mark(&request).await.unwrap();
    assert_eq!((marked.number, marked.value.unwrap().readings), (3, 9));
    let asked = served.await.unwrap();
    assert!(asked.starts_with("POST /v1/marks HTTP/1.1\r\n"), "{asked}");
    assert!(asked.contains(r#""station":"B""#), "{asked}");
}

#[tokio::test]
async fn answers_that_are_no_success() {
    let refusal =
        r#"{"api":1,"program":"0.1.0","code":"no_step","message":"no step","hint":"open one"}"#;
    let newer = r#"{"api":1,"program":"0.9.0","code":"too_warm","message":"too warm"}"#;
    let other = r#"{"api":2,"program":"2.0.0","cables":"none"}"#;
    for (legend, answer, code) in [
        ("a refusal", http("409 Conflict", refusal), "no_step"),
        (
            "a refusal with a new code",
            http("409 Conflict", newer),
            "internal",
        ),
        ("another version", http("200 OK", other), "wrong_version"),
        (
            "a refusal of another version",
            http("400 Bad", other),
            "wrong_version",
        ),
        ("no JSON", http("200 OK", "hello"), "broken"),
        ("an error without words", http("500 Oh", ""), "broken"),
        ("no HTTP", "hello\r\n\r\n".to_owned(), "broken"),
        (
            "half an answer",
            http("200 OK", refusal)[..120].to_owned(),
            "broken",
        ),
        ("nothing", String::new(), "broken"),
    ] {
        let directory = tempfile::tempdir().unwrap();
        let served = answering(directory.path(), answer);
        let error = client(directory.path()).status().await.unwrap_err();
        let failure = Failure::from(error);
        assert_eq!(failure.code, code, "{legend}: {failure}");
        assert!(!failure.message.is_empty(), "{legend}");
        served.await.unwrap();
    }
}

#[tokio::test]
async fn a_refusal_keeps_its_words() {
    let directory = tempfile::tempdir().unwrap();
    let body = r#"{"api":1,"program":"0.1.0","code":"no_step","message":"no step","hint":"open"}"#;
    let served = answering(directory.path(), http("409 Conflict", body));
    let Err(ClientError::Refused(refusal)) = client(directory.path()).undo().await else {
        panic!("it was refused");
    };
    assert_eq!(refusal.code, Code::NoStep);
    assert_eq!(refusal.hint.as_deref(), Some("open"));
    served.await.unwrap();
}

#[tokio::test]
async fn stopping_does_not_ask_for_the_version() {
    let directory = tempfile::tempdir().unwrap();
    let served = answering(
        directory.path(),
        http("200 OK", r#"{"api":7,"program":"7"}"#),
    );
    client(directory.path()).stop().await.unwrap();
    assert!(served.await.unwrap().starts_with("POST /v1/stop "));
}

#[tokio::test]
async fn events_come_one_by_one_until_the_daemon_ends_them() {
    let directory = tempfile::tempdir().unwrap();
    let stream = "HTTP/1.1 200 OK\r\ncontent-type: text/event-stream\r\n\r\n\
        : hello\n\ndata: {\"event\":\"snapshot\",\"cables\":[],\"clamped\":false}\n\n\
        data: {\"event\":\"weather\"}\n\n\
        data: {\"event\":\"reading\",\"cable\":\"bench\",\"seq\":1,\"t_ns\":5,\"value_mm\":0.001,\
        \"resolution_mm\":0.001,\"settled\":true}\n\n";
    let served = answering(directory.path(), stream.to_owned());
    let mut events = client(directory.path()).events().await.unwrap();
    assert!(matches!(events.next().await, Ok(Some(Live::Snapshot(_)))));
    let Ok(Some(Live::Reading(reading))) = events.next().await else {
        panic!("the unknown event is passed over, and the reading comes");
    };
    assert_eq!(reading.cable, "bench");
    assert_eq!(events.next().await, Ok(None));
    served.await.unwrap();
}
