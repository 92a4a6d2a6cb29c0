//! Finding out what an unknown cable speaks: the port is listened to at one likely setting after the other, and what
//! was heard is judged as a whole ([`protocol::identify`]).
//!
//! Listening is done with 8 data bits and no parity, where a sender with 7 bits and parity shows as well: its
//! parity stands in the eighth bit, and is told from the bytes. Eight bits with parity show as framing
//! errors there, and are tried when nothing else fits.

use super::fault::Fault;
use super::raw::{Raw, Received};
use config::model::{Cable, Cadence, Parity, PortSelector, SerialSettings};
use protocol::capture::Chunk;
use protocol::identify::{Identified, REQUESTS, Sample, Sureness, identify as judge};
use std::time::Duration;
use tokio::time::Instant;

/// Speeds from the most to the least usual. *Common practice.*
const SPEEDS: [u32; 13] = [
    9_600, 4_800, 2_400, 19_200, 1_200, 38_400, 115_200, 57_600, 600, 300, 230_400, 460_800,
    921_600,
];
/// Requests are tried at this many of them.
const SPEEDS_ASKED: usize = 7;
/// A setting is listened to for at least this long.
const LISTEN: Duration = Duration::from_millis(700);
/// And for at most this long, while too few bursts of bytes came to judge by.
const LISTEN_LONGER: Duration = Duration::from_millis(3_000);
/// So many bursts are enough to judge by.
const BURSTS: usize = 12;
/// Bytes further apart than this are of two bursts.
const BURST_GAP_NS: i64 = 20_000_000;
/// An answer comes within this.
const ANSWER: Duration = Duration::from_millis(300);
/// An instrument that answers is asked this often in all.
const ASKED: usize = 12;
/// When the share of bytes with the right parity is this much, the eighth bit is a parity bit.
const PARITY_SHARE: f64 = 0.97;

/// The settings that a sample was heard at, and what was asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tried {
    /// The settings.
    pub settings: SerialSettings,
    /// The request that was sent, from [`REQUESTS`].
    pub request: Option<usize>,
}

/// How it is listened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Listening {
    /// Whether the usual requests are sent, when the cable is silent by itself. Only when the user says so: a
    /// request could be a command to something that is no gauge.
    pub ask: bool,
    /// No longer than this is listened, all settings together.
    pub longest: Duration,
}

impl Default for Listening {
    fn default() -> Self {
        Self {
            ask: false,
            longest: Duration::from_secs(40),
        }
    }
}

/// Finds settings and frame of the cable on a port. `progress` is told before each setting.
///
/// # Errors
/// The port cannot be had, or left.
pub async fn identify(
    port: PortSelector,
    listening: Listening,
    mut progress: impl FnMut(&Tried),
) -> Result<Identified<Tried>, Fault> {
    let cable = Cable::new("unknown", port, Cadence::Press, "text");
    let mut search = Search {
        raw: Raw::open(&cable).await?,
        deadline: Instant::now() + listening.longest,
        samples: Vec::new(),
    };
    for speed in SPEEDS {
        let tried = at(speed, 8, Parity::None);
        progress(&tried);
        search.listen(&tried).await?;
        let sample = search.samples.last();
        // Silence is silence at every speed; only a slow stream needs the other ones.
        if let Some(sample) = sample
            && sample.chunks.is_empty()
            && search.samples.len() == 3
            && search.is_silent()
        {
            break;
        }
        search.add_seven_bits();
        if search.is_clear() {
            return Ok(search.judged());
        }
    }
    if listening.ask && search.is_silent() {
        search.ask(&mut progress).await?;
    } else if search.judged().best.is_err() && !search.is_silent() {
        for speed in SPEEDS {
            for parity in [Parity::Even, Parity::Odd] {
                let tried = at(speed, 8, parity);
                progress(&tried);
                search.listen(&tried).await?;
                // A port that keeps no parity, as a pty, was told so by its notes; what it gives was heard before.
                if !search.raw.notes().is_empty() {
                    search.samples.pop();
                }
                if search.is_clear() {
                    return Ok(search.judged());
                }
            }
        }
    }
    Ok(search.judged())
}

struct Search {
    raw: Raw,
    deadline: Instant,
    samples: Vec<Sample<Tried>>,
}

impl Search {
    fn judged(&self) -> Identified<Tried> {
        judge(&self.samples)
    }

    fn is_silent(&self) -> bool {
        self.samples.iter().all(|sample| sample.chunks.is_empty())
    }

    /// Whether the last setting leaves no doubt: then the others need no listening to.
    fn is_clear(&self) -> bool {
        let Some(last) = self.samples.last() else {
            return false;
        };
        let only = judge(std::slice::from_ref(last));
        // Three bytes prove nothing by themselves: only the comparison of all settings does.
        only.best
            .is_ok_and(|best| best.sureness == Sureness::Certain && best.name != "bits24")
    }

    async fn listen(&mut self, tried: &Tried) -> Result<(), Fault> {
        if Instant::now() >= self.deadline {
            return Ok(());
        }
        self.raw.set(&tried.settings)?;
        let begun = Instant::now();
        let mut chunks: Vec<Chunk> = Vec::new();
        loop {
            let enough = bursts(&chunks) >= BURSTS;
            let until = if enough || chunks.is_empty() {
                begun + LISTEN
            } else {
                begun + LISTEN_LONGER
            };
            let until = until.min(self.deadline);
            if Instant::now() >= until {
                break;
            }
            match self.raw.next(until).await {
                Received::Bytes(chunk) => chunks.push(chunk),
                Received::Nothing => {}
                Received::HangUp(words) => return Err(Fault::Gone(words)),
            }
        }
        self.keep(tried.clone(), chunks);
        Ok(())
    }

    async fn ask(&mut self, progress: &mut impl FnMut(&Tried)) -> Result<(), Fault> {
        for speed in SPEEDS.iter().take(SPEEDS_ASKED) {
            for (number, request) in REQUESTS.iter().enumerate() {
                if Instant::now() >= self.deadline {
                    return Ok(());
                }
                let tried = Tried {
                    request: Some(number),
                    ..at(*speed, 8, Parity::None)
                };
                progress(&tried);
                self.raw.set(&tried.settings)?;
                let mut chunks = Vec::new();
                for _ in 0..ASKED {
                    self.raw.send(request.bytes).await;
                    let before = chunks.len();
                    self.answer(&mut chunks).await?;
                    if chunks.len() == before {
                        break;
                    }
                }
                self.keep(tried, chunks);
                self.add_seven_bits();
                if self.is_clear() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    /// Takes an answer: what comes until the line is silent again.
    async fn answer(&mut self, chunks: &mut Vec<Chunk>) -> Result<(), Fault> {
        let mut until = Instant::now() + ANSWER;
        loop {
            match self.raw.next(until).await {
                Received::Bytes(chunk) => {
                    chunks.push(chunk);
                    until = Instant::now() + ANSWER / 4;
                }
                Received::Nothing => return Ok(()),
                Received::HangUp(words) => return Err(Fault::Gone(words)),
            }
        }
    }

    fn keep(&mut self, tried: Tried, chunks: Vec<Chunk>) {
        self.samples.push(Sample {
            speed: tried.settings.baud,
            settings: tried,
            chunks,
            line_errors: None,
        });
    }

    /// Where the eighth bit of what was heard last is a parity bit, it was 7 bits and parity that was sent.
    fn add_seven_bits(&mut self) {
        let Some(last) = self.samples.last() else {
            return;
        };
        let bytes: Vec<u8> = last.chunks.iter().flat_map(|c| &c.bytes).copied().collect();
        // Where no eighth bit is set there is nothing to take off.
        let Some((parity, errors)) = parity_of(&bytes) else {
            return;
        };
        let mut settings = Tried {
            request: last.settings.request,
            ..at(last.speed, 7, parity)
        };
        if parity == Parity::None {
            settings.settings.stop_bits = 2;
        }
        let chunks = last.chunks.iter().map(|chunk| Chunk {
            at_ns: chunk.at_ns,
            bytes: chunk.bytes.iter().map(|byte| byte & 0x7f).collect(),
            damaged: chunk.damaged,
        });
        let sample = Sample {
            chunks: chunks.collect(),
            speed: last.speed,
            settings,
            line_errors: Some(errors),
        };
        self.samples.push(sample);
    }
}

fn at(baud: u32, data_bits: u8, parity: Parity) -> Tried {
    Tried {
        settings: SerialSettings {
            baud,
            data_bits,
            parity,
            // A second stop bit is, to a receiver with one, a moment of silence.
            stop_bits: 1,
            ..SerialSettings::default()
        },
        request: None,
    }
}

fn bursts(chunks: &[Chunk]) -> usize {
    let gaps = chunks
        .windows(2)
        .filter(|pair| pair[1].at_ns - pair[0].at_ns > BURST_GAP_NS)
        .count();
    gaps + usize::from(!chunks.is_empty())
}

/// The parity that the eighth bits are, and how many bytes have another; `None` when they are no parity.
fn parity_of(bytes: &[u8]) -> Option<(Parity, u64)> {
    if bytes.iter().all(|byte| byte & 0x80 == 0) {
        return None;
    }
    let odd = bytes.iter().filter(|b| b.count_ones() % 2 == 1).count();
    let even = bytes.len() - odd;
    let (parity, most, errors) = if even >= odd {
        (Parity::Even, even, odd)
    } else {
        (Parity::Odd, odd, even)
    };
    if bytes.iter().all(|byte| byte & 0x80 != 0) {
        // A second stop bit, or a bit that is always set, in the place of the eighth.
        return Some((Parity::None, 0));
    }
    (most as f64 >= PARITY_SHARE * bytes.len() as f64).then_some((parity, errors as u64))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_parity(text: &[u8], odd: bool) -> Vec<u8> {
        let parity = |b: &u8| (b.count_ones() % 2 == 1) != odd;
        text.iter()
            .map(|b| b | if parity(b) { 0x80 } else { 0 })
            .collect()
    }

    #[test]
    fn the_eighth_bit_tells_the_parity() {
        let text = b"+0.0123 mm\r\n";
        assert_eq!(parity_of(text), None);
        assert_eq!(
            parity_of(&with_parity(text, false)),
            Some((Parity::Even, 0))
        );
        assert_eq!(parity_of(&with_parity(text, true)), Some((Parity::Odd, 0)));
        let always: Vec<u8> = text.iter().map(|b| b | 0x80).collect();
        assert_eq!(parity_of(&always), Some((Parity::None, 0)));
        // Noise has one parity as often as the other.
        let noise: Vec<u8> = (0..=255).collect();
        assert_eq!(parity_of(&noise), None);
    }

    #[test]
    fn bursts_are_told_by_the_gaps() {
        let at_ms = |ms: i64| Chunk {
            at_ns: ms * 1_000_000,
            bytes: vec![b'1'],
            damaged: false,
        };
        assert_eq!(bursts(&[]), 0);
        assert_eq!(bursts(&[at_ms(0), at_ms(5), at_ms(50), at_ms(55)]), 2);
    }
}
