//! Any description of a line, as JSON up to the first zero byte: refused, or it reads what it writes, and
//! any bytes behind the zero.

#![no_main]

use conewright_metrology::{Length, Unit};
use conewright_protocol::frame::{Frame, Modbus, Sniffer, TextPattern};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let end = data.iter().position(|b| *b == 0).unwrap_or(data.len());
    let frame = if let Ok(pattern) = serde_json::from_slice::<TextPattern>(&data[..end]) {
        Frame::from_pattern(&pattern).map_err(|error| error.to_string())
    } else if let Ok(modbus) = serde_json::from_slice::<Modbus>(&data[..end]) {
        Frame::from_modbus(modbus).map_err(|error| error.to_string())
    } else {
        return;
    };
    let frame = match frame {
        Ok(frame) => frame,
        Err(message) => {
            assert!(!message.is_empty());
            return;
        }
    };
    for unit in [Unit::Mm, Unit::In, Unit::Um] {
        for count in [0, 1, -1, 123_456, -987_654_321] {
            let value = Length::from_pm(count * 254_000);
            let Some(bytes) = frame.encode(value, Length::from_pm(254_000), unit) else {
                continue;
            };
            let mut values = Vec::new();
            let mut sniffer = Sniffer::new(frame.clone(), unit);
            sniffer.pause(&mut |value| values.push(value));
            sniffer.push(&bytes, &mut |value| values.push(value));
            assert_eq!(values.len(), 1, "{}", bytes.escape_ascii());
            assert_eq!(sniffer.skipped_bytes(), 0);
        }
    }
    let mut sniffer = Sniffer::new(frame, Unit::Mm);
    for part in data[end..].chunks(7) {
        sniffer.push(part, &mut |value| assert!(value.value.abs() <= Length::LIMIT));
        assert!(sniffer.waiting_bytes() <= 512);
    }
});
