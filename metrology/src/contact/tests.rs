//! Prints, and what they say.

use super::*;

fn seat() -> Setup {
    let half_angle = Angle::half_of_ratio(12.0);
    Setup {
        taper: Some(crate::taper::Taper::from_half_angle("1:12", half_angle, "invented").unwrap()),
        length: Some(Length::from_um(60_000)),
        ..Setup::default()
    }
}

const fn zones_of(big_percent: f64, middle_percent: f64, small_percent: f64) -> Zones {
    Zones {
        big_percent,
        middle_percent,
        small_percent,
    }
}

fn print(big: f64, middle: f64, small: f64, options: ContactOptions) -> ContactOutcome {
    outcome(&seat(), &options, zones_of(big, middle, small)).unwrap()
}

/// Two cones that differ by ε, one touching at an edge: the gap at distance s is ε s, and dye goes over where it is less
/// than the film. What the print says must hold that ε, whatever ε and film.
#[test]
fn a_wedge_is_read_back() {
    let (length, third) = (60.0, 20.0);
    for film in [2.0, 3.3, 5.0] {
        for error_arcsec in [-60.0, -30.0, -12.0, -5.0, 0.0, 4.0, 9.0, 15.0, 33.0, 80.0] {
            let angle = Angle::from_arcsec(error_arcsec);
            // From the end that bears; a plug that is steeper than its bore bears at its big end.
            let reach = (film * 1e-3 / angle.rad().abs()).min(length);
            let share = |from: f64| (reach - from).clamp(0.0, third) / third * 100.0;
            let zones = [share(0.0), share(third), share(2.0 * third)];
            let [big, middle, small] = if error_arcsec >= 0.0 {
                zones
            } else {
                [zones[2], zones[1], zones[0]]
            };
            let found = ContactOptions {
                found_arcsec: Some([error_arcsec, 0.01]),
                ..ContactOptions::default()
            };
            let told = print(big, middle, small, found);
            assert!(
                told.at_least_arcsec
                    .is_none_or(|least| least <= error_arcsec.abs() + 0.01)
            );
            assert!(
                told.at_most_arcsec
                    .is_none_or(|most| most >= error_arcsec.abs() - 0.01)
            );
            assert_ne!(
                told.consistent,
                Some(false),
                "{film} {error_arcsec} {told:?}"
            );
        }
    }
}

#[test]
fn a_print_against_what_was_measured() {
    let found = |error, expanded| ContactOptions {
        found_arcsec: Some([error, expanded]),
        ..ContactOptions::default()
    };
    let bore = |error, expanded| ContactOptions {
        bore: true,
        ..found(error, expanded)
    };
    for (legend, zones, options, consistent) in [
        // The big end bears over two thirds: 2 µm in 40 mm, 10.3″ at least; 5 µm over 26 mm, 39.7″ at most.
        ("inside", [90.0, 40.0, 0.0], found(12.0, 1.0), Some(true)),
        ("across the limit", [90.0, 40.0, 0.0], found(9.5, 1.0), None),
        (
            "too little",
            [90.0, 40.0, 0.0],
            found(5.0, 1.0),
            Some(false),
        ),
        ("too much", [90.0, 40.0, 0.0], found(50.0, 1.0), Some(false)),
        (
            "the other way",
            [90.0, 40.0, 0.0],
            found(-12.0, 1.0),
            Some(false),
        ),
        (
            "the small end",
            [0.0, 0.0, 50.0],
            found(-25.0, 1.0),
            Some(true),
        ),
        (
            "the same in a bore",
            [90.0, 40.0, 0.0],
            bore(-12.0, 1.0),
            Some(true),
        ),
        ("even", [80.0, 80.0, 80.0], found(10.0, 5.0), Some(true)),
        ("even, across", [80.0, 80.0, 80.0], found(20.0, 5.0), None),
        (
            "even, beyond",
            [80.0, 80.0, 80.0],
            found(40.0, 5.0),
            Some(false),
        ),
        (
            "heavy at the big end, found shallower",
            [90.0, 60.0, 20.0],
            found(-12.0, 1.0),
            Some(false),
        ),
        (
            "heavy at the big end, found right",
            [90.0, 60.0, 20.0],
            found(0.0, 1.0),
            None,
        ),
        (
            "heavy at the big end, found steeper",
            [90.0, 60.0, 20.0],
            found(12.0, 1.0),
            Some(true),
        ),
        ("nowhere", [0.0, 5.0, 0.0], found(0.0, 1.0), None),
        ("in the middle", [0.0, 90.0, 0.0], found(0.0, 1.0), None),
    ] {
        let [big, middle, small] = zones;
        let told = print(big, middle, small, options);
        assert_eq!(told.consistent, consistent, "{legend}: {told:?}");
    }
}

/// Prints as they are judged, and the words for them.
#[test]
fn a_print_has_its_words() {
    for (zones, words, against) in [
        (
            [90.0, 60.0, 20.0],
            "heavy at the big end, light at the small end",
            Some(Against::Steeper),
        ),
        (
            [90.0, 80.0, 60.0],
            "heavy at the big end, light at the small end",
            Some(Against::Steeper),
        ),
        ([90.0, 80.0, 60.1], "evenly over the whole length", None),
        (
            [30.0, 20.0, 10.0],
            "heavy at the big end, light at the small end",
            Some(Against::Steeper),
        ),
        (
            [20.0, 60.0, 90.0],
            "heavy at the small end, light at the big end",
            Some(Against::Shallower),
        ),
        (
            [90.0, 30.0, 85.0],
            "heavy at both ends, hollow in the middle",
            None,
        ),
        (
            [40.0, 90.0, 40.0],
            "heavy in the middle, light at both ends",
            None,
        ),
        ([80.0, 80.0, 80.0], "evenly over the whole length", None),
        (
            [90.0, 40.0, 0.0],
            "at the big end only",
            Some(Against::Steeper),
        ),
        (
            [9.9, 60.0, 90.0],
            "at the small end only",
            Some(Against::Shallower),
        ),
        (
            [90.0, 0.0, 85.0],
            "at both ends, hollow in the middle",
            None,
        ),
        ([0.0, 90.0, 0.0], "in the middle only", None),
        ([0.0, 0.0, 0.0], "nowhere", None),
    ] {
        let [big, middle, small] = zones;
        let told = print(big, middle, small, ContactOptions::default());
        assert_eq!((told.bears(), told.against), (words, against), "{zones:?}");
        assert!(
            told.remarks[0].contains("judged by eye"),
            "{:?}",
            told.remarks
        );
        assert_eq!(told.at_tolerance, None, "no tolerance was stated");
    }
}

/// On 60 mm with a film of 2 to 5 µm, by hand: 5 µm over 60 mm are 17.2″, over 42 mm 24.6″, over 18 mm 57.3″; 2 µm over
/// 20 mm are 20.6″.
#[test]
fn a_print_is_held_beside_the_tolerance() {
    use AtTolerance::{Beyond, ProvesNothing, Within};
    let full = "up to 17.2 arcsec";
    let leaning = "up to 24.6 arcsec steeper";
    let steeper = "20.6 to 57.3 arcsec steeper";
    let shallower = "20.6 to 57.3 arcsec shallower";
    let nothing = "nothing of the half angle";
    for (zones, tolerance, said, worth) in [
        ([100.0, 100.0, 100.0], "18arcsec", Within, full),
        ([100.0, 100.0, 100.0], "17arcsec", ProvesNothing, full),
        ([90.0, 60.0, 20.0], "25arcsec", Within, leaning),
        ([90.0, 60.0, 20.0], "10arcsec", ProvesNothing, leaning),
        ([90.0, 0.0, 0.0], "20arcsec", Beyond, steeper),
        ([90.0, 0.0, 0.0], "30arcsec", ProvesNothing, steeper),
        ([90.0, 0.0, 0.0], "60arcsec", Within, steeper),
        ([0.0, 0.0, 90.0], "20arcsec", Beyond, shallower),
        ([0.0, 90.0, 0.0], "60arcsec", ProvesNothing, nothing),
        ([0.0, 0.0, 0.0], "60arcsec", ProvesNothing, nothing),
    ] {
        let mut setup = seat();
        setup.tolerance = Some(tolerance.parse().unwrap());
        let [big, middle, small] = zones;
        let even = ContactOptions {
            found_arcsec: Some([0.0, 1.0]),
            ..ContactOptions::default()
        };
        let told = outcome(&setup, &even, zones_of(big, middle, small)).unwrap();
        assert_eq!(told.at_tolerance, Some(said), "{zones:?} {tolerance}");
        assert!(told.worth().starts_with(worth), "{}", told.worth());
        assert!(told.beside_tolerance().unwrap().starts_with(said.words()));
        if said == ProvesNothing {
            assert_ne!(
                told.consistent,
                Some(true),
                "no agreement from a print that proves nothing"
            );
        }
    }
}

#[test]
fn bad_input_is_told_with_its_domain() {
    let setup = Setup {
        length: Some(Length::from_um(60_000)),
        ..Setup::default()
    };
    let zones = |big_percent| Zones {
        big_percent,
        middle_percent: 0.0,
        small_percent: 0.0,
    };
    let told = |film, percent| {
        let options = ContactOptions {
            film,
            ..ContactOptions::default()
        };
        outcome(&setup, &options, zones(percent)).map_err(|e| e.to_string())
    };
    assert!(told(None, 100.0).is_ok() && told(None, 0.0).is_ok());
    for percent in [-0.1, 100.1, f64::NAN] {
        assert!(told(None, percent).unwrap_err().contains("0 to 100 %"));
    }
    assert!(told(Some([3.0, 3.0]), 50.0).is_ok());
    for film in [
        [0.0, 3.0],
        [3.0, 2.0],
        [f64::NAN, 2.0],
        [2.0, f64::INFINITY],
    ] {
        assert!(told(Some(film), 50.0).unwrap_err().contains("film of dye"));
    }
}
