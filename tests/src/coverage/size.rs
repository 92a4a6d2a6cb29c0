//! Simulated measurements of size. The truth is the cone.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

use super::{Case, Held, but};
use crate::chance::Chance;
use metrology::dial::IndicatorCheck;
use metrology::gauging::{BallInBore, OverRollers};
use metrology::setup::Setup;
use metrology::size::{
    self, Ball, Measured, Over, SectionReading, SizeOptions, Surface, Temperature,
};
use metrology::taper::Taper;
use metrology::uncertainty::rounding_left;
use metrology::{Angle, Length};

pub(super) fn cases() -> Vec<Case> {
    let case = |what, run: fn(&mut Chance) -> Vec<Held>| Case::new("size", what, run);
    let shown = |what, how: Typed| Case::new("size", what, move |chance| typed(chance, &how));
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
            "two diameters in steps of 1 µm, instrument to ±2 µm, repeatability stated",
            instrument,
        ),
        shown(
            "two diameters typed once, nothing stated",
            Typed::new(0.5, 1.0, 1),
        ),
        shown(
            "two planes twice, typed to 1 µm, scatter 0.1 µm",
            Typed::new(0.1, 1.0, 2),
        ),
        shown(
            "two planes twice, typed to 1 µm, scatter 0.3 µm",
            Typed::new(0.3, 1.0, 2),
        ),
        shown(
            "two planes twice, typed to 1 µm, scatter 0.5 µm",
            Typed::new(0.5, 1.0, 2),
        ),
        shown(
            "two planes twice, typed to 0.1 µm, scatter 0.5 µm",
            Typed::new(0.5, 0.1, 2),
        ),
        shown(
            "two planes twice, typed to 1 µm, scatter 2 µm",
            Typed::new(2.0, 1.0, 2),
        ),
        shown(
            "two planes three times, typed to 1 µm, scatter 0.5 µm",
            Typed::new(0.5, 1.0, 3),
        ),
        shown(
            "two planes three times, typed to 1 µm, scatter 0.2 µm",
            Typed::new(0.2, 1.0, 3),
        ),
        shown(
            "two planes six times, typed to 1 µm, scatter 0.4 µm",
            Typed::new(0.4, 1.0, 6),
        ),
        shown(
            "three planes twice, typed to 1 µm, scatter 0.5 µm",
            but(Typed::new(0.5, 1.0, 2), |t| t.planes = 3),
        ),
        shown(
            "three planes once, typed to 1 µm, scatter 0.5 µm",
            but(Typed::new(0.5, 1.0, 1), |t| t.planes = 3),
        ),
        shown(
            "two planes once, repeatability 0.5 µm stated, step 1 µm",
            but(Typed::new(0.5, 1.0, 1), |t| t.repeatability = Some(0.5)),
        ),
        shown(
            "two planes twice, repeatability 0.5 µm stated, step 1 µm",
            but(Typed::new(0.5, 1.0, 2), |t| t.repeatability = Some(0.5)),
        ),
        shown(
            "two planes once, u of 0.1 of the display's step stated",
            but(Typed::new(0.1, 1.0, 1), |t| t.diameter_u = Some(0.1)),
        ),
        shown(
            "two planes twice, checked with 6 degrees of freedom",
            but(Typed::new(0.5, 0.5, 2), |t| t.checked = Some(6)),
        ),
        shown(
            "two planes once, checked with 4 degrees of freedom",
            but(Typed::new(0.5, 0.5, 1), |t| t.checked = Some(4)),
        ),
        shown(
            "ground by 20 µm between two rounds, not said",
            but(Typed::new(0.5, 1.0, 2), |t| t.ground = 20.0),
        ),
        shown(
            "ground by 20 µm before the third round, not said",
            but(Typed::new(0.5, 1.0, 3), |t| t.ground = 20.0),
        ),
        shown(
            "ground by 1 µm between two rounds, not said",
            but(Typed::new(0.5, 1.0, 2), |t| t.ground = 1.0),
        ),
        shown(
            "ground by 5 µm between two rounds, not said, 0.5 µm stated",
            but(Typed::new(0.5, 1.0, 2), |t| {
                t.ground = 5.0;
                t.repeatability = Some(0.5);
            }),
        ),
        case(
            "over rollers twice, typed to 1 µm, scatter 0.5 µm",
            rollers_twice,
        ),
        case(
            "two balls twice, typed to 1 µm, scatter 0.5 µm",
            balls_twice,
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
    setup.indicator.repeatability = Length::from_mm(0.5e-3);
    let cone = Cone::new(chance);
    let readings = [0.0, LENGTH_MM]
        .map(|plane_mm| {
            let shown = cone.at(plane_mm) + chance.between(-2e-3, 2e-3) + chance.normal(0.5e-3);
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
        &Measured::Balls {
            big: big.into(),
            small: small.into(),
        },
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

/// Diameters that are typed as the instrument shows them, lengths in µm.
struct Typed {
    /// Standard deviation of a single one.
    sd: f64,
    /// One step of the display.
    step: f64,
    /// How often each plane is measured.
    rounds: usize,
    planes: usize,
    repeatability: Option<f64>,
    diameter_u: Option<f64>,
    /// Degrees of freedom of a check of the instrument.
    checked: Option<usize>,
    /// Taken off on diameter before the last round.
    ground: f64,
}

impl Typed {
    const fn new(sd: f64, step: f64, rounds: usize) -> Self {
        Self {
            sd,
            step,
            rounds,
            planes: 2,
            repeatability: None,
            diameter_u: None,
            checked: None,
            ground: 0.0,
        }
    }

    /// Standard deviation that the mean of a plane really has.
    fn of_mean(&self) -> f64 {
        let n = self.rounds as f64;
        let common = rounding_left(self.step, self.sd);
        let own = (self.step * self.step / 12.0 - common * common).max(0.0);
        (self.sd * self.sd / n + common * common + own / n).sqrt()
    }
}

fn shown(mm: f64, step_um: f64) -> f64 {
    (mm * 1e3 / step_um).round() * step_um * 1e-3
}

fn um(um: f64) -> Option<Length> {
    Length::from_mm(um * 1e-3)
}

fn typed(chance: &mut Chance, case: &Typed) -> Vec<Held> {
    let Some(mut setup) = setup() else {
        return Vec::new();
    };
    setup.indicator.resolution = um(case.step);
    setup.indicator.repeatability = case.repeatability.and_then(um);
    setup.tolerance = "20arcsec".parse().ok();
    if let Some(dof) = case.checked {
        let squares: f64 = (0..dof).map(|_| chance.normal(case.sd).powi(2)).sum();
        setup.indicator.check = Some(IndicatorCheck {
            u_um: 0.0,
            correction: Vec::new(),
            repeatability_sd_um: Some((squares / dof as f64).sqrt()),
            repeatability_degrees_of_freedom: Some(dof as f64),
            checked_utc_ns: None,
        });
    }
    let options = SizeOptions {
        diameter_u: case.diameter_u.and_then(um),
        ..SizeOptions::default()
    };
    let mut cone = Cone::new(chance);
    let mut readings = Vec::new();
    for round in 0..case.rounds {
        if round > 0 && round + 1 == case.rounds {
            cone.gauge_mm -= case.ground * 1e-3;
        }
        for plane in 0..case.planes {
            let plane_mm = LENGTH_MM * plane as f64 / (case.planes - 1) as f64;
            let real = cone.at(plane_mm) + chance.normal(case.sd * 1e-3);
            readings.push(SectionReading {
                plane_mm,
                diameter_mm: shown(real, case.step),
            });
        }
    }
    let measured = Measured::Sections(readings);
    let mut claims = held(&setup, &options, &measured, &cone);
    if case.planes == 2 && case.ground == 0.0 {
        let of_angle = case.of_mean() * 1e-3 / (2.0_f64.sqrt() * LENGTH_MM);
        let narrow = [
            1.96 * Angle::from_rad(of_angle * cone.half.cos().powi(2)).arcsec(),
            1.96 * case.of_mean(),
        ];
        claims = claims
            .into_iter()
            .zip(narrow)
            .map(|(claim, narrow)| claim.beside(narrow))
            .collect();
    }
    let Ok(found) = size::outcome(&setup, &options, &measured) else {
        return claims;
    };
    let error = (cone.half - Angle::half_of_ratio(12.0)).arcsec().abs();
    claims.extend(Held::said_in(found.verdict, error <= 20.0));
    if case.ground >= 5.0 {
        // Held when the question is put.
        let missed = f64::from(u8::from(found.rounds_disagree.is_none()));
        claims.extend(Held::within("asked", missed, Some(0.0), 0.0));
    }
    claims
}

fn rollers_twice(chance: &mut Chance) -> Vec<Held> {
    let (Some(mut setup), Some(radius)) = (setup(), Length::from_mm(5.0)) else {
        return Vec::new();
    };
    setup.indicator.resolution = um(1.0);
    let cone = Cone::new(chance);
    let rollers = OverRollers {
        roller_radius: radius,
    };
    let small_end = Length::from_mm(cone.at(LENGTH_MM));
    let over = [0.0, 20.0, 0.0, 20.0]
        .into_iter()
        .filter_map(|stacks_mm| {
            let stacks = Length::from_mm(stacks_mm)?;
            let exact = rollers.over_mm(small_end?, cone.half, stacks).ok()?;
            Some(Over {
                stacks,
                over: Length::from_mm(shown(exact + chance.normal(0.5e-3), 1.0))?,
            })
        })
        .collect();
    let measured = Measured::Rollers { radius, over };
    held(&setup, &SizeOptions::default(), &measured, &cone)
}

fn balls_twice(chance: &mut Chance) -> Vec<Held> {
    let Some(mut setup) = setup() else {
        return Vec::new();
    };
    setup.indicator.resolution = um(1.0);
    let cone = Cone::new(chance);
    let mut ball = |radius_mm: f64| -> Option<Ball> {
        let centre = (cone.at(0.0) / 2.0 - radius_mm / cone.half.cos()) / cone.half.tan();
        let tops = (0..2).map(|_| shown(centre - radius_mm + chance.normal(0.5e-3), 1.0));
        Some(Ball {
            radius: Length::from_mm(radius_mm)?,
            tops_below_face: tops.filter_map(Length::from_mm).collect(),
        })
    };
    let (Some(big), Some(small)) = (ball(19.5), ball(18.7)) else {
        return Vec::new();
    };
    let options = SizeOptions {
        surface: Surface::Bore,
        ..SizeOptions::default()
    };
    held(&setup, &options, &Measured::Balls { big, small }, &cone)
}
