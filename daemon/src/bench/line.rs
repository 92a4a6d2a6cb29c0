//! What a receiver hears that is set otherwise than the sender.

use config::model::{Parity, SerialSettings};

/// Bits of one character on the line: start, eight of data, stop.
const BITS: usize = 10;

/// The bytes that a receiver set to `heard` bits a second makes of `bytes` sent without pause at `sent`, both 8N1.
///
/// The receiver waits for the line to fall, then takes the middle of each of its own bit times. A character
/// whose stop bit is low is handed over as NUL, as a Linux terminal does with framing errors. The line is
/// idle before and after.
pub(super) fn heard_at(bytes: &[u8], sent: u32, heard: u32) -> Vec<u8> {
    if sent == heard {
        return bytes.to_vec();
    }
    let level = |time: f64| -> bool {
        // Times are in the sender's bits. Beyond the last stop bit the line is idle, which is high.
        let bit = time.floor() as usize;
        match (bytes.get(bit / BITS), bit % BITS) {
            (None, _) | (_, 9) => true,
            (_, 0) => false,
            (Some(byte), n) => byte >> (n - 1) & 1 == 1,
        }
    };
    let end = (bytes.len() * BITS) as f64;
    let own_bit = f64::from(sent) / f64::from(heard);
    let mut out = Vec::new();
    let mut now = 0.0_f64;
    while now < end {
        if level(now) {
            // Levels change only at the sender's whole bits.
            now = now.floor() + 1.0;
            continue;
        }
        let sample = |n: usize| level(now + (n as f64 + 0.5) * own_bit);
        if sample(0) {
            // Too short for a start bit: a glitch, to this receiver.
            now = now.floor() + 1.0;
            continue;
        }
        let byte = (0..8).fold(0_u8, |byte, n| byte | (u8::from(sample(n + 1)) << n));
        let whole = sample(9);
        out.push(if whole { byte } else { 0 });
        now += 9.5 * own_bit;
        // After a framing error the receiver waits for the line to come up again.
        while !whole && now < end && !level(now) {
            now = now.floor() + 1.0;
        }
    }
    out
}

/// A character of 7 bits with what a receiver of 8 bits takes for the eighth: the parity, or the second stop bit.
pub(super) fn eighth_bit(byte: u8, line: &SerialSettings) -> u8 {
    if line.data_bits != 7 {
        return byte;
    }
    let low = byte & 0x7f;
    let is_odd = low.count_ones() % 2 == 1;
    let high = match line.parity {
        Parity::Even => is_odd,
        Parity::Odd => !is_odd,
        Parity::None => true,
    };
    low | u8::from(high) << 7
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_speed_hears_the_same() {
        // 1 % off is within what every receiver bears: half a bit in ten is 5 %.
        let text = b"+0.0123 mm\r\n";
        assert_eq!(heard_at(text, 9600, 9600), text);
        assert_eq!(heard_at(text, 9600, 9696), text);
    }

    #[test]
    fn another_speed_hears_something_else() {
        let text = b"+0.0123 mm\r\n";
        for heard in [300, 1200, 2400, 4800, 19_200, 38_400, 115_200] {
            let got = heard_at(text, 9600, heard);
            assert_ne!(got, text, "{heard}");
            // A faster receiver sees more characters, a slower one fewer, and none more than the line has room for.
            let room = text.len() * heard as usize / 9600 + 1;
            assert!(got.len() <= room.max(text.len()), "{heard}: {got:?}");
        }
    }

    #[test]
    fn twice_the_speed_doubles_every_bit() {
        // Carriage return is 0000 1101; sent at half the receiver's speed it is 00 for the start, then, low bit
        // first, 11 00 11 11 …. The receiver takes a start, 0 11 00 11 1 low bit first, and a stop that is high.
        assert_eq!(heard_at(b"\r", 4800, 9600)[0], 0b1110_0110);
        // With bit 3 low the stop bit is low as well: a framing error.
        assert_eq!(heard_at(b"U", 4800, 9600)[0], 0);
    }
}
