//! A reading takes no memory from the allocator on its way from bytes to a value, so a fast cable leaves nothing behind and waits for
//! nothing.

use conewright_protocol::frame::{Frame, Sniffer};
use metrology::{Length, Unit};

const READINGS: usize = 1_000;

#[test]
fn no_frame_allocates_for_a_reading() {
    let mut checked = 0;
    // What a person types comes once in seconds, and goes through the reader of lengths that the command line has.
    for name in Frame::names().iter().filter(|name| **name != "typed") {
        let Some(frame) = Frame::shipped(name) else {
            continue;
        };
        let bytes: Vec<u8> = (0..READINGS as i64)
            .flat_map(|n| {
                let value = Length::from_um(n * 37 % 12_345 - 600);
                frame
                    .encode(value, Length::from_um(1), Unit::Mm)
                    .unwrap_or_default()
            })
            .collect();
        let mut sniffer = Sniffer::new(frame, Unit::Mm);
        let mut found = 0;
        // What is set up once, at the first readings, is not counted.
        sniffer.push(&bytes, &mut |_| {});
        let counted = allocation_counter::measure(|| {
            for read in bytes.chunks(11) {
                sniffer.push(read, &mut |_| found += 1);
            }
        });
        assert_eq!(counted.count_total, 0, "{name}: {counted:?}");
        // A frame whose only edge is the silence between two has no readings here.
        checked += usize::from(found > READINGS / 2);
    }
    assert!(checked >= 7, "{checked} frames were checked");
}
