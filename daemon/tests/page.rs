//! The live page over TCP: who is let in, what others are told, and that a change is made once.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;
mod browser;

use bench_daemon::{Place, soon, streaming};
use browser::{Browser, open, parts};
use http_body_util::BodyExt;
use serde_json::{Value, json};
use std::io::ErrorKind;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

async fn is_refused(port: u16) -> bool {
    matches!(TcpStream::connect(("127.0.0.1", port)).await, Err(e) if e.kind() == ErrorKind::ConnectionRefused)
}

#[tokio::test]
async fn it_is_closed_until_asked_and_closes_at_once() {
    let bench = Place::new(streaming()).start();
    let (_, before) = bench.get("/v1/page").await;
    assert_eq!(before["open"], false);
    let state = open(&bench).await;
    let (port, _) = parts(&state["mark_links"][0]);
    let browser = Browser::by(&state["mark_links"][0]).await;
    let mut events = browser
        .send("GET", "/page/events", &Value::Null)
        .await
        .into_body();
    assert!(soon(events.frame()).await.unwrap().is_ok());
    assert_eq!(bench.get("/v1/page").await.1["viewers"], 1);
    assert_eq!(
        bench.done("/v1/page/close", Value::Null).await["open"],
        false
    );
    // The stream ends without its end, and nobody listens.
    soon(async { while let Some(Ok(_)) = events.frame().await {} }).await;
    assert!(is_refused(port).await);
    // The daemon's own end closes it as well.
    let (port, _) = parts(&open(&bench).await["view_links"][0]);
    bench.stop().await.1.unwrap();
    assert!(is_refused(port).await);
}

#[tokio::test]
async fn a_link_is_worth_nothing_after_the_page_was_opened_anew() {
    let bench = Place::new(streaming()).start();
    let old = open(&bench).await;
    let (port, token) = parts(&old["mark_links"][0]);
    let browser = Browser::by(&old["mark_links"][0]).await;
    assert_eq!(browser.get("/page/me").await.0, 200);
    let new = bench.done("/v1/page", json!({ "port": port })).await;
    assert_ne!(new["mark_links"], old["mark_links"]);
    let (status, said) = browser.get("/v1/status").await;
    assert_eq!(status, 401, "{said}");
    assert!(
        said.contains("not valid any more") && said.contains("conewright page"),
        "{said}"
    );
    for wrong in [&*token, "", "0", &"é".repeat(16)] {
        let body = json!({ "token": wrong });
        let answer = Browser::stranger(port)
            .send("POST", "/page/enter", &body)
            .await;
        assert_eq!(answer.status(), 403, "{wrong}");
        assert!(answer.headers().get("set-cookie").is_none());
    }
    for path in [
        "/page/me",
        "/page/events",
        "/v1/status",
        "/v1/sessions",
        "/page/steps",
        "/page/beside/2/1",
        "/page/records/1/json",
    ] {
        assert_eq!(Browser::stranger(port).get(path).await.0, 401, "{path}");
    }
}

#[tokio::test]
async fn the_link_for_looking_on_changes_nothing() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let state = open(&bench).await;
    let viewer = Browser::by(&state["view_links"][0]).await;
    assert!(
        viewer
            .get("/page/me")
            .await
            .1
            .contains("\"may_mark\":false")
    );
    assert_eq!(viewer.get("/v1/status").await.0, 200);
    for path in [
        "/v1/marks",
        "/v1/marks/undo",
        "/v1/clamp",
        "/v1/ground",
        "/v1/notes",
        "/v1/steps",
        "/v1/steps/current/close",
        "/v1/sessions",
        "/v1/sessions/current/close",
        "/v1/presses/leave",
        "/page/go",
        "/page/plan",
        "/page/check",
    ] {
        let (status, body) = viewer.change("00000001", path, json!({})).await;
        assert_eq!(
            (status, &body["code"]),
            (403, &json!("not_allowed")),
            "{path}"
        );
    }
    let only = bench
        .done("/v1/page", json!({ "port": 0, "view_only": true }))
        .await;
    assert!(
        only["mark_links"].is_null() && only["view_links"].is_array(),
        "{only}"
    );
    // What the owner's socket takes is nothing for a page.
    let owner = Browser::by(&open(&bench).await["mark_links"][0]).await;
    for path in ["/v1/stop", "/v1/page", "/v1/page/close"] {
        assert_eq!(
            owner
                .change(&format!("key of {path}"), path, json!({}))
                .await
                .0,
            404,
            "{path}"
        );
    }
    assert_eq!(owner.get("/v1/events").await.0, 404);
}

#[tokio::test]
#[expect(clippy::too_many_lines, reason = "a list of requests")]
async fn another_host_and_another_origin_are_refused() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let state = open(&bench).await;
    let browser = Browser::by(&state["mark_links"][0]).await;
    let port = browser.port;
    let note = json!({ "text": "no" });
    for (legend, name, value) in [
        (
            "a name pointed here",
            "host",
            format!("bench.example:{port}"),
        ),
        (
            "an address of another",
            "host",
            format!("192.168.0.7:{port}"),
        ),
        ("another port", "host", "127.0.0.1:1".to_owned()),
        ("without the port", "host", "127.0.0.1".to_owned()),
        ("a user before it", "host", format!("a@127.0.0.1:{port}")),
        ("another site", "origin", "http://bench.example".to_owned()),
        ("no site", "origin", "null".to_owned()),
        (
            "the same name over HTTPS",
            "origin",
            format!("https://127.0.0.1:{port}"),
        ),
        (
            "another page of this computer",
            "origin",
            format!("http://127.0.0.1:{}", port ^ 1),
        ),
        (
            "as the browser says",
            "sec-fetch-site",
            "cross-site".to_owned(),
        ),
        (
            "another port of this computer",
            "sec-fetch-site",
            "same-site".to_owned(),
        ),
    ] {
        let other = browser.clone().with(name, &value);
        let (status, body) = other.change("00000003", "/v1/notes", note.clone()).await;
        assert_eq!(
            (status, &body["code"]),
            (403, &json!("not_allowed")),
            "{legend}: {body}"
        );
        assert!(body["hint"].is_string(), "{legend}");
    }
    let silent = browser.clone().without("origin");
    assert_eq!(
        silent.change("00000004", "/v1/notes", note.clone()).await.0,
        403
    );
    // Reading needs the right host and site too, and a preflight gets no leave.
    let there = browser.clone().with("host", "bench.example");
    assert_eq!(there.get("/v1/status").await.0, 403);
    assert_eq!(there.get("/").await.0, 403);
    let there = browser.clone().with("sec-fetch-site", "cross-site");
    assert_eq!(there.get("/v1/status").await.0, 403);
    assert_eq!(
        there.get("/").await.0,
        200,
        "a link on another page may lead here"
    );
    let preflight = browser.clone().with("origin", "http://bench.example");
    let answer = preflight.send("OPTIONS", "/v1/notes", &Value::Null).await;
    assert_eq!(answer.status(), 403);
    assert!(
        !answer
            .headers()
            .keys()
            .any(|name| name.as_str().starts_with("access-control"))
    );
    // It was none of this: the page itself may.
    let by_name = browser
        .with("host", &format!("localhost:{port}"))
        .with("origin", &format!("http://localhost:{port}"));
    assert_eq!(by_name.change("00000005", "/v1/notes", note).await.0, 200);
    let record = bench.record().await;
    let notes = record["events"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|e| e["what"] == "note");
    assert_eq!(notes.count(), 1);
}

#[tokio::test]
async fn every_answer_says_what_a_browser_may_do_with_it() {
    let bench = Place::new(streaming()).start();
    bench.open(json!({})).await;
    let state = open(&bench).await;
    let browser = Browser::by(&state["mark_links"][0]).await;
    for path in [
        "/",
        "/page.js",
        "/page.css",
        "/page/me",
        "/page/events",
        "/weather",
        "/page/records/1/json",
    ] {
        let answer = browser.send("GET", path, &Value::Null).await;
        let headers = answer.headers();
        let policy = headers["content-security-policy"].to_str().unwrap();
        assert!(policy.contains("default-src 'none'"), "{path}: {policy}");
        assert!(
            policy.contains("frame-ancestors 'none'"),
            "{path}: {policy}"
        );
        assert!(
            !policy.contains("script-src") || policy.contains("script-src 'self';"),
            "{path}: {policy}"
        );
        assert_eq!(headers["x-content-type-options"], "nosniff", "{path}");
        assert_eq!(headers["referrer-policy"], "no-referrer", "{path}");
        assert_eq!(headers["cache-control"], "no-store", "{path}");
    }
    let document = browser
        .send("GET", "/page/records/1/html", &Value::Null)
        .await;
    let policy = document.headers()["content-security-policy"]
        .to_str()
        .unwrap();
    assert!(
        policy.starts_with("sandbox;") && !policy.contains("script-src"),
        "{policy}"
    );
    let (status, said) = browser.get("/page/records/1/doc").await;
    assert_eq!(status, 404);
    assert!(said.contains("html, json"), "{said}");
}

#[tokio::test]
async fn a_name_may_hold_anything() {
    let name = "<script>alert(1)</script> \"&' עברית \u{1F529}";
    let bench = Place::new(streaming()).start();
    let browser = Browser::by(&open(&bench).await["mark_links"][0]).await;
    let (status, opened) = browser
        .change("00000006", "/v1/sessions", json!({ "name": name }))
        .await;
    assert_eq!(status, 200, "{opened}");
    assert_eq!(opened["name"], name);
    // It goes out as JSON and never as markup: the page sets text.
    let answer = browser.send("GET", "/v1/sessions", &Value::Null).await;
    assert_eq!(answer.headers()["content-type"], "application/json");
    // Marks that turn the direction of what follows could make a name look like another one.
    let turned = browser
        .change("00000007", "/v1/notes", json!({ "text": "a\u{202E}b" }))
        .await;
    let direct = bench
        .post("/v1/notes", json!({ "text": "a\u{202E}b" }))
        .await;
    assert_eq!(turned.0, direct.0, "the page takes what the socket takes");
    let long = "x".repeat(2_001);
    let (status, said) = browser
        .change("00000008", "/v1/notes", json!({ "text": long }))
        .await;
    assert_eq!(status, 422, "{said}");
    let larger = "x".repeat(70_000);
    let (status, said) = browser
        .change("00000009", "/v1/notes", json!({ "text": larger }))
        .await;
    assert_eq!((status, &said["code"]), (413, &json!("too_large")));
}

#[tokio::test]
async fn a_form_sent_twice_is_taken_once() {
    let bench = Place::new(streaming()).start();
    let browser = Browser::by(&open(&bench).await["mark_links"][0]).await;
    let form = json!({ "name": "spindle 7", "taper": "1:12" });
    let (first, second) = tokio::join!(
        browser.change("aaaaaaaa", "/v1/sessions", form.clone()),
        browser.change("aaaaaaaa", "/v1/sessions", form.clone()),
    );
    assert_eq!(first, second);
    assert_eq!(first.0, 200, "{first:?}");
    assert_eq!(
        browser
            .change("aaaaaaaa", "/v1/sessions", form.clone())
            .await,
        first
    );
    // Another press is another request, and is told that a session is open.
    let (status, body) = browser.change("bbbbbbbb", "/v1/sessions", form).await;
    assert_eq!((status, &body["code"]), (409, &json!("session_open")));
    let (status, body) = browser
        .change("aaaaaaaa", "/v1/notes", json!({ "text": "no" }))
        .await;
    assert_eq!(status, 400, "{body}");
    let (status, body) = browser
        .change("short", "/v1/notes", json!({ "text": "no" }))
        .await;
    assert_eq!(status, 400, "{body}");
    assert_eq!(
        browser
            .send("POST", "/v1/notes", &json!({ "text": "no" }))
            .await
            .status(),
        400
    );
}

#[tokio::test]
async fn a_mark_whose_client_has_gone_is_made_once_when_it_is_sent_again() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    bench.dwell("bench", 10).await;
    let browser = Browser::by(&open(&bench).await["mark_links"][0]).await;
    let mut stream = TcpStream::connect(("127.0.0.1", browser.port))
        .await
        .unwrap();
    let mut head = String::from(
        "POST /v1/marks HTTP/1.1\r\nidempotency-key: cccccccc\r\ncontent-length: 2\r\n",
    );
    for (name, value) in &browser.headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    stream
        .write_all(format!("{head}\r\n{{}}").as_bytes())
        .await
        .unwrap();
    // The end of the connection may come before the request is taken up, or after it.
    drop(stream);
    let (status, body) = browser.change("cccccccc", "/v1/marks", json!({})).await;
    assert_eq!((status, &body["number"]), (200, &json!(1)), "{body}");
    assert_eq!(bench.status().await.marks.len(), 1);
}

#[tokio::test]
async fn two_who_mark_at_once_make_two_marks() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let state = open(&bench).await;
    let one = Browser::by(&state["mark_links"][0]).await;
    let other = Browser::by(&state["mark_links"][0]).await;
    let value = json!({ "value": "0.010" });
    let (first, second) = tokio::join!(
        one.change("dddddddd", "/v1/marks", value.clone()),
        other.change("eeeeeeee", "/v1/marks", value.clone()),
    );
    assert_eq!((first.0, second.0), (200, 200));
    let mut numbers = [first.1["number"].clone(), second.1["number"].clone()];
    numbers.sort_by_key(Value::as_u64);
    assert_eq!(numbers, [json!(1), json!(2)]);
    bench.record().await;
}

#[tokio::test]
async fn whoever_only_holds_connections_keeps_nobody_out() {
    let bench = Place::new(streaming()).start();
    let state = open(&bench).await;
    let (port, _) = parts(&state["mark_links"][0]);
    let mut held = Vec::new();
    for _ in 0..120 {
        held.push(TcpStream::connect(("127.0.0.1", port)).await.unwrap());
    }
    let browser = Browser::by(&state["mark_links"][0]).await;
    assert_eq!(browser.get("/page/me").await.0, 200);
    // A head that does not end is not waited for.
    let mut slow = TcpStream::connect(("127.0.0.1", port)).await.unwrap();
    slow.write_all(b"GET / HTTP/1.1\r\nhost: 1").await.unwrap();
    let mut rest = Vec::new();
    let _ = soon(slow.read_to_end(&mut rest)).await;
    // There are so many screens and no more, and one that goes makes room.
    let mut screens = Vec::new();
    for _ in 0..16 {
        let screen = browser.send("GET", "/page/events", &Value::Null).await;
        assert_eq!(screen.status(), 200);
        screens.push(screen);
    }
    assert_eq!(
        browser
            .send("GET", "/page/events", &Value::Null)
            .await
            .status(),
        400
    );
    screens.pop();
    soon(async {
        while browser
            .send("GET", "/page/events", &Value::Null)
            .await
            .status()
            != 200
        {}
    })
    .await;
}
