use super::*;
use crate::engine::looks::Nudge;
use config::{Cable, Cadence, PortSelector};
use metrology::Length;
use metrology::setup::{Indicator, Setup, Station};
use protocol::api::CableState;
use protocol::plan::Plan;
use protocol::step::StepKind;
use std::collections::BTreeMap;
use tokio::sync::mpsc;

/// Readings of a dwell, 50 ms apart.
const DWELL: usize = 25;

struct NoClock;

impl crate::clock::Clock for NoClock {
    fn steady_ns(&self) -> i64 {
        0
    }

    fn utc_ns(&self) -> i64 {
        0
    }
}

fn stations() -> Vec<Station> {
    [("A", 0), ("B", 60)]
        .map(|(name, mm)| Station {
            name: name.to_owned(),
            position: Length::from_um(mm * 1_000),
        })
        .into()
}

/// A roster with one cable, which nobody serves.
fn roster() -> Roster {
    let (events, _) = mpsc::channel(1);
    let serve: crate::Serve = Arc::new(|_, _, _, _, _| Box::pin(async {}));
    let ended = Nudge(Arc::default());
    let mut roster = Roster::new(serve, Arc::new(NoClock), events, BTreeMap::new(), ended);
    let port = PortSelector::Path("/dev/none".into());
    let cadence = Cadence::Streams { stale_after_s: 1.0 };
    roster.configure(&[Cable::new("bench", port, cadence, "text")]);
    roster.served[0].state = CableState::Live;
    roster
}

/// A session whose step has so many marks, each with the readings of a dwell, which also pass through `roster`.
fn session(count: usize, roster: &mut Roster) -> (Session, Time) {
    let setup = Setup {
        indicator: Indicator {
            cable: Some("bench".to_owned()),
            ..Indicator::default()
        },
        stations: stations(),
        ..Setup::default()
    };
    let mut step = Step::new(1, 1, Plan::usual(StepKind::Zero), &setup);
    let mut t = Time(0);
    for index in 0..=count {
        let level = Length::from_um(if index % 2 == 0 { 12 } else { 300 });
        let mut used = Vec::new();
        for _ in 0..DWELL {
            t = t.plus_s(0.05);
            used.push(roster.served[0].take(t, level, Length::from_um(1)));
        }
        // The last dwell is not marked yet.
        if index == count {
            break;
        }
        let mark = Mark {
            number: step.next_number(),
            t,
            place: Place::Station(stations()[index % 2].clone()),
            round: index as u32 / 2 + 1,
            clamped: false,
            setting: 0,
            source: MarkSource::Dwell {
                cable: "bench".to_owned(),
                first_seq: used[0].seq,
                last_seq: used[DWELL - 1].seq,
            },
            taken_back: false,
        };
        step.keep(mark, &[("bench".into(), used)]);
    }
    let session = Session {
        id: 1,
        name: "seat of a spindle".to_owned(),
        setup: Arc::new(setup),
        clamped: false,
        setting: 0,
        steps: 1,
        found: crate::store::Found::default(),
        step: Some(step),
    };
    (session, t)
}

/// How many marks and readings a further mark copies in a session of so many marks.
fn copied(count: usize) -> [usize; 2] {
    let mut roster = roster();
    let (before, t) = session(count, &mut roster);
    let request = MarkRequest {
        station: Some("A".to_owned()),
        ..MarkRequest::default()
    };
    let made = mark(&before, &roster, &request, t);
    let (draft, _) = made.map_err(Refusal::from).unwrap();
    let [before, after] = [&before, draft.after.as_ref().unwrap()].map(|session| {
        let evidence = &session.step.as_ref().unwrap().evidence;
        (&evidence.marks, &evidence.readings["bench"])
    });
    assert_eq!(
        (after.0.len(), after.1.len()),
        (count + 1, (count + 1) * DWELL)
    );
    let marks = before.0.iter().zip(after.0);
    let readings = before.1.iter().zip(after.1);
    [
        marks.filter(|(a, b)| !std::ptr::eq(*a, *b)).count(),
        readings.filter(|(a, b)| !std::ptr::eq(*a, *b)).count(),
    ]
}

#[tokio::test]
async fn a_mark_costs_as_much_after_a_thousand_marks_as_after_ten() {
    // Ten of each, since how full the last chunk is goes up and down.
    let most = |from: usize| {
        let costs = (from..from + 10).map(copied);
        costs.fold([0, 0], |most, cost| {
            std::array::from_fn(|i| most[i].max(cost[i]))
        })
    };
    let (few, many) = (most(10), most(1_000));
    for (few, many) in few.iter().zip(many) {
        assert!(many <= 2 * few, "{many} copied after 1 000, {few} after 10");
    }
}

/// A live view is told at once that nothing rests any more, but for what nobody sees.
#[tokio::test]
async fn a_live_view_hears_within_a_hundredth_of_a_second_that_the_reading_moves() {
    let mut roster = roster();
    let served = &mut roster.served[0];
    let rule = metrology::setup::SettleRule::default();
    let mut shown = |ms: i64, um: i64| {
        let t = Time(ms * 1_000_000);
        served.take(t, Length::from_um(um), Length::from_um(1));
        served.settled(t, &rule)
    };
    let rests: Vec<bool> = (0..40).map(|n| shown(50 * n, 7)).collect();
    assert!(!rests[0] && rests[39], "{rests:?}");
    assert!(shown(1_955, 300), "not asked again after 5 ms");
    assert!(!shown(1_960, 300), "after 10 ms it is");
}
