//! Simulated turns. The truth is the profile without its scatter.

use super::{Case, Held};
use crate::chance::Chance;
use metrology::Length;
use metrology::fit::minimum_zone;
use metrology::runout::{self, Readings, RunoutOptions, RunoutPoint, TimedReading};
use metrology::setup::Setup;
use std::f64::consts::TAU;

pub(super) fn cases() -> Vec<Case> {
    // Each outcome draws thousands of possible parts.
    let case = |what, run: fn(&mut Chance) -> Vec<Held>| Case::new("runout", what, run).costly();
    vec![
        case("12 positions, off centre to 6 µm, scatter 0.3 µm", |c| {
            turns(c, 12, 1, 6e-3, 0.0)
        }),
        case("12 positions, nearly true, scatter 0.3 µm", |c| {
            turns(c, 12, 1, 0.4e-3, 0.0)
        }),
        case("12 positions once, lobes to 2", |c| lobes(c, 12, 1, 2)),
        case("12 positions once, lobes to 5", |c| lobes(c, 12, 1, 5)),
        case("12 positions once, lobes to 8", |c| lobes(c, 12, 1, 8)),
        case("12 positions once, lobes to 15", |c| lobes(c, 12, 1, 15)),
        case("12 positions 3 times, lobes to 2", |c| lobes(c, 12, 3, 2)),
        case("12 positions 3 times, lobes to 5", |c| lobes(c, 12, 3, 5)),
        case("12 positions 3 times, lobes to 8", |c| lobes(c, 12, 3, 8)),
        case("12 positions 3 times, lobes to 15", |c| lobes(c, 12, 3, 15)),
        case("24 positions once, lobes to 2", |c| lobes(c, 24, 1, 2)),
        case("24 positions once, lobes to 5", |c| lobes(c, 24, 1, 5)),
        case("24 positions once, lobes to 8", |c| lobes(c, 24, 1, 8)),
        case("24 positions once, lobes to 15", |c| lobes(c, 24, 1, 15)),
        case("24 positions 3 times, lobes to 2", |c| lobes(c, 24, 3, 2)),
        case("24 positions 3 times, lobes to 5", |c| lobes(c, 24, 3, 5)),
        case("24 positions 3 times, lobes to 8", |c| lobes(c, 24, 3, 8)),
        case("24 positions 3 times, lobes to 15", |c| lobes(c, 24, 3, 15)),
        case("36 positions once, lobes to 2", |c| lobes(c, 36, 1, 2)),
        case("36 positions once, lobes to 5", |c| lobes(c, 36, 1, 5)),
        case("36 positions once, lobes to 8", |c| lobes(c, 36, 1, 8)),
        case("36 positions once, lobes to 15", |c| lobes(c, 36, 1, 15)),
        case("72 positions once, lobes to 2", |c| lobes(c, 72, 1, 2)),
        case("72 positions once, lobes to 5", |c| lobes(c, 72, 1, 5)),
        case("72 positions once, lobes to 8", |c| lobes(c, 72, 1, 8)),
        case("72 positions once, lobes to 15", |c| lobes(c, 72, 1, 15)),
        case("72 positions 3 times, lobes to 5", |c| lobes(c, 72, 3, 5)),
        case("360 positions once, lobes to 2", |c| lobes(c, 360, 1, 2)),
        case("360 positions once, lobes to 5", |c| lobes(c, 360, 1, 5)),
        case("360 positions once, lobes to 8", |c| lobes(c, 360, 1, 8)),
        case("360 positions once, lobes to 15", |c| lobes(c, 360, 1, 15)),
        case("60 positions, six turns, lobes to 3 µm", |c| {
            turns(c, 60, 6, 6e-3, 3e-3)
        }),
        case("72 positions, off centre, lobes to 3 µm", |c| {
            turns(c, 72, 1, 6e-3, 3e-3)
        }),
        case("24 positions in steps of 1 µm, indicator to ±1 µm", known),
        case("five turns at a steady speed, 400 readings", steady),
        case("two planes of 24 positions", planes),
    ]
}

/// A part: its centre and its lobes, mm.
struct Part {
    centre: [f64; 2],
    /// Order, amplitude, phase.
    lobes: Vec<(f64, f64, f64)>,
    /// Readings and their scatter, mm, where the narrowest limits follow from them.
    read: Option<(u32, f64)>,
}

impl Part {
    fn new(chance: &mut Chance, most_off: f64, most_lobe: f64) -> Self {
        Self::of_orders(chance, most_off, most_lobe, &[2, 3, 5])
    }

    fn of_orders(chance: &mut Chance, most_off: f64, most_lobe: f64, orders: &[u32]) -> Self {
        let (off, way) = (chance.between(0.0, most_off), chance.between(0.0, TAU));
        let lobes = orders.iter().map(|order| {
            (
                f64::from(*order),
                chance.between(0.0, most_lobe),
                chance.between(0.0, TAU),
            )
        });
        Self {
            lobes: lobes.collect(),
            centre: [off * way.cos(), off * way.sin()],
            read: None,
        }
    }

    fn form(&self, t: f64) -> f64 {
        self.lobes
            .iter()
            .map(|(order, a, way)| a * (order * t - way).cos())
            .sum()
    }

    fn at(&self, t: f64) -> f64 {
        self.centre[0] * t.cos() + self.centre[1] * t.sin() + self.form(t)
    }

    fn eccentricity_um(&self) -> f64 {
        1e3 * self.centre[0].hypot(self.centre[1])
    }

    fn high_spot_deg(&self) -> f64 {
        self.centre[1].atan2(self.centre[0]).to_degrees()
    }

    /// The angles of the lowest and of the highest place.
    fn extremes(&self) -> [f64; 2] {
        let (mut low, mut high) = ((f64::MAX, 0.0), (f64::MIN, 0.0));
        for i in 0..2_000 {
            let angle = TAU * f64::from(i) / 2_000.0;
            let value = self.at(angle);
            if value < low.0 {
                low = (value, angle);
            }
            if value > high.0 {
                high = (value, angle);
            }
        }
        [low.1, high.1]
    }

    fn run_out_um(&self) -> f64 {
        let [low, high] = self.extremes().map(|angle| self.at(angle));
        (high - low) * 1e3
    }

    /// Half the width of the narrowest limits of the run-out, µm: those of someone who knows which lobes there are and how
    /// large the scatter is.
    fn narrowest_um(&self) -> Option<f64> {
        let (readings, sd) = self.read?;
        let [low, high] = self.extremes();
        let orders = std::iter::once(1.0).chain(self.lobes.iter().map(|lobe| lobe.0));
        let variance: f64 = orders
            .map(|k| 2.0 * (1.0 - (k * (high - low)).cos()))
            .sum::<f64>()
            * 2.0
            / f64::from(readings);
        Some(1.96 * sd * variance.sqrt() * 1e3)
    }

    fn roundness_um(&self) -> Option<f64> {
        let angles: Vec<f64> = (0..720).map(|i| TAU * f64::from(i) / 720.0).collect();
        let y: Vec<f64> = angles.iter().map(|t| self.form(*t)).collect();
        minimum_zone::limacon(&angles, &y)
            .ok()
            .map(|ring| ring.width * 1e3)
    }
}

fn held(part: &Part, section: &runout::Section) -> Vec<Held> {
    let mut held = Vec::new();
    held.extend(Held::between(
        "eccentricity",
        section.eccentricity_interval_um,
        part.eccentricity_um(),
    ));
    let own = section.part_runout.map(|own| own.interval_um);
    let run_out = Held::between("run-out", own, part.run_out_um());
    held.extend(run_out.map(|held| match part.narrowest_um() {
        Some(narrowest) => held.beside(narrowest),
        None => held,
    }));
    let off = (section.high_spot_deg - part.high_spot_deg()).rem_euclid(360.0);
    let off = off.min(360.0 - off);
    held.extend(Held::within(
        "high spot",
        off,
        section.high_spot_expanded_deg,
        0.0,
    ));
    if let Some(truth) = part.roundness_um().filter(|um| *um > 0.0) {
        held.extend(Held::between(
            "roundness",
            section.part_roundness.map(|own| own.interval_um),
            truth,
        ));
    }
    held
}

fn outcome(setup: &Setup, readings: Readings<'_>) -> Option<runout::RunoutOutcome> {
    runout::outcome(setup, &RunoutOptions::default(), readings).ok()
}

fn turns(chance: &mut Chance, n: u32, turns: u32, off: f64, lobe: f64) -> Vec<Held> {
    let mut part = Part::new(chance, off, lobe);
    part.read = Some((n * turns, 0.3e-3));
    if lobe == 0.0 {
        part.lobes.clear();
    }
    read(chance, &part, n, turns, 0.3e-3)
}

/// Lobes of all orders to `highest`, the largest of them 0 to 3 µm, scatter 0.1 to 0.5 µm.
fn lobes(chance: &mut Chance, n: u32, turns: u32, highest: u32) -> Vec<Held> {
    let most = chance.between(0.0, 3e-3);
    let sd = chance.between(0.1e-3, 0.5e-3);
    let orders: Vec<u32> = (2..=highest).collect();
    let mut part = Part::of_orders(chance, 6e-3, most, &orders);
    // Where the places do not show the lobes, nobody knows them.
    part.read = (2 * highest < n).then_some((n * turns, sd));
    read(chance, &part, n, turns, sd)
}

/// A part read round and round, beside a limit near its run-out.
fn read(chance: &mut Chance, part: &Part, n: u32, turns: u32, sd: f64) -> Vec<Held> {
    let points: Vec<RunoutPoint> = (0..n * turns)
        .map(|i| {
            let angle_deg = f64::from(i % n) * 360.0 / f64::from(n);
            let reading_mm = part.at(angle_deg.to_radians()) + chance.normal(sd);
            RunoutPoint {
                angle_deg,
                reading_mm,
                plane_mm: None,
            }
        })
        .collect();
    let truth = part.run_out_um();
    let limit_um = truth * chance.between(0.7, 1.5);
    let options = RunoutOptions {
        limit: Length::from_mm(limit_um * 1e-3),
        ..RunoutOptions::default()
    };
    let readings = Readings::Angles(&points);
    let Ok(found) = runout::outcome(&Setup::default(), &options, readings) else {
        return Vec::new();
    };
    let mut held = held(part, &found.section);
    held.extend(Held::said_in(found.section.verdict, truth <= limit_um));
    held
}

fn known(chance: &mut Chance) -> Vec<Held> {
    let mut part = Part::new(chance, 6e-3, 0.0);
    let limit = 1e-3;
    // The indicator's error at the high side and at the low side of its swing.
    let errors = [0, 1].map(|_| chance.between(-limit, limit));
    let e = part.eccentricity_um() * 1e-3;
    let factor = 1.0 + (errors[1] - errors[0]) / (2.0 * e);
    let points: Vec<RunoutPoint> = (0..24)
        .map(|i| {
            let angle_deg = f64::from(i) * 15.0;
            let shown = part.at(angle_deg.to_radians()) * factor + chance.normal(0.4e-3);
            let reading_mm = (shown / 1e-3).round() * 1e-3;
            RunoutPoint {
                angle_deg,
                reading_mm,
                plane_mm: None,
            }
        })
        .collect();
    let mut setup = Setup::default();
    setup.indicator.resolution = Length::from_mm(1e-3);
    setup.indicator.error_limit = Length::from_mm(limit);
    // A part that runs out by less than the indicator errs is another case.
    if e < 2e-3 {
        return Vec::new();
    }
    part.lobes.clear();
    outcome(&setup, Readings::Angles(&points))
        .map(|found| held(&part, &found.section))
        .unwrap_or_default()
}

fn steady(chance: &mut Chance) -> Vec<Held> {
    let part = Part::new(chance, 6e-3, 2e-3);
    let turn_s = chance.between(1.5, 3.0);
    let readings: Vec<TimedReading> = (0..400)
        .map(|i| {
            let time_s = f64::from(i) * 5.0 * turn_s / 400.0;
            let reading_mm = part.at(TAU * time_s / turn_s) + chance.normal(0.3e-3);
            TimedReading {
                time_s,
                reading_mm,
                plane_mm: None,
            }
        })
        .collect();
    let Some(found) = outcome(&Setup::default(), Readings::Steady(&readings)) else {
        return Vec::new();
    };
    let Some(period) = &found.section.period else {
        return Vec::new();
    };
    // Half a turn, or two, taken for one: the interval misses, and the other figures are of that other turn.
    if (period.turn_s / turn_s - 1.0).abs() > 0.1 {
        return Held::between("time of a turn", Some([0.0, 0.0]), turn_s)
            .into_iter()
            .collect();
    }
    let expanded = 1.96 * period.turn_u_s;
    let mut held = held(&part, &found.section);
    held.extend(Held::within(
        "time of a turn",
        period.turn_s,
        Some(expanded),
        turn_s,
    ));
    held
}

fn planes(chance: &mut Chance) -> Vec<Held> {
    let parts = [0, 1].map(|_| Part::new(chance, 4e-3, 1e-3));
    let mut points = Vec::new();
    for (part, plane_mm) in parts.iter().zip([0.0, 80.0]) {
        points.extend((0..24).map(|i| {
            let angle_deg = f64::from(i) * 15.0;
            let reading_mm = part.at(angle_deg.to_radians()) + chance.normal(0.3e-3);
            RunoutPoint {
                angle_deg,
                reading_mm,
                plane_mm: Some(plane_mm),
            }
        }));
    }
    let found = outcome(&Setup::default(), Readings::Angles(&points));
    let Some(axis) = found.and_then(|found| found.axis) else {
        return Vec::new();
    };
    let [a, b] = [0, 1].map(|i| parts[1].centre[i] - parts[0].centre[i]);
    let tilt = a.hypot(b) / 80.0 * 1e6;
    Held::between("tilt", axis.tilt_interval_urad, tilt)
        .into_iter()
        .collect()
}
