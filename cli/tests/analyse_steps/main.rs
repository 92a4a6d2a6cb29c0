//! `analyse` of every kind but zero, as a whole process: tables with known answers in, outcomes out.

#[path = "../home/mod.rs"]
mod home;
mod refused;

use home::Home;
use serde_json::Value;
use std::process::Output;

/// A home with the table and the taper that it is of.
fn with(table: &str) -> Home {
    let home = Home::new();
    home.write("t.csv", table);
    home.configure("[taper.seat]\nratio = \"1:12\"\ngauge_diameter = \"40\"\nlength = \"30\"\n");
    home
}

fn analyse(kind: &str, table: &str, options: &[&str]) -> Output {
    with(table).run(&[&["analyse", kind, "t.csv"], options].concat())
}

fn json(kind: &str, table: &str, options: &[&str]) -> (Value, i32) {
    let (document, code) = with(table).json(&[&["analyse", kind, "t.csv"], options].concat());
    assert!(
        document.get("error").is_none() && (code == 0 || code == 3),
        "{document:#}"
    );
    assert_eq!(document["kind"], kind);
    assert!(document["budget"].is_array(), "{document:#}");
    (document, code)
}

#[track_caller]
fn near(found: &Value, expected: f64, within: f64) {
    let value = found
        .as_f64()
        .unwrap_or_else(|| panic!("{found} is not a number"));
    assert!(
        (value - expected).abs() <= within,
        "{value} is not {expected} ± {within}"
    );
}

/// A line of 50 µrad under a parabola whose middle stands 1 µm out; a parabola's least squares line has the line's slope,
/// and its minimum zone is as wide as it is high.
#[test]
fn a_sweep() {
    let mut table = String::from("position_mm,reading_mm\n");
    for i in 0..=60_i32 {
        let x = f64::from(i);
        let y = 0.25 + 50e-6 * x + 0.001 * (1.0 - ((x - 30.0) / 30.0).powi(2));
        table.push_str(&format!("{x},{y:.9}\n"));
    }
    let (sweep, code) = json("sweep", &table, &["--taper", "1:12", "--length", "30"]);
    assert_eq!((code, &sweep["points"]), (0, &Value::from(61)));
    near(&sweep["slope"], 50e-6, 1e-11);
    near(
        &sweep["residual_arcsec"],
        50e-6_f64.atan().to_degrees() * 3600.0,
        1e-6,
    );
    near(&sweep["bow_um"], 1.0, 1e-3);
    near(&sweep["straightness_mz_um"], 1.0, 1e-3);
    assert_eq!(sweep["outliers"], 0);
    for field in [
        "slope_u",
        "intercept_mm",
        "residual_sd_mm",
        "straightness_ls_um",
    ] {
        assert!(sweep[field].is_number(), "{field}: {sweep:#}");
    }
    assert!(sweep.get("filtered").is_none(), "nothing unasked");
    let (filtered, _) = json("sweep", &table, &["--filter", "8"]);
    assert_eq!(filtered["filtered"]["cut_off_mm"], 8.0);
    // The set-up is judged unless the part is.
    assert!(sweep["tap"].is_object());
    let (part, code) = json(
        "sweep",
        &table,
        &[
            "--subject",
            "part",
            "--taper",
            "1:12",
            "--length",
            "30",
            "--tolerance",
            "1arcsec",
            "--big-end",
            "A",
            "--indicator-side",
            "wheel",
        ],
    );
    assert_eq!((code, &part["verdict"]), (3, &Value::from("out")));
    assert!(part.get("tap").is_none());
    // As a country with decimal commas writes it.
    let commas = table.replace(',', ";").replace('.', ",");
    let (again, _) = json("sweep", &commas, &["--taper", "1:12", "--length", "30"]);
    assert_eq!(again, sweep);
}

/// Off centre by `off` µm with the high spot at 120°, and oval by 1 µm.
fn round_um(off: f64, angle_deg: f64) -> f64 {
    let t = angle_deg.to_radians();
    off * (t - 120_f64.to_radians()).cos() + (2.0 * t).cos()
}

#[test]
fn a_run_out_by_angles_in_two_planes() {
    let mut table = String::from("plane_mm,angle_deg,reading_mm\n");
    for (plane, off) in [(5, 3.0), (45, 5.0)] {
        for i in 0..72_i32 {
            let angle = f64::from(i % 36) * 10.0;
            table.push_str(&format!(
                "{plane},{angle},{:.9}\n",
                round_um(off, angle) * 1e-3
            ));
        }
    }
    let (runout, _) = json("runout", &table, &["--at-planes", "-15,60"]);
    assert_eq!(
        (&runout["points"], &runout["turns"]),
        (&Value::from(72), &Value::from(2))
    );
    near(&runout["eccentricity_um"], 3.0, 1e-4);
    near(&runout["high_spot_deg"], 120.0, 1e-3);
    near(&runout["harmonics_um"][0], 1.0, 1e-4);
    near(&runout["harmonics_um"][1], 0.0, 1e-4);
    near(&runout["roundness_ls_um"], 2.0, 1e-3);
    near(&runout["asynchronous_um"], 0.0, 1e-4);
    let axis = &runout["axis"];
    near(&axis["offset_um"], 3.0, 1e-4);
    // 2 µm over 40 mm.
    near(&axis["tilt_urad"], 50.0, 1e-2);
    near(&axis["direction_deg"], 120.0, 1e-2);
    near(&runout["elsewhere"][0]["runout_um"], 4.0, 1e-3);
    near(&runout["elsewhere"][1]["eccentricity_um"], 5.75, 1e-3);
    let (judged, code) = json("runout", &table, &["--limit", "2um"]);
    assert_eq!((code, &judged["verdict"]), (3, &Value::from("out")));
    // On a cone the indicator square to it reads cos α of the radius.
    let (cone, _) = json("runout", &table, &["--taper", "30deg", "--square-to-cone"]);
    near(
        &cone["eccentricity_um"],
        3.0 / 30_f64.to_radians().cos(),
        1e-3,
    );
}

/// The same readings with their times: by turn marks, and with the time of a turn found.
#[test]
fn a_run_out_by_times() {
    let rows = |marked: bool| -> String {
        let head = if marked {
            "time_s,reading_mm,turn_mark\n"
        } else {
            "time_s,reading_mm\n"
        };
        (0..=180_i32).fold(head.to_owned(), |table, i| {
            let reading = round_um(3.0, f64::from(i % 36) * 10.0) * 1e-3;
            let time = f64::from(i) / 36.0 * 2.5;
            let mark = match (marked, i % 36) {
                (false, _) => "",
                (true, 0) => ",1",
                (true, _) => ",0",
            };
            table + &format!("{time:.9},{reading:.9}{mark}\n")
        })
    };
    let (marked, _) = json("runout", &rows(true), &[]);
    assert_eq!(marked["turns"], 5);
    near(&marked["eccentricity_um"], 3.0, 1e-4);
    near(&marked["high_spot_deg"], 120.0, 1e-2);
    assert!(marked.get("turn_s").is_none());
    let (steady, _) = json("runout", &rows(false), &[]);
    near(&steady["turn_s"], 2.5, 1e-4);
    near(&steady["eccentricity_um"], 3.0, 1e-2);
}

/// An oval part on a spindle with three lobes: turned, the part's form reads the same and the spindle's the other way.
#[test]
fn a_reversal() {
    let mut table = String::from("turned,angle_deg,reading_mm\n");
    for (turned, sign) in [(0, 1.0), (1, -1.0)] {
        for i in 0..36_i32 {
            let t = (f64::from(i) * 10.0).to_radians();
            let um = 2.0 * (2.0 * t).cos() + sign * (3.0 * t).cos();
            table.push_str(&format!("{turned},{},{:.9}\n", i * 10, um * 1e-3));
        }
    }
    let (runout, _) = json("runout", &table, &[]);
    let reversal = &runout["reversal"];
    near(&reversal["part"]["harmonics_um"][0], 2.0, 1e-4);
    near(&reversal["part"]["harmonics_um"][1], 0.0, 1e-4);
    near(&reversal["spindle"]["harmonics_um"][1], 1.0, 1e-4);
}

/// Each way of measuring a seat of 1:12 with 40 mm at the gauge plane, ground 60 µm too large.
#[test]
fn a_size_in_each_way() {
    let half = (1.0_f64 / 24.0).atan();
    let (tan, cos, sin) = (half.tan(), half.cos(), half.sin());
    let seat = ["--taper", "seat"];
    let (size, _) = json(
        "size",
        "plane_mm,diameter_mm\n0,40.06\n24,38.06\n",
        &[
            "--taper",
            "seat",
            "--pass-depth",
            "10um",
            "--allowance",
            "5um",
            "--diameter-u",
            "1um",
        ],
    );
    near(&size["half_angle_deg"], half.to_degrees(), 1e-9);
    near(&size["stock_on_diameter_um"], 60.0, 1e-6);
    near(&size["infeed_um"], 30.0, 1e-6);
    near(&size["infeed_square_to_cone_um"], 30.0 * cos, 1e-6);
    assert_eq!(size["passes"]["count"], 3);
    near(&size["passes"]["finishing_um"], 5.0, 1e-6);
    assert!(size["half_angle_u_arcsec"].as_f64().unwrap() > 0.0);
    let (cone, _) = json(
        "size",
        "plane_mm,diameter_mm\n0,40.06\n",
        &["--taper", "seat", "--infeed", "cone"],
    );
    near(&cone["infeed_um"], 30.0 * cos, 1e-6);

    // A gauge that stops 0.72 mm short: 2 · 0.72 · tan α.
    let (stand_off, _) = json("size", "stand_off_mm\n0.72\n", &seat);
    near(&stand_off["stock_on_diameter_um"], 2.0 * 720.0 * tan, 1e-6);

    // Over rollers of 6 mm on stacks of 0 and 20 mm, from the small end on the plate: 40.06 − 30/12.
    let small_end = 40.06 - 30.0 / 12.0;
    let over = |stacks: f64| small_end + 2.0 * ((stacks + 3.0) * tan + 3.0 / cos + 3.0);
    let rollers = format!(
        "stacks_mm,over_mm\n0,{:.9}\n20,{:.9}\n",
        over(0.0),
        over(20.0)
    );
    let (rollers, _) = json("size", &rollers, &["--taper", "seat", "--rollers", "6"]);
    near(&rollers["half_angle_deg"], half.to_degrees(), 1e-6);
    near(&rollers["stock_on_diameter_um"], 60.0, 1e-3);

    // Balls of 25 and 20 mm: centres (R − r)/sin α apart.
    let depth = 3.0 + 12.5 - 10.0 + 2.5 / sin;
    let balls = format!("ball_diameter_mm,depth_mm\n20,{depth:.9}\n25,3.000000000\n");
    let (balls, _) = json("size", &balls, &seat);
    near(&balls["half_angle_deg"], half.to_degrees(), 1e-6);

    // Too small is said in as many words.
    let known = ["--taper", "seat", "--repeatability", "1um"];
    let out = analyse("size", "plane_mm,diameter_mm\n0,39.99\n", &known);
    assert!(String::from_utf8_lossy(&out.stdout).contains("UNDER SIZE"));
    let (small, _) = json("size", "plane_mm,diameter_mm\n0,39.99\n", &known);
    assert_eq!(small["finish"], "undersize");
    // Not from one value of which nothing is known; measured again it is known.
    let (once, _) = json("size", "plane_mm,diameter_mm\n0,39.990\n", &seat);
    assert!(once["finish"].is_null() && once["stock_expanded_um"].is_null());
    let again = "plane_mm,diameter_mm\n0,39.990\n0,39.989\n";
    let (again, _) = json("size", again, &seat);
    assert_eq!(again["finish"], "undersize");
    let (stand_off, _) = json("size", "stand_off_mm\n0.72\n0.71\n", &seat);
    near(&stand_off["stock_on_diameter_um"], 2.0 * 715.0 * tan, 1e-6);
}

#[test]
fn a_print_and_a_check_of_the_indicator() {
    let print = "big_percent,middle_percent,small_percent\n90,40,0\n";
    let (contact, _) = json("contact", print, &["--length", "60", "--film", "2um,5um"]);
    assert_eq!(
        (&contact["bearing"], &contact["against"]),
        (&Value::from("big_end"), &Value::from("steeper"))
    );
    assert_eq!(contact["film_um"], serde_json::json!([2.0, 5.0]));

    let blocks = "nominal_mm,reading_mm,direction\n0,0.000,up\n1,1.003,up\n2,2.001,Up\n1,1.005,down\n0,0.000,up\n";
    let (dial, code) = json("dial", blocks, &["--indicator-error", "1um"]);
    near(&dial["error_span_um"], 5.0, 1e-6);
    near(&dial["hysteresis_um"], 2.0, 1e-6);
    near(&dial["repeatability_um"], 0.0, 1e-9);
    assert_eq!((code, &dial["verdict"]), (3, &Value::from("out")));
    assert!(dial["check"].get("correction").is_none(), "nothing unasked");
    let (corrected, _) = json("dial", blocks, &["--correct"]);
    assert_eq!(
        corrected["check"]["correction"].as_array().unwrap().len(),
        3
    );
}

#[test]
fn the_level_of_an_axis_and_its_worth() {
    let table = "round,station_mm,reading_mm\n1,0,0.000\n1,80,0.020\n1,0,0.000\n";
    let options = ["--about", "level", "--wheel", "250", "--taper", "seat"];
    let (zero, _) = json("zero", table, &options);
    // It rises 7.5 µm over 30 mm, axes 145 mm apart: 7.5²/145 000 µm.
    near(&zero["level"]["rise_um"], 7.5, 1e-6);
    near(
        &zero["level"]["worth_um"],
        7.5_f64.powi(2) / 145_000.0,
        1e-9,
    );
}
