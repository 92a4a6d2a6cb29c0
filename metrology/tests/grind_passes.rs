//! Grinding in passes, closed over simulated parts and machines that give way.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_metrology::grind::{
    MOST_PLUNGES, NextPass, PassDone, PassRule, answer, cost_at_ends_um, next_pass, plunges,
};
use conewright_metrology::random::Random;
use conewright_metrology::{Angle, Length};

const RULE: PassRule = PassRule {
    depth_um: 10.0,
    allowance_um: 5.0,
    within_um: 2.0,
    expanded_um: 0.6,
};
/// More passes than this lead nowhere.
const MOST: usize = 40;

/// A machine: before a pass the wheel is ahead by what it holds back and the infeed, and takes a share of that. The wheel wears.
struct Machine {
    share: f64,
    wear: f64,
    ahead_um: f64,
    /// What is truly left on diameter at the gauge plane.
    left_um: f64,
    random: Random,
}

impl Machine {
    fn any(seed: u64) -> Self {
        let mut random = Random::new(seed);
        Self {
            share: random.between(0.6, 1.0),
            wear: random.between(0.0, 0.03),
            ahead_um: 0.0,
            left_um: random.between(20.0, 160.0),
            random,
        }
    }

    fn grind(&mut self, infeed_um: f64) {
        let wears = if infeed_um > 0.0 { self.wear } else { 0.0 };
        self.ahead_um += infeed_um * (1.0 - wears);
        // 0.1 µm of scatter on radius, as a sound wheel's.
        let taken = (self.share * self.ahead_um + 0.1 * self.random.normal()).max(0.0);
        self.ahead_um -= taken;
        self.left_um -= 2.0 * taken;
    }

    /// The mean of two readings with 0.3 µm of scatter. The rule's 0.6 µm holds as well what repeats in both.
    fn measure(&mut self) -> f64 {
        self.left_um + 0.3 * (self.random.normal() + self.random.normal()) / 2.0
    }
}

/// 200 parts: each ends within 2 µm of size, none under size, and the half angle, which the set-up holds within 5″, within its
/// tolerance of 8″ as the two end diameters tell it.
#[test]
fn two_hundred_parts_come_to_size_and_none_goes_under() {
    let (half, length) = (Angle::half_of_ratio(12.0), Length::from_um(30_000));
    let mut most = 0;
    for seed in 0..200 {
        let mut machine = Machine::any(seed);
        let error = Angle::from_arcsec(machine.random.between(-5.0, 5.0));
        let mut done: Vec<PassDone> = Vec::new();
        let mut measured = machine.measure();
        loop {
            let infeed_um = match next_pass(measured, &RULE, &done) {
                NextPass::Rough { infeed_um, .. } | NextPass::Finish { infeed_um, .. } => infeed_um,
                NextPass::AtSize => break,
                NextPass::TooFar => panic!("part {seed} is under size: {}", machine.left_um),
            };
            assert!(infeed_um <= RULE.depth_um);
            machine.grind(infeed_um);
            let after_um = machine.measure();
            done.push(PassDone {
                infeed_um,
                before_um: measured,
                after_um,
            });
            measured = after_um;
            assert!(done.len() < MOST, "part {seed}: {} left", machine.left_um);
        }
        most = most.max(done.len());
        assert!(
            (0.0..=2.0).contains(&machine.left_um),
            "part {seed}: {} µm left",
            machine.left_um
        );
        // The size holds at the gauge plane; what the angle costs is seen at the small end, and found again as that angle.
        let [big, small] = cost_at_ends_um(half, error, length, Length::ZERO);
        let d = [
            40.0 + 1e-3 * (machine.left_um + big),
            37.5 + 1e-3 * (machine.left_um + small),
        ];
        let found = ((d[0] - d[1]) / 60.0).atan();
        let off = Angle::from_rad(found) - half;
        assert!((off - error).arcsec().abs() < 1e-6 && off.arcsec().abs() < 8.0);
    }
    println!("200 parts, at most {most} passes");
}

/// Without the correction (each pass told what is left) the spring of the machine would carry parts under size: the test above can fail.
#[test]
fn passes_that_ignore_the_spring_end_under_size() {
    let mut under = 0;
    for seed in 0..200 {
        let mut machine = Machine::any(seed);
        let mut measured = machine.measure();
        for _ in 0..MOST {
            match next_pass(measured, &RULE, &[]) {
                NextPass::Rough { infeed_um, .. } => machine.grind(infeed_um),
                NextPass::Finish { .. } => machine.grind((measured - 1.0) / 2.0),
                NextPass::AtSize | NextPass::TooFar => break,
            }
            measured = machine.measure();
        }
        under += i32::from(machine.left_um < 0.0);
    }
    assert!(under > 20, "{under} of 200");
}

#[test]
fn the_share_and_the_lag_are_found_again() {
    let (share, mut lag, mut left) = (0.7, 0.0, 100.0);
    let mut done = Vec::new();
    for infeed_um in [10.0, 10.0, 6.0] {
        let taken = share * (lag + infeed_um);
        lag += infeed_um - taken;
        done.push(PassDone {
            infeed_um,
            before_um: left,
            after_um: left - 2.0 * taken,
        });
        left -= 2.0 * taken;
    }
    let found = answer(&done);
    assert!((found.share - share).abs() < 1e-12 && (found.lag_um - lag).abs() < 1e-9);
    assert!(found.wear == 0.0);
}

/// Every point of the cone is ground, neighbours overlap by what was asked for at the least, and one plunge fewer would not do.
#[test]
fn plunges_cover_the_cone_with_their_overlap() {
    for (length_um, width_um, overlap) in [
        (30_000, 20_000, 1.0 / 3.0),
        (30_000, 30_000, 0.5),
        (30_000, 29_999, 0.5),
        (182_000, 25_000, 0.5),
        (100_000, 10_000, 0.0),
    ] {
        let (length, width) = (Length::from_um(length_um), Length::from_um(width_um));
        let found = plunges(length, width, overlap).unwrap();
        let (b, l) = (width.mm(), length.mm());
        let first = found.at_mm.first().unwrap() - b / 2.0;
        let last = found.at_mm.last().unwrap() + b / 2.0;
        assert!(first <= 1e-9 && last >= l - 1e-9, "{found:?}");
        for pair in found.at_mm.windows(2) {
            assert!(b - (pair[1] - pair[0]) >= overlap * b - 1e-6, "{found:?}");
        }
        let fewer = found.at_mm.len() - 1;
        if fewer >= 1 {
            let reach = b + (fewer as f64 - 1.0) * b * (1.0 - overlap);
            assert!(reach < l, "{fewer} would do: {found:?}");
        }
    }
}

#[test]
fn the_domain_of_plunges_on_both_sides() {
    let mm = |mm: i64| Length::from_um(mm * 1_000);
    for (length, width, overlap, allowed) in [
        (mm(30), mm(20), 0.0, true),
        (mm(30), mm(20), 0.9, true),
        (mm(30), mm(20), 0.91, false),
        (mm(30), mm(20), -0.01, false),
        (mm(30), mm(20), f64::NAN, false),
        (Length::ZERO, mm(20), 0.3, false),
        (mm(30), Length::ZERO, 0.3, false),
        (mm(MOST_PLUNGES as i64), mm(1), 0.0, true),
        (mm(MOST_PLUNGES as i64 + 2), mm(1), 0.0, false),
    ] {
        assert_eq!(
            plunges(length, width, overlap).is_ok(),
            allowed,
            "{length} {width} {overlap}"
        );
    }
}

/// The plan of a size step: the plunges cover the cone with its lead-out, and the measured angle's cost is that of the diameters.
#[test]
fn a_size_names_the_plunges_and_what_the_angle_costs() {
    use conewright_metrology::setup::Setup;
    use conewright_metrology::size::{self, Measured, SectionReading, SizeOptions};
    use conewright_metrology::taper::Taper;

    let half = Angle::half_of_ratio(12.0);
    let mut taper = Taper::from_half_angle("1:12", half, "ISO 1119").unwrap();
    taper.gauge_diameter = Some(Length::from_um(40_000));
    let mut setup = Setup {
        taper: Some(taper),
        length: Some(Length::from_um(30_000)),
        ..Setup::default()
    };
    let options = SizeOptions {
        wheel_width: Some(Length::from_um(20_000)),
        lead_out: Some(Length::from_um(2_000)),
        blend_radius: Some(Length::from_um(500)),
        ..SizeOptions::default()
    };
    let at = |plane_mm, diameter_mm| SectionReading {
        plane_mm,
        diameter_mm,
    };
    // 2 µm too small at 30 mm: a steeper cone, right at the gauge plane.
    let measured = Measured::Sections(vec![at(0.0, 40.0), at(30.0, 37.498)]);
    let outcome = size::outcome(&setup, &options, &measured).unwrap();
    let plan = outcome.grind.unwrap();
    assert_eq!(plan.plunges_mm, [10.0, 22.0]);
    assert!((plan.overlap_mm - 8.0).abs() < 1e-9);
    assert_eq!(
        (plan.lead_out_mm, plan.blend_radius_mm),
        (Some(2.0), Some(0.5))
    );
    let [big, small] = plan.angle_costs_um.unwrap();
    assert!(
        big.abs() < 1e-9 && (small + 2.0).abs() < 1e-6,
        "{big} {small}"
    );

    setup.length = None;
    let unknown = size::outcome(&setup, &options, &measured).unwrap();
    assert!(unknown.grind.is_none());
    assert!(
        unknown
            .remarks
            .iter()
            .any(|said| said.contains("no length of the cone is known"))
    );
    let plain = size::outcome(&setup, &SizeOptions::default(), &measured).unwrap();
    assert!(plain.grind.is_none() && plain.remarks.iter().all(|said| !said.contains("plunges")));
}
