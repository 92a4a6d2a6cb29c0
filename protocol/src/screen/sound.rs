//! By ear: which tones say what. Terminal and page play what stands here and decide nothing.
//!
//! The pitch follows the distance to the target and the rhythm says which side: one tone a beat before it, two short ones past
//! it, a long one at it.

use serde::Serialize;

/// The form of a tone's wave.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// Soft.
    Sine,
    /// Between both.
    Triangle,
    /// Harsh.
    Square,
}

/// One tone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tone {
    /// Its pitch, Hz.
    pub hertz: f64,
    /// When it begins, s.
    pub from_s: f64,
    /// How long it is, s.
    pub long_s: f64,
    /// How loud it is, of 1.
    pub loud: f64,
    /// The form of its wave.
    pub form: Form,
}

/// What a beat sounds like, and when the next one comes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beat {
    /// Its tones.
    pub tones: Vec<Tone>,
    /// From its beginning to that of the next one, s.
    pub next_s: f64,
}

/// What happened, for the ear.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Event {
    /// A mark was made.
    Marked,
    /// Something was not done.
    Refused,
    /// The result came into tolerance.
    Inside,
    /// The indicator's value is no longer that of now.
    Lost,
}

/// The pitch far from the target, Hz.
const LOW_HZ: f64 = 260.0;
/// The octaves from there to the target.
const OCTAVES: f64 = 2.0;
/// A soft tone of an event or a beat is so loud.
const LOUD: f64 = 0.2;
/// One that must not be missed.
const LOUDER: f64 = 0.25;

const fn tone(hertz: f64, from_s: f64, long_s: f64) -> Tone {
    Tone {
        hertz,
        from_s,
        long_s,
        loud: LOUD,
        form: Form::Sine,
    }
}

const fn louder(form: Form, tone: Tone) -> Tone {
    Tone {
        loud: LOUDER,
        form,
        ..tone
    }
}

const MARKED: &[Tone] = &[tone(660.0, 0.0, 0.08), tone(990.0, 0.09, 0.12)];
const REFUSED: &[Tone] = &[louder(Form::Square, tone(180.0, 0.0, 0.25))];
const INSIDE: &[Tone] = &[
    tone(523.0, 0.0, 0.15),
    tone(659.0, 0.15, 0.15),
    tone(784.0, 0.3, 0.3),
];
const LOST: &[Tone] = &[
    louder(Form::Triangle, tone(330.0, 0.0, 0.18)),
    louder(Form::Triangle, tone(270.0, 0.2, 0.18)),
    louder(Form::Triangle, tone(210.0, 0.4, 0.18)),
];

impl Event {
    /// Every one.
    pub const ALL: [Self; 4] = [Self::Marked, Self::Refused, Self::Inside, Self::Lost];

    /// Its name, as the page has it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Marked => "marked",
            Self::Refused => "refused",
            Self::Inside => "inside",
            Self::Lost => "lost",
        }
    }

    /// Its tones.
    #[must_use]
    pub const fn tones(self) -> &'static [Tone] {
        match self {
            Self::Marked => MARKED,
            Self::Refused => REFUSED,
            Self::Inside => INSIDE,
            Self::Lost => LOST,
        }
    }
}

impl Beat {
    /// Before the target, with so much to go of the whole tap, both in the same unit of small lengths: far is low, near is
    /// high, as a square root like the bar.
    #[must_use]
    pub fn before(to_go: f64, full: f64) -> Self {
        let near = near(to_go, full);
        Self {
            tones: vec![tone(pitch(near), 0.0, 0.12)],
            next_s: pause(near),
        }
    }

    /// Past the target by so much, likewise.
    #[must_use]
    pub fn past(by: f64, full: f64) -> Self {
        let near = near(by, full);
        Self {
            tones: vec![tone(pitch(near), 0.0, 0.07), tone(pitch(near), 0.12, 0.07)],
            next_s: pause(near),
        }
    }

    /// At the target.
    #[must_use]
    pub fn there() -> Self {
        Self {
            tones: vec![tone(pitch(1.0), 0.0, 0.5)],
            next_s: 0.6,
        }
    }
}

/// How near the target is, 0 at the beginning of the tap and 1 at its end. A tap of nothing would have no pitch: the least is
/// one unit.
fn near(to_go: f64, full: f64) -> f64 {
    1.0 - (to_go.abs() / full.max(1.0)).sqrt().min(1.0)
}

fn pitch(near: f64) -> f64 {
    LOW_HZ * (OCTAVES * near).exp2()
}

fn pause(near: f64) -> f64 {
    0.35_f64.mul_add(-near, 0.65)
}
