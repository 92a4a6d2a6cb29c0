//! How often garbage is taken for a reading, by frame.
//!
//! Two kinds: random bytes, as a wrong speed or a broken line makes them, and random printable signs with
//! terminators, as another program or instrument may send them. The generator is seeded, so a count is
//! the same on every run; the bounds are what the form of a frame lets through by arithmetic, with room for
//! the scatter of a count. `cargo test -p conewright-protocol --test garbage -- --nocapture` prints the table.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_protocol::frame::{Frame, Sniffer};
use metrology::Unit;

/// SplitMix64. Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        ((u128::from(self.next()) * n as u128) >> 64) as usize
    }
}

const BYTES: usize = 1_000_000;

/// The readings in random bytes. Where only silence parts frames, there are silences too.
fn readings(frame: &Frame, mut fill: impl FnMut(&mut Random) -> u8, bursts: bool) -> u64 {
    let mut random = Random(1);
    let mut sniffer = Sniffer::new(frame.clone(), Unit::Mm);
    let mut count = 0;
    let mut left = BYTES;
    while left > 0 {
        let most = if bursts { 1 + random.below(6) } else { 4096 };
        let bytes: Vec<u8> = (0..most.min(left)).map(|_| fill(&mut random)).collect();
        sniffer.push(&bytes, &mut |_| count += 1);
        if bursts {
            sniffer.pause(&mut |_| count += 1);
        }
        left -= bytes.len();
    }
    count
}

#[test]
fn garbage_is_seldom_taken_for_a_reading() {
    // The shortest line of `text` is a terminator, two digits with a point, a terminator. In random bytes
    // that is 2/256 · (10/256)² · 2/256 · 2/256 = 0.7 in 10⁹, and with longer ones below 2 in 10⁹.
    // All other frames but these have more to them, so that none is expected in a million bytes.
    let random_bytes = |name: &str| match name {
        // A burst is three bytes once in six, and those are well formed once in four; the next burst has to
        // be so too, and within 10 mm of the first, which is 1 in 1 200: 1.5 in 10⁶ bursts, 0.4 in
        // 10⁶ bytes. More than 4 are seen once in 10 000 seeds.
        "bits24" => 4,
        // A digit alone is typed text: 2/256 · 10/256 · 2/256 = 2.4 in 10⁶, and with longer ones 2.6.
        // More than 8 are seen once in 500 seeds. A port listens to it only when it is told to.
        "typed" => 8,
        _ => 0,
    };
    // The same among 97 bytes instead of 256: 1.0 in 10⁷ for the shortest line of `text`, 1.3 in 10⁷ with
    // longer ones. More than 1 is seen once in 100 seeds.
    let printable = |name: &str| match name {
        // 2/97 · (10/97) · 2/97 and longer: 50 in 10⁶.
        "typed" => 90,
        "text" | "text-status" => 1,
        // Six digits of 22 among 97, and terminators: 6 in 10⁸, a quarter of them well formed.
        _ => 0,
    };
    let mut beyond: Vec<&str> = Vec::new();
    println!("readings in a million bytes: random, printable");
    for name in Frame::names() {
        let frame = Frame::shipped(name).unwrap();
        let bursts = *name == "bits24";
        let random = readings(&frame, |r| r.next() as u8, bursts);
        let text = |r: &mut Random| match r.below(97) as u8 {
            0 => b'\r',
            1 => b'\n',
            n => b' ' + n - 2,
        };
        let lines = readings(&frame, text, bursts);
        println!("{name:<16} {random:>8} {lines:>8}");
        if random > random_bytes(name) || lines > printable(name) {
            beyond.push(*name);
        }
    }
    assert!(
        beyond.is_empty(),
        "more than the form lets through: {beyond:?}"
    );
}
