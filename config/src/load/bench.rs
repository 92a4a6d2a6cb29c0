//! `[bar.NAME]`, `[fixture.NAME]` and `[taper.NAME]`: what stands on the user's bench.

use super::mistake::Problem;
use super::section::{Section, Value};
use super::value::{angle, choice, half_angle, length, list, positive, text, unread};
use crate::lookup::{BAR_KINDS, is_taken_by_a_taper};
use metrology::setting::{Bar, BarKind};
use metrology::setup::Fixture;
use metrology::taper::Taper;
use metrology::{Angle, Length};

/// Reads a bar. What is wrong with it is among the findings when there is none.
pub(super) fn bar(section: &Section<'_>) -> Option<Bar> {
    section.only(&[
        "kind",
        "centre_distance",
        "constant",
        "disc_radii",
        "centre_distance_u",
    ]);
    let kind = section.optional("kind", choice(&BAR_KINDS));
    if kind.is_none() && section.has("kind") {
        return None;
    }
    let kind = kind.unwrap_or(BarKind::Sine);
    let tangent = kind == BarKind::Tangent;
    let (needed, other) = if tangent {
        ("disc_radii", "centre_distance")
    } else {
        ("centre_distance", "disc_radii")
    };
    if section.has(other) {
        section.wrong_key(
            other,
            Problem::new(format!("a bar of this kind has no `{other}`"))
                .expected(format!("`{needed}`")),
        );
    }
    let centre_distance = (!tangent).then(|| {
        section.required(
            needed,
            "the distance of the rollers' centres: \"100\" or \"5in\"",
            positive,
        )
    });
    let disc_radii = tangent.then(|| section.required(needed, RADII, radii));
    let constant = section.optional("constant", length);
    let centre_distance_u = section.optional("centre_distance_u", positive);
    Some(Bar {
        kind,
        centre_distance: if tangent {
            None
        } else {
            Some(centre_distance??)
        },
        constant: constant.unwrap_or_default(),
        disc_radii: if tangent { Some(disc_radii??) } else { None },
        centre_distance_u,
    })
}

const RADII: &str = "the radii of the two discs, the smaller first: [10, 25]";

fn radii(value: &Value<'_>) -> Result<[Length; 2], Problem> {
    match list(RADII, positive)(value)?[..] {
        [small, large] if small < large => Ok([small, large]),
        _ => Err(Problem::new("these are not two rising radii").expected(RADII)),
    }
}

/// What else a fixture may bring along: options of a session, by their words.
pub(super) const PROFILE: [&str; 13] = [
    "bar",
    "bar_kind",
    "bar_constant",
    "kit",
    "span",
    "stations",
    "pass",
    "big_end",
    "indicator_side",
    "cable",
    "resolution",
    "straightness",
    "station_error",
];

/// Reads a fixture. What is wrong with it is among the findings when there is none.
pub(super) fn fixture(name: String, section: &Section<'_>) -> Fixture {
    section.only(&[&["pivot", "clamp_shifts"][..], &PROFILE].concat());
    Fixture {
        name,
        pivot: section.optional("pivot", length),
        learned_pivot: None,
        clamp_shifts: section
            .optional("clamp_shifts", list(SHIFTS, shift))
            .unwrap_or_default(),
    }
}

const SHIFTS: &str = "a list of shifts, each a rise over a length: [\"-3.1um/80mm\"]";

/// A rise over a length, as a slope.
fn shift(value: &Value<'_>) -> Result<f64, Problem> {
    let written = text(value)?;
    let expected = "a rise over a length such as \"-3.1um/80mm\"";
    let wrong = |what: String| Problem::new(what).expected(expected);
    let (rise, over) = written
        .split_once('/')
        .ok_or_else(|| wrong(format!("`{written}` has no `/`")))?;
    let read = |part: &str| {
        part.parse::<Length>()
            .map_err(|e| unread(&e).expected(expected))
    };
    let (rise, over) = (read(rise)?, read(over)?);
    // A clamp that turns the set-up by more than a hundredth has not held it.
    if over > Length::ZERO && rise.abs().mm() <= over.mm() / 100.0 {
        Ok(rise.mm() / over.mm())
    } else {
        Err(wrong(format!(
            "`{written}` is no shift of a clamp: the length is above zero, and the rise below a hundredth of it"
        )))
    }
}

/// How far a printed small end may lie from the one computed: sources print tenths of a millimetre.
const SMALL_END_MM: f64 = 0.05;

/// Reads a taper. What is wrong with it is among the findings when there is none.
pub(super) fn taper(name: String, section: &Section<'_>) -> Option<Taper> {
    const ANGLES: [&str; 3] = ["ratio", "half_angle", "included_angle"];
    section.only(&[
        "ratio",
        "half_angle",
        "included_angle",
        "gauge_diameter",
        "small_diameter",
        "length",
        "source",
    ]);
    if is_taken_by_a_taper(&name) {
        section.wrong(
            Problem::new(format!("`{name}` means a taper already")).expected("a name of your own"),
        );
    }
    let ratio = section.optional("ratio", ratio);
    let half = section.optional("half_angle", half_angle);
    let included = section.optional("included_angle", included_angle);
    let gauge_diameter = section.optional("gauge_diameter", positive);
    let small_diameter = section.optional("small_diameter", positive);
    let length = section.optional("length", positive);
    let source = section
        .optional("source", text)
        .unwrap_or("the configuration")
        .to_owned();
    let said: Vec<&str> = ANGLES.into_iter().filter(|key| section.has(key)).collect();
    if said.len() > 1 {
        section.wrong_key(
            said[1],
            Problem::new(format!("`{}` gives the angle already", said[0]))
                .expected("one of ratio, half_angle, included_angle"),
        );
        return None;
    }
    let by_diameters = || match (gauge_diameter, small_diameter, length) {
        (Some(big), Some(small), Some(length)) if big > small => {
            Some(Angle::half_of_ratio(length.mm() / (big - small).mm()))
        }
        _ => None,
    };
    let half_angle = if said.is_empty() {
        by_diameters()
    } else {
        ratio.or(half).or(included)
    };
    let Some(half_angle) = half_angle else {
        if said.is_empty() {
            section.wrong(Problem::new("nothing gives the angle").expected(
                "ratio = \"1:12\", half_angle = \"2.386deg\", included_angle = \"4.772deg\", or both diameters \
                 with the length",
            ));
        }
        return None;
    };
    let taper = Taper {
        name,
        half_angle,
        gauge_diameter,
        small_diameter,
        length,
        source,
    };
    check_small_end(&taper, section);
    Some(taper)
}

/// That the cone's small end is where angle, gauge diameter and length put it.
fn check_small_end(taper: &Taper, section: &Section<'_>) {
    let (Some(big), Some(length)) = (taper.gauge_diameter, taper.length) else {
        return;
    };
    let per_length = 2.0 * taper.half_angle.tan();
    let small = big.mm() - per_length * length.mm();
    if small <= 0.0 {
        let longest = big.mm() / per_length;
        let problem = Problem::new("the taper comes to its point before this length");
        section.wrong_key(
            "length",
            problem.expected(format!("a length below {longest:.3} mm")),
        );
    } else if let Some(stated) = taper.small_diameter
        && (stated.mm() - small).abs() > SMALL_END_MM
    {
        let problem = Problem::new(format!(
            "angle, gauge diameter and length end at {small:.3} mm"
        ));
        section.wrong_key(
            "small_diameter",
            problem.expected(format!("that, to {SMALL_END_MM} mm")),
        );
    }
}

fn ratio(value: &Value<'_>) -> Result<Angle, Problem> {
    let expected = "a taper on diameter such as \"1:12\" or \"0.6in/ft\"";
    let written = text(value).map_err(|p| p.expected(expected))?;
    if !Angle::is_on_diameter(written) {
        return Err(Problem::new(format!("`{written}` is not a ratio")).expected(expected));
    }
    half_angle(value).map_err(|p| p.expected(expected))
}

fn included_angle(value: &Value<'_>) -> Result<Angle, Problem> {
    let expected = "an included angle above 0° and below 180°, such as \"60deg\"";
    let included = angle(value)?;
    // A ratio is always read as the half angle of its cone; here it would be doubled in silence.
    if text(value)?.contains([':', '/']) {
        return Err(Problem::new("a ratio goes into the key `ratio`").expected(expected));
    }
    let half = Angle::from_rad(included.rad() / 2.0);
    if half > Angle::ZERO && half.deg() < 90.0 {
        Ok(half)
    } else {
        Err(Problem::new(format!(
            "no cone has an included angle of {}°",
            included.deg()
        ))
        .expected(expected))
    }
}
