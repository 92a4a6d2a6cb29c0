//! The part on the bench: a cone that can be ground, in a spindle that runs out, warmer than the room.
//!
//! Planes count from the gauge plane toward the small end. The wheel cuts the cone that the set-up makes: the part is the smaller of what
//! it was and of what the wheel left. A machine gives way, so that a pass takes a share of what it is ahead by.

use metrology::random::Random;
use metrology::thermal::STEEL_UM_PER_M_K;

/// A part as it is at the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The tangent of the half angle that an edge along the travel makes.
    pub tan_half: f64,
    /// Length of the cone, mm.
    pub length_mm: f64,
    /// Diameter at the gauge plane as found, mm, at 20 °C.
    pub gauge_diameter_mm: f64,
    /// By how much the tangent of its half angle is larger as found.
    pub steeper: f64,
    /// How far the spindle carries it off centre as found, µm.
    pub off_centre_um: f64,
    /// How far as ground in this spindle, µm.
    pub off_centre_ground_um: f64,
    /// Where it stands out most, degrees.
    pub high_spot_deg: f64,
    /// Warmer than 20 °C by so many kelvin.
    pub warmer_k: f64,
    /// What share of the way that the wheel is ahead a pass takes off.
    pub share: f64,
    /// Standard deviation of what a pass takes, µm on radius.
    pub pass_sd_um: f64,
    /// Standard deviation of a measured diameter, µm.
    pub diameter_sd_um: f64,
}

impl Default for Part {
    /// A spindle's 1:12 seat of 40 mm: 70 µm over size, 12 arc-seconds too steep, 9 µm off centre, 2 K warm.
    fn default() -> Self {
        Self {
            tan_half: 1.0 / 24.0,
            length_mm: 30.0,
            gauge_diameter_mm: 40.07,
            steeper: 5.8e-5,
            off_centre_um: 9.0,
            off_centre_ground_um: 0.4,
            high_spot_deg: 120.0,
            warmer_k: 2.0,
            share: 0.85,
            pass_sd_um: 0.1,
            diameter_sd_um: 0.3,
        }
    }
}

/// The cone that the wheel made.
#[derive(Debug, Clone, Copy)]
struct Cut {
    gauge_diameter_mm: f64,
    tan_half: f64,
    /// What the wheel is ahead of the surface by, mm on radius.
    ahead_mm: f64,
}

/// A part and what was ground off it.
#[derive(Debug, Clone)]
pub(super) struct Ground {
    pub part: Part,
    cut: Option<Cut>,
}

impl Ground {
    pub const fn new(part: Part) -> Self {
        Self { part, cut: None }
    }

    /// Its diameter at a plane at 20 °C, mm.
    pub fn diameter_mm(&self, plane_mm: f64) -> f64 {
        let found = self.found_mm(plane_mm);
        self.cut.map_or(found, |cut| {
            found.min(cut.gauge_diameter_mm - 2.0 * plane_mm * cut.tan_half)
        })
    }

    fn found_mm(&self, plane_mm: f64) -> f64 {
        let part = &self.part;
        part.gauge_diameter_mm - 2.0 * plane_mm * (part.tan_half + part.steeper)
    }

    /// What a micrometer at 20 °C shows of it, mm.
    pub fn measured_mm(&self, plane_mm: f64, random: &mut Random) -> f64 {
        let warm = 1.0 + STEEL_UM_PER_M_K * 1e-6 * self.part.warmer_k;
        self.diameter_mm(plane_mm) * warm + 1e-3 * self.part.diameter_sd_um * random.normal()
    }

    /// Feeds the wheel in, µm square to the axis; `steeper` is by how much the set-up's cone is steeper than wanted.
    pub fn grind(&mut self, infeed_um: f64, steeper: f64, random: &mut Random) {
        let part = self.part;
        let tan_half = part.tan_half + steeper;
        let ends = [0.0, part.length_mm];
        // The wheel first touches where the part stands out most.
        let touches = ends.map(|plane| self.found_mm(plane) + 2.0 * plane * tan_half);
        let mut cut = self.cut.unwrap_or(Cut {
            gauge_diameter_mm: touches[0].max(touches[1]),
            tan_half,
            ahead_mm: 0.0,
        });
        cut.tan_half = tan_half;
        cut.ahead_mm += infeed_um * 1e-3;
        let scatter = 1e-3 * part.pass_sd_um * random.normal();
        let taken = (part.share * cut.ahead_mm + scatter).max(0.0);
        cut.ahead_mm -= taken;
        cut.gauge_diameter_mm -= 2.0 * taken;
        self.cut = Some(cut);
    }

    /// What an indicator on it reads at an angle of the spindle, mm from the mean.
    pub fn runs_out_mm(&self, angle_deg: f64) -> f64 {
        let part = &self.part;
        let off_um = match self.cut {
            Some(_) => part.off_centre_ground_um,
            None => part.off_centre_um,
        };
        let angle = (angle_deg - part.high_spot_deg).to_radians();
        1e-3 * off_um * angle.cos()
    }

    /// By how much the tangent of its half angle is larger than wanted, between its ends.
    pub fn steeper(&self) -> f64 {
        let length = self.part.length_mm;
        (self.diameter_mm(0.0) - self.diameter_mm(length)) / (2.0 * length) - self.part.tan_half
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sure() -> Part {
        Part {
            pass_sd_um: 0.0,
            diameter_sd_um: 0.0,
            ..Part::default()
        }
    }

    #[test]
    fn a_machine_that_gives_way_takes_a_share_and_the_rest_later() {
        let mut ground = Ground::new(sure());
        let mut random = Random::new(1);
        ground.grind(0.0, 0.0, &mut random);
        let start = ground.cut.unwrap().gauge_diameter_mm;
        ground.grind(10.0, 0.0, &mut random);
        let once = start - ground.cut.unwrap().gauge_diameter_mm;
        assert!((once - 0.017).abs() < 1e-9, "{once}");
        for _ in 0..40 {
            ground.grind(0.0, 0.0, &mut random);
        }
        let all = start - ground.cut.unwrap().gauge_diameter_mm;
        assert!((all - 0.020).abs() < 1e-9, "{all}");
    }

    #[test]
    fn the_first_passes_touch_only_where_it_stands_out_and_then_the_set_ups_angle_is_left() {
        let mut ground = Ground::new(sure());
        let mut random = Random::new(1);
        // Too steep as found: the big end stands out, and the small end is not touched at first.
        let small = ground.diameter_mm(30.0);
        let big = ground.diameter_mm(0.0);
        ground.grind(1.0, 0.0, &mut random);
        assert!(ground.diameter_mm(0.0) < big);
        assert!((ground.diameter_mm(30.0) - small).abs() < 1e-12);
        assert!(ground.steeper() > 1e-5);
        ground.grind(20.0, 2e-6, &mut random);
        assert!((ground.steeper() - 2e-6).abs() < 1e-12);
        assert!(ground.diameter_mm(30.0) < small);
    }

    #[test]
    fn it_is_measured_warm_and_runs_out_less_once_ground() {
        let mut ground = Ground::new(sure());
        let mut random = Random::new(1);
        // 40.07 mm · 11.5 · 10⁻⁶ · 2 K = 0.92 µm.
        let grown = ground.measured_mm(0.0, &mut random) - ground.diameter_mm(0.0);
        assert!((grown - 0.000_92).abs() < 1e-5, "{grown}");
        assert!((ground.runs_out_mm(120.0) - 0.009).abs() < 1e-12);
        ground.grind(50.0, 0.0, &mut random);
        assert!((ground.runs_out_mm(120.0) - 0.000_4).abs() < 1e-12);
    }
}
