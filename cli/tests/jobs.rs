//! A set-up that begins with an earlier one: like a session, by a job in a file, by what its fixture brings along, with a mating part.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod home;

use home::Home;
use serde_json::Value;

/// A bench with its own bar and kit, and a fixture that brings some along.
const BENCH: &str = r#"
[bar.long]
centre_distance = "5in"
centre_distance_u = "1um"

[kit.drawer]
like = "metric-88"

[fixture.plate]
pivot = "12"
span = "80"
bar = "long"
kit = "drawer"
big_end = "A"
indicator_side = "wheel"

[indicator]
division = "2um"
"#;

const SEAT: [&str; 20] = [
    "--taper",
    "1:12",
    "--length",
    "30",
    "--tolerance",
    "+AT5",
    "--bar",
    "10/14",
    "--bar-kind",
    "tangent",
    "--kit",
    "inch-81",
    "--span",
    "80",
    "--station",
    "C=40",
    "--pass",
    "A C B A",
    "--resolution",
    "0.001",
];

const SIDES: [&str; 8] = [
    "--big-end",
    "B",
    "--indicator-side",
    "opposite",
    "--fixture",
    "angle plate",
    "--pivot",
    "-3.5",
];

fn open(home: &Home, part: &str, options: &[&str]) -> Value {
    let (answer, code) = home.json(&[&["session", "open", part], options].concat());
    assert_eq!(code, 0, "{answer}");
    home.done(&["session", "close"]);
    answer
}

fn refused(home: &Home, args: &[&str]) -> String {
    let out = home.run(args);
    assert!(!out.status.success(), "{args:?}");
    String::from_utf8(out.stderr).unwrap()
}

#[test]
fn a_session_takes_over_the_set_up_of_an_earlier_one_and_what_is_given_wins() {
    let home = Home::new();
    let seat = [&SEAT[..], &SIDES].concat();
    let first = open(&home, "spindle 7", &seat);
    let number = first["session"].to_string();
    for like in ["spindle 7", "Spindle 7", &number, "latest"] {
        let again = open(&home, "another", &["--like", like]);
        assert_eq!(again["setup"], first["setup"], "{like}");
        if like == number {
            assert_eq!(again["taken_from"][0]["part"], "spindle 7");
        }
    }
    let other = open(
        &home,
        "spindle 8",
        &["--like", "spindle 7", "--bar", "100", "--length", "25"],
    );
    let setup = &other["setup"];
    assert_eq!(
        setup["bar"]["kind"], "sine",
        "the old bar's kind is not taken"
    );
    assert_eq!(setup["length_mm"], 25.0);
    assert_eq!(setup["stations"], first["setup"]["stations"]);
    let taken = other["taken_from"][0]["options"].as_array().unwrap();
    assert!(
        taken.contains(&serde_json::json!(["taper", "1:12"])),
        "{taken:?}"
    );
    assert!(taken.iter().all(|option| option[0] != "bar"), "{taken:?}");

    let text = home.done(&["session", "open", "spindle 9", "--like", "spindle 7"]);
    let words = "from session 1 (spindle 7): --taper 1:12 --length 30 --tolerance +AT5 --bar 10/14";
    assert!(text.contains(words), "{text}");
    assert!(
        text.contains("--fixture 'angle plate' --pivot=-3.5"),
        "{text}"
    );

    let told = refused(&home, &["session", "open", "x", "--like", "spindel 7"]);
    assert!(
        told.contains("there is no session of a part `spindel 7`"),
        "{told}"
    );
    assert!(told.contains("did you mean `spindle 7`?"), "{told}");
}

/// What is known of the fixture and of the indicator is as the configuration has it now, and the plan says what that changed.
#[test]
fn a_session_like_another_has_the_bench_as_it_is_now() {
    let home = Home::new();
    home.configure(BENCH);
    let stated = [
        "--taper",
        "1:12",
        "--fixture",
        "plate",
        "--resolution",
        "1um",
    ];
    let first = open(&home, "spindle 7", &stated);
    assert_eq!(first["setup"]["fixture"]["pivot_mm"], 12.0);
    home.configure(&BENCH.replace("pivot = \"12\"", "pivot = \"15\"").replace(
        "division = \"2um\"",
        "division = \"2um\"\nresolution = \"0.5um\"",
    ));
    let again = open(&home, "spindle 8", &["--like", "spindle 7"]);
    assert_eq!(again["setup"]["fixture"]["pivot_mm"], 15.0);
    assert_eq!(again["setup"]["indicator"]["resolution_mm"], 0.0005);
    let changed = again["changed"].to_string();
    assert!(
        changed.contains("turns is 15 mm by the configuration now; it was 12 mm"),
        "{changed}"
    );
    assert!(changed.contains("display is 0.0005 mm"), "{changed}");
    let kept = open(
        &home,
        "spindle 9",
        &["--like", "spindle 7", "--resolution", "1um"],
    );
    assert_eq!(kept["setup"]["indicator"]["resolution_mm"], 0.001);
}

#[test]
fn a_job_opens_the_same_set_up_again() {
    let home = Home::new();
    home.configure(BENCH);
    let by_name = [
        "--taper",
        "morse-3",
        "--fixture",
        "plate",
        "--tolerance",
        "3um",
    ];
    let drawn = [
        "--taper",
        "40/37.5/30",
        "--span",
        "60",
        "--settle-band",
        "1um",
    ];
    let error = [
        "--indicator-error",
        "1um",
        "--straightness",
        "2um",
        "--station-error",
        "0.1",
    ];
    let seat = [&SEAT[..], &SIDES].concat();
    let drawn = [&drawn[..], &error].concat();
    for (i, options) in [&seat[..], &by_name, &drawn].into_iter().enumerate() {
        let first = open(&home, "spindle 7", options);
        let file = format!("job-{i}.toml");
        let said = home.done(&["session", "job", "spindle 7", "--to", &file]);
        assert!(said.contains("(spindle 7) written to job-"), "{said}");
        let again = open(&home, "spindle 8", &["--job", &file]);
        assert_eq!(again["setup"], first["setup"], "{options:?}");
        assert_eq!(again["taken_from"][0]["job"], *file);
    }
    let text = std::fs::read_to_string(home.path().join("job-0.toml")).unwrap();
    assert!(text.contains("bar_kind = \"tangent\"\n"), "{text}");
    assert!(text.contains("stations = [\"C=40\"]\n"), "{text}");
    let other = open(
        &home,
        "spindle 9",
        &["--job", "job-2.toml", "--taper", "1:10"],
    );
    assert_eq!(other["setup"]["taper"]["name"], "1:10");

    let told = refused(&home, &["session", "job", "--to", "seat.txt"]);
    assert!(told.contains("its ending is not .toml"), "{told}");
}

#[test]
fn mistakes_in_a_job_are_told_with_their_lines_and_nothing_is_opened() {
    let home = Home::new();
    for (text, told) in [
        (
            "taper = \"1:12\"\nspam = 80\n",
            "seat.toml:2:1: spam: this key is not known here\n",
        ),
        ("taper = \"1:12\"\nspam = 80\n", "did you mean `span`?"),
        ("span = true\n", "seat.toml:1:8: span: found `true`\n"),
        (
            "taper = \"1:12\"\n\nspan = \"8O\"\n",
            "seat.toml:3:8: span: `8O`: unknown unit `O`",
        ),
        (
            "taper = \"mores-2\"\n",
            "seat.toml:1:9: taper: there is no taper `mores-2`\n",
        ),
        ("taper = \"mores-2\"\n", "did you mean `morse-2`?"),
        (
            "kit = \"metrik-88\"\nbar = -100\n",
            "seat.toml:1:7: kit: there is no kit `metrik-88`\n",
        ),
        (
            "kit = \"metrik-88\"\nbar = -100\n",
            "seat.toml:2:7: bar: bar `-100`: its length must be above 0",
        ),
        (
            "big_end = \"A\"\n",
            "seat.toml:1:11: big_end: `--big-end` is stated, and not where the indicator stands",
        ),
        (
            "stations = \"C=40\"\n",
            "seat.toml:1:12: stations: found the text",
        ),
        (
            "span = 80\nspan = 90\n",
            "seat.toml:2:1: `span` is said twice",
        ),
        ("resolution = 1e-3\n", "write all its digits, as in `0.001`"),
    ] {
        home.write("seat.toml", text);
        let said = refused(&home, &["session", "open", "x", "--job", "seat.toml"]);
        assert!(said.contains(told), "{text}: {said}");
    }
    let said = refused(&home, &["session", "open", "x", "--job", "none.toml"]);
    assert!(
        said.contains("the job none.toml cannot be read: there is no such file")
            && said.contains("conewright session job SESSION --to FILE.toml"),
        "{said}"
    );
    // What is given beside the job wins, and is refused in its own words.
    home.write("seat.toml", "taper = \"mores-2\"\ntolerance = \"AT4\"\n");
    let (opened, code) = home.json(&[
        "session",
        "open",
        "x",
        "--job",
        "seat.toml",
        "--taper",
        "1:12",
        "--length",
        "30",
    ]);
    assert_eq!(
        (code, &opened["setup"]["taper"]["name"]),
        (0, &"1:12".into())
    );
    let (list, _) = home.json(&["session", "list"]);
    assert_eq!(list["sessions"].as_array().unwrap().len(), 1);
}

#[test]
fn a_fixture_brings_its_span_bar_kit_and_sides_along() {
    let home = Home::new();
    home.configure(BENCH);
    let options = ["--taper", "1:12", "--fixture", "PLATE"];
    let opened = open(&home, "spindle 7", &options);
    let setup = &opened["setup"];
    assert_eq!(setup["stations"][1]["position_mm"], 80.0);
    assert_eq!(setup["bar"]["centre_distance_mm"], 127.0);
    assert_eq!(setup["kit"]["name"], "drawer");
    assert_eq!(setup["sense"]["big_end"], "A");
    assert_eq!(opened["taken_from"][0]["fixture"], "PLATE");
    let other = [&options[..], &["--span", "60", "--kit", "metric-47"]].concat();
    let other = open(&home, "spindle 8", &other);
    assert_eq!(other["setup"]["stations"][1]["position_mm"], 60.0);
    assert_eq!(other["setup"]["kit"]["name"], "metric-47a");
    let text = home.done(&[&["session", "open", "spindle 9"], &options[..]].concat());
    assert!(
        text.contains("from fixture PLATE: --bar long --kit drawer --span 80"),
        "{text}"
    );

    home.configure(&BENCH.replace("kit = \"drawer\"", "kit = \"drawr\""));
    let told = refused(&home, &["config", "check"]);
    assert!(
        told.contains("fixture.plate.kit: there is no kit `drawr`"),
        "{told}"
    );
    assert!(told.contains("did you mean `drawer`?"), "{told}");
}

#[test]
fn a_measured_mating_part_is_the_taper_wanted() {
    let home = Home::new();
    let seat = ["--taper", "1:12@40", "--repeatability", "1um"];
    home.done(&[&["session", "open", "spindle 7"], &seat[..]].concat());
    let told = refused(&home, &["session", "open", "plug", "--mate", "spindle 7"]);
    assert!(told.contains("has measured no half angle"), "{told}");
    let size = ["step", "size", "--planes", "0,24", "--diameter-u", "1um"];
    home.done(&[&size[..], &["--plane-u", "0.01"]].concat());
    for (plane, diameter) in [("0", "40.001"), ("24", "38.003")] {
        home.done(&["mark", plane, "--value", diameter]);
    }
    home.done(&["step", "close"]);
    home.done(&["session", "close"]);
    let opened = open(&home, "plug 7", &["--mate", "spindle 7", "--length", "30"]);
    let wanted = opened["setup"]["taper"]["half_angle_deg"].as_f64().unwrap();
    // 1.998 mm on diameter over 24 mm.
    let expected = (1.998_f64 / 48.0).atan().to_degrees();
    assert!((wanted - expected).abs() < 1e-7, "{wanted} {expected}");
    assert_eq!(opened["mate"]["part"], "spindle 7");
    let (shown, _) = home.json(&["session", "show"]);
    let events = shown["events"].to_string();
    assert!(events.contains("that of session 1 (spindle 7)"), "{events}");
    let told = refused(
        &home,
        &["session", "open", "y", "--mate", "1", "--taper", "1:12"],
    );
    assert!(told.contains("--taper"), "{told}");

    // As a taper it says the same, by number or name, on the command line and in a job.
    let angle = |opened: &Value| {
        let angle = opened["setup"]["taper"]["half_angle_deg"].as_f64();
        angle.unwrap()
    };
    home.write("seat.toml", "taper = \"session:1\"\nspan = 80\n");
    for options in [
        ["--taper", "session:1"],
        ["--taper", "Session: spindle 7"],
        ["--job", "seat.toml"],
    ] {
        let opened = open(&home, "spindle 8", &options);
        assert!((angle(&opened) - expected).abs() < 1e-7, "{options:?}");
        assert_eq!(opened["mate"]["session"], 1, "{options:?}");
    }
    home.write("wrong.toml", "taper = \"session:1\"\nspam = 80\n");
    let told = refused(&home, &["session", "open", "z", "--job", "wrong.toml"]);
    assert!(told.contains("wrong.toml:2:1: spam"), "{told}");
}

#[test]
fn a_session_without_an_angle_is_no_taper_and_the_form_that_works_is_told() {
    let home = Home::new();
    home.done(&["session", "open", "spindle 7", "--taper", "1:12"]);
    home.done(&["session", "close"]);
    let told = refused(&home, &["session", "open", "x", "--taper", "session:1"]);
    assert!(told.contains("--taper session:1: session 1"), "{told}");
    assert!(told.contains("--taper 2.386deg"), "{told}");
    let told = refused(&home, &["session", "open", "x", "--taper", "session:99"]);
    assert!(told.contains("99"), "{told}");
    // Elsewhere no session is looked up.
    let told = refused(&home, &["taper", "session:1"]);
    assert!(told.contains("only `session open` looks up"), "{told}");
    // What was set counts where nothing was measured: here the stack's own error of -0.11 arc-seconds and the residual.
    let set = "--taper 1:12 --length 30 --bar 100 --kit metric-88 --span 80 --big-end A --indicator-side wheel \
               --resolution 0.001 --repeatability 0.2um --cable typed";
    let set: Vec<&str> = set.split_whitespace().collect();
    home.done(&[&["session", "open", "spindle 9"], &set[..]].concat());
    home.done(&["step", "zero"]);
    for _ in 0..2 {
        for station in ["A", "B", "A"] {
            home.done(&["mark", station, "--value", "0.010"]);
        }
    }
    home.done(&["session", "close"]);
    let opened = open(&home, "plug", &["--taper", "session:2"]);
    let angle = opened["setup"]["taper"]["half_angle_deg"].as_f64().unwrap();
    assert!((angle - 2.385_912_8).abs() < 1e-6, "{angle}");
}
