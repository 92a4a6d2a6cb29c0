//! Every kind of step through the API, from its plan to its part of the record: places and what comes next, recorded
//! stretches, and what one step finds for the next.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]
#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod bench_daemon;

use bench_daemon::{Bench, MS, Place, S, cable, streaming};
use conewright_daemon::clock::Clock;
use config::{Cadence, Config, Measures};
use protocol::api::{CableState, SoFar};
use serde_json::{Value, json};
use std::cell::Cell;
use std::f64::consts::TAU;

/// An indicator that streams, and a scale that reports the table's position.
fn with_scale() -> Config {
    let mut config = streaming();
    let mut scale = cable("scale", Cadence::Streams { stale_after_s: 1.0 });
    scale.measures = Measures::Position;
    config.cables.push(scale);
    config
}

/// What an indicator shows of a part that turns once in 2 s: 5 µm out toward 120°, oval by 1 µm toward 30°.
fn oval(seconds: f64) -> f64 {
    let angle = TAU * seconds / 2.0;
    0.010 + 0.005 * (angle - TAU / 3.0).cos() + 0.001 * (2.0 * (angle - TAU / 12.0)).cos()
}

/// The outcome as status gives it, which must be that of the record, which must agree with its readings.
async fn outcome(bench: &Bench) -> Value {
    let status = bench.status().await;
    let record = bench.record().await;
    let step = record["steps"].as_array().unwrap().last().unwrap();
    let live = serde_json::to_value(&status.outcome).unwrap();
    assert_eq!(step["outcome"], live, "{:?}", status.no_outcome);
    live
}

fn near(outcome: &Value, field: &str, wanted: f64, within: f64) {
    let got = outcome[field].as_f64();
    let got = got.unwrap_or_else(|| panic!("no {field} in {outcome}"));
    assert!(
        (got - wanted).abs() <= within,
        "{field}: {got}, not {wanted}"
    );
}

/// A run-out step of a turning part.
async fn runout_begun(options: Value) -> Bench {
    let bench = Place::new(streaming()).start();
    bench.open(json!({ "taper": "1:12" })).await;
    let step = bench.done("/v1/steps", options.clone()).await;
    assert_eq!(step["options"]["angles"], options["angles"]);
    bench
}

#[tokio::test]
async fn a_turning_part_is_marked_turn_by_turn() {
    let bench = runout_begun(json!({ "kind": "runout", "angles": "turns" })).await;
    bench.stream(&["bench"], 5, 20 * MS, |_, _| 0.5).await;
    for turn in 0..4 {
        let status = bench.status().await;
        assert_eq!(status.next_mark.as_deref(), Some("turn"));
        assert_eq!(status.recording, turn > 0);
        let marked = bench.mark(json!({})).await;
        assert_eq!(marked["place"], "turn");
        assert!(marked.get("value_mm").is_none(), "{marked}");
        if turn < 3 {
            bench.stream(&["bench"], 100, 20 * MS, |_, s| oval(s)).await;
        }
    }
    let status = bench.status().await;
    let Some(SoFar::Runout {
        points,
        tir_um,
        turns,
    }) = status.so_far
    else {
        panic!("{:?}", status.so_far);
    };
    // The mark of the beginning is of the moment of the reading before it.
    assert_eq!((points, turns), (301, 3));
    assert!(tir_um > 100.0, "that reading was at 0.5 mm: {tir_um}");
    let found = outcome(&bench).await;
    near(&found, "turns", 3.0, 0.0);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn eccentricity_and_ovality_of_a_turning_part_are_those_it_was_made_with() {
    let turns = json!({ "kind": "runout", "angles": "turns", "condition": "left" });
    let bench = runout_begun(turns).await;
    bench.stream(&["bench"], 100, 20 * MS, |_, s| oval(s)).await;
    for _ in 0..4 {
        bench.mark(json!({})).await;
        bench.stream(&["bench"], 100, 20 * MS, |_, s| oval(s)).await;
    }
    let found = outcome(&bench).await;
    // To a hundredth of the display's step over three hundred readings.
    near(&found, "eccentricity_um", 5.0, 0.01);
    near(&found, "high_spot_deg", 120.0, 0.2);
    near(&found, "roundness_ls_um", 2.0, 0.15);
    let second = found["harmonics_um"][0].as_f64().unwrap();
    assert!((second - 1.0).abs() < 0.01, "{second}");
    // A turn taken back leaves two.
    bench.done("/v1/marks/undo", json!({})).await;
    near(&outcome(&bench).await, "turns", 2.0, 0.0);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_steady_turn_is_found_between_beginning_and_end() {
    let bench = runout_begun(json!({ "kind": "runout", "angles": "steady" })).await;
    bench.stream(&["bench"], 20, 20 * MS, |_, s| oval(s)).await;
    assert_eq!(bench.mark(json!({})).await["place"], "begin");
    bench.stream(&["bench"], 500, 20 * MS, |_, s| oval(s)).await;
    let status = bench.status().await;
    assert!(status.recording && status.outcome.is_none());
    assert!(status.no_outcome.unwrap().contains("mark its end"));
    assert_eq!(bench.mark(json!({})).await["place"], "end");
    let found = outcome(&bench).await;
    near(&found, "eccentricity_um", 5.0, 0.02);
    // A tenth of a reading over the five turns.
    near(&found, "turn_s", 2.0, 0.002);
    // The end taken back: it goes on, and what came meanwhile counts.
    bench.stream(&["bench"], 50, 20 * MS, |_, s| oval(s)).await;
    bench.done("/v1/marks/undo", json!({})).await;
    assert!(bench.status().await.recording);
    bench
        .stream(&["bench"], 50, 20 * MS, |_, s| oval(s + 1.0))
        .await;
    bench.mark(json!({})).await;
    let found = outcome(&bench).await;
    near(&found, "points", 601.0, 0.0);
    // And the beginning: nothing is recorded any more.
    bench.done("/v1/marks/undo", json!({})).await;
    bench.done("/v1/marks/undo", json!({})).await;
    let status = bench.status().await;
    assert!(!status.recording && status.so_far.is_none());
    assert_eq!(status.next_mark.as_deref(), Some("begin"));
    bench.stop().await.1.unwrap();
}

/// The table goes 8 mm a second; the cone rises 1 µm over 80 mm and stands out 2 µm in the middle.
fn swept(cable: &str, seconds: f64) -> f64 {
    let x = 8.0 * seconds;
    match cable {
        "scale" => x,
        _ => 0.001 * x / 80.0 + 0.002 * 4.0 * (x / 80.0) * (1.0 - x / 80.0),
    }
}

const BOTH: [&str; 2] = ["scale", "bench"];

/// A sweep by the second cable, begun where the table stands at 0 mm.
async fn sweep_begun() -> Bench {
    let bench = Place::new(with_scale()).start();
    bench.open(json!({ "taper": "1:12", "span": "80" })).await;
    let step = json!({ "kind": "sweep", "positions": "cable" });
    let step = bench.done("/v1/steps", step).await;
    assert_eq!(step["options"]["position_cable"], "scale");
    bench.stream(&BOTH, 10, 50 * MS, |c, _| swept(c, 0.0)).await;
    bench.mark(json!({})).await;
    bench
}

#[tokio::test]
async fn a_sweep_takes_its_places_from_a_second_cable() {
    let bench = sweep_begun().await;
    bench.stream(&BOTH, 200, 50 * MS, swept).await;
    let status = bench.status().await;
    let Some(SoFar::Sweep {
        points,
        slope,
        bow_um,
        ..
    }) = status.so_far
    else {
        panic!("{:?}", status.so_far);
    };
    // The beginning is of the moment of the reading before it.
    assert_eq!(points, 201);
    let so_far = (slope.unwrap(), bow_um.unwrap());
    bench.mark(json!({ "station": "end" })).await;
    let found = outcome(&bench).await;
    near(&found, "points", 201.0, 0.0);
    near(&found, "slope", 0.001 / 80.0, 2e-7);
    near(&found, "bow_um", 2.0, 0.02);
    assert!((so_far.0 - found["slope"].as_f64().unwrap()).abs() < 1e-12);
    assert!((so_far.1 - found["bow_um"].as_f64().unwrap()).abs() < 1e-6);
    bench.stop().await.1.unwrap();
}

/// Places are wanted at every reading, so their cable must send by itself. The indicator may be pressed at each place.
#[tokio::test]
async fn places_come_from_a_cable_that_sends_by_itself() {
    let mut config = with_scale();
    config.cables.push(cable("dial", Cadence::Press));
    let mut pressed_scale = cable("pressed", Cadence::Press);
    pressed_scale.measures = Measures::Position;
    config.cables.push(pressed_scale);
    let bench = Place::new(config).start();
    bench.open(json!({ "taper": "1:12", "span": "80" })).await;
    let sweep = |indicator: &str, places: &str| json!({ "kind": "sweep", "positions": "cable", "cable": indicator, "position_cable": places });
    bench.stream(&BOTH, 10, 50 * MS, |c, _| swept(c, 0.0)).await;
    bench.done("/v1/steps", sweep("bench", "pressed")).await;
    let told = bench
        .refused("/v1/marks", json!({}), "cable_not_live")
        .await;
    assert!(
        told.contains("`pressed` sends a reading only when"),
        "{told}"
    );
    bench.done("/v1/steps/current/close", json!({})).await;
    bench.done("/v1/steps", sweep("dial", "scale")).await;
    assert_eq!(bench.mark(json!({})).await["place"], "begin");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_sweep_at_a_steady_feed_goes_there_and_back() {
    let bench = Place::new(streaming()).start();
    bench.open(json!({ "taper": "1:12", "span": "80" })).await;
    let feed = json!({ "kind": "sweep", "positions": "feed" });
    bench.done("/v1/steps", feed).await;
    bench
        .stream(&["bench"], 10, 50 * MS, |c, _| swept(c, 0.0))
        .await;
    assert_eq!(bench.mark(json!({})).await["place"], "begin at A");
    bench.stream(&["bench"], 200, 50 * MS, swept).await;
    assert_eq!(bench.mark(json!({})).await["place"], "end at B");
    near(&outcome(&bench).await, "slope", 0.001 / 80.0, 2e-7);
    bench
        .stream(&["bench"], 10, 50 * MS, |c, _| swept(c, 10.0))
        .await;
    assert_eq!(
        bench.mark(json!({ "station": "b" })).await["place"],
        "begin at B"
    );
    bench
        .stream(&["bench"], 200, 50 * MS, |c, s| swept(c, 10.0 - s))
        .await;
    assert_eq!(bench.mark(json!({})).await["place"], "end at A");
    let found = outcome(&bench).await;
    near(&found, "points", 402.0, 0.0);
    near(&found, "slope", 0.001 / 80.0, 2e-7);
    near(&found, "bow_um", 2.0, 0.02);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_sweep_by_stations_and_a_run_out_by_the_clock_are_dwells() {
    let bench = Place::new(streaming()).start();
    let stations = json!({ "taper": "1:12", "span": "80", "stations": ["M=40"] });
    bench.open(stations).await;
    bench.done("/v1/steps", json!({ "kind": "sweep" })).await;
    for (um, station) in [(0, "A"), (12, "M"), (20, "B")] {
        bench.dwell("bench", um).await;
        assert_eq!(bench.mark(json!({})).await["station"], station);
    }
    let found = outcome(&bench).await;
    near(&found, "slope", 0.02 / 80.0, 1e-12);
    near(&found, "bow_um", 2.0, 1e-9);
    bench.done("/v1/steps/current/close", json!({})).await;

    let clock = json!({ "kind": "runout", "per_turn": "4" });
    bench.done("/v1/steps", clock).await;
    for (um, text, place) in [
        (5, json!({}), "0°"),
        (9, json!({ "angle": "90deg" }), "90°"),
        (5, json!({ "station": "6h" }), "180°"),
        (1, json!({}), "270°"),
    ] {
        bench.dwell("bench", um).await;
        assert_eq!(bench.mark(text).await["place"], place);
    }
    let found = outcome(&bench).await;
    near(&found, "tir_um", 8.0, 1e-9);
    near(&found, "eccentricity_um", 4.0, 1e-9);
    near(&found, "high_spot_deg", 90.0, 1e-9);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn grinding_was_before_the_next_mark_or_the_round_that_disagrees() {
    let bench = Place::new(streaming()).start();
    bench.open(json!({ "taper": "1:12" })).await;
    let size = json!({ "kind": "size", "planes": ["0", "48"] });
    bench.done("/v1/steps", size).await;
    let measure = async |big: &str, small: &str| {
        for value in [big, small] {
            bench.mark(json!({ "value": value })).await;
        }
    };
    measure("40.000", "36.000").await;
    measure("40.001", "36.001").await;
    let ground = async || {
        let told = bench.done("/v1/ground", json!({})).await;
        (told["before_mark"].clone(), told["next"].clone())
    };
    assert_eq!(ground().await, (json!(5), json!(true)), "the rounds agree");
    measure("39.900", "35.900").await;
    // Half a millimetre less, and nobody had said that it was ground.
    measure("39.400", "35.400").await;
    let asked = (json!(7), json!(false));
    assert_eq!(ground().await, asked, "the round that disagrees");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_caliper_measures_planes_press_by_press() {
    let mut config = streaming();
    config.cables.push(cable("caliper", Cadence::Press));
    let bench = Place::new(config).start();
    bench
        .open(json!({ "taper": "1:12", "cable": "bench" }))
        .await;
    let size = json!({ "kind": "size", "cable": "caliper", "planes": ["0", "48"] });
    bench.done("/v1/steps", size).await;
    let status = bench.status().await;
    assert_eq!(status.indicator.as_deref(), Some("caliper"));
    assert_eq!(status.next_mark.as_deref(), Some("plane 0 mm"));
    let now = bench.place.clock.steady_ns();
    bench.reading("caliper", 40_000, now).await;
    bench.until(|s| s.marks.len() == 1).await;
    bench.reading("caliper", 36_000, now + S).await;
    let status = bench.until(|s| s.marks.len() == 2).await;
    assert_eq!(status.marks[1].place, "plane 48 mm");
    // 4 mm over 48 mm: the half angle of 1:12, atan(1/24) = 2.385 944°.
    near(&outcome(&bench).await, "half_angle_deg", 2.385_944, 1e-6);
    // Ground, and measured again: what was there before is no more.
    for (plane, value) in [("0", "39.990"), ("48", "35.990")] {
        let again = json!({ "station": plane, "value": value });
        bench.mark(again).await;
    }
    let ground = outcome(&bench).await;
    near(&ground, "half_angle_deg", 2.385_944, 1e-6);
    let planes = ground["planes"].as_array().unwrap();
    assert_eq!(planes.len(), 2, "{ground}");
    near(&planes[0], "diameter_mm", 39.990, 1e-9);
    // A typed one, at a plane of the user's own.
    let typed = json!({ "station": "1in", "value": "37.8833" });
    assert_eq!(bench.mark(typed).await["place"], "plane 25.4 mm");
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn an_indicator_that_was_checked_is_believed_no_more_and_no_less_by_every_later_step() {
    let bench = Place::new(streaming()).start();
    let setup = json!({ "span": "80", "cable": "bench" });
    bench.open(setup.clone()).await;
    let dial = json!({ "kind": "dial", "nominals": ["0", "1", "2"], "correct": true });
    bench.done("/v1/steps", dial).await;
    for (um, place) in [
        (0, "0 mm up"),
        (1_003, "1 mm up"),
        (2_001, "2 mm up"),
        (2_002, "2 mm down"),
        (1_005, "1 mm down"),
        (1, "0 mm down"),
    ] {
        // A step of the display is noise or a movement; twice the time tells which.
        bench.dwell("bench", um).await;
        bench.dwell("bench", um).await;
        assert_eq!(bench.mark(json!({})).await["place"], place);
    }
    let found = outcome(&bench).await;
    near(&found, "error_span_um", 5.0, 1e-9);
    near(&found, "hysteresis_um", 2.0, 1e-9);
    let (_, list) = bench.get("/v1/sessions").await;
    assert!(list["sessions"][0].get("verdict").is_none(), "{list}");
    let utc = bench
        .place
        .clock
        .utc
        .load(std::sync::atomic::Ordering::SeqCst);
    bench.done("/v1/steps/current/close", json!({})).await;
    let check = |step: &Value| step["indicator"]["check"].clone();
    let zero = bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    assert_eq!(check(&zero)["u_um"], found["check"]["u_um"], "{zero}");
    assert_eq!(check(&zero)["checked_utc_ns"], utc);
    bench.done("/v1/steps/current/close", json!({})).await;
    let again = bench.done("/v1/steps", json!({ "kind": "dial" })).await;
    assert!(again.get("indicator").is_none(), "{again}");
    bench.done("/v1/sessions/current/close", json!({})).await;

    // In the next session of the same cable as well, over a restart, and not with another indicator.
    let (place, stopped) = bench.stop().await;
    stopped.unwrap();
    let bench = place.start();
    bench.open(setup).await;
    let zero = bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    assert_eq!(check(&zero)["checked_utc_ns"], utc);
    bench.done("/v1/sessions/current/close", json!({})).await;
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_print_is_held_against_what_the_zero_step_found() {
    let bench = Place::new(Config::default()).start();
    let setup = json!({
        "taper": "1:12", "length": "60", "span": "80", "tolerance": "20arcsec",
        "big_end": "A", "indicator_side": "wheel", "resolution": "0.1um",
        "bar": "100", "bar_kind": "sine", "kit": "metric-88",
    });
    bench.open(setup).await;
    bench.done("/v1/steps", json!({ "kind": "zero" })).await;
    for value in ["0", "0.0010", "0"] {
        bench.mark(json!({ "value": value })).await;
    }
    let found = outcome(&bench).await;
    let error = found["half_angle_error_arcsec"].as_f64().unwrap();
    let verdict = found["verdict"].clone();
    bench.done("/v1/steps/current/close", json!({})).await;
    let image = bench.place.image();
    let contact = bench.done("/v1/steps", json!({ "kind": "contact" })).await;
    assert_eq!(contact["options"]["found_arcsec"][0], error);
    let status = bench.status().await;
    assert!(status.next_mark.is_none());
    for (body, said) in [
        (json!({}), "by what it shows"),
        (json!({ "station": "A" }), "three percentages"),
        (json!({ "station": "90,40,130" }), "130 %"),
        (
            json!({ "station": "90,40,0", "value": "0.1" }),
            "no reading",
        ),
        (json!({ "angle": "30" }), "not at angles"),
    ] {
        let message = bench.refused("/v1/marks", body, "bad_value").await;
        assert!(message.contains(said), "{message}");
    }
    let marked = bench.mark(json!({ "station": "90,40,0" })).await;
    assert_eq!(marked["place"], "print 90 / 40 / 0 %");
    let found = outcome(&bench).await;
    assert_eq!(found["bearing"], "big_end");
    assert!(found["consistent"].is_boolean(), "{found}");
    // A print has no verdict: that of the zero step stays the session's.
    let (_, list) = bench.get("/v1/sessions").await;
    assert_eq!(list["sessions"][0]["verdict"], verdict);
    assert_eq!(list["sessions"][0]["kinds"], json!(["zero", "contact"]));
    bench.stop().await.1.unwrap();
    // What was found is there after a kill, too.
    let bench = image.start();
    let contact = bench.done("/v1/steps", json!({ "kind": "contact" })).await;
    assert_eq!(contact["options"]["found_arcsec"][0], error);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_kill_in_the_middle_of_a_stretch_loses_nothing_of_it() {
    let bench = sweep_begun().await;
    bench.stream(&BOTH, 100, 50 * MS, swept).await;
    // A record is made of what is on the disk, so all of it is then.
    bench.record().await;
    let killed = bench.place.image();
    let after = |seconds: f64| seconds + 5.0;
    let (mut found, mut live) = (Vec::new(), Vec::new());
    bench
        .stream(&BOTH, 1, 50 * MS, |c, s| swept(c, after(s)))
        .await;
    let other = killed.start();
    for bench in [&bench, &other] {
        let status = bench.status().await;
        assert!(status.recording);
        live.push(status.so_far.unwrap());
    }
    assert!(
        matches!(live[1], SoFar::Sweep { points: 101, .. }),
        "{live:?}"
    );
    other
        .stream(&BOTH, 100, 50 * MS, |c, s| swept(c, after(s)))
        .await;
    other.mark(json!({})).await;
    found.push(outcome(&other).await);
    near(&found[0], "points", 201.0, 0.0);
    near(&found[0], "slope", 0.001 / 80.0, 2e-7);
    assert_eq!(found[0]["remarks"], Value::Null, "no gap: {}", found[0]);
    bench.stop().await.1.unwrap();
    other.stop().await.1.unwrap();
}

#[tokio::test]
async fn a_gap_in_a_stretch_is_told_and_nothing_is_made_up_for_it() {
    let bench = sweep_begun().await;
    bench.stream(&BOTH, 60, 50 * MS, swept).await;
    // The scale is pulled for 3 s, in which the table goes back and forth; the indicator goes on.
    bench
        .state("scale", CableState::Gone, Some("unplugged"))
        .await;
    bench.stream(&["bench"], 60, 50 * MS, |_, _| 0.2).await;
    bench
        .stream(&BOTH, 60, 50 * MS, |c, s| swept(c, s + 3.0))
        .await;
    bench.mark(json!({})).await;
    let found = outcome(&bench).await;
    // What the indicator showed meanwhile, 0.2 mm, counts nowhere.
    // Over the first 48 of 80 mm the bow adds a slope of its own: 4·2 µm/80 mm · (1 − 0.6).
    near(&found, "slope", 0.001 / 80.0 + 0.008 / 80.0 * 0.4, 1e-6);
    assert!(
        found["straightness_mz_um"].as_f64().unwrap() < 3.0,
        "{found}"
    );
    near(&found, "points", 121.0, 0.0);
    let remarks = found["remarks"].to_string();
    assert!(
        remarks.contains("60 readings were taken where"),
        "{remarks}"
    );
    assert!(remarks.contains("`scale` sent nothing for 3."), "{remarks}");
    bench.stop().await.1.unwrap();
}

/// Readings go on while a beginning and an end are on their way to the disk: live and in the record they are the same.
#[tokio::test]
async fn no_reading_is_lost_while_a_mark_is_stored() {
    let bench = runout_begun(json!({ "kind": "runout", "angles": "turns" })).await;
    bench.stream(&["bench"], 10, 20 * MS, |_, s| oval(s)).await;
    let done = Cell::new(false);
    let streaming = async {
        while !done.get() {
            bench.stream(&["bench"], 10, 20 * MS, |_, s| oval(s)).await;
        }
    };
    let marking = async {
        let mut marks = 0;
        // A mark at the very moment of the one before is refused; the clock stands still between readings.
        while marks < 12 {
            marks += u32::from(bench.post("/v1/marks", json!({})).await.0 == 200);
        }
        done.set(true);
    };
    tokio::join!(streaming, marking);
    near(&outcome(&bench).await, "turns", 11.0, 0.0);
    bench.stop().await.1.unwrap();
}

#[tokio::test]
async fn what_a_step_cannot_take_is_refused_and_nothing_of_it_stored() {
    let mut config = with_scale();
    config.cables.push(cable("dial", Cadence::Press));
    let bench = Place::new(config).start();
    bench.open(json!({ "taper": "1:12", "span": "80" })).await;
    for (legend, options, marks) in [
        (
            "a sweep at a feed",
            json!({ "kind": "sweep", "positions": "feed" }),
            vec![
                (json!({}), "cable_not_live", "sent nothing yet"),
                (
                    json!({ "value": "0.1" }),
                    "bad_value",
                    "takes no typed value",
                ),
                (
                    json!({ "station": "Z" }),
                    "unknown_name",
                    "the stations are A, B",
                ),
            ],
        ),
        (
            "a sweep by a second cable",
            json!({ "kind": "sweep", "positions": "cable" }),
            vec![(json!({ "station": "A" }), "bad_value", "next is its begin")],
        ),
        (
            "turns of an instrument that is pressed",
            json!({ "kind": "runout", "angles": "turns", "cable": "dial" }),
            vec![(json!({}), "cable_not_live", "sends by itself")],
        ),
        (
            "a run-out by the clock",
            json!({ "kind": "runout" }),
            vec![
                (
                    json!({ "station": "400", "value": "0" }),
                    "bad_value",
                    "beyond the turn",
                ),
                (
                    json!({ "station": "13h", "value": "0" }),
                    "bad_value",
                    "13h",
                ),
                (json!({ "angle": "NaN", "value": "0" }), "bad_value", "NaN"),
                (
                    json!({ "angle": "30", "station": "1h" }),
                    "bad_value",
                    "not both",
                ),
                (json!({ "value": "NaN" }), "bad_value", "NaN"),
                (json!({ "value": "1e400" }), "bad_value", "1e400"),
            ],
        ),
        (
            "a size without planes",
            json!({ "kind": "size" }),
            vec![
                (json!({ "value": "40" }), "bad_value", "needs one"),
                (
                    json!({ "station": "deep", "value": "40" }),
                    "bad_value",
                    "deep",
                ),
            ],
        ),
        (
            "a check",
            json!({ "kind": "dial", "nominals": ["0", "1"] }),
            vec![(
                json!({ "station": "one", "value": "1" }),
                "bad_value",
                "known step",
            )],
        ),
    ] {
        bench.done("/v1/steps", options).await;
        for (body, code, said) in marks {
            let message = bench.refused("/v1/marks", body, code).await;
            assert!(message.contains(said), "{legend}: {message}");
        }
        let status = bench.status().await;
        assert!(status.marks.is_empty() && !status.recording, "{legend}");
        bench.done("/v1/steps/current/close", json!({})).await;
    }
    for (options, code) in [
        (json!({ "kind": "size", "planes": ["0", "0"] }), "bad_value"),
        (
            json!({ "kind": "runout", "planes": ["5", "5.000"] }),
            "bad_value",
        ),
        (json!({ "kind": "dial", "nominals": ["NaN"] }), "bad_value"),
        (json!({ "kind": "zero", "planes": ["5"] }), "bad_value"),
        (json!({ "kind": "zero", "plane": "5" }), "unknown_name"),
        (json!({ "kind": "runout", "per_turn": 8 }), "bad_request"),
        (json!({ "kind": "height" }), "bad_request"),
        (json!({ "planes": ["5"] }), "bad_request"),
        (
            json!({ "kind": "runout", "cable": "nobody" }),
            "unknown_name",
        ),
        (json!({ "kind": "size", "by": "rollers" }), "bad_value"),
    ] {
        bench.refused("/v1/steps", options, code).await;
    }
    let record = bench.record().await;
    let steps = record["steps"].as_array().unwrap();
    assert_eq!(steps.len(), 6);
    assert!(steps.iter().all(|step| step["marks"] == json!([])));
    bench.stop().await.1.unwrap();
}
