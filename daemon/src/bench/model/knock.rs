//! Taps by a hand that knows no target: light or firm, toward the indicator or away from it.

use super::Bench;

/// One tap, at the place where the indicator stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Knock {
    /// Whether the reading there is to rise.
    pub toward: bool,
    /// A firm one is worth about a dozen light ones.
    pub firm: bool,
}

/// What a light and a firm tap turn the set-up by, µm over the span between the outer stations; invented.
const LIGHT_UM: f64 = 1.2;
const FIRM_UM: f64 = 15.0;
/// No two taps are alike: each is so many times the usual one.
const STRENGTH: [f64; 2] = [0.75, 1.25];

impl Bench {
    /// Taps where the indicator stands, spread over the next `readings` readings. Each tap turns the set-up by about the
    /// same angle, so that the reading moves less the nearer to the pivot it is given. A tight clamp lets nothing move.
    ///
    /// Returns how far the reading there goes, mm.
    pub fn knock(&mut self, knock: Knock, readings: u32) -> f64 {
        self.finish_motion();
        let um = if knock.firm { FIRM_UM } else { LIGHT_UM };
        let strength = self.hand.between(STRENGTH[0], STRENGTH[1]);
        let arms = (self.x - self.set_up.pivot_mm).abs() / self.set_up.span_mm;
        let change_mm = 1e-3 * um * strength * arms;
        self.tap_over(
            self.x,
            if knock.toward { change_mm } else { -change_mm },
            readings,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::super::SetUp;
    use super::*;

    const TOWARD: Knock = Knock {
        toward: true,
        firm: true,
    };

    fn at(x_mm: f64) -> Bench {
        let mut bench = Bench::new(3, SetUp::default());
        bench.move_to(x_mm);
        bench
    }

    #[test]
    fn a_firm_tap_is_worth_about_a_dozen_light_ones() {
        // About a pivot at 95 mm of a span of 80, at A: 15 or 1.2 µm · 95/80, and a quarter to either side.
        for (knock, low, high) in [
            (TOWARD, 13.3, 22.3),
            (
                Knock {
                    firm: false,
                    ..TOWARD
                },
                1.06,
                1.79,
            ),
        ] {
            let mut bench = at(0.0);
            let before = bench.reading_at(0.0);
            for _ in 0..20 {
                let went_um = 1e3 * bench.knock(knock, 1);
                assert!((low..high).contains(&went_um), "{went_um}");
            }
            assert!(bench.reading_at(0.0) > before);
        }
    }

    #[test]
    fn it_moves_little_near_the_pivot_and_the_other_way_when_it_is_meant_so() {
        let away = Knock {
            toward: false,
            ..TOWARD
        };
        let far = at(0.0).knock(away, 1);
        let near = at(80.0).knock(away, 1);
        assert!(far < near && near < 0.0, "{far} {near}");
    }

    #[test]
    fn a_tight_clamp_holds_it() {
        let mut bench = at(0.0);
        bench.clamp();
        assert!(bench.knock(TOWARD, 1).abs() < 1e-15);
    }

    #[test]
    fn the_same_taps_do_the_same_however_many_readings_are_shown_between_them() {
        let slope = |readings: u32| {
            let mut bench = at(0.0);
            for _ in 0..10 {
                bench.knock(TOWARD, 1);
                for _ in 0..readings {
                    bench.read(0.02);
                }
            }
            bench.clamp();
            bench.truth().slope
        };
        assert!((slope(3) - slope(17)).abs() < 1e-15);
    }
}
