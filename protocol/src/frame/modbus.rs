//! Registers read over Modbus RTU.
//!
//! Source: MODBUS Application Protocol Specification V1.1b3, sections 6.3 and 6.4 (functions 03 and 04),
//! and MODBUS over Serial Line Specification and Implementation Guide V1.02, section 2.5.1 and appendix B
//! (frame and CRC). A reply is: address, function, number of bytes, the registers with their high byte
//! first, CRC with its low byte first. The order of the two words of a 32-bit value is not in the
//! specification and differs between instruments.

use super::line::{Edge, Step, View};
use super::{Decoded, PatternError, steps};
use metrology::Length;
use serde::{Deserialize, Serialize};

/// A value in the registers of an instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Modbus {
    /// The instrument's address, 1 to 247. Default: 1.
    pub address: u8,
    /// Which registers. Default: holding.
    pub registers: Registers,
    /// The number of the first one, counted from 0. Default: 0.
    pub register: u16,
    /// How many bits, 16 or 32. Default: 32.
    #[serde(rename = "bits")]
    pub width: Width,
    /// Which word of 32 bits comes first. Default: the high one.
    pub words: WordOrder,
    /// Whether it can be negative (two's complement). Default: it can.
    pub signed: bool,
    /// The length of one count. Default: 1 µm.
    #[serde(rename = "step_mm")]
    pub step: Length,
}

/// The two kinds of registers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Registers {
    /// Function 03.
    #[default]
    Holding,
    /// Function 04.
    Input,
}

/// The size of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(into = "u8", try_from = "u8")]
pub enum Width {
    /// One register.
    Bits16,
    /// Two registers.
    #[default]
    Bits32,
}

impl From<Width> for u8 {
    fn from(width: Width) -> Self {
        match width {
            Width::Bits16 => 16,
            Width::Bits32 => 32,
        }
    }
}

impl TryFrom<u8> for Width {
    type Error = &'static str;

    fn try_from(bits: u8) -> Result<Self, &'static str> {
        match bits {
            16 => Ok(Self::Bits16),
            32 => Ok(Self::Bits32),
            _ => Err("a value has 16 or 32 bits"),
        }
    }
}

/// The order of the words of a 32-bit value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum WordOrder {
    /// The high word first.
    #[default]
    High,
    /// The low word first.
    Low,
}

impl Default for Modbus {
    fn default() -> Self {
        Self {
            address: 1,
            registers: Registers::default(),
            register: 0,
            width: Width::default(),
            words: WordOrder::default(),
            signed: true,
            step: Length::from_um(1),
        }
    }
}

/// The CRC-16 of Modbus: polynomial A001h (reflected), start FFFFh.
fn crc(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0xffff, |crc, byte| {
        (0..8).fold(crc ^ u16::from(*byte), |crc, _| {
            (crc >> 1) ^ if crc & 1 == 1 { 0xa001 } else { 0 }
        })
    })
}

fn with_crc(mut bytes: Vec<u8>) -> Vec<u8> {
    let crc = crc(&bytes).to_le_bytes();
    bytes.extend_from_slice(&crc);
    bytes
}

pub(super) fn crc_is_right(bytes: &[u8]) -> bool {
    // The CRC of a message with its own CRC behind it is zero.
    crc(bytes) == 0
}

impl Modbus {
    pub(super) fn checked(self) -> Result<Self, PatternError> {
        if !(1..=247).contains(&self.address) {
            return Err(PatternError::OutOfDomain {
                key: "address",
                value: self.address.to_string(),
                domain: "an instrument's address is 1 to 247",
            });
        }
        // Times 2³² it has to stay within what 64 bits hold.
        if self.step <= Length::ZERO || self.step > Length::from_um(200) {
            return Err(PatternError::OutOfDomain {
                key: "step_mm",
                value: self.step.mm().to_string(),
                domain: "the length of one count is above 0 and at most 0.2 mm",
            });
        }
        if self.register == u16::MAX && self.width == Width::Bits32 {
            return Err(PatternError::OutOfDomain {
                key: "register",
                value: self.register.to_string(),
                domain: "the second word would be beyond register 65535",
            });
        }
        Ok(self)
    }

    const fn function(self) -> u8 {
        match self.registers {
            Registers::Holding => 3,
            Registers::Input => 4,
        }
    }

    const fn count(self) -> u8 {
        match self.width {
            Width::Bits16 => 1,
            Width::Bits32 => 2,
        }
    }

    /// The request for the value.
    #[must_use]
    pub fn request(self) -> Vec<u8> {
        let [high, low] = self.register.to_be_bytes();
        with_crc(vec![
            self.address,
            self.function(),
            high,
            low,
            0,
            self.count(),
        ])
    }

    pub(super) fn scan(self, view: View) -> Option<Step> {
        let bytes = view.bytes;
        let garbage = memchr::memchr(self.address, bytes).unwrap_or(bytes.len());
        if garbage > 0 {
            return Some(Step::skip(garbage, Edge::Inside));
        }
        let function = *bytes.get(1)?;
        if function == self.function() | 0x80 {
            // An exception: the instrument answers that it cannot. No value, and shown as what it is.
            let reply = bytes.get(..5)?;
            let length = if crc_is_right(reply) { 5 } else { 1 };
            return Some(Step::skip(length, Edge::Inside));
        }
        if function != self.function() {
            return Some(Step::skip(1, Edge::Inside));
        }
        let data = 2 * self.count();
        let third = *bytes.get(2)?;
        if third == data {
            let reply = bytes.get(..5 + usize::from(data));
            match reply {
                Some(reply) if crc_is_right(reply) => {
                    let length = reply.len();
                    return Some(match self.read(&reply[3..length - 2]) {
                        Some(value) => Step::found(length, 0, value),
                        None => Step::skip(length, Edge::Inside),
                    });
                }
                Some(_) => {}
                None => return None,
            }
        }
        // An adapter for two wires hears what it sends itself.
        let [high, low] = self.register.to_be_bytes();
        let echo = [self.address, function, high, low, 0, self.count()];
        let so_far = bytes.len().min(echo.len());
        if bytes[..so_far] == echo[..so_far] {
            let request = bytes.get(..8)?;
            if crc_is_right(request) {
                return Some(Step::pass(8, 0));
            }
        }
        Some(Step::skip(1, Edge::Inside))
    }

    /// The value in two or four bytes of registers; `None` beyond the domain of a length.
    fn read(self, data: &[u8]) -> Option<Decoded> {
        let word = |at: usize| u32::from(u16::from_be_bytes([data[at], data[at + 1]]));
        let count = match (self.width, self.words, self.signed) {
            (Width::Bits16, _, true) => i64::from(word(0) as u16 as i16),
            (Width::Bits16, _, false) => i64::from(word(0)),
            (Width::Bits32, words, signed) => {
                let bits = match words {
                    WordOrder::High => word(0) << 16 | word(2),
                    WordOrder::Low => word(2) << 16 | word(0),
                };
                if signed {
                    i64::from(bits as i32)
                } else {
                    i64::from(bits)
                }
            }
        };
        let value = Length::from_pm(count * self.step.pm());
        (value.abs() <= Length::LIMIT).then_some(Decoded::bare(value, self.step))
    }

    pub(super) fn encode(self, value: Length) -> Option<Vec<u8>> {
        let count = steps(value, self.step.pm());
        let bits = match (self.width, self.signed) {
            (Width::Bits16, true) => u32::from(i16::try_from(count).ok()? as u16),
            (Width::Bits16, false) => u32::from(u16::try_from(count).ok()?),
            (Width::Bits32, true) => i32::try_from(count).ok()? as u32,
            (Width::Bits32, false) => u32::try_from(count).ok()?,
        };
        let [a, b, c, d] = bits.to_be_bytes();
        let data: &[u8] = match (self.width, self.words) {
            (Width::Bits16, _) => &[c, d],
            (Width::Bits32, WordOrder::High) => &[a, b, c, d],
            (Width::Bits32, WordOrder::Low) => &[c, d, a, b],
        };
        let mut bytes = vec![self.address, self.function(), 2 * self.count()];
        bytes.extend_from_slice(data);
        Some(with_crc(bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_the_published_one() {
        // MODBUS over Serial Line V1.02, appendix B, the frame 02 07: CRC 1241h, sent 41 12 (from memory).
        assert_eq!(crc(&[0x02, 0x07]), 0x1241);
        // The published check value of CRC-16/MODBUS, the CRC of "123456789", is 4B37h: as in the open
        // format description crc16_modbus of kaitai_struct_formats.
        assert_eq!(crc(b"123456789"), 0x4b37);
    }

    #[test]
    fn the_request_and_the_reply_are_laid_out_as_specified() {
        // MODBUS Application Protocol V1.1b3, 6.3: registers 108 to 110 are asked for as 03 00 6B 00 03, and the
        // first of the reply's, 02 2B, is 555 (from memory). The address in front and the CRC behind are of RTU.
        let modbus = Modbus {
            address: 17,
            register: 0x6b,
            width: Width::Bits16,
            ..Modbus::default()
        };
        let request = modbus.request();
        assert_eq!(request[..6], [17, 0x03, 0x00, 0x6b, 0x00, 0x01]);
        assert_eq!(request.len(), 8);
        assert_eq!(
            modbus.read(&[0x02, 0x2b]),
            Some(Decoded::bare(Length::from_um(555), Length::from_um(1)))
        );
    }

    #[test]
    fn two_words_in_both_orders() {
        let read = |words, signed, data: [u8; 4]| {
            let modbus = Modbus {
                words,
                signed,
                ..Modbus::default()
            };
            modbus.read(&data).map(|d| d.value.pm() / 1_000_000)
        };
        let high = [0xff, 0xfe, 0x1d, 0xc0];
        let low = [0x1d, 0xc0, 0xff, 0xfe];
        assert_eq!(read(WordOrder::High, true, high), Some(-123_456));
        assert_eq!(read(WordOrder::Low, true, low), Some(-123_456));
        assert_eq!(read(WordOrder::High, false, high), None, "beyond 1 km");
        assert_eq!(read(WordOrder::Low, true, high), Some(0x1dc0_fffe));
    }
}
