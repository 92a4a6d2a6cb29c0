//! Pieces of work whose instructions are counted: `tests/counts` runs each so many times and twice as many times, and the difference is
//! the piece's own, without the program's start.

#![allow(clippy::unwrap_used, reason = "a panic is the program's message")]

use crate::year::{anchor, mark, opening, reading, setup};
use daemon::store::{NoFault, ReadingRow, Row, Store, Write};
use metrology::runout::RunoutSums;
use metrology::setup::SettleRule;
use metrology::sweep::SweepSums;
use metrology::{Length, Unit};
use protocol::dwell::settle;
use protocol::evidence::{Evidence, MarkSource, Reading, Time};
use protocol::fold::{StepKind, outcome};
use protocol::frame::{Frame, Sniffer};
use protocol::plan::Plan;
use std::hint::black_box;
use std::sync::Arc;

/// A piece of work.
#[derive(Debug, Clone, Copy)]
pub struct Piece {
    /// Its name in the table.
    pub name: &'static str,
    /// How often it is done in a run, at least: enough that what happens now and then is shared out.
    pub times: usize,
    /// Does it so many times.
    pub run: fn(usize),
}

/// All pieces.
pub const PIECES: [Piece; 9] = [
    Piece {
        name: "decode_text",
        times: 20_000,
        run: |times| decode("text", times),
    },
    Piece {
        name: "decode_bcd13",
        times: 20_000,
        run: |times| decode("bcd13", times),
    },
    Piece {
        name: "settle",
        times: 2_000,
        run: settled,
    },
    Piece {
        name: "live_sweep",
        times: 20_000,
        run: live_sweep,
    },
    Piece {
        name: "live_turn",
        times: 20_000,
        run: live_turn,
    },
    Piece {
        name: "zero_mark_30",
        times: 200,
        run: |times| zero_mark(30, times),
    },
    Piece {
        name: "zero_mark_1000",
        times: 10,
        run: |times| zero_mark(1_000, times),
    },
    Piece {
        name: "store_mark",
        times: 300,
        run: store_mark,
    },
    Piece {
        name: "store_readings",
        times: 300,
        run: store_readings,
    },
];

/// Readings from the bytes of a port, one frame a read.
fn decode(frame: &str, times: usize) {
    let frame = Frame::shipped(frame).unwrap();
    let bytes: Vec<Vec<u8>> = (0..100)
        .map(|n| {
            let value = Length::from_um(n * 37 % 12_345 - 600);
            frame
                .encode(value, Length::from_um(1), Unit::Mm)
                .unwrap_or_default()
        })
        .collect();
    let mut sniffer = Sniffer::new(frame, Unit::Mm);
    let mut found = 0;
    for bytes in bytes.iter().cycle().take(times) {
        sniffer.push(black_box(bytes), &mut |decoded| {
            black_box(decoded);
            found += 1;
        });
    }
    // The first frame of a stream may be the end of another one.
    assert!(found + 2 >= times, "{found} of {times}");
}

/// Whether the newest of a hundred readings a second has settled, as is asked for each.
fn settled(times: usize) {
    let readings: Vec<Reading> = (0..3_000).map(|n| reading(n, 0, 0)).collect();
    for n in 0..times {
        let upto = &readings[..1_000 + n % 2_000];
        let now = upto[upto.len() - 1].t;
        let _ = black_box(settle(black_box(upto), now, &SettleRule::default()));
    }
}

fn live_sweep(times: usize) {
    let mut sums = SweepSums::default();
    for n in 0..times {
        sums.push(black_box(n as f64 * 1e-3), 1e-3 * (n % 7) as f64);
        black_box(sums.so_far());
    }
}

fn live_turn(times: usize) {
    let mut sums = RunoutSums::default();
    for n in 0..times {
        sums.push(black_box(Some(n as f64 * 0.7)), 1e-3 * (n % 7) as f64);
        black_box(sums.so_far());
    }
}

/// The outcome that is computed at a mark, of so many marks.
fn zero_mark(marks: usize, times: usize) {
    let (plan, setup) = (Plan::usual(StepKind::Zero), setup());
    let mut evidence = Evidence::default();
    for n in 0..marks {
        let mut mark = mark(n, "typed", 0..1, Time(n as i64 * 1_000_000_000));
        mark.source = MarkSource::Typed {
            value: Length::from_um(100 + n as i64 * 7 % 5),
            resolution: Length::from_um(1),
            shown: None,
        };
        evidence.marks.push(mark);
    }
    for _ in 0..times {
        black_box(outcome(&plan, &setup, black_box(&evidence))).unwrap();
    }
}

/// Transactions of a step's readings and marks, each of `readings` readings and the mark of the last 25 where there is one.
fn store(times: usize, readings: usize, with_mark: bool) {
    let directory = tempfile::tempdir().unwrap();
    let mut store = Store::open(directory.path(), Box::new(NoFault)).unwrap();
    store.begin_run("0.0.0", &anchor(0)).unwrap();
    store.write(&opening(&setup(), 1, 0)).unwrap();
    let cable: Arc<str> = "bench".into();
    for n in 0..times {
        let group = n * readings..(n + 1) * readings;
        let rows = if with_mark {
            let at = Time(group.end as i64 * 10_000_000);
            vec![Row::Mark {
                step: 1,
                mark: mark(n, &cable, group.end - 25..group.end, at),
            }]
        } else {
            Vec::new()
        };
        let readings = group
            .map(|n| ReadingRow {
                step: 1,
                cable: Arc::clone(&cable),
                reading: reading(n, 0, 0),
            })
            .collect();
        store.write(&Write { readings, rows }).unwrap();
    }
    store.close().unwrap();
}

/// A mark with its 25 readings.
fn store_mark(times: usize) {
    store(times, 25, true);
}

/// A hundred readings.
fn store_readings(times: usize) {
    store(times, 100, false);
}
