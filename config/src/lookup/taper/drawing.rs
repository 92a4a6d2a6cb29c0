//! A taper as a drawing gives it: two diameters with their distance, or a diameter at a plane.

use super::check_half_angle;
use metrology::taper::Taper;
use metrology::{Angle, Length};
use protocol::api::{Code, Refusal};

const BY_DIAMETERS: &str =
    "write the big diameter, the small one and their distance along the axis: `40/37.5/30`";
const AT_PLANE: &str = "write the diameter at the gauge plane behind the taper, `1:12@40`, or that at a plane so far from it toward \
     the small end: `1:12@39.5/6`";

fn bad(spec: &str, what: &str, hint: &str) -> Refusal {
    Refusal::new(Code::BadValue, format!("taper `{spec}`: {what}")).hint(hint)
}

fn length(spec: &str, text: &str, hint: &str) -> Result<Length, Refusal> {
    text.parse()
        .map_err(|error: metrology::QuantityError| bad(spec, &error.to_string(), hint))
}

fn without_blanks(spec: &str) -> String {
    spec.split_whitespace().collect()
}

/// `BIG/SMALL/DISTANCE`: `tan α = (D − d)/(2 L)`. Source: ISO 1119, definition of the rate of taper.
pub(super) fn by_diameters(spec: &str) -> Result<Taper, Refusal> {
    let parts: Vec<&str> = spec.split('/').collect();
    let read = |part: &&str| length(spec, part, BY_DIAMETERS);
    let lengths = parts.iter().map(read).collect::<Result<Vec<_>, _>>()?;
    let &[big, small, distance] = &lengths[..] else {
        return Err(bad(spec, "it has not three lengths", BY_DIAMETERS));
    };
    if small <= Length::ZERO || distance <= Length::ZERO {
        return Err(bad(spec, "its lengths must be above zero", BY_DIAMETERS));
    }
    if small >= big {
        return Err(bad(
            spec,
            "the first diameter is not the bigger one",
            BY_DIAMETERS,
        ));
    }
    let half_angle = Angle::half_of_ratio(distance.mm() / (big - small).mm());
    Ok(Taper {
        name: without_blanks(spec),
        half_angle: check_half_angle(half_angle)?,
        gauge_diameter: Some(big),
        small_diameter: Some(small),
        length: Some(distance),
        source: "two diameters and their distance as stated".to_owned(),
    })
}

/// A cone with its diameter at the gauge plane, or at a plane so far from it toward the small end: `D = d + 2 z tan α`.
pub(super) fn at_plane(cone: &Taper, place: &str) -> Result<Taper, Refusal> {
    let spec = format!("{}@{}", cone.name, place.trim());
    let (diameter, plane) = place.split_once('/').unwrap_or((place, "0"));
    let diameter = length(&spec, diameter, AT_PLANE)?;
    let plane = length(&spec, plane, AT_PLANE)?;
    let at_gauge_plane = diameter.mm() + 2.0 * plane.mm() * cone.half_angle.tan();
    let at_gauge_plane = Length::from_mm(at_gauge_plane)
        .filter(|at_gauge_plane| diameter > Length::ZERO && *at_gauge_plane > Length::ZERO)
        .ok_or_else(|| bad(&spec, "its diameter must be above zero", AT_PLANE))?;
    Ok(Taper {
        name: without_blanks(&spec),
        gauge_diameter: Some(at_gauge_plane),
        // That of a standard belongs to its own gauge diameter.
        small_diameter: None,
        source: format!("{}; diameter as stated", cone.source),
        ..cone.clone()
    })
}
