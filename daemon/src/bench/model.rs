//! The model of a set-up: what an indicator would show while a hand moves the table, taps and clamps.
//!
//! The table carries the set-up along the travel x. The edge that the indicator touches lies along
//! `r(x) = r_A + m·x` with a small bow; m is what the user brings to zero. A tap turns the set-up by δ about
//! a point p along the travel and slides it by s, so that the reading at x changes by `δ·(x − p) + s`.
//! Tightening the clamp turns it once more about p. What the indicator shows is that reading plus noise
//! and drift, rounded to its display.

mod knock;
mod part;

pub use knock::Knock;
pub use part::Part;

use metrology::Length;
use metrology::random::Random;
use part::Ground;

/// What a tightening clamp does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClampShift {
    /// Mean change of slope, mm per mm.
    pub slope: f64,
    /// Standard deviation of a single one, mm per mm.
    pub slope_sd: f64,
}

/// How far a hand misses what it was asked to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hand {
    /// It stops this part of the way short of or beyond the target.
    pub stop_error: f64,
    /// A tap also slides the set-up by this part of the way, to either side.
    pub slide: f64,
}

/// A set-up as it is at the start. Places are distances from station A along the travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetUp {
    /// Slope of the edge, mm per mm; a larger reading is nearer to the indicator.
    pub slope: f64,
    /// Reading at A, mm.
    pub at_a_mm: f64,
    /// Length over which `bow_um` is stated, mm; the span between the outer stations.
    pub span_mm: f64,
    /// Bow of the edge: how far its middle stands out over `span_mm`, µm.
    pub bow_um: f64,
    /// The point about which taps and clamp turn the set-up, mm.
    pub pivot_mm: f64,
    /// What the clamp does.
    pub clamp: ClampShift,
    /// Standard deviation of a single reading, µm.
    pub noise_um: f64,
    /// Steady drift, µm a minute.
    pub drift_um_per_min: f64,
    /// One step of the indicator's display; at least a picometre.
    pub resolution: Length,
    /// The hand that taps.
    pub hand: Hand,
    /// The part that is ground.
    pub part: Part,
}

/// What the indicator stands on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Under {
    /// The reference edge, carried along by the table.
    Edge,
    /// Gauge blocks on a plate, of this height, mm.
    Blocks(f64),
    /// The part in its spindle, turned to this angle, degrees.
    Spindle(f64),
    /// The part's own cone, its element set along the travel as it is wanted: what rises is the part's error.
    Cone,
}

impl Default for SetUp {
    /// The demo's set-up: 0.3 mm out over 80 mm, a 1 µm display, a hand that is 5 % off and slides 2 %.
    fn default() -> Self {
        Self {
            slope: 0.3 / 80.0,
            at_a_mm: 0.012,
            span_mm: 80.0,
            bow_um: 0.0,
            pivot_mm: 95.0,
            clamp: ClampShift {
                slope: 2.5e-5,
                slope_sd: 2.0e-6,
            },
            noise_um: 0.15,
            drift_um_per_min: 0.05,
            resolution: Length::from_um(1),
            hand: Hand {
                stop_error: 0.05,
                slide: 0.02,
            },
            part: Part::default(),
        }
    }
}

/// What no indicator shows: the state of the model, for checks against the answers of the program.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// Where the table stands, mm from A.
    pub x_mm: f64,
    /// Slope of the edge now, mm per mm.
    pub slope: f64,
    /// The reading at the indicator now, without noise, drift and rounding, mm.
    pub reading_mm: f64,
    /// Whether the clamp is tight.
    pub clamped: bool,
}

/// A movement that is spread over readings, as a hand takes time over it.
#[derive(Debug, Clone, Copy)]
struct Motion {
    left: u32,
    x: f64,
    slope: f64,
    at_a: f64,
}

/// A hand nearer to the pivot than this cannot turn the set-up from there.
const SHORTEST_LEVER_MM: f64 = 1.0;

/// The set-up, its present state, and its chance.
#[derive(Debug, Clone)]
pub struct Bench {
    set_up: SetUp,
    /// Of the readings' noise.
    random: Random,
    /// Of all that a hand does, so that its chance does not depend on how many readings were shown in between.
    hand: Random,
    x: f64,
    slope: f64,
    at_a: f64,
    clamped: bool,
    /// What the last tightening did, which loosening takes back.
    clamp_turn: f64,
    elapsed_s: f64,
    motion: Option<Motion>,
    under: Under,
    ground: Ground,
}

impl Bench {
    /// A set-up with the table at A and the clamp loose. The same seed and the same calls give the same readings.
    #[must_use]
    pub const fn new(seed: u64, set_up: SetUp) -> Self {
        Self {
            random: Random::new(seed),
            hand: Random::new(seed ^ 0x1a6d_0f4e_8a4d_0000),
            x: 0.0,
            slope: set_up.slope,
            at_a: set_up.at_a_mm,
            clamped: false,
            clamp_turn: 0.0,
            elapsed_s: 0.0,
            motion: None,
            under: Under::Edge,
            ground: Ground::new(set_up.part),
            set_up,
        }
    }

    /// A set-up as the closed loop is judged by: L = 60 mm between stations, up to ±200 µm out over it, pivot
    /// anywhere from −L/2 to 3L/2, and marks good to 0.15 µm.
    #[must_use]
    pub fn any(seed: u64) -> Self {
        // The parameters come from a generator of their own, so that the readings' chance does not depend on them.
        let mut random = Random::new(seed ^ 0x005e_7a9b_e9c4_0000);
        let span = 60.0;
        let set_up = SetUp {
            slope: random.between(-0.2, 0.2) / span,
            at_a_mm: random.between(-0.1, 0.1),
            span_mm: span,
            pivot_mm: random.between(-0.5 * span, 1.5 * span),
            clamp: ClampShift {
                slope: 0.0,
                slope_sd: 0.0,
            },
            drift_um_per_min: 0.0,
            resolution: Length::from_pm(100_000),
            ..SetUp::default()
        };
        Self::new(seed, set_up)
    }

    /// The set-up as it was at the start.
    #[must_use]
    pub const fn set_up(&self) -> &SetUp {
        &self.set_up
    }

    /// What no indicator shows.
    #[must_use]
    pub fn truth(&self) -> Truth {
        Truth {
            x_mm: self.x,
            slope: self.slope,
            reading_mm: self.reading_at(self.x),
            clamped: self.clamped,
        }
    }

    /// The edge under the indicator at x, mm, without noise, drift and rounding.
    #[must_use]
    pub fn reading_at(&self, x_mm: f64) -> f64 {
        let t = x_mm / self.set_up.span_mm;
        self.at_a + self.slope * x_mm + 4e-3 * self.set_up.bow_um * t * (1.0 - t)
    }

    /// Puts the indicator on something else.
    pub fn stand_on(&mut self, under: Under) {
        self.finish_motion();
        self.under = under;
    }

    /// Feeds the wheel in, µm square to the part's axis. The edge's slope now is the error of the cone that it makes: with the
    /// big end at A and the indicator on the wheel's side an edge that rises makes it steeper.
    pub fn grind(&mut self, infeed_um: f64) {
        self.finish_motion();
        self.ground.grind(infeed_um, self.slope, &mut self.hand);
    }

    /// What a micrometer shows of the part at a plane from its gauge plane, mm.
    pub fn measure_diameter_mm(&mut self, plane_mm: f64) -> f64 {
        self.ground.measured_mm(plane_mm, &mut self.hand)
    }

    /// The part's diameter at a plane at 20 °C, which no instrument shows, mm.
    #[must_use]
    pub fn diameter_mm(&self, plane_mm: f64) -> f64 {
        self.ground.diameter_mm(plane_mm)
    }

    /// By how much the tangent of the part's half angle is larger than wanted.
    #[must_use]
    pub fn steeper(&self) -> f64 {
        self.ground.steeper()
    }

    /// Moves the table to x.
    pub fn move_to(&mut self, x_mm: f64) {
        self.finish_motion();
        self.x = x_mm;
    }

    /// Moves the table to x while the next `readings` readings are shown.
    pub fn move_over(&mut self, x_mm: f64, readings: u32) {
        self.finish_motion();
        self.spread(readings, x_mm - self.x, 0.0, 0.0);
    }

    /// Taps so that the reading at the station x changes by `change_mm`, with the hand's slide but no stop error.
    ///
    /// A tight clamp lets nothing move. Nearer than 1 mm to the pivot a hand finds no lever, and the set-up turns as if
    /// it were 1 mm away. Returns how far the reading at x really goes.
    pub fn tap(&mut self, x_mm: f64, change_mm: f64) -> f64 {
        self.tap_over(x_mm, change_mm, 1)
    }

    /// Taps, spread over the next `readings` readings; a hand gives several small taps rather than one.
    pub fn tap_over(&mut self, x_mm: f64, change_mm: f64, readings: u32) -> f64 {
        self.finish_motion();
        if self.clamped {
            return 0.0;
        }
        let slide = self.hand.sign() * self.set_up.hand.slide * change_mm;
        let arm = x_mm - self.set_up.pivot_mm;
        let lever = SHORTEST_LEVER_MM.max(arm.abs()).copysign(arm);
        let turn = (change_mm - slide) / lever;
        self.spread(readings, 0.0, turn, slide - turn * self.set_up.pivot_mm);
        turn * arm + slide
    }

    /// Does what the advice says: taps until the reading at the station x is `target_mm`, and stops short or beyond as
    /// this hand does. Spread over the next `readings` readings.
    pub fn follow(&mut self, x_mm: f64, target_mm: f64, readings: u32) {
        self.finish_motion();
        let way = target_mm - self.reading_at(x_mm) - self.drift_mm();
        let stop = 1.0 + self.hand.sign() * self.set_up.hand.stop_error;
        self.tap_over(x_mm, way * stop, readings);
    }

    /// Tightens the clamp, which turns the set-up about the pivot. Does nothing when it is tight.
    pub fn clamp(&mut self) {
        self.finish_motion();
        if !self.clamped {
            self.clamped = true;
            let shift = self.set_up.clamp;
            self.clamp_turn = shift.slope + shift.slope_sd * self.hand.normal();
            self.turn(self.clamp_turn);
        }
    }

    /// Loosens the clamp: what tightening did goes back, give or take its scatter.
    pub fn loosen(&mut self) {
        self.finish_motion();
        if self.clamped {
            self.clamped = false;
            let scatter = self.set_up.clamp.slope_sd * self.hand.normal();
            self.turn(scatter - self.clamp_turn);
        }
    }

    /// What the indicator shows next. `dt_s` is the model's time since the last reading.
    pub fn read(&mut self, dt_s: f64) -> Length {
        self.elapsed_s += dt_s;
        if let Some(motion) = &mut self.motion {
            let part = 1.0 / f64::from(motion.left);
            self.x += motion.x * part;
            self.slope += motion.slope * part;
            self.at_a += motion.at_a * part;
            let rest = 1.0 - part;
            motion.x *= rest;
            motion.slope *= rest;
            motion.at_a *= rest;
            motion.left -= 1;
            if motion.left == 0 {
                self.motion = None;
            }
        }
        let noise = 1e-3 * self.set_up.noise_um * self.random.normal();
        let mm = self.shows() + self.drift_mm() + noise;
        let step = self.set_up.resolution.pm().max(1);
        Length::from_pm((mm * 1e9 / step as f64).round() as i64 * step)
    }

    /// Whether a movement is still going on.
    #[must_use]
    pub const fn moving(&self) -> bool {
        self.motion.is_some()
    }

    /// What is under the indicator, mm.
    fn shows(&self) -> f64 {
        match self.under {
            Under::Edge => self.reading_at(self.x),
            Under::Blocks(height) => height + indicator_error_mm(height),
            Under::Spindle(angle) => self.ground.runs_out_mm(angle),
            // A steeper cone falls away from the indicator toward its small end.
            Under::Cone => -self.ground.steeper() * self.x,
        }
    }

    fn drift_mm(&self) -> f64 {
        1e-3 * self.set_up.drift_um_per_min * self.elapsed_s / 60.0
    }

    fn turn(&mut self, by: f64) {
        self.slope += by;
        self.at_a -= by * self.set_up.pivot_mm;
    }

    fn spread(&mut self, readings: u32, x: f64, slope: f64, at_a: f64) {
        self.motion = Some(Motion {
            left: readings.max(1),
            x,
            slope,
            at_a,
        });
        if readings <= 1 {
            self.finish_motion();
        }
    }

    fn finish_motion(&mut self) {
        if let Some(motion) = self.motion.take() {
            self.x += motion.x;
            self.slope += motion.slope;
            self.at_a += motion.at_a;
        }
    }
}

/// The indicator's own error along its travel: a third of a micrometre to either side, once in two millimetres.
fn indicator_error_mm(at_mm: f64) -> f64 {
    0.35e-3 * (std::f64::consts::PI * at_mm).sin()
}

#[cfg(test)]
mod tests;
