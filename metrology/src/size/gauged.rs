//! What was measured, brought to diameters at planes and a half angle, each with its uncertainty.

use super::cone::{Cone, add_planes};
use super::repeats::{LengthError, Place};
use super::{Measured, SizeError, SizeOptions, Temperature};
use crate::domain::{LARGEST_MM, Unusable};
use crate::gauging::{BallInBore, OverRollers, two_balls};
use crate::setup::Setup;
use crate::thermal::growth_um;
use crate::uncertainty::Budget;
use crate::{Angle, DomainError, Length};

/// A diameter at a plane with its budget, µm.
#[derive(Debug, Clone)]
pub(super) struct Section {
    pub plane_mm: f64,
    /// As measured.
    pub diameter_mm: f64,
    /// Of the cone through all of them, where there are several.
    pub of_cone_mm: f64,
    /// Of the cone's diameter.
    pub budget: Budget,
}

/// What the measurement comes to.
pub(super) struct Gauged {
    /// Half angle with its budget, arc-seconds.
    pub half_angle: Option<(Angle, Budget)>,
    pub sections: Vec<Section>,
    /// Stock on diameter, mm, when it was not found from a diameter, with its budget, µm.
    pub stock: Option<(f64, Budget)>,
    /// Arc-seconds of half angle per µm at each place, where there is a half angle.
    pub arcsec_per_um: Option<Vec<f64>>,
    /// Whether anything tells how well a length repeats: without it a budget holds only what else is known.
    pub repeats: bool,
}

impl Gauged {
    /// Sections of a cone, or a single one where there is no cone.
    fn of_cone(
        sections: Vec<Section>,
        cone: Option<&Cone>,
        options: &SizeOptions,
        error: &LengthError,
    ) -> Self {
        Self {
            sections,
            half_angle: cone.map(|cone| cone.half_angle(options, error)),
            stock: None,
            arcsec_per_um: cone.map(Cone::arcsec_per_um),
            repeats: cone.map_or(error.is_known(), |cone| cone.repeats(error)),
        }
    }
}

fn domain(row: usize) -> impl Fn(DomainError) -> SizeError {
    move |error| SizeError::Domain {
        row: Some(row),
        error,
    }
}

fn whole(error: DomainError) -> SizeError {
    SizeError::Domain { row: None, error }
}

/// The factor that brings a diameter to 20 °C.
pub(super) fn to_20_degrees(temperature: Option<&Temperature>) -> Result<f64, SizeError> {
    let Some(temperature) = temperature else {
        return Ok(1.0);
    };
    let metre = Length::from_um(1_000_000);
    let growth = |celsius: f64| {
        growth_um(metre, celsius - 20.0, temperature.expansion_um_per_m_k).map_err(whole)
    };
    // What is shown is long by the part's growth and short by the instrument's.
    let part = growth(temperature.part_c)?;
    let instrument = growth(temperature.instrument_c)?;
    Ok((1.0 + instrument * 1e-6) / (1.0 + part * 1e-6))
}

/// Planes nearer to each other than this, mm, are one: a picometre.
const ONE_PLANE: f64 = 1e-9;

/// The places that were measured, each with everything measured there, in the order first measured.
pub(super) fn places(options: &SizeOptions, measured: &Measured) -> Result<Vec<Place>, SizeError> {
    let factor = to_20_degrees(options.temperature.as_ref())?;
    let mut places: Vec<Place> = Vec::new();
    let mut take = |at_mm: f64, value_mm: f64, row: usize| {
        let known = places
            .iter_mut()
            .find(|place| (place.at_mm - at_mm).abs() < ONE_PLANE);
        match known {
            Some(place) => place.values_mm.push(value_mm),
            None => places.push(Place {
                at_mm,
                values_mm: vec![value_mm],
                row,
            }),
        }
    };
    match measured {
        Measured::Sections(readings) => {
            for (index, reading) in readings.iter().enumerate() {
                let row = index + 1;
                for (value, column) in [
                    (reading.plane_mm, "plane_mm"),
                    (reading.diameter_mm, "diameter_mm"),
                ] {
                    Unusable::check(row, column, value, LARGEST_MM)?;
                }
                if reading.diameter_mm <= 0.0 {
                    let shown = format_args!("{} mm", reading.diameter_mm).to_string();
                    return Err(domain(row)(DomainError::new(
                        "diameter",
                        shown,
                        "above 0 mm",
                    )));
                }
                take(reading.plane_mm, reading.diameter_mm * factor, row);
            }
        }
        Measured::StandOff { short } => {
            for (index, short) in short.iter().enumerate() {
                take(0.0, short.mm(), index + 1);
            }
        }
        // Rollers on higher stacks lie further apart, as sections nearer to the big end do: the same line.
        Measured::Rollers { over, .. } => {
            for (index, o) in over.iter().enumerate() {
                take(-o.stacks.mm(), o.over.mm() * factor, index + 1);
            }
        }
        Measured::Balls { big, small } => {
            if big.tops_below_face.is_empty() || small.tops_below_face.is_empty() {
                return Err(SizeError::Nothing);
            }
            for (at_mm, tops) in [(0.0, &big.tops_below_face), (1.0, &small.tops_below_face)] {
                for (index, top) in tops.iter().enumerate() {
                    take(at_mm, top.mm(), index + 1);
                }
            }
        }
    }
    if places.is_empty() {
        return Err(SizeError::Nothing);
    }
    Ok(places)
}

/// What the user states of the length that is measured itself.
pub(super) fn stated(options: &SizeOptions, measured: &Measured) -> Option<(&'static str, f64)> {
    let u = options
        .plane_u
        .filter(|_| matches!(measured, Measured::StandOff { .. }))?;
    Some(("the stand-off, as stated", u.um()))
}

/// Brings what was measured at the places to diameters and half angle.
pub(super) fn gauge(
    setup: &Setup,
    options: &SizeOptions,
    measured: &Measured,
    error: &LengthError,
    places: &[Place],
) -> Result<Gauged, SizeError> {
    match measured {
        Measured::Sections(_) => by_sections(setup, options, error, places),
        Measured::StandOff { .. } => {
            let half = setup.taper.as_ref().ok_or(SizeError::NoTaper)?.half_angle;
            let place = places.first().ok_or(SizeError::Nothing)?;
            let short = exact(place.mean_mm())?;
            let stock = crate::stock::Stock::from_stand_off(short, half).map_err(whole)?;
            let mut budget = Budget::new("um");
            error.add(&mut budget, &[(2.0 * half.tan(), place.values_mm.len())]);
            Ok(Gauged {
                half_angle: None,
                sections: Vec::new(),
                stock: Some((stock.on_diameter_mm, budget)),
                arcsec_per_um: None,
                repeats: error.is_known(),
            })
        }
        Measured::Rollers { radius, .. } => by_rollers(setup, options, error, *radius, places),
        Measured::Balls { big, small } => {
            let factor = to_20_degrees(options.temperature.as_ref())?;
            by_balls(error, [big.radius, small.radius], places, factor)
        }
    }
}

/// A mean as an exact length, to the picometre.
fn exact(mm: f64) -> Result<Length, SizeError> {
    Length::from_mm(mm).ok_or_else(|| {
        let shown = format_args!("{mm} mm").to_string();
        whole(DomainError::new(
            "length",
            shown,
            "a length that can be measured",
        ))
    })
}

/// The cone through the places, where there are several.
fn cone(
    options: &SizeOptions,
    error: &LengthError,
    places: &[Place],
) -> Result<Option<Cone>, SizeError> {
    let several = places.len() > 1;
    let cone = several.then(|| Cone::through(options, error, places));
    cone.transpose()
}

fn by_sections(
    setup: &Setup,
    options: &SizeOptions,
    error: &LengthError,
    places: &[Place],
) -> Result<Gauged, SizeError> {
    let cone = cone(options, error, places)?;
    let sections = places.iter().map(|place| {
        let (plane_mm, diameter_mm) = (place.at_mm, place.mean_mm());
        let mut budget = Budget::new("um");
        let mut of_cone_mm = diameter_mm;
        if let Some(cone) = &cone {
            // More than two diameters bear out each other.
            of_cone_mm = cone.at(plane_mm);
            cone.add(&mut budget, options, error, &Cone::shares(places, plane_mm));
        } else {
            let tan = setup.half_angle().tan();
            error.add(&mut budget, &[(1.0, place.values_mm.len())]);
            add_planes(&mut budget, options, tan, &[1.0]);
        }
        Section {
            plane_mm,
            diameter_mm,
            of_cone_mm,
            budget,
        }
    });
    let sections = sections.collect();
    Ok(Gauged::of_cone(sections, cone.as_ref(), options, error))
}

/// How far the small end, on which the part stands between rollers, is from the gauge plane.
pub(super) fn small_end(setup: &Setup) -> Option<Length> {
    let own = setup.taper.as_ref().and_then(|taper| taper.length);
    own.or(setup.length)
}

/// The small end on the plate from measurements over rollers; with two heights or more the half angle too.
fn by_rollers(
    setup: &Setup,
    options: &SizeOptions,
    error: &LengthError,
    radius: Length,
    places: &[Place],
) -> Result<Gauged, SizeError> {
    let taper = setup.taper.as_ref().ok_or(SizeError::NoTaper)?;
    let length = small_end(setup);
    let rollers = OverRollers {
        roller_radius: radius,
    };
    let factor = to_20_degrees(options.temperature.as_ref())?;
    let cone = cone(options, error, places)?;
    let half = cone.as_ref().map_or(taper.half_angle, |cone| cone.half);
    let mut first = None;
    for place in places {
        let stacks = exact(-place.at_mm)?;
        let height_mm = (stacks + radius).mm() - radius.mm() * half.sin();
        if let Some(length) = length.filter(|length| height_mm > length.mm()) {
            return Err(SizeError::RollersBeyond {
                row: place.row,
                height_mm,
                length_mm: length.mm(),
            });
        }
        // The rollers are as warm as the part: the correction is of the whole.
        let over = exact(place.mean_mm() / factor)?;
        let small_mm = rollers
            .small_end_mm(stacks, over, half)
            .map_err(domain(place.row))?;
        first = first.or(Some((stacks, small_mm * factor)));
    }
    let (stacks, small_mm) = first.ok_or(SizeError::Nothing)?;
    let length_mm = length.map_or(0.0, Length::mm);
    // mm of the small end per radian: what height and rollers add to both sides.
    let (h, rho) = ((stacks + radius).mm(), radius.mm());
    let per_angle = -2.0 * (h / half.cos().powi(2) + rho * half.tan() / half.cos());
    let mut planes = vec![(length_mm, per_angle)];
    if length.is_some() {
        planes.push((0.0, per_angle + 2.0 * length_mm / half.cos().powi(2)));
    }
    let sections = planes.into_iter().map(|(plane_mm, per_angle)| {
        let mut budget = Budget::new("um");
        match &cone {
            Some(cone) => {
                let mut sensitivities: Vec<f64> =
                    cone.sensitivities.iter().map(|s| s * per_angle).collect();
                sensitivities[0] += 1.0;
                cone.add(&mut budget, options, error, &sensitivities);
            }
            None => error.add(&mut budget, &[(1.0, places[0].values_mm.len())]),
        }
        let diameter_mm = small_mm + 2.0 * (length_mm - plane_mm) * half.tan();
        Section {
            plane_mm,
            diameter_mm,
            of_cone_mm: diameter_mm,
            budget,
        }
    });
    let sections = sections.collect();
    Ok(Gauged::of_cone(sections, cone.as_ref(), options, error))
}

fn by_balls(
    error: &LengthError,
    [big_radius, small_radius]: [Length; 2],
    places: &[Place],
    factor: f64,
) -> Result<Gauged, SizeError> {
    let [of_big, of_small] = places else {
        return Err(SizeError::Nothing);
    };
    let ball = |radius, place: &Place| -> Result<BallInBore, SizeError> {
        Ok(BallInBore {
            radius,
            top_below_face: exact(place.mean_mm())?,
        })
    };
    let (big, small) = (ball(big_radius, of_big)?, ball(small_radius, of_small)?);
    let (of_big, of_small) = (of_big.values_mm.len(), of_small.values_mm.len());
    let found = two_balls(big, small, Length::ZERO, Length::ZERO).map_err(whole)?;
    let half = found.half_angle.half_angle;
    let apart = (small.top_below_face + small.radius - big.top_below_face - big.radius).mm();
    // The angle follows each depth by tan α over the distance of the centres, the big ball's up and the small one's down.
    let per_depth = half.tan() / apart;
    let arcsec = Angle::from_rad(per_depth * 1e-3).arcsec();
    let mut of_angle = Budget::new("arcsec");
    error.add(&mut of_angle, &[(arcsec, of_big), (arcsec, of_small)]);
    let centre = (big.top_below_face + big.radius).mm();
    let per_angle = 2.0 * (big.radius.mm() * half.sin() + centre) / half.cos().powi(2);
    let mut budget = Budget::new("um");
    error.add(
        &mut budget,
        &[
            (2.0 * half.tan() + per_angle * per_depth, of_big),
            (per_angle * per_depth, of_small),
        ],
    );
    let diameter_mm = found.diameter_at_face_mm * factor;
    Ok(Gauged {
        half_angle: Some((half, of_angle)),
        sections: vec![Section {
            plane_mm: 0.0,
            diameter_mm,
            of_cone_mm: diameter_mm,
            budget,
        }],
        stock: None,
        // The big ball's depth raises the angle, the small one's lowers it.
        arcsec_per_um: Some(vec![arcsec, -arcsec]),
        repeats: error.is_known(),
    })
}
