//! A reading to come to, whatever gives it: the tap of a set-up, or the truing of a part. It counts down against
//! what the indicator shows now.

use super::parts::{Advice, Count, Reached};
use super::seen::Seen;
use super::sound::Beat;
use crate::said;
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
    pub fn tap(tap: &Tap, style: Style) -> Self {
        Self {
            what: What::End,
            place: tap.station.clone(),
            target_mm: tap.target_mm,
            move_um: tap.move_um,
            trial: tap.trial,
            aim: aim(tap, style),
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
                let place = &*self.place;
                match count.zip(on_the_dial) {
                    Some((count, dial)) => said!(
                        units,
                        "live-tap-in-divisions",
                        place = place,
                        count = count,
                        way = way,
                        dial = dial,
                        target = target
                    ),
                    None => said!(units, "live-tap", place = place, way = way, target = target),
                }
            }
            What::Part => {
                let by = units.small_size(self.move_um, resolution.or(Some(Length::from_um(1))));
                let by = format!("{by} {}", units.small_sign());
                let place = &*self.place;
                match units.divisions(self.move_um, resolution) {
                    Some(count) => said!(
                        units,
                        "live-true-it-in-divisions",
                        place = place,
                        by = by,
                        count = count,
                        way = way,
                        target = target
                    ),
                    None => said!(
                        units,
                        "live-true-it",
                        place = place,
                        by = by,
                        way = way,
                        target = target
                    ),
                }
            }
        }
    }

    fn elsewhere(&self, units: Style) -> String {
        match self.what {
            What::End => said!(units, "live-go-first", place = &*self.place),
            What::Part => said!(units, "live-turn-first"),
        }
    }

    /// That the target is reached, and what is next.
    fn reached(&self, target: &str, then: &str, units: Style) -> String {
        let place = &*self.place;
        match self.what {
            What::End => said!(
                units,
                "live-end-there",
                place = place,
                target = target,
                then = then
            ),
            What::Part => said!(
                units,
                "live-part-there",
                place = place,
                target = target,
                then = then
            ),
        }
    }

    /// That it went too far, and the way back.
    fn too_far(&self, target: &str, units: Style) -> String {
        let place = &*self.place;
        let back = way(self.move_um <= 0.0, units);
        match self.what {
            What::End => said!(
                units,
                "live-end-past",
                place = place,
                way = back,
                target = target
            ),
            What::Part => said!(
                units,
                "live-part-past",
                place = place,
                way = back,
                target = target
            ),
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
        let by = format!("{left} {unit}");
        let words = match reached {
            Reached::Before => said!(units, "live-to-go", by = by),
            Reached::There => said!(units, "live-there"),
            Reached::Past => said!(units, "live-too-far", by = by),
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
    pub(crate) fn advice(&self, seen: &Seen<'_>, then: &str) -> Advice {
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
            text = format!("{text}. {}", self.elsewhere(units));
        }
        match count.as_ref().map(|count| count.reached) {
            None | Some(Reached::Before) => {}
            Some(Reached::There) => text = self.reached(&target, then, units),
            Some(Reached::Past) => text = self.too_far(&target, units),
        }
        if self.trial {
            text.push_str(". ");
            text.push_str(&said!(units, "live-trial"));
        }
        if let Some(aim) = &self.aim {
            text.push_str(&format!(". {aim}"));
        }
        Advice {
            label: match self.what {
                What::End => said!(units, "live-label-tap"),
                What::Part => said!(units, "live-label-now"),
            },
            text: format!("{text}."),
            count,
        }
    }
}
