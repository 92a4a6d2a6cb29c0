//! The live page over TCP: who is let in, what others are told, and that a change is made once.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, Place, soon, streaming};
use http_body_util::{BodyExt, Full};
use hyper::body::{Bytes, Incoming};
use hyper::{Request, Response};
use hyper_util::rt::TokioIo;
use serde_json::{Value, json};
use std::io::ErrorKind;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// A browser as the page's server sees it.
#[derive(Clone)]
struct Browser {
    port: u16,
    headers: Vec<(&'static str, String)>,
}

/// The link's port and secret.
fn parts(link: &Value) -> (u16, String) {
    let link = link.as_str().unwrap();
    let (address, token) = link.split_once("/#").unwrap();
    let port = address.strip_prefix("http://127.0.0.1:").unwrap();
    (port.parse().unwrap(), token.to_owned())
}

async fn open(bench: &Bench) -> Value {
    bench.done("/v1/page", json!({ "port": 0 })).await
}

impl Browser {
    /// One that has the page open and no link.
    fn stranger(port: u16) -> Self {
        let address = format!("127.0.0.1:{port}");
        Self {
            port,
            headers: vec![
                ("host", address.clone()),
                ("origin", format!("http://{address}")),
                ("sec-fetch-site", "same-origin".to_owned()),
            ],
        }
    }

    /// One that has used this link.
    async fn by(link: &Value) -> Self {
        let (port, token) = parts(link);
        let browser = Self::stranger(port);
        let entered = browser
            .send("POST", "/page/enter", &json!({ "token": token }))
            .await;
        assert_eq!(entered.status(), 200);
        let cookie = entered.headers()["set-cookie"].to_str().unwrap().to_owned();
        let (pair, attributes) = cookie.split_once("; ").unwrap();
        for wanted in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(attributes.contains(wanted), "{cookie}");
        }
        browser.with("cookie", pair)
    }

    /// The same with this header instead of its own.
    fn with(mut self, name: &'static str, value: &str) -> Self {
        self.headers.retain(|(known, _)| *known != name);
        self.headers.push((name, value.to_owned()));
        self
    }

    fn without(mut self, name: &str) -> Self {
        self.headers.retain(|(known, _)| *known != name);
        self
    }

    async fn send(&self, method: &str, path: &str, body: &Value) -> Response<Incoming> {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).await.unwrap();
        let (mut sender, connection) = hyper::client::conn::http1::handshake(TokioIo::new(stream))
            .await
            .unwrap();
        tokio::spawn(connection);
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in &self.headers {
            request = request.header(*name, value);
        }
        let body = if body.is_null() {
            Vec::new()
        } else {
            serde_json::to_vec(body).unwrap()
        };
        let request = request.body(Full::new(Bytes::from(body))).unwrap();
        soon(sender.send_request(request)).await.unwrap()
    }

    async fn get(&self, path: &str) -> (u16, String) {
        text(self.send("GET", path, &Value::Null).await).await
    }

    /// A change with this key.
    async fn change(&self, key: &str, path: &str, body: Value) -> (u16, Value) {
        let own = self.clone().with("idempotency-key", key);
        let (status, text) = text(own.send("POST", path, &body).await).await;
        (status, serde_json::from_str(&text).unwrap())
    }
}

async fn text(response: Response<Incoming>) -> (u16, String) {
    let status = response.status().as_u16();
    let bytes = soon(response.into_body().collect())
        .await
        .unwrap()
        .to_bytes();
    (status, String::from_utf8(bytes.to_vec()).unwrap())
}

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
async fn a_mark_whose_client_has_gone_is_made_once_all_the_same() {
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
    drop(stream);
    bench.until(|status| status.marks.len() == 1).await;
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

/// The next event with this name, its data as JSON.
async fn event(body: &mut Incoming, rest: &mut String, wanted: &str) -> Value {
    loop {
        if let Some(end) = rest.find("\n\n") {
            let event: String = rest.drain(..end + 2).collect();
            if let Some(data) = event.strip_prefix(&format!("event: {wanted}\ndata: ")) {
                return serde_json::from_str(data.trim_end()).unwrap();
            }
            continue;
        }
        let frame = soon(body.frame()).await.unwrap().unwrap();
        rest.push_str(std::str::from_utf8(frame.data_ref().unwrap()).unwrap());
    }
}

#[tokio::test]
async fn the_screen_comes_as_it_is_described_and_beats_while_nothing_happens() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let browser = Browser::by(&open(&bench).await["view_links"][0]).await;
    let mut body = browser
        .send("GET", "/page/events", &Value::Null)
        .await
        .into_body();
    let mut rest = String::new();
    assert_eq!(event(&mut body, &mut rest, "trace").await, json!([]));
    let frame = event(&mut body, &mut rest, "frame").await;
    assert_eq!(frame["kind"], "zero");
    assert_eq!(
        frame["screen"]["title"],
        "spindle seat: session 1, zero step 1"
    );
    assert_eq!(frame["stations"], json!([["A", 0.0], ["B", 80.0]]));
    bench.dwell("bench", 12).await;
    let shown = soon(async {
        loop {
            let frame = event(&mut body, &mut rest, "frame").await;
            if frame["screen"]["must"][0]["value"] == "+0.012" && frame["settled"] == true {
                break frame;
            }
        }
    })
    .await;
    assert_eq!(shown["now"][1], 0.012);
    bench.mark(json!({})).await;
    soon(async {
        loop {
            let frame = event(&mut body, &mut rest, "frame").await;
            if frame["mark"] == 1 {
                assert_eq!(frame["marked"][0]["place"], "A");
                assert_eq!(frame["stands_at"], "A");
                break;
            }
        }
    })
    .await;
    event(&mut body, &mut rest, "beat").await;
    // A second screen that comes later sees the last minute.
    let mut late = browser
        .send("GET", "/page/events", &Value::Null)
        .await
        .into_body();
    let trace = event(&mut late, &mut String::new(), "trace").await;
    assert!(!trace.as_array().unwrap().is_empty());
}

#[tokio::test]
async fn the_form_says_what_a_session_would_be_and_opens_none() {
    let bench = Place::new(streaming()).start();
    let browser = Browser::by(&open(&bench).await["mark_links"][0]).await;
    let (_, offered) = browser.get("/page/choices").await;
    let offered: Value = serde_json::from_str(&offered).unwrap();
    assert!(
        offered["kits"]
            .as_array()
            .unwrap()
            .contains(&json!("metric-88"))
    );
    assert!(
        offered["tapers"]
            .as_array()
            .unwrap()
            .contains(&json!("morse-2"))
    );
    assert_eq!(offered["cables"], json!(["bench"]));
    let options = json!({
        "taper": "1:12", "length": "30", "tolerance": "5arcsec", "bar": "100", "bar_kind": "sine", "kit": "metric-88",
        "span": "80", "big_end": "A", "indicator_side": "wheel", "resolution": "0.001",
    });
    let (status, text) = text(browser.send("POST", "/page/plan", &options).await).await;
    assert_eq!(status, 200, "{text}");
    let plan: Value = serde_json::from_str(&text).unwrap();
    assert!(
        plan["words"][1].as_str().unwrap().starts_with("stack 2 +"),
        "{plan}"
    );
    assert_eq!(plan["capability"]["provable"], true);
    assert!(bench.status().await.session.is_none());
    // What the plan says is what a session that is opened has.
    let opened = bench.open(options).await;
    assert_eq!(opened["capability"], plan["capability"]);
    assert_eq!(opened["setup"], plan["setup"]);
    let wrong = browser
        .send("POST", "/page/plan", &json!({ "taper": "1:0" }))
        .await;
    assert_eq!(wrong.status(), 422);
    let vague = browser
        .send("POST", "/page/plan", &json!({ "taper": "1:12" }))
        .await;
    assert!(crate::text(vague).await.1.contains("state a tolerance"));
}

#[tokio::test]
async fn the_form_of_a_step_offers_what_the_options_declare() {
    let bench = Place::new(streaming()).start();
    let browser = Browser::by(&open(&bench).await["view_links"][0]).await;
    let (status, offered) = browser.get("/page/steps").await;
    assert_eq!(status, 200, "{offered}");
    let offered: Value = serde_json::from_str(&offered).unwrap();
    assert_eq!(offered["cables"], json!(["bench"]));
    let kinds = offered["kinds"].as_array().unwrap();
    let names: Vec<_> = kinds.iter().map(|kind| &kind["kind"]).collect();
    let expected = ["zero", "sweep", "runout", "size", "contact", "dial"];
    assert_eq!(json!(names), json!(expected));
    let runout = &kinds[2];
    assert_eq!(runout["word"], "run-out");
    assert_eq!(
        runout["options"][0],
        json!({
            "name": "angles", "flag": "angles", "takes": "words", "words": ["clock", "turns", "steady"], "usual": true,
            "help": "Where angles come from: `clock`, `turns` (a mark for each turn) or `steady` (found from the readings)",
        })
    );
    assert_eq!(runout["options"][1]["limits"], json!([3.0, 360.0]));
}

#[tokio::test]
async fn options_are_checked_before_the_open_step_is_closed_for_them() {
    let bench = Place::new(streaming()).start();
    bench.open_zero().await;
    let browser = Browser::by(&open(&bench).await["mark_links"][0]).await;
    let check = |body: Value| {
        let browser = browser.clone();
        async move { text(browser.send("POST", "/page/check", &body).await).await }
    };
    for (options, said) in [
        (
            json!({ "kind": "runout", "angles": "clock", "per_turn": "2" }),
            "--per-turn: `2` is out of range",
        ),
        (
            json!({ "kind": "runout", "nominals": ["0", "1"] }),
            "`--nominals` applies only to dial steps",
        ),
        (
            json!({ "kind": "dial", "nominals": ["1"] }),
            "--nominals: 1 mm alone is not a range",
        ),
    ] {
        let (status, answer) = check(options).await;
        assert_eq!(status, 422, "{answer}");
        let answer: Value = serde_json::from_str(&answer).unwrap();
        let message = answer["message"].as_str().unwrap();
        assert!(message.starts_with(said), "{message}");
    }
    assert_eq!(check(json!({ "kind": "height" })).await.0, 400);
    let right = json!({ "kind": "runout", "angles": "clock", "per_turn": "8" });
    assert_eq!(check(right).await.0, 200);
    let step = bench.status().await.step.unwrap();
    assert_eq!((step.kind.name(), step.number), ("zero", 1));
}

#[tokio::test]
async fn two_sessions_stand_side_by_side_as_the_command_line_has_them() {
    let bench = Place::new(streaming()).start();
    let name = "spindle \u{202E}7 <b>";
    for left in ["0.001", "0.0003"] {
        bench
            .open(json!({ "name": name, "taper": "1:12", "length": "30", "span": "80", "cable": "typed" }))
            .await;
        bench.done("/v1/steps", json!({ "kind": "zero" })).await;
        for b in ["0.010", left] {
            for (station, value) in [("A", "0"), ("B", b), ("A", "0")] {
                bench
                    .mark(json!({ "station": station, "value": value }))
                    .await;
            }
            bench.done("/v1/clamp", json!({ "tight": b != left })).await;
        }
        bench.done("/v1/sessions/current/close", json!({})).await;
    }
    // Whoever may look on may compare.
    let browser = Browser::by(&open(&bench).await["view_links"][0]).await;
    let (status, pair) = browser.get("/page/beside/2/1").await;
    assert_eq!(status, 200, "{pair}");
    let pair: Value = serde_json::from_str(&pair).unwrap();
    assert_eq!((&pair["this"], &pair["beside"]), (&json!(2), &json!(1)));
    let row = |name: &str| {
        let mut rows = pair["rows"].as_array().unwrap().iter();
        rows.find(|row| row["name"] == name).unwrap()
    };
    assert_eq!(row("part")["this"]["text"], name);
    assert!(row("opened")["this"]["utc_ns"].is_i64());
    // 10 µm in 80 mm is 25.78″; then 0.3 µm and 1 µm.
    assert_eq!(row("residual as found")["this"]["text"], "+25.78\"");
    for (which, arcsec) in [("this", "+0.77\""), ("beside", "+2.58\"")] {
        let text = row("residual as left")[which]["text"].as_str().unwrap();
        assert!(text.starts_with(arcsec), "{text}");
    }
    // What neither measured has no row.
    assert!(!pair.to_string().contains("run-out"), "{pair}");
    let (status, said) = browser.get("/page/beside/2/2").await;
    assert_eq!(status, 422, "{said}");
    for (path, status) in [("/page/beside/2/9", 404), ("/page/beside/2/it", 404)] {
        assert_eq!(browser.get(path).await.0, status, "{path}");
    }
}
