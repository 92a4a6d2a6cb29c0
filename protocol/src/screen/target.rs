//! A reading to come to, whatever gives it: the tap of a set-up, or the truing of a part. It counts down against
//! what the indicator shows now.

use super::parts::{Advice, Count, Reached};
use super::seen::Seen;
use super::sound::Beat;
use crate::sheet::words::{aim, way};
use crate::style::Style;
use metrology::Length;
use metrology::zero::Tap;

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
            aim: aim(tap, Style::default()),
        }
    }

    /// What to do, in a sentence, its target as a display with this step would show it.
    #[must_use]
    pub fn sentence(&self, resolution: Option<Length>, units: Style) -> String {
        let target = units.reading(self.target_mm, resolution, 0);
        let way = way(self.move_um > 0.0, units);
        match self.what {
            What::End => {
                let count = units.divisions(self.move_um, resolution);
                let on_the_dial = units.on_the_dial(self.target_mm, resolution);
                match count.zip(on_the_dial) {
                    Some((count, dial)) => {
                        format!("{} end {count} {way}, to {dial}, {target}", self.place)
                    }
                    None => format!("{} end {way}, to {target}", self.place),
                }
            }
            What::Part => format!(
                "TRUE IT: at {}, {} {}{} {way}, to {target}",
                self.place,
                units.small_size(self.move_um, resolution.or(Some(Length::from_um(1)))),
                units.small_sign(),
                units
                    .divisions(self.move_um, resolution)
                    .map_or_else(String::new, |count| format!(", {count},")),
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
    fn count(&self, seen: &Seen<'_>) -> Option<Count> {
        let now = seen.indicator()?.now()?;
        let sense = if self.move_um < 0.0 { -1.0 } else { 1.0 };
        let to_go_um = self.target_mm.mul_add(1e3, -now.value.um()) * sense;
        let there = now.resolution.um().max(0.5);
        let reached = match to_go_um {
            left if left.abs() <= there => Reached::There,
            left if left > 0.0 => Reached::Before,
            _ => Reached::Past,
        };
        let units = seen.units;
        let size = |um| units.small_size(um, Some(now.resolution));
        let (left, unit) = (size(to_go_um), units.small_sign());
        let words = match reached {
            Reached::Before => format!("{left} {unit} to go"),
            Reached::There => "at the target".to_owned(),
            Reached::Past => format!("{left} {unit} too far"),
        };
        let to_go = match reached {
            Reached::There => 0.0,
            Reached::Before | Reached::Past => units.small(to_go_um),
        };
        let full = units.small(self.move_um.abs());
        Some(Count {
            reached,
            to_go,
            full,
            beat: match reached {
                Reached::Before => Beat::before(to_go, full),
                Reached::There => Beat::there(),
                Reached::Past => Beat::past(to_go, full),
            },
            unit,
            left,
            whole: size(self.move_um),
            words,
        })
    }

    /// What to do now, with the count when the indicator stands where it is to count. `then` is what follows once
    /// the target is reached.
    pub(super) fn advice(&self, seen: &Seen<'_>, then: &str) -> Advice {
        let units = seen.units;
        let shown = seen.indicator().and_then(|i| i.last).map(|l| l.resolution);
        let marked = seen.last_mark().and_then(|mark| mark.value);
        let resolution = shown.or(marked.map(|value| value.resolution));
        let target = units.reading(self.target_mm, resolution, 0);
        let mut text = self.sentence(resolution, units);
        let mut count = None;
        if seen.stands_at() == Some(&*self.place) {
            count = self.count(seen);
        } else {
            text = format!("{text}. {}", self.elsewhere());
        }
        let named = match self.what {
            What::End => format!("{} end", self.place),
            What::Part => self.place.clone(),
        };
        match count.as_ref().map(|count| count.reached) {
            None | Some(Reached::Before) => {}
            Some(Reached::There) => text = format!("{named} is at {target}: {then}"),
            Some(Reached::Past) => {
                let back = way(self.move_um <= 0.0, units);
                text = format!("TOO FAR: {named} back, {back}, to {target}");
            }
        }
        if self.trial {
            text.push_str(". A trial: it shows where the set-up turns");
        }
        if let Some(aim) = &self.aim {
            text.push_str(&format!(". {aim}"));
        }
        Advice {
            label: match self.what {
                What::End => "TAP",
                What::Part => "NOW",
            },
            text: format!("{text}."),
            count,
        }
    }
}
