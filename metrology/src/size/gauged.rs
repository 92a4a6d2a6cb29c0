//! What was measured, brought to diameters at planes and a half angle, each with its uncertainty.

use super::{Measured, Over, SizeError, SizeOptions, Temperature};
use crate::domain::{LARGEST_MM, Unusable};
use crate::fit::line;
use crate::gauging::{BallInBore, OverRollers, two_balls};
use crate::setup::Setup;
use crate::thermal::growth_um;
use crate::uncertainty::{Budget, f_limit, rectangular};
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

/// What is known of the error of one measured length, µm: normal ones and rectangular ones.
struct LengthError {
    normal: Option<(&'static str, f64)>,
    rectangular: Vec<(&'static str, f64)>,
}

impl LengthError {
    fn of(setup: &Setup, options: &SizeOptions) -> Self {
        if let Some(u) = options.diameter_u {
            let normal = Some(("the diameters, as stated", u.um()));
            return Self {
                normal,
                rectangular: Vec::new(),
            };
        }
        let step = setup
            .indicator
            .resolution
            .map(|step| rectangular(step.um() / 2.0));
        let error = setup.indicator.error().map(|e| (e.component, e.u_mm * 1e3));
        let step = step.map(|u| ("resolution of the instrument", u));
        let repeats = setup
            .indicator
            .check
            .as_ref()
            .and_then(|check| check.repeatability_sd_um);
        Self {
            normal: repeats.map(|sd| ("repeatability of the instrument", sd)),
            rectangular: step.into_iter().chain(error).collect(),
        }
    }

    /// Standard uncertainty of one length, µm; 0 when nothing is known.
    fn u_um(&self) -> f64 {
        let known = self.rectangular.iter().map(|(_, u)| u * u).sum::<f64>();
        (self.normal.map_or(0.0, |(_, u)| u * u) + known).sqrt()
    }

    /// Adds the contributions of several such lengths, each with its own error and its own sensitivity.
    fn add(&self, budget: &mut Budget, sensitivities: &[f64]) {
        if let Some((component, u)) = self.normal {
            let all = sensitivities.iter().map(|s| s * s).sum::<f64>().sqrt();
            budget.add(component, u * all, None);
        }
        for (component, u) in &self.rectangular {
            let parts: Vec<f64> = sensitivities.iter().map(|s| s * u).collect();
            budget.add_rectangular(*component, &parts);
        }
    }
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

/// Brings a measurement to diameters and half angle.
pub(super) fn gauge(
    setup: &Setup,
    options: &SizeOptions,
    measured: &Measured,
) -> Result<Gauged, SizeError> {
    let error = LengthError::of(setup, options);
    let factor = to_20_degrees(options.temperature.as_ref())?;
    match measured {
        Measured::Sections(readings) => {
            let mut sections = Vec::with_capacity(readings.len());
            for (index, reading) in readings.iter().enumerate() {
                let row = index + 1;
                for (value, column) in [
                    (reading.plane_mm, "plane_mm"),
                    (reading.diameter_mm, "diameter_mm"),
                ] {
                    Unusable::check(value, LARGEST_MM).map_err(|why| SizeError::Unusable {
                        row,
                        column,
                        why,
                    })?;
                }
                if reading.diameter_mm <= 0.0 {
                    let shown = format_args!("{} mm", reading.diameter_mm).to_string();
                    return Err(domain(row)(DomainError::new(
                        "diameter",
                        shown,
                        "above 0 mm",
                    )));
                }
                sections.push([reading.plane_mm, reading.diameter_mm * factor]);
            }
            by_sections(setup, options, &error, &sections)
        }
        Measured::StandOff { short } => {
            let half = setup.taper.as_ref().ok_or(SizeError::NoTaper)?.half_angle;
            let stock = crate::stock::Stock::from_stand_off(*short, half).map_err(whole)?;
            let mut budget = Budget::new("um");
            if let Some(u) = options.plane_u {
                budget.add("the stand-off, as stated", 2.0 * half.tan() * u.um(), None);
            } else {
                error.add(&mut budget, &[2.0 * half.tan()]);
            }
            let stock = Some((stock.on_diameter_mm, budget));
            Ok(Gauged {
                half_angle: None,
                sections: Vec::new(),
                stock,
            })
        }
        Measured::Rollers { radius, over } => {
            by_rollers(setup, options, &error, *radius, over, factor)
        }
        Measured::Balls { big, small } => by_balls(&error, *big, *small, factor),
    }
}

/// Places of the planes add to a diameter what the cone does over their error.
fn add_planes(budget: &mut Budget, options: &SizeOptions, tan: f64, sensitivities: &[f64]) {
    if let Some(u) = options.plane_u {
        let all = sensitivities.iter().map(|s| s * s).sum::<f64>().sqrt();
        budget.add("places of the planes", 2.0 * tan.abs() * u.um() * all, None);
    }
}

/// Planes nearer to each other than this, mm, are one: a picometre.
const ONE_PLANE: f64 = 1e-9;

/// A cone through diameters at planes, each `[plane, diameter]` in mm.
struct Cone {
    half: Angle,
    /// Diameter at plane 0, mm, and its change per mm.
    line: [f64; 2],
    /// Radians of half angle per mm of each diameter.
    sensitivities: Vec<f64>,
    /// Scatter about the cone, µm, with its degrees of freedom, where it is more than is known of the diameters.
    scatter: Option<(f64, f64)>,
}

impl Cone {
    fn through(
        options: &SizeOptions,
        error: &LengthError,
        points: &[[f64; 2]],
    ) -> Result<Self, SizeError> {
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().map(|[x, y]| (*x, *y)).unzip();
        let n = points.len() as f64;
        let one_plane = SizeError::OnePlane {
            plane_mm: x[0],
            rows: points.len(),
        };
        if x.iter().all(|place| (place - x[0]).abs() < ONE_PLANE) {
            return Err(one_plane);
        }
        let fit = line(&x, &y).map_err(|_| one_plane)?;
        // Planes count toward the small end: the diameter falls by 2 tan α.
        let tan = -fit.slope / 2.0;
        let half = Angle::from_rad(tan.atan());
        let mean = x.iter().sum::<f64>() / n;
        let squares: f64 = x.iter().map(|x| (x - mean).powi(2)).sum();
        let per_tan = -half.cos().powi(2) / 2.0;
        let dof = n - 2.0;
        let scatter_um = fit.residual_sd * 1e3;
        let planes_um = options.plane_u.map_or(0.0, |u| 2.0 * tan.abs() * u.um());
        let expected = error.u_um().hypot(planes_um);
        let more = expected == 0.0 || (scatter_um / expected).powi(2) > f_limit(dof.max(1.0), 1e6);
        Ok(Self {
            half,
            line: [fit.intercept, fit.slope],
            sensitivities: x.iter().map(|x| (x - mean) / squares * per_tan).collect(),
            scatter: (dof > 0.0 && more).then_some((scatter_um, dof)),
        })
    }

    /// The cone's diameter at a plane, mm.
    fn at(&self, plane_mm: f64) -> f64 {
        self.line[0] + self.line[1] * plane_mm
    }

    /// How the cone's diameter at a plane depends on each measured one.
    fn shares(&self, points: &[[f64; 2]], plane_mm: f64) -> Vec<f64> {
        let n = points.len() as f64;
        let mean = points.iter().map(|[x, _]| x).sum::<f64>() / n;
        let squares: f64 = points.iter().map(|[x, _]| (x - mean).powi(2)).sum();
        points
            .iter()
            .map(|[x, _]| 1.0 / n + (plane_mm - mean) * (x - mean) / squares)
            .collect()
    }

    /// Adds what the measured diameters contribute to a result, by its sensitivity to each.
    fn add(
        &self,
        budget: &mut Budget,
        options: &SizeOptions,
        error: &LengthError,
        sensitivities: &[f64],
    ) {
        if let Some((scatter_um, dof)) = self.scatter {
            let all = sensitivities.iter().map(|s| s * s).sum::<f64>().sqrt();
            budget.add("scatter about the cone", scatter_um * all, Some(dof));
        } else {
            error.add(budget, sensitivities);
            add_planes(budget, options, self.half.tan(), sensitivities);
        }
    }

    fn half_angle(&self, options: &SizeOptions, error: &LengthError) -> (Angle, Budget) {
        let mut budget = Budget::new("arcsec");
        let arcsec: Vec<f64> = self
            .sensitivities
            .iter()
            .map(|s| Angle::from_rad(s * 1e-3).arcsec())
            .collect();
        self.add(&mut budget, options, error, &arcsec);
        (self.half, budget)
    }
}

fn by_sections(
    setup: &Setup,
    options: &SizeOptions,
    error: &LengthError,
    points: &[[f64; 2]],
) -> Result<Gauged, SizeError> {
    let cone = match points {
        [] => return Err(SizeError::Nothing),
        [_] => None,
        points => Some(Cone::through(options, error, points)?),
    };
    let sections = points.iter().map(|[plane_mm, diameter_mm]| {
        let mut budget = Budget::new("um");
        let mut of_cone_mm = *diameter_mm;
        if let Some(cone) = &cone {
            // More than two diameters bear out each other.
            of_cone_mm = cone.at(*plane_mm);
            cone.add(&mut budget, options, error, &cone.shares(points, *plane_mm));
        } else {
            let tan = setup
                .taper
                .as_ref()
                .map_or(0.0, |taper| taper.half_angle.tan());
            error.add(&mut budget, &[1.0]);
            add_planes(&mut budget, options, tan, &[1.0]);
        }
        Section {
            plane_mm: *plane_mm,
            diameter_mm: *diameter_mm,
            of_cone_mm,
            budget,
        }
    });
    Ok(Gauged {
        sections: sections.collect(),
        half_angle: cone.as_ref().map(|cone| cone.half_angle(options, error)),
        stock: None,
    })
}

/// The small end on the plate from measurements over rollers; with two heights or more the half angle too.
/// How far the small end, on which the part stands between rollers, is from the gauge plane.
pub(super) fn small_end(setup: &Setup) -> Option<Length> {
    let own = setup.taper.as_ref().and_then(|taper| taper.length);
    own.or(setup.length)
}

fn by_rollers(
    setup: &Setup,
    options: &SizeOptions,
    error: &LengthError,
    radius: Length,
    over: &[Over],
    factor: f64,
) -> Result<Gauged, SizeError> {
    let taper = setup.taper.as_ref().ok_or(SizeError::NoTaper)?;
    let length = small_end(setup);
    let rollers = OverRollers {
        roller_radius: radius,
    };
    let first = over.first().ok_or(SizeError::Nothing)?;
    // Rollers on higher stacks lie further apart, as sections nearer to the big end do: the same line.
    let points: Vec<[f64; 2]> = over
        .iter()
        .map(|o| [-o.stacks.mm(), o.over.mm() * factor])
        .collect();
    let cone = match points.as_slice() {
        [_] => None,
        points => Some(Cone::through(options, error, points)?),
    };
    let half = cone.as_ref().map_or(taper.half_angle, |cone| cone.half);
    for (index, o) in over.iter().enumerate() {
        let row = index + 1;
        let height_mm = (o.stacks + radius).mm() - radius.mm() * half.sin();
        if let Some(length) = length.filter(|length| height_mm > length.mm()) {
            return Err(SizeError::RollersBeyond {
                row,
                height_mm,
                length_mm: length.mm(),
            });
        }
        rollers
            .small_end_mm(o.stacks, o.over, half)
            .map_err(domain(row))?;
    }
    let small_mm = rollers
        .small_end_mm(first.stacks, first.over, half)
        .map_err(domain(1))?
        * factor;
    let length_mm = length.map_or(0.0, Length::mm);
    // mm of the small end per radian: what height and rollers add to both sides.
    let (h, rho) = ((first.stacks + radius).mm(), radius.mm());
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
            None => error.add(&mut budget, &[1.0]),
        }
        let diameter_mm = small_mm + 2.0 * (length_mm - plane_mm) * half.tan();
        Section {
            plane_mm,
            diameter_mm,
            of_cone_mm: diameter_mm,
            budget,
        }
    });
    Ok(Gauged {
        sections: sections.collect(),
        half_angle: cone.map(|cone| cone.half_angle(options, error)),
        stock: None,
    })
}

fn by_balls(
    error: &LengthError,
    big: BallInBore,
    small: BallInBore,
    factor: f64,
) -> Result<Gauged, SizeError> {
    let found = two_balls(big, small, Length::ZERO, Length::ZERO).map_err(whole)?;
    let half = found.half_angle.half_angle;
    let apart = (small.top_below_face + small.radius - big.top_below_face - big.radius).mm();
    // The angle follows each depth by tan α over the distance of the centres, the big ball's up and the small one's down.
    let per_depth = half.tan() / apart;
    let arcsec = Angle::from_rad(per_depth * 1e-3).arcsec();
    let mut of_angle = Budget::new("arcsec");
    error.add(&mut of_angle, &[arcsec, arcsec]);
    let centre = (big.top_below_face + big.radius).mm();
    let per_angle = 2.0 * (big.radius.mm() * half.sin() + centre) / half.cos().powi(2);
    let mut budget = Budget::new("um");
    error.add(
        &mut budget,
        &[
            2.0 * half.tan() + per_angle * per_depth,
            per_angle * per_depth,
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
    })
}
