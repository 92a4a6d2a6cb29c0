//! The verbs that need no daemon, as whole processes: what they print, where, and how they exit.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

mod home;

use home::Home;
use serde_json::Value;
use std::process::Stdio;

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("its output is UTF-8")
}

#[test]
fn what_people_see_and_how_it_exits() {
    let home = Home::new();
    for (args, code, stdout, stderr) in [
        (vec!["taper", "morse", "2"], 0, "half angle", ""),
        (vec!["taper"], 0, "morse-2", ""),
        (vec!["taper", "mores-2"], 2, "", "did you mean `morse-2`?"),
        (vec!["taper", "90deg"], 2, "", "below 90°"),
        (vec!["stack", "4.159"], 0, "2 + 1.15 + 1.009", ""),
        (
            vec!["stack", "0.7215in", "--kit", "inch-81"],
            0,
            "stack 0.7215 in",
            "",
        ),
        (
            vec!["stack", "0.7215in", "--kit", "inch-81"],
            0,
            " + .1005 of inch-81",
            "",
        ),
        (
            vec!["--unit", "furlong", "stack", "5"],
            2,
            "",
            "possible values: mm, um, in",
        ),
        (vec!["stack", "0"], 2, "", "a height is above 0 mm"),
        (vec!["stack", "-5"], 2, "", "a height is above 0 mm"),
        (vec!["stack", "5furlong"], 2, "", "unknown unit `furlong`"),
        (
            vec!["stack", "5", "--kit", "metrik-88"],
            2,
            "",
            "did you mean `metric-88`?",
        ),
        (vec!["stack", "9999"], 1, "", "the highest, of 88 blocks"),
        (vec!["stack", "0.7"], 1, "stack", "off by"),
        (
            vec!["stack", "--angle", "0deg", "--bar", "100"],
            2,
            "",
            "above 0°",
        ),
        (
            vec!["stack", "--angle", "90deg", "--bar", "100"],
            2,
            "",
            "below 90°",
        ),
        (vec!["stack", "--angle", "1deg"], 2, "", "--bar <C>"),
        (
            vec!["stack", "5", "--angle", "1deg", "--bar", "100"],
            2,
            "",
            "cannot be used with",
        ),
        (vec!["stack"], 2, "", "required"),
        (vec!["tapr"], 2, "", "'taper'"),
        (vec!["stack", "5", "--withn", "1um"], 2, "", "'--within'"),
        (
            vec!["step", "zero", "--pass-depth", "0.01"],
            2,
            "",
            "error: `--pass-depth` applies only to size steps\n\
             hint: leave it out, or use `conewright step size`\n",
        ),
        (
            vec!["analyse", "size", "seat.csv", "--film", "2um"],
            2,
            "",
            "error: `--film` applies only to contact steps\n\
             hint: leave it out, or use `conewright analyse contact`\n",
        ),
        (
            vec!["step", "size", "--pass-dept", "0.01"],
            2,
            "",
            "'--pass-depth'",
        ),
        (vec![], 2, "", "Usage"),
        (
            vec!["verify", "none.json"],
            1,
            "",
            "none.json cannot be read",
        ),
        (
            vec!["--config", "none.toml", "taper", "1:12"],
            1,
            "",
            "none.toml",
        ),
        (vec!["--help"], 0, "Examples", ""),
        (vec!["--version"], 0, "conewright", ""),
        (vec!["man"], 0, "CONEWRIGHT SESSION OPEN", ""),
        (vec!["completions", "bash"], 0, "complete -F", ""),
    ] {
        let out = home.run(&args);
        let (said, told) = (text(&out.stdout), text(&out.stderr));
        assert_eq!(out.status.code(), Some(code), "{args:?}: {said}{told}");
        assert!(said.contains(stdout), "{args:?} on stdout: {said}");
        assert!(told.contains(stderr), "{args:?} on stderr: {told}");
        assert_eq!(
            stdout.is_empty(),
            said.is_empty(),
            "{args:?}: data on stdout: {said}"
        );
        assert_eq!(
            stderr.is_empty(),
            told.is_empty(),
            "{args:?}: talk on stderr: {told}"
        );
        assert!(
            !told.contains('\u{1b}'),
            "{args:?}: colour where there is no terminal"
        );
    }
}

/// 1:20.020 has a half angle of 1.43067°, 1:20.047 one of 1.42874°, 1:20 one of 1.43210° (α = atan(1/2n)).
#[test]
fn a_found_angle_names_the_tapers_that_it_can_be_and_what_a_regrind_takes() {
    let home = Home::new();
    let arguments = ["taper", "--find", "1.4303deg", "--uncertainty", "0.0010deg"];
    let (found, code) = home.json(&arguments);
    assert_eq!(code, 0);
    let candidates = found["candidates"].as_array().unwrap();
    let within: Vec<&Value> = candidates
        .iter()
        .filter(|candidate| candidate["outside_by_arcsec"] == 0.0)
        .collect();
    assert_eq!(within.len(), 1, "{within:#?}");
    // The short tapers of DIN 238 are cut from number 2 and have its ratio.
    assert_eq!(
        within[0]["tapers"],
        serde_json::json!(["morse-2", "b-16", "b-18"])
    );
    assert!(found.get("regrind").is_none());

    let more = [
        "--diameter",
        "17.9",
        "--length",
        "60",
        "--to",
        "morse-2",
        "--clean-up",
        "0.03",
    ];
    let (found, code) = home.json(&[&arguments[..], &more].concat());
    assert_eq!(code, 0);
    let regrind = &found["regrind"];
    assert_eq!(regrind["taper"], "morse-2");
    assert_eq!(regrind["cleans_up"], true);
    // 2 · 60 mm · (tan 1.43067° − tan 1.4303°) = 0.77 µm more at the small end.
    let at = |end: &str| regrind[end].as_f64().unwrap();
    assert!((at("stock_at_big_end_um") - 30.0).abs() < 1e-6);
    assert!((at("stock_at_small_end_um") - 30.77).abs() < 0.02);
    assert!((at("big_end_mm") - 17.87).abs() < 1e-9);
    assert!((at("small_end_mm") - (17.87 - 60.0 / 20.020)).abs() < 1e-9);
    // ASME B5.10: 0.700 in at the gauge plane.
    assert!((at("gauge_plane_mm") - (17.87 - 17.78) * 20.020).abs() < 1e-6);

    for (more, told) in [
        (&["--to", "1:12"][..], "--length 30"),
        (&["--to", "mores-2"], "did you mean `morse-2`?"),
        (&["--to", "morse-2", "--clean-up=-1"], "clean-up -1 mm"),
        (
            &["--to", "morse-2", "--to-diameter", "17"],
            "beside the diameter found there",
        ),
        (&["--diameter", "0", "--to", "morse-2"], "diameter 0 mm"),
    ] {
        let output = home.run(&[&arguments[..], more].concat());
        let stderr = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{more:?}: {stderr}");
        assert!(stderr.contains(told), "{more:?}: {stderr}");
    }
}

#[test]
fn the_numbers_of_a_taper() {
    let home = Home::new();
    let (taper, code) = home.json(&["taper", "1:12"]);
    assert_eq!(code, 0);
    // ISO 1119 prints 4°46'18.7970" as the cone angle of 1:12.
    let printed = 4.0 + 46.0 / 60.0 + 18.7970 / 3600.0;
    let included = taper["included_angle_deg"].as_f64().unwrap();
    assert!((included - printed).abs() < 0.00005 / 3600.0, "{included}");
    let half = taper["half_angle_deg"].as_f64().unwrap();
    assert!((2.0 * half - included).abs() < 1e-12);
    assert!((taper["ratio_n"].as_f64().unwrap() - 12.0).abs() < 1e-12);
    assert_eq!(taper["name"], "1:12");
    assert!(taper["source"].is_string());
    // What is not known is absent.
    assert!(taper.get("gauge_diameter_mm").is_none(), "{taper}");

    let (morse, _) = home.json(&["taper", "morse-2"]);
    // 17.780 mm as ISO 296 prints it, from memory.
    assert_eq!(morse["gauge_diameter_mm"].as_f64(), Some(17.78));
    let (all, _) = home.json(&["taper"]);
    assert!(all["tapers"].as_array().unwrap().len() > 40);
}

#[test]
fn the_numbers_of_a_stack() {
    let home = Home::new();
    let (stack, code) = home.json(&["stack", "--angle", "1:12", "--bar", "100"]);
    assert_eq!(code, 0);
    // H = C sin α, α = atan(1/24): 100 / sqrt(577) mm.
    let height = stack["height_mm"].as_f64().unwrap();
    assert!((height - 100.0 / 577_f64.sqrt()).abs() < 1e-9, "{height}");
    let blocks: f64 = stack["blocks_mm"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_f64)
        .sum();
    let sum = stack["sum_mm"].as_f64().unwrap();
    assert!((blocks - sum).abs() < 1e-9);
    assert!((stack["error_um"].as_f64().unwrap() - (sum - height) * 1e3).abs() < 1e-6);
    assert_eq!(stack["within"], true);
    let set = (sum / 100.0).asin();
    assert!((stack["angle_set_deg"].as_f64().unwrap() - set.to_degrees()).abs() < 1e-9);
    let off = (set - (1.0 / 24.0_f64).atan()).to_degrees() * 3600.0;
    assert!((stack["angle_error_arcsec"].as_f64().unwrap() - off).abs() < 1e-6);

    // A stack that the kit cannot make is still told, as the closest one, and the exit code says so.
    let (closest, code) = home.json(&["stack", "0.7"]);
    assert_eq!((code, &closest["within"]), (1, &Value::Bool(false)));
    assert!(closest["error_um"].as_f64().unwrap().abs() > 0.5);
    assert!(closest.get("angle_set_deg").is_none());

    let (two, _) = home.json(&["stack", "30", "--two"]);
    assert_eq!(two["sum_mm"], two["second"]["sum_mm"]);
    assert_ne!(two["blocks_mm"], two["second"]["blocks_mm"]);
    let (worn, _) = home.json(&["stack", "30", "--wear=1mm"]);
    let ones = worn["blocks_mm"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|b| **b == 1.0)
        .count();
    assert_eq!(ones, 2, "{worn}");
}

#[test]
fn failures_are_one_document_too() {
    let home = Home::new();
    for (args, exit, code, hint) in [
        (vec!["taper", "mores-2"], 2, "unknown_name", true),
        (vec!["taper", "0deg"], 2, "bad_value", true),
        (vec!["stack", "9999"], 1, "no_stack", false),
        (vec!["tapr"], 2, "usage", false),
        (vec!["step", "zero", "--bore"], 2, "usage", true),
        (vec!["verify", "none.json"], 1, "cannot_read", false),
        (
            vec!["--config", "none.toml", "taper"],
            1,
            "bad_configuration",
            false,
        ),
    ] {
        let (document, exited) = home.json(&args);
        let error = &document["error"];
        assert_eq!(exited, exit, "{args:?}");
        assert_eq!(error["code"], code, "{args:?}");
        assert!(!error["message"].as_str().unwrap().is_empty(), "{args:?}");
        assert_eq!(error["hint"].is_string(), hint, "{args:?}: {error}");
    }
}

#[test]
fn records_that_are_none_and_of_another_time() {
    let home = Home::new();
    for (content, code) in [
        ("", "no_record"),
        ("{\"format\": \"recipe\", \"version\": 1}", "no_record"),
        (
            "{\"format\": \"conewright-record\", \"version\": 99}",
            "newer_record",
        ),
        (
            "{\"format\": \"conewright-record\", \"version\": 1}",
            "no_record",
        ),
    ] {
        home.write("r.json", content);
        let (document, exited) = home.json(&["verify", "r.json"]);
        assert_eq!(
            (exited, &document["error"]["code"]),
            (1, &Value::from(code)),
            "{content}"
        );
    }
}

#[test]
fn variables_that_are_empty_count_as_not_set() {
    let home = Home::new();
    let out = home
        .command(&["taper", "1:12"])
        .envs([
            ("CONEWRIGHT_CONFIG", ""),
            ("CONEWRIGHT_DATA", ""),
            ("CONEWRIGHT_SOCKET", ""),
        ])
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
}

#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let home = Home::new();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let out = home
        .command(&["taper"])
        .stdout(writer)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
        .wait_with_output()
        .unwrap();
    assert_eq!(text(&out.stderr), "");
    assert_eq!(out.status.code(), Some(0));
}

/// 250 mm at 2 674 turns a minute is 35.0 m/s; a speed that is not too fast is still no permission.
#[test]
fn a_wheel_against_its_marking() {
    let home = Home::new();
    for (speed, code, said) in [
        ("2600", 0, "this is no permission"),
        ("2800", 3, "too fast: do not run it"),
    ] {
        let out = home.run(&[
            "wheel",
            "--diameter",
            "250",
            "--speed",
            speed,
            "--marked",
            "35",
        ]);
        assert_eq!(out.status.code(), Some(code), "{speed}");
        let text = String::from_utf8_lossy(&out.stdout);
        assert!(
            text.contains(said) && text.contains("rules prevail"),
            "{text}"
        );
        assert!(String::from_utf8_lossy(&out.stderr).contains("caution: Ring-test"));
    }
    let refused = home.run(&[
        "wheel",
        "--diameter",
        "0",
        "--speed",
        "2600",
        "--marked",
        "35",
    ]);
    assert_eq!(refused.status.code(), Some(2));
}
