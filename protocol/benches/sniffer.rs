//! How long a reading's way from bytes to value takes. `cargo bench -p conewright-protocol`

use conewright_protocol::frame::{Frame, Sniffer};
use divan::Bencher;
use divan::counter::ItemsCount;
use metrology::{Length, Unit};

fn main() {
    divan::main();
}

const FRAMES: usize = 1000;

fn stream(frame: &Frame) -> Vec<u8> {
    (0..FRAMES as i64)
        .flat_map(|n| {
            let value = Length::from_um(n * 37 % 12_345 - 6_000);
            let bytes = frame.encode(value, Length::from_um(1), Unit::Mm);
            bytes.unwrap_or_default()
        })
        .collect()
}

/// One frame a read, as a port delivers them.
#[divan::bench(args = ["text", "text-fixed", "text-status", "bcd13", "bcd13-hex", "bits24-hex", "modbus", "typed"])]
fn frame_by_frame(bencher: Bencher, name: &str) {
    let Some(frame) = Frame::shipped(name) else {
        return;
    };
    let bytes = stream(&frame);
    let mut sniffer = Sniffer::new(frame, Unit::Mm);
    let size = bytes.len() / FRAMES;
    bencher.counter(ItemsCount::new(FRAMES)).bench_local(|| {
        let mut count = 0_usize;
        for read in bytes.chunks(size) {
            sniffer.push(read, &mut |_| count += 1);
        }
        count
    });
}

/// Bytes that are no frame.
#[divan::bench(args = ["text", "bcd13", "modbus"])]
fn garbage(bencher: Bencher, name: &str) {
    let Some(frame) = Frame::shipped(name) else {
        return;
    };
    let mut state = 1_u32;
    let bytes: Vec<u8> = (0..100_000)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 24) as u8
        })
        .collect();
    let mut sniffer = Sniffer::new(frame, Unit::Mm);
    bencher
        .counter(divan::counter::BytesCount::new(bytes.len()))
        .bench_local(|| sniffer.push(&bytes, &mut |_| {}));
}
