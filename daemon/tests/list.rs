//! The list of sessions, by what is asked for.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, Place, S};
use config::Config;
use serde_json::{Value, json};
use std::sync::atomic::Ordering::SeqCst;

async fn listed(bench: &Bench, query: &str) -> Vec<i64> {
    let (status, list) = bench.get(&format!("/v1/sessions{query}")).await;
    assert_eq!(status, 200, "{query}: {list}");
    let sessions = list["sessions"].as_array().unwrap();
    let id = |line: &Value| line["session"].as_i64().unwrap();
    sessions.iter().map(id).collect()
}

#[tokio::test]
async fn sessions_are_listed_by_all_that_is_stated() {
    let bench = Place::new(Config::default()).start();
    let opened = |n: i64| (1_700_000_000 + 100 * n) * S;
    for (n, name, taper, fixture, b) in [
        (1, "spindle seat", "1:12", "vee block", Some("0.0000")),
        (2, "SPINDLE nose", "1:12", "Spannfutter Ü", Some("0.5")),
        (3, "arbor", "1:20", "vee block", None),
    ] {
        bench.place.clock.utc.store(opened(n), SeqCst);
        let options = json!({
            "name": name, "taper": taper, "fixture": fixture, "span": "80", "length": "60",
            "tolerance": "20arcsec", "resolution": "0.1um",
        });
        bench.done("/v1/sessions", options).await;
        if let Some(b) = b {
            bench.done("/v1/steps", json!({ "kind": "zero" })).await;
            for value in ["0.0000", b, "0.0000"] {
                bench.mark(json!({ "value": value })).await;
            }
        }
        bench.done("/v1/sessions/current/close", json!({})).await;
    }
    for (query, wanted) in [
        ("", &[3, 2, 1][..]),
        ("?part=spindle", &[2, 1]),
        ("?part=NOSE", &[2]),
        ("?taper=1:20", &[3]),
        ("?fixture=VEE%20block", &[3, 1]),
        // Capitals beyond those of English.
        ("?fixture=spannfutter%20%C3%BC", &[2]),
        ("?verdict=in", &[1]),
        ("?verdict=out&part=spindle", &[2]),
        ("?verdict=undecided", &[]),
        ("?part=%25", &[]),
        ("?part=%27%20OR%201=1--", &[]),
    ] {
        assert_eq!(listed(&bench, query).await, wanted, "{query}");
    }
    for (from, to, wanted) in [
        (opened(2), opened(3), &[3, 2][..]),
        (opened(1) + 1, opened(3) - 1, &[2]),
        (opened(3) + 1, i64::MAX, &[]),
        (i64::MIN, opened(1), &[1]),
    ] {
        let query = format!("?since={from}&until={to}");
        assert_eq!(listed(&bench, &query).await, wanted, "{query}");
    }
    for (query, code) in [
        ("?verdict=perhaps".to_owned(), "bad_request"),
        ("?since=yesterday".to_owned(), "bad_request"),
        (format!("?part={}", "x".repeat(201)), "bad_value"),
    ] {
        let (status, body) = bench.get(&format!("/v1/sessions{query}")).await;
        assert!(status >= 400 && body["hint"].is_string(), "{query}: {body}");
        assert_eq!(body["code"], code, "{query}: {body}");
    }
    bench.stop().await.1.unwrap();
}
