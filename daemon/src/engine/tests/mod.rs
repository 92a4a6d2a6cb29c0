//! Whole sessions drawn at random: verbs, readings, time, a store that is slow, full or broken, kills and restarts, in every order in
//! which they can meet. After each restart, and whenever the draw looks, store and screen must have exactly what the plain book has.
//!
//! A failure is made small by proptest, and printed as the list of what happened. The usual run takes a few sequences;
//! `CONEWRIGHT_SESSIONS=10000 cargo test -p conewright-daemon --lib engine::tests` takes more, and `PROPTEST_RNG_SEED` draws others.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod act;
mod book;
mod world;

use crate::store::Fault;
use act::{Act, Kind};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, TestCaseError, TestRunner};
use protocol::api::CableState;
use std::cell::RefCell;
use world::{Met, Trouble, World};

/// Sequences in the usual run.
const USUAL: u32 = 24;

/// Something that happens.
#[derive(Debug, Clone)]
enum Happens {
    /// A client asks.
    Ask(Act),
    /// A client asks, and the store works until it is quiet.
    Do(Act),
    /// The cable sends so many readings about a place, in micrometres.
    Readings(usize, i64),
    State(CableState),
    /// The cable is opened with this adapter.
    Instrument(&'static str),
    Garbage,
    /// The store does what it was given; the engine does not hear of it yet.
    Perform,
    /// The engine hears of it.
    Deliver,
    Settle,
    Advance(i64),
    Sleep(i64),
    SetClock(i64),
    Trouble(Option<Trouble>),
    Look,
    /// With or without a start of the computer.
    Kill(bool),
    /// Killed when a change is on the disk, and before anybody hears of it.
    Cut,
    Stop(bool),
}

impl Happens {
    async fn to(&self, world: &mut World) -> Result<(), String> {
        match self {
            Self::Ask(act) => world.ask(act.clone()).await,
            Self::Do(act) => {
                world.ask(act.clone()).await?;
                world.settle().await
            }
            Self::Readings(count, um) => world.readings(*count, *um).await,
            Self::State(state) => world.state(*state).await,
            Self::Instrument(known_as) => world.instrument(known_as).await,
            Self::Garbage => world.garbage().await,
            Self::Perform => world.perform().await,
            Self::Deliver => world.deliver().await,
            Self::Settle => world.settle().await,
            Self::Advance(ms) => world.advance(*ms).await,
            Self::Sleep(ms) => world.sleep(*ms).await,
            Self::SetClock(ms) => world.set_clock(*ms).await,
            Self::Trouble(trouble) => {
                world.trouble(*trouble);
                Ok(())
            }
            Self::Look => world.look().await,
            Self::Kill(boots) => world.kill(*boots).await,
            Self::Cut => {
                world.perform().await?;
                world.kill(false).await
            }
            Self::Stop(boots) => world.stop(*boots).await,
        }
    }
}

fn acts() -> impl Strategy<Value = Act> {
    let kinds = prop_oneof![
        4 => Just(Kind::Zero),
        2 => Just(Kind::Feed),
        1 => Just(Kind::Size),
        1 => Just(Kind::Dial),
        1 => Just(Kind::Contact),
    ];
    prop_oneof![
        3 => Just(Act::Open),
        1 => Just(Act::CloseSession),
        5 => kinds.prop_map(Act::Step),
        2 => Just(Act::CloseStep),
        10 => (-50_i64..50).prop_map(Act::Type),
        8 => prop_oneof![Just(None), (1_u32..4).prop_map(Some)].prop_map(Act::Mark),
        3 => prop_oneof![Just("A"), Just("B"), Just("42.5"), Just("nowhere"), Just("90,40,0")]
            .prop_map(Act::At),
        4 => Just(Act::Undo),
        2 => any::<bool>().prop_map(Act::Clamp),
        1 => Just(Act::Ground),
        2 => any::<u8>().prop_map(Act::Note),
        2 => Just(Act::Accept),
        1 => Just(Act::Flush),
    ]
}

fn happenings() -> impl Strategy<Value = Happens> {
    let states = prop_oneof![3 => Just(CableState::Live), 1 => Just(CableState::Gone), 1 => Just(CableState::Stale)];
    let fault = prop_oneof![Just(Fault::Full), Just(Fault::Io), Just(Fault::ReadOnly)];
    let trouble = (0_u32..12, fault, any::<bool>()).prop_map(|(after, fault, for_good)| Trouble {
        after,
        fault,
        for_good,
    });
    prop_oneof![
        14 => acts().prop_map(Happens::Ask),
        14 => acts().prop_map(Happens::Do),
        8 => (1_usize..40, -40_i64..40).prop_map(|(n, um)| Happens::Readings(n, um)),
        2 => states.prop_map(Happens::State),
        2 => prop_oneof![Just("0403:6001:OWN"), Just("0403:6001:OTHER")].prop_map(Happens::Instrument),
        1 => Just(Happens::Garbage),
        8 => Just(Happens::Perform),
        8 => Just(Happens::Deliver),
        4 => Just(Happens::Settle),
        3 => (1_i64..3_000).prop_map(Happens::Advance),
        1 => (1_i64..100_000).prop_map(Happens::Sleep),
        1 => (-100_000_i64..100_000).prop_map(Happens::SetClock),
        6 => prop_oneof![1 => Just(None), 3 => trouble.prop_map(Some)].prop_map(Happens::Trouble),
        2 => Just(Happens::Look),
        2 => prop::bool::weighted(0.2).prop_map(Happens::Kill),
        3 => Just(Happens::Cut),
        1 => prop::bool::weighted(0.2).prop_map(Happens::Stop),
    ]
}

/// A session with a step, most of the time: without one everything is refused.
fn sequences() -> impl Strategy<Value = Vec<Happens>> {
    let begun = [
        Happens::Do(Act::Open),
        Happens::Do(Act::Step(Kind::Zero)),
        Happens::State(CableState::Live),
    ];
    let rest = vec(happenings(), 1..50);
    (prop::bool::weighted(0.85), rest).prop_map(move |(begins, rest)| {
        let begun = begun.iter().filter(|_| begins).cloned();
        begun.chain(rest).collect()
    })
}

fn played(sequence: &[Happens]) -> Result<Met, String> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .start_paused(true)
        .build()
        .unwrap();
    runtime.block_on(async {
        let mut world = World::new().await?;
        for (at, happens) in sequence.iter().enumerate() {
            let told = happens.to(&mut world).await;
            told.map_err(|why| format!("at {at}, {happens:?}: {why}"))?;
        }
        world.end().await
    })
}

#[test]
fn store_and_screen_have_what_was_acknowledged_whatever_happens() {
    let stated = std::env::var("CONEWRIGHT_SESSIONS").ok();
    let cases = stated.map_or(USUAL, |cases| cases.parse().expect("a number of sequences"));
    let config = Config {
        cases,
        failure_persistence: None,
        max_shrink_iters: 2_000,
        ..Config::default()
    };
    let all = RefCell::new(Met::default());
    let result = TestRunner::new(config).run(&sequences(), |sequence| {
        let met = played(&sequence).map_err(TestCaseError::fail)?;
        let mut all = all.borrow_mut();
        all.acknowledged += met.acknowledged;
        all.marks += met.marks;
        all.refused += met.refused;
        all.by_the_store += met.by_the_store;
        all.kills += met.kills;
        all.kills_between += met.kills_between;
        all.stops += met.stops;
        all.looks += met.looks;
        Ok(())
    });
    let all = all.into_inner();
    println!("{cases} sequences: {all:?}");
    if let Err(failure) = result {
        panic!("{failure}");
    }
    // Each kind of thing was met, so that nothing passes for want of having been tried; in a few sequences that is chance.
    let cases = cases as usize;
    assert!(all.marks > 0 && all.stops >= cases, "{all:?}");
    if cases >= 200 {
        assert!(
            all.marks > cases / 2 && all.acknowledged > 2 * cases,
            "{all:?}"
        );
        assert!(
            all.by_the_store > cases / 20 && all.refused > cases,
            "{all:?}"
        );
        assert!(
            all.kills > cases / 2 && all.kills_between > cases / 20,
            "{all:?}"
        );
    }
}

/// Found by the draw above. A mark is of the moment at which it was asked for, and its step was being committed then: the readings
/// that came meanwhile counted live, and no record had them.
#[test]
fn readings_that_came_while_the_step_was_being_opened_are_stored_with_it() {
    let sequence = [
        Happens::Do(Act::Open),
        Happens::State(CableState::Live),
        Happens::Ask(Act::Step(Kind::Feed)),
        Happens::Ask(Act::Mark(None)),
        Happens::Readings(5, 3),
        Happens::Settle,
        Happens::Readings(5, 9),
        Happens::Do(Act::Mark(None)),
        Happens::Look,
        Happens::Kill(false),
    ];
    let met = played(&sequence).unwrap();
    assert_eq!(met.marks, 2, "{met:?}");
}

/// The same sequence is the same run: a failure that was seen is seen again.
#[test]
fn a_sequence_plays_alike_each_time() {
    let mut runner = TestRunner::deterministic();
    for _ in 0..2 {
        let sequence = sequences().new_tree(&mut runner).unwrap().current();
        let told = || format!("{:?}", played(&sequence));
        assert_eq!(told(), told());
    }
}
