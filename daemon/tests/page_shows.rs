//! What the live page shows: the screen as it is described, the forms of a session and of a step, two sessions side by side.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;
mod browser;

use bench_daemon::{Place, soon, streaming};
use browser::{Browser, open, text};
use http_body_util::BodyExt;
use hyper::body::Incoming;
use protocol::style::Language;
use serde_json::{Value, json};

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
    assert!(browser::text(vague).await.1.contains("state a tolerance"));
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

/// The words, the numbers and the kinds of step follow `[document]`; what is refused stays English.
#[tokio::test]
async fn the_page_is_in_the_language_of_documents() {
    let mut config = streaming();
    config.document.language = Language::De;
    let bench = Place::new(config).start();
    bench.open_zero().await;
    let browser = Browser::by(&open(&bench).await["mark_links"][0]).await;
    let (_, frame) = browser.get("/").await;
    assert!(frame.contains("<html lang=\"de\">") && frame.contains(">Markieren<"));
    let (_, words) = browser.get("/words.js").await;
    assert!(words.contains("\"Großes Ende\"") && words.contains("POINT = \",\""));
    let (_, steps) = browser.get("/page/steps").await;
    let steps: Value = serde_json::from_str(&steps).unwrap();
    assert_eq!(steps["kinds"][0]["word"], "Nullabgleich");
    let vague = json!({ "taper": "1:12" });
    let (_, plan) = text(browser.send("POST", "/page/plan", &vague).await).await;
    let plan: Value = serde_json::from_str(&plan).unwrap();
    assert!(
        plan["can_prove"].as_str().unwrap().starts_with("angeben"),
        "{plan}"
    );
    bench.dwell("bench", 12).await;
    let events = browser.send("GET", "/page/events", &Value::Null).await;
    let (mut body, mut rest) = (events.into_body(), String::new());
    let shown = soon(async {
        loop {
            let frame = event(&mut body, &mut rest, "frame").await;
            if frame["screen"]["must"][0]["value"] == "+0,012" {
                break frame;
            }
        }
    })
    .await;
    assert_eq!(shown["place_wanted"], "Messstelle oder Abstand von A");
    assert!(
        shown["screen"]["title"]
            .as_str()
            .unwrap()
            .contains("Sitzung 1, Nullabgleich 1"),
        "{shown}"
    );
}
