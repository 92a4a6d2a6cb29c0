//! Size: what is left to grind, from diameters at planes, a stand-off, rollers or balls.
//!
//! Planes count from the gauge plane, positive toward the small end. Nothing is called finished that may be too small already.
//! What was measured again at a place is pooled, and whether it is of one state of the part is judged.

mod cone;
mod error;
mod gauged;
mod measured;
mod outcome;
mod pass;
mod plan;
mod repeats;
mod told;

pub use error::SizeError;
pub use measured::{
    Ball, Infeed, Measured, Over, SectionReading, SizeOptions, Surface, Temperature,
};
pub use outcome::{Finish, GrindPlan, Ground, Passes, Plane, RoundsDisagree, SizeOutcome};
pub use pass::{Left, look_back};

use crate::setup::Setup;
use crate::stock::{Stock, passes};
use crate::uncertainty::{Budget, COVERAGE, Undecided, Verdict, rectangular};
use crate::{Angle, DomainError, Length};
use gauged::Gauged;
use repeats::{LengthError, Place};

/// Linear expansion is known to within ± this, µm/(m·K): common practice for steels.
const EXPANSION_KNOWN_TO: f64 = 1.0;

/// Computes the outcome of a size step.
///
/// # Errors
/// [`SizeError`]: which row, what, and what is needed.
///
/// ```
/// use conewright_metrology::setup::Setup;
/// use conewright_metrology::size::{self, Finish, Measured, SectionReading, SizeOptions};
/// use conewright_metrology::taper::Taper;
/// let mut taper = Taper::from_half_angle("1:12", "1:12".parse()?, "ISO 1119")?;
/// taper.gauge_diameter = Some("40mm".parse()?);
/// let setup = Setup { taper: Some(taper), ..Setup::default() };
/// let at = |plane_mm, diameter_mm| SectionReading { plane_mm, diameter_mm };
/// let measured = Measured::Sections(vec![at(0.0, 40.06), at(24.0, 38.06)]);
/// let outcome = size::outcome(&setup, &SizeOptions::default(), &measured)?;
/// assert!((outcome.stock_on_diameter_um.unwrap() - 60.0).abs() < 1e-6);
/// assert!((outcome.infeed_um.unwrap() - 30.0).abs() < 1e-6);
/// assert!(outcome.half_angle_error_arcsec.unwrap().abs() < 1e-6);
/// let small = Measured::Sections(vec![at(0.0, 39.998)]);
/// let known = SizeOptions { diameter_u: Some("0.5um".parse()?), ..SizeOptions::default() };
/// assert_eq!(size::outcome(&setup, &known, &small)?.finish, Some(Finish::Undersize));
/// // Nothing tells how well a single diameter repeats.
/// assert_eq!(size::outcome(&setup, &SizeOptions::default(), &small)?.finish, None);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn outcome(
    setup: &Setup,
    options: &SizeOptions,
    measured: &Measured,
) -> Result<SizeOutcome, SizeError> {
    let places = gauged::places(options, measured)?;
    let stated = gauged::stated(options, measured);
    let error = LengthError::of(setup, options, stated, &places);
    let gauge = |places: &[Place]| gauged::gauge(setup, options, measured, &error, places);
    let all = gauge(&places)?;
    // One ball alone tells nothing, so both must have been measured since.
    let tells = |from: usize| {
        !matches!(measured, Measured::Balls { .. })
            || places.iter().all(|place| place.values_mm.len() > from)
    };
    let disagreement = error
        .disagreement(&places, all.arcsec_per_um.as_deref())
        .filter(|found| tells(found.from));
    // Shown is the last state that the part may be in; its interval holds as well what all rounds together say.
    let (found, together) = match &disagreement {
        None => (all, None),
        Some(disagreement) => (gauge(&since(&places, disagreement.from))?, Some(all)),
    };
    let doubt = match disagreement {
        Some(_) => Some(Undecided::RoundsDisagree),
        None => (!found.repeats).then_some(Undecided::RepeatabilityUnknown),
    };
    let expanded = |value: f64, budget: &Budget, together: Option<(f64, &Budget)>| match doubt {
        None => (budget.combined() > 0.0).then(|| budget.expanded(COVERAGE)),
        Some(Undecided::RoundsDisagree) => {
            together.map(|(all, budget)| (all - value).abs() + budget.expanded(COVERAGE))
        }
        Some(_) => None,
    };
    let mut out = SizeOutcome {
        corrections: corrections(options)?,
        ..SizeOutcome::default()
    };
    if let Some((half, of_angle)) = &found.half_angle {
        let of_all = together.as_ref().and_then(|all| all.half_angle.as_ref());
        let of_all = of_all.map(|(half, budget)| (half.arcsec(), budget));
        out.half_angle_expanded_arcsec = expanded(half.arcsec(), of_angle, of_all);
        tell_angle(&mut out, setup, *half, of_angle, doubt)?;
    } else if setup.tolerance.is_some() && disagreement.is_some() {
        out.verdict = Some(Verdict::Undecided);
        out.undecided_because = doubt;
    }
    let told = stock(&mut out, setup, options, measured, &found);
    if let Some((stock_um, budget)) = told {
        let half = found.half_angle.as_ref().map(|(half, _)| *half);
        let taper = setup.taper.as_ref().map(|taper| taper.half_angle);
        let half = taper.or(half).unwrap_or(Angle::ZERO);
        let mut scratch = SizeOutcome::default();
        let of_all = together
            .as_ref()
            .and_then(|all| stock(&mut scratch, setup, options, measured, all));
        let of_all = of_all.as_ref().map(|(um, budget)| (*um, budget));
        out.stock_expanded_um = expanded(stock_um, &budget, of_all);
        tell_stock(&mut out, options, stock_um, half, doubt)?;
        if out.budget.is_empty() {
            out.budget = budget.components();
        }
        told::doubt(&mut out, doubt, found.half_angle.as_ref(), Some(&budget));
    } else {
        told::doubt(&mut out, doubt, found.half_angle.as_ref(), None);
    }
    plan::tell(&mut out, setup, options)?;
    look_back(&mut out, options, &[]);
    if let Some(disagreement) = &disagreement {
        told::disagreement(&mut out, disagreement);
    } else {
        told::repeats(&mut out, &error, &places);
    }
    Ok(out)
}

/// What was measured from a round on, at the places that were measured since.
fn since(places: &[Place], from: usize) -> Vec<Place> {
    let later = |place: &Place| {
        let values = place.values_mm.get(from..)?;
        (!values.is_empty()).then(|| Place {
            values_mm: values.to_vec(),
            ..place.clone()
        })
    };
    places.iter().filter_map(later).collect()
}

/// The half angle, and the decision on it.
fn tell_angle(
    out: &mut SizeOutcome,
    setup: &Setup,
    half: Angle,
    budget: &Budget,
    doubt: Option<Undecided>,
) -> Result<(), SizeError> {
    out.half_angle_deg = Some(half.deg());
    let known = doubt.is_none() && budget.combined() > 0.0;
    out.half_angle_u_arcsec = known.then(|| budget.combined());
    out.budget = budget.components();
    let Some(taper) = &setup.taper else {
        return Ok(());
    };
    let error = (half - taper.half_angle).arcsec();
    out.half_angle_error_arcsec = Some(error);
    let Some(limits) = setup.limits_arcsec()? else {
        return Ok(());
    };
    out.limits_arcsec = Some(limits);
    if doubt.is_some() {
        out.verdict = Some(Verdict::Undecided);
        out.undecided_because = doubt;
    } else {
        let expanded = out.half_angle_expanded_arcsec;
        out.verdict = expanded.map(|u| Verdict::on(error, u, limits));
        out.undecided_because = Undecided::usual(out.verdict);
    }
    Ok(())
}

/// The planes with what is left at each, and the least that is left, µm on diameter, with its budget.
fn stock(
    out: &mut SizeOutcome,
    setup: &Setup,
    options: &SizeOptions,
    measured: &Measured,
    found: &Gauged,
) -> Option<(f64, Budget)> {
    let taper = setup.taper.as_ref();
    let sections = &found.sections;
    let sign = match options.surface {
        Surface::Outside => 1.0,
        Surface::Bore => -1.0,
    };
    // Over rollers it is the small end that is measured, and its plane is known by the length alone.
    let lost = matches!(measured, Measured::Rollers { .. }) && gauged::small_end(setup).is_none();
    for section in sections {
        let wanted_mm = taper
            .filter(|_| !lost)
            .and_then(|t| {
                t.gauge_diameter
                    .map(|d| d.mm() - 2.0 * section.plane_mm * t.half_angle.tan())
            })
            .or_else(|| from_small_end(setup, measured, section.plane_mm));
        out.planes.push(Plane {
            plane_mm: section.plane_mm,
            diameter_mm: section.diameter_mm,
            wanted_mm,
            stock_um: wanted_mm.map(|wanted| sign * (section.diameter_mm - wanted) * 1e3),
        });
    }
    let least = (0..sections.len())
        .filter_map(|i| {
            let more = sections[i].of_cone_mm - sections[i].diameter_mm;
            out.planes[i]
                .stock_um
                .map(|stock_um| (stock_um + sign * more * 1e3, i))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    out.stock_plane_mm = least.map(|(_, i)| sections[i].plane_mm);
    // A gauge in a bore stands out while there is stock, as a ring on a plug does: the same sign.
    if let Some((stock_um, i)) = least {
        let mut budget = sections[i].budget.clone();
        if let Some(temperature) = &options.temperature {
            warmth(&mut budget, temperature, sections[i].diameter_mm);
        }
        return Some((stock_um, budget));
    }
    if found.stock.is_none() && !sections.is_empty() {
        let lacking = if lost {
            "the taper's length is not known, nor so where its small end is, and what is left cannot be told: state the length"
        } else {
            "no gauge diameter is known, so what is left cannot be told: state the taper"
        };
        out.remarks.push(lacking.into());
    }
    found
        .stock
        .as_ref()
        .map(|(mm, budget)| (mm * 1e3, budget.clone()))
}

/// The wanted diameter where only the small end's is known.
fn from_small_end(setup: &Setup, measured: &Measured, plane_mm: f64) -> Option<f64> {
    let taper = setup.taper.as_ref()?;
    let end_mm = match gauged::small_end(setup) {
        Some(length) => length.mm(),
        // Over rollers the plane is the small end itself, wherever that is.
        None if matches!(measured, Measured::Rollers { .. }) => plane_mm,
        None => return None,
    };
    let small = taper.small_diameter_mm()?;
    Some(small + 2.0 * (end_mm - plane_mm) * taper.half_angle.tan())
}

/// Adds what is not known of temperatures and expansion to the budget of a diameter, µm.
fn warmth(budget: &mut Budget, temperature: &Temperature, diameter_mm: f64) {
    let apart = temperature.part_c - temperature.instrument_c;
    let metres = diameter_mm * 1e-3;
    let expansion = rectangular(EXPANSION_KNOWN_TO) * apart.abs() * metres;
    budget.add_rectangular("linear expansion", &[expansion]);
    if let Some(u) = temperature.u_k {
        budget.add(
            "temperature",
            u * temperature.expansion_um_per_m_k * metres,
            None,
        );
    }
}

fn corrections(options: &SizeOptions) -> Result<Vec<String>, SizeError> {
    let Some(temperature) = &options.temperature else {
        return Ok(Vec::new());
    };
    let factor = gauged::to_20_degrees(Some(temperature))?;
    Ok(vec![format!(
        "diameters are brought to 20 °C from {} °C ({} °C of the instrument): {:+.2} µm per 100 mm",
        temperature.part_c,
        temperature.instrument_c,
        (factor - 1.0) * 1e5
    )])
}

/// Stock, infeeds, passes, and the word on them.
fn tell_stock(
    out: &mut SizeOutcome,
    options: &SizeOptions,
    stock_um: f64,
    half: Angle,
    doubt: Option<Undecided>,
) -> Result<(), SizeError> {
    let domain = |error: DomainError| SizeError::Domain { row: None, error };
    let stock = Stock::on_diameter(stock_um * 1e-3, half).map_err(domain)?;
    let (axis_um, cone_um) = (
        stock.infeed_square_to_axis_mm * 1e3,
        stock.infeed_square_to_surface_mm * 1e3,
    );
    let infeed_um = match options.infeed {
        Infeed::Axis => axis_um,
        Infeed::Cone => cone_um,
    };
    out.stock_on_diameter_um = Some(stock_um);
    out.infeed_um = Some(infeed_um);
    out.infeed_square_to_axis_um = Some(axis_um);
    out.infeed_square_to_cone_um = Some(cone_um);
    let sure = out.stock_expanded_um.filter(|_| doubt.is_none());
    out.finish = sure.map(|u| match options.surface {
        _ if stock_um > u => Finish::Left,
        _ if stock_um >= -u => Finish::AtSize,
        Surface::Outside => Finish::Undersize,
        Surface::Bore => Finish::Oversize,
    });
    told::finish(out);
    // Where its uncertainty is not known, what is left is divided all the same: as it was measured.
    let left = match out.finish {
        Some(finish) => finish == Finish::Left,
        None => stock_um > 0.0,
    };
    let Some(depth) = options.pass.filter(|_| left) else {
        return Ok(());
    };
    let allowance_um = options.allowance.unwrap_or(Length::ZERO).um();
    if allowance_um < 0.0 {
        let error = DomainError::new(
            "finishing allowance",
            format_args!("{allowance_um} µm"),
            "0 µm or more",
        );
        return Err(domain(error));
    }
    let rough_um = (infeed_um - allowance_um).max(0.0);
    let count = passes(rough_um * 1e-3, depth).map_err(domain)?;
    let before_last = f64::from(count.saturating_sub(1)) * depth.um();
    out.passes = Some(Passes {
        count,
        depth_um: depth.um(),
        last_um: if count > 0 {
            rough_um - before_last
        } else {
            0.0
        },
        finishing_um: infeed_um - rough_um,
    });
    Ok(())
}
