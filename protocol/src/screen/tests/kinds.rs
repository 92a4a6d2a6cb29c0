//! A step of each kind with an outcome, computed from its inputs as the daemon does it.

use super::*;
use crate::step::{RunoutInputs, Step, SweepInputs, Turning};
use metrology::Angle;
use metrology::contact::Zones;
use metrology::dial::{DialPoint, Direction};
use metrology::runout::RunoutPoint;
use metrology::setup::{BigEnd, Indicator as SetIndicator, IndicatorSide, Sense};
use metrology::size::{Measured, SectionReading, SizeOptions};
use metrology::sweep::SweepPoint;
use metrology::taper::Taper;
use metrology::zero::ZeroMark;

/// An open step, and its options.
pub struct Opened<S> {
    step: S,
    pub status: Status,
}

impl<S: Step + Clone> Opened<S> {
    pub fn of(step: S) -> Self {
        let plan = Plan::of(step.clone().into());
        let status = Status {
            session: Some(SessionLabel {
                id: 3,
                name: "spindle seat".to_owned(),
            }),
            step: Some(StepLabel {
                kind: plan.kind(),
                number: 2,
            }),
            plan: Some(plan),
            cables: vec![cable()],
            indicator: Some("bench".to_owned()),
            setup: Some(set_up()),
            next_round: Some(2),
            ..Status::default()
        };
        Self { step, status }
    }

    pub fn marked(mut self, marks: Vec<MarkLine>, next: Option<Place>) -> Self {
        self.status.marks = marks;
        self.status.next_place = next;
        self
    }

    pub fn found(mut self, inputs: &S::Inputs) -> Status {
        let setup = self.status.setup.as_ref().unwrap();
        let found = self.step.compute(setup, inputs).unwrap();
        self.status.outcome = Some(found.into());
        self.status
    }
}

fn cable() -> CableStatus {
    CableStatus {
        instrument: None,
        other_instrument: None,
        name: "bench".to_owned(),
        state: CableState::Live,
        detail: None,
        reading: Some(mm("0.013")),
        resolution: Some(mm("0.001")),
        age_s: Some(0.1),
        readings: 4_000,
        skipped_bytes: 0,
        last_skipped: None,
    }
}

fn set_up() -> Setup {
    let station = |name: &str, at: &str| Station {
        name: name.to_owned(),
        position: mm(at),
    };
    Setup {
        taper: Some(Taper {
            name: "1:12".to_owned(),
            half_angle: Angle::half_of_ratio(12.0),
            gauge_diameter: Some(mm("40")),
            small_diameter: None,
            length: Some(mm("30")),
            source: "a ratio".to_owned(),
        }),
        length: Some(mm("30")),
        tolerance: "5arcsec".parse().ok(),
        stations: vec![station("A", "0"), station("B", "80")],
        pass: ["A", "B", "A"].map(str::to_owned).to_vec(),
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        indicator: SetIndicator {
            cable: Some("bench".to_owned()),
            resolution: Some(mm("0.001")),
            ..SetIndicator::default()
        },
        ..Setup::default()
    }
}

pub fn mark(number: u32, at: Place, value_mm: Option<f64>) -> MarkLine {
    MarkLine {
        number,
        station: match &at {
            Place::Station(station) => Some(station.name.clone()),
            _ => None,
        },
        place: at.to_string(),
        at: Some(at),
        round: 1,
        value: value_mm.map(|value_mm| MarkValue {
            value_mm,
            spread_um: 1.0,
            sd_um: Some(0.4),
            readings: 24,
            resolution: mm("0.001"),
        }),
    }
}

fn station(name: &str, at_mm: f64) -> Place {
    Place::Station(Station {
        name: name.to_owned(),
        position: Length::from_mm(at_mm).unwrap(),
    })
}

/// A round over 80 mm whose reading rises by so much.
pub fn zeroed(rise_mm: f64) -> Status {
    zeroed_in(None, rise_mm)
}

/// The same in a fixture.
pub fn zeroed_in(fixture: Option<Fixture>, rise_mm: f64) -> Status {
    let round = [
        ("A", 0.0, 0.0125),
        ("B", 80.0, 0.0125 + rise_mm),
        ("A", 0.0, 0.0125),
    ];
    let lines = (1..).zip(&round);
    let lines = lines.map(|(n, (name, at, value))| mark(n, station(name, *at), Some(*value)));
    let marks = round.map(|(name, position_mm, value_mm)| ZeroMark {
        round: 1,
        station: name.to_owned(),
        position_mm,
        value_mm,
        sd_mm: Some(1e-4),
        readings: 24,
        resolution: Length::from_pm(100_000),
        time_s: None,
        clamped: false,
        setting: 0,
    });
    let mut opened =
        Opened::of(ZeroPlan::default()).marked(lines.collect(), Some(station("A", 0.0)));
    if let Some(setup) = &mut opened.status.setup {
        setup.fixture = fixture;
    }
    opened.found(&marks.to_vec())
}

fn swept() -> Status {
    let readings = [(0.0, 0.0125), (40.0, 0.0165), (80.0, 0.0211)];
    let lines = (1..).zip(&readings);
    let lines = lines.map(|(n, (at, value))| mark(n, station("A", *at), Some(*value)));
    let points = readings.map(|(position_mm, reading_mm)| SweepPoint {
        position_mm,
        reading_mm,
    });
    let opened = Opened::of(SweepPlan::default());
    opened.marked(lines.collect(), None).found(&SweepInputs {
        points: points.to_vec(),
        unplaced: 0,
    })
}

fn turned() -> Status {
    let angle = |deg: f64| Place::Angle {
        angle: Angle::from_deg(deg),
        plane: None,
    };
    let readings: Vec<(f64, f64)> = (0..12)
        .map(|hour| f64::from(hour) * 30.0)
        .map(|deg| (deg, 0.052 + 0.004 * (deg - 118.0).to_radians().cos()))
        .map(|(deg, mm)| (deg, (mm * 1e4).round() / 1e4))
        .collect();
    let lines = (1..).zip(&readings);
    let lines = lines.map(|(n, (deg, value))| mark(n, angle(*deg), Some(*value)));
    let points = readings.iter().map(|(deg, value)| RunoutPoint {
        angle_deg: *deg,
        reading_mm: *value,
        plane_mm: None,
    });
    let opened = Opened::of(RunoutPlan::default()).marked(lines.collect(), Some(angle(0.0)));
    opened.found(&RunoutInputs {
        first: Turning::Angles(points.collect()),
        turned: None,
    })
}

/// 12.4 µm too small at the gauge plane.
fn sized() -> Status {
    let plane = |mm: f64| Place::Plane {
        plane: Length::from_mm(mm).unwrap(),
    };
    let readings = [(0.0, 39.9876), (24.0, 37.99)];
    let lines = (1..).zip(&readings);
    let lines = lines.map(|(n, (at, value))| mark(n, plane(*at), Some(*value)));
    let sections = readings.map(|(plane_mm, diameter_mm)| SectionReading {
        plane_mm,
        diameter_mm,
    });
    let step = SizePlan {
        size: SizeOptions {
            diameter_u: Some(mm("0.0001")),
            ..SizeOptions::default()
        },
        ..SizePlan::default()
    };
    let opened = Opened::of(step).marked(lines.collect(), Some(plane(0.0)));
    opened.found(&Measured::Sections(sections.to_vec()))
}

fn printed() -> Status {
    let zones = Zones {
        big_percent: 90.0,
        middle_percent: 40.0,
        small_percent: 0.0,
    };
    let step = ContactPlan {
        found_arcsec: Some([0.5, 2.0]),
        ..ContactPlan::default()
    };
    let lines = vec![mark(1, Place::Print(zones), None)];
    Opened::of(step).marked(lines, None).found(&zones)
}

fn checked() -> Status {
    let at = |nominal: &str| Place::Nominal {
        nominal: mm(nominal),
        direction: Direction::Up,
    };
    let readings = [("0", 0.0), ("0.4", 0.4012), ("0.8", 0.8007)];
    let lines = (1..).zip(&readings);
    let lines = lines.map(|(n, (nominal, value))| mark(n, at(nominal), Some(*value)));
    let points = readings.map(|(nominal, reading_mm)| DialPoint {
        nominal_mm: mm(nominal).mm(),
        reading_mm,
        direction: Direction::Up,
    });
    let opened = Opened::of(DialPlan::default()).marked(lines.collect(), Some(at("1.2")));
    opened.found(&points.to_vec())
}

pub fn kinds() -> [(&'static str, Status); StepKind::ALL.len()] {
    [
        ("zero", zeroed(4e-3)),
        ("sweep", swept()),
        ("runout", turned()),
        ("size", sized()),
        ("contact", printed()),
        ("dial", checked()),
    ]
}
