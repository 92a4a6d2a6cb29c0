//! A reading to come to, whatever gives it: the tap of a set-up, or the truing of a part. It counts down against
//! what the indicator shows now.

use super::clock;
use super::figures::Units;
use super::state::Watch;
use metrology::Length;
use metrology::zero::Tap;
use protocol::api::Status;
use protocol::fold::Outcome;

/// Where a tap has come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// Before the target.
    Before,
    /// At it, within what the display can show.
    There,
    /// Past it.
    Past,
}

/// How far a tap has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// Where that is.
    pub reached: Reached,
    /// What is left, µm: positive before the target, negative past it.
    pub to_go_um: f64,
    /// The whole of the tap, µm.
    pub full_um: f64,
    /// One step of the display.
    pub resolution: Option<Length>,
}

/// What is moved to the target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// An end of the set-up.
    End,
    /// The part in its chuck.
    Part,
}

/// A reading to come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// What is moved.
    pub what: What,
    /// Where the indicator is to stand: a station, or an hour of the clock.
    pub place: String,
    /// The reading there, as shown.
    pub target_mm: f64,
    /// How far it has to go, µm.
    pub move_um: f64,
    /// Nothing is known yet of where the set-up turns.
    pub trial: bool,
    /// Why it aims at a residual that is not zero.
    pub aim: Option<String>,
}

impl Target {
    /// That of a tap.
    #[must_use]
    pub fn tap(tap: &Tap) -> Self {
        Self {
            what: What::End,
            place: tap.station.clone(),
            target_mm: tap.target_mm,
            move_um: tap.move_um,
            trial: tap.trial,
            aim: tap.aim_words(),
        }
    }

    /// That of the open step, when it has one.
    #[must_use]
    pub fn of(status: &Status) -> Option<Self> {
        match status.outcome.as_ref()? {
            Outcome::Zero(zero) => zero.tap.as_ref().map(Self::tap),
            Outcome::Sweep(sweep) => sweep.tap.as_ref().map(Self::tap),
            Outcome::Runout(runout) => runout.truing.as_ref().map(|truing| Self {
                what: What::Part,
                place: clock::near(truing.at_deg),
                target_mm: truing.target_mm,
                move_um: -truing.move_um.abs(),
                trial: false,
                aim: None,
            }),
            Outcome::Size(_) | Outcome::Contact(_) | Outcome::Dial(_) => None,
        }
    }

    /// What to do, in a sentence, its target as a display with this step would show it.
    #[must_use]
    pub fn sentence(&self, resolution: Option<Length>, units: Units) -> String {
        let target = units.reading(self.target_mm, resolution, 0);
        let way = way(self.move_um > 0.0);
        match self.what {
            What::End => format!("{} end {way} the indicator, to {target}", self.place),
            What::Part => format!(
                "TRUE IT: at {}, {} {} {way} the indicator, to {target}",
                self.place,
                units.small_size(self.move_um, resolution.or(Some(Length::from_um(1)))),
                units.small_sign()
            ),
        }
    }

    fn elsewhere(&self) -> String {
        match self.what {
            What::End => format!("Go to {} first, then key g", self.place),
            What::Part => "Turn it there under the indicator first, then key g".to_owned(),
        }
    }

    /// The indicator's count toward it; none where its value is not that of now.
    fn count(&self, watch: &Watch, now_s: f64) -> Option<Count> {
        let (value, resolution) = watch.indicator(now_s).filter(|i| i.current)?.value?;
        let sense = if self.move_um < 0.0 { -1.0 } else { 1.0 };
        let to_go_um = self.target_mm.mul_add(1e3, -value.um()) * sense;
        let there = resolution.um().max(0.5);
        let reached = match to_go_um {
            left if left.abs() <= there => Reached::There,
            left if left > 0.0 => Reached::Before,
            _ => Reached::Past,
        };
        Some(Count {
            reached,
            to_go_um,
            full_um: self.move_um.abs(),
            resolution: Some(resolution),
        })
    }

    /// The sentence for now, and the count when the indicator stands where it is to count. `then` is what follows
    /// once the target is reached.
    #[must_use]
    pub fn now(&self, watch: &Watch, then: &str, now_s: f64) -> (String, Option<Count>) {
        let units = watch.look.units;
        let shown = watch
            .indicator(now_s)
            .and_then(|i| i.value)
            .map(|(_, step)| step);
        let marked = watch.last_mark().and_then(|mark| mark.value);
        let resolution = shown.or(marked.map(|value| value.resolution));
        let target = units.reading(self.target_mm, resolution, 0);
        let mut text = self.sentence(resolution, units);
        let mut count = None;
        if watch.stands_at() == Some(&self.place) {
            count = self.count(watch, now_s);
        } else {
            text = format!("{text}. {}", self.elsewhere());
        }
        let named = match self.what {
            What::End => format!("{} end", self.place),
            What::Part => self.place.clone(),
        };
        match count.map(|count| count.reached) {
            None | Some(Reached::Before) => {}
            Some(Reached::There) => text = format!("{named} is at {target}: {then}"),
            Some(Reached::Past) => {
                let back = way(self.move_um <= 0.0);
                text = format!("TOO FAR: {named} back, {back} the indicator, to {target}");
            }
        }
        if self.trial {
            text.push_str(". A trial: it shows where the set-up turns");
        }
        if let Some(aim) = &self.aim {
            text.push_str(&format!(". {aim}"));
        }
        (format!("{text}."), count)
    }
}

const fn way(toward: bool) -> &'static str {
    if toward { "toward" } else { "away from" }
}

/// What is left of a tap, in words.
#[must_use]
pub fn count(count: Count, units: Units) -> String {
    let size = units.small_size(count.to_go_um, count.resolution);
    let unit = units.small_sign();
    match count.reached {
        Reached::Before => format!("{size} {unit} to go"),
        Reached::There => "at the target".to_owned(),
        Reached::Past => format!("{size} {unit} too far"),
    }
}
