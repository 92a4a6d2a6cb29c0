//! A line of start, data, parity and stop bits that is sampled as a receiver samples it, and what it is made of by
//! chance.

#![allow(dead_code, unreachable_pub, reason = "each test uses its part of it")]

/// How characters are put on the line. Parity: 0 none, 1 even, 2 odd.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    pub speed: u32,
    pub data: u32,
    pub parity: u32,
}

pub const SPEEDS: [u32; 8] = [9600, 4800, 19_200, 2400, 1200, 38_400, 57_600, 115_200];
pub const FORMATS: [(u32, u32); 4] = [(8, 0), (7, 1), (7, 2), (8, 1)];

/// The level of a line over time: the moments at which it changes, high before the first.
#[derive(Default)]
pub struct Levels {
    edges: Vec<(f64, bool)>,
    pub free_s: f64,
}

impl Levels {
    fn set(&mut self, at: f64, level: bool) {
        let now = self.edges.last().is_none_or(|(_, level)| *level);
        if now != level {
            self.edges.push((at, level));
        }
    }

    /// Sends bytes, not before a moment.
    pub fn send(&mut self, line: Line, at_s: f64, bytes: &[u8]) {
        let bit = 1.0 / f64::from(line.speed);
        let mut t = at_s.max(self.free_s);
        for byte in bytes {
            self.set(t, false);
            let mut ones = 0;
            for n in 0..line.data {
                t += bit;
                let level = byte >> n & 1 == 1;
                ones += u32::from(level);
                self.set(t, level);
            }
            if line.parity > 0 {
                t += bit;
                // Even: the number of ones with the parity bit is even.
                self.set(t, (ones + line.parity).is_multiple_of(2));
            }
            t += bit;
            self.set(t, true);
            t += bit;
        }
        self.free_s = t;
    }

    /// What a receiver makes of it between two moments: bytes with their times, and its errors.
    pub fn receive(&self, line: Line, from_s: f64, to_s: f64) -> (Vec<(f64, u8)>, u64) {
        let characters = self.characters(line, from_s, to_s);
        let errors = characters.iter().filter(|c| c.2).count() as u64;
        let bytes = characters.into_iter().map(|(t, byte, damaged)| {
            // With parity on, the driver gives a zero for a character with an error.
            let zero = damaged && line.parity > 0;
            (t, if zero { 0 } else { byte })
        });
        (bytes.collect(), errors)
    }

    /// The same, and of each byte whether its parity or stop bit was wrong.
    pub fn characters(&self, line: Line, from_s: f64, to_s: f64) -> Vec<(f64, u8, bool)> {
        let bit = 1.0 / f64::from(line.speed);
        let level = |t: f64, from: usize| {
            let mut at = from;
            while at + 1 < self.edges.len() && self.edges[at + 1].0 <= t {
                at += 1;
            }
            (self.edges[at].1, at)
        };
        let mut bytes = Vec::new();
        let mut t = from_s;
        let mut at = self.edges.partition_point(|(edge, _)| *edge < from_s);
        // After a bad stop bit a receiver takes that bit for the start of the next character, as the
        // 16550 does (its data sheet, line status register, bit 3; from memory).
        let mut low_from: Option<f64> = None;
        while at < self.edges.len() {
            let (edge, high) = self.edges[at];
            if low_from.is_none() && (high || edge < t) {
                at += 1;
                continue;
            }
            let start = low_from.take().unwrap_or(edge);
            if start > to_s {
                break;
            }
            let mut sample = |n: u32| {
                let (is_high, now) = level(start + (f64::from(n) + 0.5) * bit, at);
                at = now;
                is_high
            };
            if sample(0) {
                at += 1;
                continue;
            }
            let mut byte = 0;
            for n in 0..line.data {
                byte |= u8::from(sample(n + 1)) << n;
            }
            let mut is_wrong = false;
            let mut length = 1 + line.data;
            if line.parity > 0 {
                is_wrong = (byte.count_ones() + line.parity).is_multiple_of(2);
                is_wrong = is_wrong != sample(length);
                length += 1;
            }
            let stop = sample(length);
            t = start + (f64::from(length) + 0.5) * bit;
            let damaged = is_wrong || !stop;
            bytes.push((t, byte, damaged));
            let zero = byte == 0 || line.parity > 0;
            if !stop && !zero {
                low_from = Some(start + f64::from(length) * bit);
            }
        }
        bytes
    }
}
