//! What is said of the part itself: limits that hold, printed values inside them, causes only for what stands out, and no
//! decision where nothing tells the scatter.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::Length;
use conewright_metrology::runout::{
    self, Readings, RunoutOptions, RunoutOutcome, RunoutPoint, Section,
};
use conewright_metrology::setup::Setup;
use conewright_metrology::uncertainty::{Undecided, Verdict};
use proptest::prelude::*;
use std::f64::consts::TAU;

/// A part: its distance off centre, and amplitude and phase of its lobes from 2 a turn, mm.
#[derive(Debug, Clone)]
struct Part {
    off: f64,
    lobes: Vec<(f64, f64)>,
}

impl Part {
    fn at(&self, t: f64) -> f64 {
        let lobes = (2..)
            .zip(&self.lobes)
            .map(|(k, (a, phase))| a * (f64::from(k) * t - phase).cos());
        self.off * t.cos() + lobes.sum::<f64>()
    }

    fn run_out_um(&self) -> f64 {
        let values = (0..3_600).map(|i| self.at(TAU * f64::from(i) / 3_600.0));
        let (low, high) = values.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        (high - low) * 1e3
    }

    fn read(&self, places: u32, turns: u32, scatter: impl Fn(u32) -> f64) -> Vec<RunoutPoint> {
        (0..places * turns)
            .map(|i| {
                let angle_deg = f64::from(i % places) * 360.0 / f64::from(places);
                RunoutPoint {
                    angle_deg,
                    reading_mm: self.at(angle_deg.to_radians()) + scatter(i),
                    plane_mm: None,
                }
            })
            .collect()
    }
}

/// Numbers that look like normal ones, sd 1, the same each time.
fn scatter(seed: u32, i: u32) -> f64 {
    let even = |k: u32| {
        let z = u64::from(seed) << 40 | u64::from(i) << 8 | u64::from(k);
        let z = (z ^ 0x9e37_79b9).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 29)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 32)) >> 11) as f64 / (1_u64 << 53) as f64
    };
    (0..12).map(even).sum::<f64>() - 6.0
}

fn found(setup: &Setup, limit_um: Option<f64>, points: &[RunoutPoint]) -> RunoutOutcome {
    let options = RunoutOptions {
        limit: limit_um.and_then(|um| Length::from_mm(um * 1e-3)),
        ..RunoutOptions::default()
    };
    runout::outcome(setup, &options, Readings::Angles(points)).unwrap()
}

fn inside(what: &str, value: f64, interval: Option<[f64; 2]>) {
    if let Some([low, high]) = interval {
        assert!(
            low <= value && value <= high,
            "{what}: {value} in {low} to {high}"
        );
    }
}

fn printed_values_lie_inside(section: &Section) {
    inside("reading", section.tir_um, section.tir_interval_um);
    inside(
        "off",
        section.eccentricity_um,
        section.eccentricity_interval_um,
    );
    if let Some(zone) = section.roundness_mz_um {
        inside("zone", zone, section.roundness_interval_um);
    }
    for (own, wide) in [
        (section.part_runout, section.tir_interval_um),
        (section.part_roundness, section.roundness_interval_um),
    ] {
        let Some(own) = own else { continue };
        inside("own", own.um, Some(own.interval_um));
        inside("own, low", own.interval_um[0], wide);
        inside("own, high", own.interval_um[1], wide);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    /// The range of noisy readings is too large: of 72 places read 3 times it never lay inside its own limits.
    #[test]
    fn every_printed_value_lies_in_its_interval(
        off in 0.0..6e-3,
        lobes in prop::collection::vec((0.0..2e-3, 0.0..TAU), 0..14),
        (places, turns) in prop::sample::select(vec![(4, 1), (7, 1), (12, 1), (12, 3), (24, 1), (72, 3)]),
        sd in 0.0..0.5e-3,
        step in prop::sample::select(vec![0.0, 1e-4, 1e-3]),
        seed in 0_u32..1000,
    ) {
        let part = Part { off, lobes };
        let mut points = part.read(places, turns, |i| sd * scatter(seed, i));
        let mut setup = Setup::default();
        if step > 0.0 {
            setup.indicator.resolution = Length::from_mm(step);
            points.iter_mut().for_each(|p| p.reading_mm = (p.reading_mm / step).round() * step);
        }
        printed_values_lie_inside(&found(&setup, None, &points).section);
    }
}

/// Twelve places and lobes to eight a turn: the limits held the run-out in 27 of 100.
#[test]
fn limits_hold_what_twelve_places_do_not_show() {
    let missed = (0..60)
        .filter(|seed| {
            let size = |k: u32| {
                (
                    scatter(*seed, 1_000 + k).abs() * 1e-3,
                    scatter(*seed, 2_000 + k),
                )
            };
            let part = Part {
                off: 3e-3,
                lobes: (2..=8).map(size).collect(),
            };
            let points = part.read(12, 1, |i| 0.3e-3 * scatter(*seed, i));
            let section = found(&Setup::default(), None, &points).section;
            let [low, high] = section.part_runout.unwrap().interval_um;
            !(low..=high).contains(&part.run_out_um())
        })
        .count();
    assert!(missed <= 4, "{missed} of 60 missed");
}

#[test]
fn too_few_places_are_said_with_what_to_do() {
    let part = Part {
        off: 3e-3,
        lobes: Vec::new(),
    };
    let read = |places| {
        let points = part.read(places, 1, |i| 0.2e-3 * scatter(1, i));
        found(&Setup::default(), None, &points)
    };
    let few = read(12);
    assert_eq!(few.section.lobes_shown, Some(5));
    let said = |word: &str| few.remarks.iter().any(|r| r.contains(word));
    assert!(
        said("lobes up to 5 a turn") && said("read 32 places"),
        "{:?}",
        few.remarks
    );
    let many = read(36);
    assert_eq!(
        (many.section.lobes_shown, many.remarks.len()),
        (None, 0),
        "{:?}",
        many.remarks
    );
}

/// Seen: harmonics of 0.11 to 0.21 µm, where the display's step alone is worth 0.30 µm, were a three-jaw chuck.
#[test]
fn causes_are_named_only_for_what_stands_out() {
    let named = |outcome: &RunoutOutcome| outcome.remarks.iter().any(|r| r.contains("jaw"));
    let read = |lobe: f64, sd: f64, step: f64| {
        let part = Part {
            off: 4e-3,
            lobes: vec![(0.0, 0.0), (lobe, 0.4)],
        };
        let mut setup = Setup::default();
        let mut points = part.read(36, 2, |i| sd * scatter(5, i));
        if step > 0.0 {
            setup.indicator.resolution = Length::from_mm(step);
            points
                .iter_mut()
                .for_each(|p| p.reading_mm = (p.reading_mm / step).round() * step);
        }
        found(&setup, None, &points)
    };
    let coarse = read(0.2e-3, 0.0, 1e-3);
    assert!(coarse.section.proved_orders.is_empty() && !named(&coarse));
    let noisy = read(0.1e-3, 0.5e-3, 0.0);
    assert!(noisy.section.proved_orders.is_empty() && !named(&noisy));
    let lobed = read(1.5e-3, 0.3e-3, 1e-3);
    assert_eq!(lobed.section.proved_orders, [3]);
    assert!(named(&lobed), "{:?}", lobed.remarks);
}

/// One reading at each of three places tells nothing of scatter: no limits and no decision, unless it is known beside.
#[test]
fn no_decision_where_nothing_tells_the_scatter() {
    let part = Part {
        off: 1e-3,
        lobes: Vec::new(),
    };
    let points = part.read(3, 1, |_| 0.0);
    let mut setup = Setup::default();
    setup.indicator.resolution = Length::from_mm(1e-4);
    let unknown = found(&setup, Some(100.0), &points);
    let section = &unknown.section;
    assert!(section.part_runout.is_none() && section.tir_interval_um.is_none());
    assert_eq!(section.verdict, Some(Verdict::Undecided));
    assert_eq!(
        section.undecided_because,
        Some(Undecided::RepeatabilityUnknown)
    );
    assert!(unknown.remarks.iter().any(|r| r.contains("go round again")));
    setup.indicator.repeatability = Length::from_mm(0.2e-3);
    let stated = found(&setup, Some(100.0), &points).section;
    assert_eq!(
        (stated.verdict, stated.undecided_because),
        (Some(Verdict::In), None)
    );
    // The display's step adds to what is stated.
    let width = |section: &Section| {
        let [low, high] = section.part_runout.unwrap().interval_um;
        high - low
    };
    setup.indicator.resolution = Length::from_mm(2e-3);
    let coarse = found(&setup, Some(100.0), &points).section;
    assert!(width(&coarse) > width(&stated));
}
