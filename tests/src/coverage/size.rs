//! Simulated measurements of size. The truth is the cone.

use super::{Case, Held};
use crate::chance::Chance;
use metrology::gauging::{BallInBore, OverRollers};
use metrology::setup::Setup;
use metrology::size::{self, Measured, Over, SectionReading, SizeOptions, Surface, Temperature};
use metrology::taper::Taper;
use metrology::{Angle, Length};

pub(super) fn cases() -> Vec<Case> {
    let case = |what, run| Case {
        step: "size",
        what,
        costly: false,
        run,
    };
    vec![
        case("two diameters known to u = 1 µm, planes to 20 µm", |c| {
            sections(c, 2, true)
        }),
        case("five diameters known to u = 1 µm", |c| {
            sections(c, 5, true)
        }),
        case("five diameters, nothing known of them", |c| {
            sections(c, 5, false)
        }),
        case(
            "two diameters in steps of 1 µm, instrument to ±2 µm",
            instrument,
        ),
        case("over rollers at two heights, u = 1 µm", rollers),
        case("two balls, u = 1 µm", balls),
        case("a warm part, temperature known to 0.5 K", warm),
    ]
}

const GAUGE_MM: f64 = 40.0;
const LENGTH_MM: f64 = 30.0;

fn setup() -> Option<Setup> {
    let mut taper =
        Taper::from_half_angle("seat", Angle::half_of_ratio(12.0), "a simulation").ok()?;
    taper.gauge_diameter = Length::from_mm(GAUGE_MM);
    taper.length = Length::from_mm(LENGTH_MM);
    Some(Setup {
        taper: Some(taper),
        ..Setup::default()
    })
}

/// A cone with its own angle and its own stock at the gauge plane.
struct Cone {
    half: Angle,
    gauge_mm: f64,
}

impl Cone {
    fn new(chance: &mut Chance) -> Self {
        let half = Angle::half_of_ratio(12.0) + Angle::from_arcsec(chance.between(-30.0, 30.0));
        Self {
            half,
            gauge_mm: GAUGE_MM + chance.between(0.0, 0.1),
        }
    }

    fn at(&self, plane_mm: f64) -> f64 {
        self.gauge_mm - 2.0 * plane_mm * self.half.tan()
    }

    fn stock_um(&self, plane_mm: f64) -> f64 {
        let wanted = GAUGE_MM - 2.0 * plane_mm * Angle::half_of_ratio(12.0).tan();
        (self.at(plane_mm) - wanted) * 1e3
    }
}

fn held(setup: &Setup, options: &SizeOptions, measured: &Measured, cone: &Cone) -> Vec<Held> {
    let Ok(found) = size::outcome(setup, options, measured) else {
        return Vec::new();
    };
    let mut held = Vec::new();
    if let Some(deg) = found.half_angle_deg {
        let error = (Angle::from_deg(deg) - cone.half).arcsec();
        held.extend(Held::within(
            "half angle",
            error,
            found.half_angle_expanded_arcsec,
            0.0,
        ));
    }
    let sign = if options.surface == Surface::Bore {
        -1.0
    } else {
        1.0
    };
    if let (Some(plane), Some(stock)) = (found.stock_plane_mm, found.stock_on_diameter_um) {
        let truth = sign * cone.stock_um(plane);
        held.extend(Held::within("stock", stock, found.stock_expanded_um, truth));
    }
    held
}

fn stated(surface: Surface) -> SizeOptions {
    SizeOptions {
        surface,
        diameter_u: Length::from_mm(1e-3),
        ..SizeOptions::default()
    }
}

fn sections(chance: &mut Chance, n: usize, known: bool) -> Vec<Held> {
    let Some(setup) = setup() else {
        return Vec::new();
    };
    let cone = Cone::new(chance);
    let mut options = if known {
        stated(Surface::Outside)
    } else {
        SizeOptions::default()
    };
    let u_plane = if known && n == 2 { 0.02 } else { 0.0 };
    options.plane_u = Length::from_mm(u_plane).filter(|u| *u > Length::ZERO);
    let readings = (0..n)
        .map(|i| {
            let plane_mm = LENGTH_MM * i as f64 / (n - 1) as f64;
            let real = plane_mm + chance.normal(u_plane);
            SectionReading {
                plane_mm,
                diameter_mm: cone.at(real) + chance.normal(1e-3),
            }
        })
        .collect();
    held(&setup, &options, &Measured::Sections(readings), &cone)
}

fn instrument(chance: &mut Chance) -> Vec<Held> {
    let Some(mut setup) = setup() else {
        return Vec::new();
    };
    setup.indicator.resolution = Length::from_mm(1e-3);
    setup.indicator.error_limit = Length::from_mm(2e-3);
    let cone = Cone::new(chance);
    let readings = [0.0, LENGTH_MM]
        .map(|plane_mm| {
            let shown = cone.at(plane_mm) + chance.between(-2e-3, 2e-3);
            SectionReading {
                plane_mm,
                diameter_mm: (shown / 1e-3).round() * 1e-3,
            }
        })
        .to_vec();
    held(
        &setup,
        &SizeOptions::default(),
        &Measured::Sections(readings),
        &cone,
    )
}

fn rollers(chance: &mut Chance) -> Vec<Held> {
    let (Some(setup), Some(radius)) = (setup(), Length::from_mm(5.0)) else {
        return Vec::new();
    };
    let cone = Cone::new(chance);
    let rollers = OverRollers {
        roller_radius: radius,
    };
    let small_end = Length::from_mm(cone.at(LENGTH_MM));
    let over = [0.0, 20.0]
        .into_iter()
        .filter_map(|stacks_mm| {
            let stacks = Length::from_mm(stacks_mm)?;
            let exact = rollers.over_mm(small_end?, cone.half, stacks).ok()?;
            Some(Over {
                stacks,
                over: Length::from_mm(exact + chance.normal(1e-3))?,
            })
        })
        .collect();
    held(
        &setup,
        &stated(Surface::Outside),
        &Measured::Rollers { radius, over },
        &cone,
    )
}

fn balls(chance: &mut Chance) -> Vec<Held> {
    let Some(setup) = setup() else {
        return Vec::new();
    };
    let cone = Cone::new(chance);
    let mut ball = |radius_mm: f64| -> Option<BallInBore> {
        let centre = (cone.at(0.0) / 2.0 - radius_mm / cone.half.cos()) / cone.half.tan();
        let depth = centre - radius_mm + chance.normal(1e-3);
        Some(BallInBore {
            radius: Length::from_mm(radius_mm)?,
            top_below_face: Length::from_mm(depth)?,
        })
    };
    let (Some(big), Some(small)) = (ball(19.5), ball(18.7)) else {
        return Vec::new();
    };
    held(
        &setup,
        &stated(Surface::Bore),
        &Measured::Balls { big, small },
        &cone,
    )
}

fn warm(chance: &mut Chance) -> Vec<Held> {
    let Some(setup) = setup() else {
        return Vec::new();
    };
    let cone = Cone::new(chance);
    let kelvin = chance.between(3.0, 12.0);
    let expansion = 11.5 + chance.between(-1.0, 1.0);
    let shown = cone.at(0.0) * (1.0 + kelvin * expansion * 1e-6) + chance.normal(0.3e-3);
    let temperature = Temperature {
        part_c: 20.0 + kelvin + chance.normal(0.5),
        instrument_c: 20.0,
        u_k: Some(0.5),
        expansion_um_per_m_k: 11.5,
    };
    let options = SizeOptions {
        diameter_u: Length::from_mm(0.3e-3),
        temperature: Some(temperature),
        ..SizeOptions::default()
    };
    let readings = vec![SectionReading {
        plane_mm: 0.0,
        diameter_mm: shown,
    }];
    held(&setup, &options, &Measured::Sections(readings), &cone)
}
