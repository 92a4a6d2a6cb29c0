//! `analyse`, as a whole process: tables of readings in, outcomes out.

mod home;

use home::Home;
use serde_json::Value;
use std::process::Output;

fn analyse(home: &Home, table: &str, options: &[&str]) -> Output {
    home.write("t.csv", table);
    home.run(&[&["analyse", "zero", "t.csv"], options].concat())
}

fn json(home: &Home, table: &str, options: &[&str]) -> (Value, i32) {
    home.write("t.csv", table);
    home.json(&[&["analyse", "zero", "t.csv"], options].concat())
}

/// 0.3 mm over 80 mm, then nearly true after a tap that turned the set-up about the station at 0 mm.
const TWO_ROUNDS: &str = "round,station_mm,reading_mm\n\
    1,0,0.0000\n1,80,0.3000\n1,0,0.0000\n\
    2,0,0.0000\n2,80,0.0008\n2,0,0.0000\n";

#[test]
fn a_zero_step_from_a_table() {
    let home = Home::new();
    let (outcome, code) = json(&home, TWO_ROUNDS, &["--resolution", "0.0001"]);
    assert_eq!(code, 0);
    assert_eq!(outcome["kind"], "zero");
    let rounds = outcome["rounds"].as_array().unwrap();
    assert_eq!(rounds.len(), 2);
    // The slope of a line through two places is rise over run; the residual is its arc tangent.
    for (round, rise) in rounds.iter().zip([0.3_f64, 0.0008]) {
        let slope = rise / 80.0;
        assert!(
            (round["slope"].as_f64().unwrap() - slope).abs() < 1e-12,
            "{round}"
        );
        let arcsec = slope.atan().to_degrees() * 3600.0;
        assert!(
            (round["residual_arcsec"].as_f64().unwrap() - arcsec).abs() < 1e-6,
            "{round}"
        );
        assert!(round["slope_u"].as_f64().unwrap() > 0.0);
        // The table has no times, so a drift in time cannot be told.
        assert!(round.get("drift_um_per_min").is_none(), "{round}");
    }
    assert_eq!(outcome["residual_arcsec"], rounds[1]["residual_arcsec"]);
    assert!(outcome["residual_expanded_arcsec"].as_f64().unwrap() > 0.0);
    assert!(!outcome["budget"].as_array().unwrap().is_empty());
    // The reading at A did not change, so that is where it turned.
    let pivot = &outcome["pivot"];
    assert!(
        pivot["position_mm"].as_f64().unwrap().abs() < 1.0,
        "{pivot}"
    );
    let tap = &outcome["tap"];
    assert_eq!(tap["station"], "B");
    assert_eq!(
        tap["toward"], false,
        "a rise from A to B is taken out by going away at B"
    );
    assert!(outcome.get("verdict").is_none(), "no tolerance, no verdict");
}

#[test]
fn times_tell_the_drift_and_clamping_its_shift() {
    let home = Home::new();
    // 1 µm in 30 s is 2 µm/min; clamping turns it by 0.8 µm over 80 mm.
    let table = "time_s,clamped,round,station_mm,reading_mm\n\
        0,0,1,0,0.0000\n30,0,1,80,0.0010\n60,0,1,0,0.0020\n\
        90,1,2,0,0.0000\n120,1,2,80,0.0008\n150,1,2,0,0.0000\n";
    let (outcome, _) = json(&home, table, &[]);
    let round = &outcome["rounds"][0];
    assert!(
        (round["drift_um_per_min"].as_f64().unwrap() - 2.0).abs() < 1e-6,
        "{round}"
    );
    assert!(round["slope"].as_f64().unwrap().abs() < 1e-12, "{round}");
    let shift = &outcome["clamp_shift"];
    assert!(
        (shift["slope"].as_f64().unwrap() - 1e-5).abs() < 1e-12,
        "{shift}"
    );
    assert_eq!(shift["count"], 1);
}

#[test]
fn the_verdict_is_the_exit_code() {
    let home = Home::new();
    for (tolerance, verdict, code) in [
        ("60arcsec", "in", 0),
        ("0.5arcsec", "out", 3),
        ("2.1arcsec", "undecided", 0),
    ] {
        let options = ["--tolerance", tolerance, "--resolution", "0.0001"];
        let (outcome, exited) = json(&home, TWO_ROUNDS, &options);
        assert_eq!(
            (&outcome["verdict"], exited),
            (&Value::from(verdict), code),
            "{tolerance}: {outcome}"
        );
    }
    let out = analyse(&home, TWO_ROUNDS, &["--tolerance", "0.5arcsec"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&out.stdout).contains("out of tolerance"));
}

#[test]
fn the_same_table_as_countries_and_programs_write_it() {
    let home = Home::new();
    let options = ["--resolution", "0.0001"];
    let (expected, _) = json(&home, TWO_ROUNDS, &options);
    let commas = TWO_ROUNDS.replace(',', ";").replace('.', ",");
    let turned: String = TWO_ROUNDS
        .lines()
        .map(|line| {
            let cells: Vec<&str> = line.split(',').rev().collect();
            format!("{}\r\n", cells.join(","))
        })
        .collect();
    let exponents = TWO_ROUNDS
        .replace("0.0008", "8e-04")
        .replace("0.3000", "3.0000000000000000E-1");
    for table in [commas, turned, exponents] {
        let (outcome, _) = json(&home, &table, &options);
        assert_eq!(outcome, expected, "{table}");
    }
}

#[test]
fn a_table_that_cannot_be_used_is_told_with_its_place() {
    let home = Home::new();
    let head = "round,station_mm,reading_mm\n";
    for (table, options, code, expected) in [
        (
            "round,station_mm,reading\n1,0,0\n",
            vec![],
            1,
            "unknown column `reading`",
        ),
        (
            "round,station_mm\n1,0\n",
            vec![],
            1,
            "column `reading_mm` is missing",
        ),
        (
            &format!("{head}1,0,0\n1,80,NaN\n"),
            vec![],
            1,
            "line 3, column reading_mm: `NaN`",
        ),
        (
            &format!("{head}1,0,0\n1,x,0\n"),
            vec![],
            1,
            "line 3, column station_mm: `x`",
        ),
        (
            &format!("{head}0,0,0\n"),
            vec![],
            1,
            "line 2, column round: `0`",
        ),
        (head, vec![], 1, "no rows"),
        (
            &format!("{head}1,0,0\n1,0,0\n"),
            vec![],
            1,
            "no round has two stations",
        ),
        (
            TWO_ROUNDS,
            vec!["--taper", "mores-2"],
            2,
            "no taper `mores-2`",
        ),
        (TWO_ROUNDS, vec!["--tolerance", "AT13"], 2, "AT1 to AT12"),
        (TWO_ROUNDS, vec!["--length", "-1"], 2, "above zero"),
        (TWO_ROUNDS, vec!["--tolerence", "AT4"], 2, "'--tolerance'"),
    ] {
        let out = analyse(&home, table, &options);
        let told = String::from_utf8_lossy(&out.stderr).into_owned();
        assert_eq!(out.status.code(), Some(code), "{table} {options:?}: {told}");
        assert!(told.contains(expected), "{table} {options:?}: {told}");
        assert!(out.stdout.is_empty(), "{table} {options:?}");
    }
}
