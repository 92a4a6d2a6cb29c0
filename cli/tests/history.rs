//! `session show`: a session beside an earlier one, asked of the real daemon.

mod home;

use home::Home;

/// A session of a part with a zero step of two rounds, the second tight, that ends `left_um` out.
fn session(home: &Home, part: &str, left_um: &str) {
    let setup = ["--taper", "1:12", "--length", "30", "--span", "80"];
    let held = ["--fixture", "table", "--tolerance", "5arcsec"];
    home.done(&[&["session", "open", part], &setup[..], &held[..]].concat());
    home.done(&["step", "zero"]);
    for (station, value) in [("A", "0"), ("B", "0.010"), ("A", "0")] {
        home.done(&["mark", station, "--value", value]);
    }
    home.done(&["clamp"]);
    for (station, value) in [("A", "0"), ("B", left_um), ("A", "0")] {
        home.done(&["mark", station, "--value", value]);
    }
    home.done(&["step", "close"]);
    home.done(&["session", "close"]);
}

#[test]
fn a_session_is_shown_beside_the_last_of_its_part_or_fixture_or_the_one_named() {
    let home = Home::new();
    session(&home, "spindle 7", "0.001");
    let (alone, _) = home.json(&["session", "show"]);
    let first = alone["session"]["id"].as_i64().unwrap();
    assert!(alone.get("history").is_none(), "there is nothing before it");
    session(&home, "another", "0.002");
    session(&home, "spindle 7", "0.0003");

    let text = home.done(&["session", "show"]);
    let words = format!("beside session {first}, the last of this part:");
    assert!(text.contains(&words), "{text}");
    let row = |name: &str| {
        let found = text.lines().find(|line| line.trim().starts_with(name));
        found.unwrap_or_else(|| panic!("{name}: {text}"))
    };
    // 10 µm in 80 mm is 25.78″ both times; then 0.3 µm and 1 µm.
    assert_eq!(row("residual as found").matches("+25.78\"").count(), 2);
    assert!(
        row("residual as left").contains("+0.77\"") && row("residual as left").contains("+2.58\"")
    );
    assert!(
        row("clamp shifts by").contains("-25.01\"") && row("clamp shifts by").contains("-23.20\"")
    );

    let shown = |args: &[&str]| {
        let (shown, code) = home.json(&[&["session", "show"], args].concat());
        assert_eq!(code, 0, "{shown}");
        shown
    };
    let middle = shown(&[&(first + 1).to_string()]);
    assert_eq!(middle["history"]["because"], "same_fixture");
    let named = shown(&["latest", "--beside", &(first + 1).to_string()]);
    assert_eq!(named["history"]["because"], "named");
    assert_eq!(named["history"]["beside"]["part"], "another");
    assert_eq!(
        named["session"]["name"], "spindle 7",
        "the record is there as ever"
    );
    assert!(
        (named["history"]["beside"]["clamp_shifts_arcsec"][0]
            .as_f64()
            .unwrap()
            + 20.63)
            .abs()
            < 0.01
    );

    for (beside, why) in [
        ((first + 2).to_string(), "the one that is shown"),
        ("yesterday".to_owned(), "not the number of a session"),
        ("99".to_owned(), "99"),
    ] {
        let out = home.run(&["session", "show", "--beside", &beside]);
        let told = String::from_utf8_lossy(&out.stderr);
        let refused = !out.status.success() && told.contains(why);
        assert!(refused, "{beside}: {told}");
    }
}
