//! How long the question takes whether the newest reading has settled: the daemon asks it for every reading that somebody sees.
//! `cargo bench -p conewright-protocol --bench dwell`

use conewright_protocol::dwell::settle;
use conewright_protocol::evidence::{Reading, Time};
use divan::Bencher;
use divan::counter::ItemsCount;
use metrology::Length;
use metrology::setup::SettleRule;

fn main() {
    divan::main();
}

/// What the indicator does.
#[derive(Debug, Clone, Copy)]
enum Does {
    /// It stands, and its last digit flickers.
    Stands,
    /// It stands after a tap 1 s ago.
    Tapped,
    /// It jumps a little all the time, as beside a running wheel.
    Jumps,
}

/// The last 30 s of a cable that sends so many readings a second, resolution 0.1 µm.
fn readings(a_second: i64, does: Does) -> Vec<Reading> {
    let count = 30 * a_second;
    (0..count)
        .map(|n| {
            let pm = match does {
                Does::Jumps => 1_000_000 * (n % 7),
                Does::Stands => 100_000 * (n * n % 3),
                Does::Tapped => {
                    100_000 * (n * n % 3) + i64::from(n > count - a_second) * 20_000_000
                }
            };
            Reading {
                seq: n as u64,
                t: Time(n * 1_000_000_000 / a_second),
                value: Length::from_pm(pm),
                resolution: Length::from_pm(100_000),
            }
        })
        .collect()
}

#[divan::bench(args = [20, 100, 1000], consts = [0, 1, 2])]
fn newest<const DOES: usize>(bencher: Bencher, a_second: i64) {
    let readings = readings(a_second, [Does::Stands, Does::Tapped, Does::Jumps][DOES]);
    let now = readings[readings.len() - 1].t;
    let rule = SettleRule::default();
    bencher
        .counter(ItemsCount::new(1_usize))
        .bench_local(|| settle(divan::black_box(&readings), now, &rule));
}
