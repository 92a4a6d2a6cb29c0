//! Tones become samples. There is no device and no clock here: time is the number of samples made.

use protocol::screen::sound::{Beat, Form, Tone};

/// Samples a second: twice what the highest tone's harmonics need.
pub const RATE: u32 = 22_050;
/// A tone swells and fades so long, s: a sudden edge clicks.
const SWELL_S: f64 = 0.01;
const FADE_S: f64 = 0.02;
/// More tones at once are noise; what comes then is dropped.
const MOST: usize = 16;

/// What is being played.
#[derive(Debug, Default)]
pub struct Mixer {
    now: u64,
    playing: Vec<(u64, Tone)>,
    beat: Option<Beat>,
    next_beat: u64,
}

fn samples(s: f64) -> u64 {
    (s * f64::from(RATE)).round() as u64
}

impl Mixer {
    /// Plays tones from now on.
    pub fn play(&mut self, tones: &[Tone]) {
        for tone in tones {
            if self.playing.len() < MOST {
                self.playing.push((self.now + samples(tone.from_s), *tone));
            }
        }
    }

    /// What the next beat sounds like; none where there is nothing to count.
    pub fn follow(&mut self, beat: Option<Beat>) {
        self.beat = beat;
    }

    /// Makes the next samples.
    pub fn fill(&mut self, out: &mut [i16]) {
        for sample in out {
            if self.now >= self.next_beat
                && let Some(beat) = self.beat.clone()
            {
                self.next_beat = self.now + samples(beat.next_s);
                self.play(&beat.tones);
            }
            let now = self.now;
            let level: f64 = self
                .playing
                .iter()
                .map(|(from, tone)| level(tone, *from, now))
                .sum();
            *sample = (level.clamp(-1.0, 1.0) * f64::from(i16::MAX)) as i16;
            self.playing
                .retain(|(from, tone)| now < from + samples(tone.long_s));
            self.now += 1;
        }
    }
}

/// A tone's level at a sample, of 1.
fn level(tone: &Tone, from: u64, now: u64) -> f64 {
    let Some(since) = now.checked_sub(from) else {
        return 0.0;
    };
    let t = since as f64 / f64::from(RATE);
    let left = tone.long_s - t;
    if left <= 0.0 {
        return 0.0;
    }
    let turn = (t * tone.hertz).fract();
    let wave = match tone.form {
        Form::Sine => (turn * std::f64::consts::TAU).sin(),
        Form::Triangle => 4.0_f64.mul_add((turn - 0.5).abs(), -1.0),
        Form::Square => {
            if turn < 0.5 {
                1.0
            } else {
                -1.0
            }
        }
    };
    wave * tone.loud * (t / SWELL_S).min(1.0) * (left / FADE_S).min(1.0)
}
