//! Running sums of the readings that count, so that one more reading costs the same however many there were.

use metrology::runout::RunoutSums;
use metrology::setup::Setup;
use metrology::sweep::SweepSums;
use protocol::api::SoFar;
use protocol::evidence::stretch::Stretch;
use protocol::evidence::{CableReadings, Reading, Readings, Time};
use protocol::plan::Plan;
use protocol::step::Recorded;

/// A position this old, s, is not where the table stands now.
const POSITION_LASTS_S: f64 = 1.0;

/// The running sums.
#[derive(Debug, Clone)]
pub(super) struct Sums {
    indicator: String,
    summed: Summed,
    extremes: Option<[f64; 2]>,
    points: usize,
}

#[derive(Debug, Clone)]
enum Summed {
    /// The place of each reading is the last that the other cable reported.
    SweepByCable {
        cable: String,
        last: Option<(Time, f64)>,
        sums: SweepSums,
    },
    /// Places are known only at the end.
    SweepByFeed,
    Runout {
        sums: RunoutSums,
        turns: u32,
    },
}

impl Summed {
    /// The same before the first reading.
    fn empty(&self, turns: u32) -> Self {
        match self {
            Self::SweepByCable { cable, .. } => Self::SweepByCable {
                cable: cable.clone(),
                last: None,
                sums: SweepSums::default(),
            },
            Self::SweepByFeed => Self::SweepByFeed,
            Self::Runout { .. } => Self::Runout {
                sums: RunoutSums::default(),
                turns,
            },
        }
    }
}

impl Sums {
    pub fn new(plan: &Plan, setup: &Setup) -> Self {
        let summed = match plan.work.recorded() {
            Some(Recorded::Travel {
                position_cable: Some(cable),
            }) => Summed::SweepByCable {
                cable: cable.to_owned(),
                last: None,
                sums: SweepSums::default(),
            },
            Some(Recorded::Travel {
                position_cable: None,
            }) => Summed::SweepByFeed,
            // A step that records nothing has no recording.
            Some(Recorded::Turn) | None => Summed::Runout {
                sums: RunoutSums::default(),
                turns: 0,
            },
        };
        Self {
            indicator: plan.cable(setup).unwrap_or_default().to_owned(),
            summed,
            extremes: None,
            points: 0,
        }
    }

    /// Takes a reading of one of the recorded cables.
    pub fn push(&mut self, cable: &str, reading: &Reading) {
        let mm = reading.value.mm();
        match &mut self.summed {
            Summed::SweepByCable {
                cable: position,
                last,
                ..
            } if position == cable => {
                *last = Some((reading.t, mm));
                return;
            }
            _ if cable != self.indicator => return,
            Summed::SweepByCable { last, sums, .. } => match last {
                Some((t, position)) if reading.t.since_s(*t) <= POSITION_LASTS_S => {
                    sums.push(*position, mm);
                }
                _ => return,
            },
            Summed::SweepByFeed => {}
            Summed::Runout { sums, .. } => sums.push(None, mm),
        }
        let [low, high] = self.extremes.unwrap_or([mm; 2]);
        self.extremes = Some([low.min(mm), high.max(mm)]);
        self.points += 1;
    }

    /// Sums these readings up from the first on, in the order in which they arrived.
    pub fn start_over(&mut self, stretches: &[Stretch], readings: &Readings) {
        self.summed = self.summed.empty(stretches.iter().map(|s| s.turns).sum());
        self.extremes = None;
        self.points = 0;
        let position = match &self.summed {
            Summed::SweepByCable { cable, .. } => cable.clone(),
            _ => String::new(),
        };
        let indicator = self.indicator.clone();
        let of_cable = |cable: &str| {
            let readings = readings.get(cable).into_iter();
            readings.flat_map(CableReadings::iter)
        };
        let mut positions = of_cable(&position).peekable();
        let mut stretch = stretches.iter().peekable();
        for reading in of_cable(&indicator) {
            while let Some(at) = positions.next_if(|at| at.t <= reading.t) {
                self.push(&position, at);
            }
            while stretch
                .next_if(|s| s.to.is_some_and(|to| to < reading.t))
                .is_some()
            {}
            if stretch.peek().is_some_and(|s| s.holds(reading.t)) {
                self.push(&indicator, reading);
            }
        }
        // The table goes on moving after the last reading.
        for at in positions {
            self.push(&position, at);
        }
    }

    pub fn so_far(&self) -> Option<SoFar> {
        let [low, high] = self.extremes?;
        let range_um = (high - low) * 1e3;
        Some(match &self.summed {
            Summed::SweepByCable { sums, .. } => {
                let so_far = sums.so_far();
                SoFar::Sweep {
                    points: self.points,
                    range_um,
                    slope: so_far.map(|so_far| so_far.slope),
                    bow_um: so_far.and_then(|so_far| so_far.bow_um),
                }
            }
            Summed::SweepByFeed => SoFar::Sweep {
                points: self.points,
                range_um,
                slope: None,
                bow_um: None,
            },
            Summed::Runout { sums, turns } => {
                let so_far = sums.so_far()?;
                SoFar::Runout {
                    points: so_far.points,
                    tir_um: so_far.tir_um,
                    turns: *turns,
                }
            }
        })
    }
}
