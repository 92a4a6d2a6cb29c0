//! From a set-up back to its options.

use super::*;

/// Set-ups as they are stated, with the ways in which each thing can be.
const SET_UPS: [&[(&str, &str)]; 7] = [
    &[("cable", "typed")],
    &[
        ("taper", "1:12"),
        ("length", "30"),
        ("tolerance", "-AT5"),
        ("big_end", "B"),
        ("indicator_side", "opposite"),
    ],
    &[
        ("taper", "morse-2"),
        ("bar", "5in"),
        ("bar_kind", "hinged"),
        ("bar_constant", "1"),
        ("kit", "inch-81"),
    ],
    &[
        ("taper", "7:24-40"),
        ("bar", "10/25"),
        ("bar_kind", "tangent"),
    ],
    &[
        ("span", "80"),
        ("station", "mid=40"),
        ("pass", "A mid B mid A"),
        ("tolerance", "1um/60mm"),
    ],
    &[
        ("fixture", "PLATE"),
        ("pivot", "-3.5"),
        ("cable", "second"),
        ("resolution", "0.00005in"),
    ],
    &[
        ("taper", "40/37.5/30"),
        ("cable", "typed"),
        ("resolution", "2um"),
        ("indicator_error", "1um"),
        ("repeatability", "0.3um"),
        ("division", "1um"),
        ("straightness", "1um"),
        ("station_error", "0.1"),
        ("settle_band", "1.5um"),
        ("pivot", "12"),
    ],
];

#[test]
fn a_set_up_is_stated_by_options_that_give_it_again() {
    for pairs in SET_UPS {
        let setup = resolved(pairs);
        let back = stated(&config(), &setup, Holds::Then);
        let again = resolve(&config(), &back.options).unwrap_or_else(|e| panic!("{pairs:?}: {e}"));
        assert_eq!(again, setup, "{pairs:?}");
        assert!(back.changed.is_empty(), "{pairs:?}: {:?}", back.changed);
        // The same through the text of a job.
        let text = crate::job_text(&back.options);
        let job = config().job(&text, "job", &SetupOptions::default());
        assert_eq!(job.unwrap_or_else(|e| panic!("{e}")), back.options);
    }
}

/// The bench as it is: what the configuration says of indicator and fixture comes before what an earlier session had.
#[test]
fn what_the_configuration_says_holds_for_a_new_session() {
    let setup = resolved(&[
        ("fixture", "plate"),
        ("pivot", "15"),
        ("cable", "typed"),
        ("resolution", "2um"),
        ("repeatability", "0.3um"),
    ]);
    let back = stated(&config(), &setup, Holds::Now);
    assert_eq!(
        (&back.options.pivot, &back.options.resolution),
        (&None, &None)
    );
    // The configuration says nothing of this one.
    assert_eq!(back.options.repeatability.as_deref(), Some("0.0003"));
    assert_eq!(back.changed.len(), 2, "{:?}", back.changed);
}

#[test]
fn a_taper_that_is_not_the_same_any_more_is_taken_by_its_angle() {
    let own = |ratio: &str| Config::parse(&format!("[taper.seat]\nratio = \"{ratio}\"\n"), "c");
    let options = SetupOptions::of([("taper", "seat")]);
    let setup = resolve(&own("1:12").unwrap(), &options).unwrap();
    for (now, why) in [
        (
            own("1:10").unwrap(),
            "is another one by the configuration now",
        ),
        (Config::default(), "is not in the configuration now"),
    ] {
        let back = stated(&now, &setup, Holds::Now);
        assert!(back.changed[0].contains(why), "{:?}", back.changed);
        let again = resolve(&now, &back.options).unwrap().taper.unwrap();
        let apart = again.half_angle.arcsec() - setup.half_angle().arcsec();
        assert!(apart.abs() < 1e-9, "{apart}");
    }
    let same = stated(&own("1:12").unwrap(), &setup, Holds::Now);
    assert_eq!(same.options.taper.as_deref(), Some("seat"));
}
