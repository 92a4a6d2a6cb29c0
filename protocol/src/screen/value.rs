//! Large values: what stands above, in and under the digits.

use super::parts::{Count, Meaning, Reached, Value};
use super::seen::{Indicator, Seen};
use crate::api::CableState;
use crate::said;
use crate::style::Style;

impl Value {
    /// A value that is current.
    pub(crate) fn of(
        label: impl Into<String>,
        value: impl Into<String>,
        under: impl Into<String>,
    ) -> Self {
        let value = value.into();
        Self {
            label: label.into(),
            widest: value.clone(),
            value,
            under: under.into(),
            current: true,
            meaning: Meaning::Plain,
            under_meaning: Meaning::Plain,
        }
    }

    /// A value that may not be known yet, nor be that of now.
    pub(crate) fn computed(
        seen: &Seen<'_>,
        label: impl Into<String>,
        value: Option<String>,
        under: impl Into<String>,
    ) -> Self {
        let current = value.is_some() && seen.connected;
        let mut computed = Self::of(label, value.clone().unwrap_or_default(), under);
        computed.value = value.unwrap_or_else(|| "---".to_owned());
        computed.current = current;
        computed
    }

    pub(crate) fn meaning(self, meaning: Meaning) -> Self {
        Self { meaning, ..self }
    }

    pub(crate) fn widest(self, widest: impl Into<String>) -> Self {
        Self {
            widest: widest.into(),
            ..self
        }
    }

    /// What is left of a tap.
    pub(crate) fn to_go(count: &Count, style: Style) -> Self {
        let (label, meaning) = match count.reached {
            Reached::Before => (said!(style, "live-label-to-go"), Meaning::Counting),
            Reached::There => (said!(style, "live-label-there"), Meaning::Counting),
            Reached::Past => (said!(style, "live-label-too-far"), Meaning::Past),
        };
        Self::of(label, &*count.left, count.unit)
            .widest(&*count.whole)
            .meaning(meaning)
    }

    /// The place of the next mark, large where it has a short name.
    pub(crate) fn next(place: &str, under: &str, style: Style) -> Self {
        if is_short(place) {
            Self::of(said!(style, "live-label-next"), place, under).widest("")
        } else {
            Self::next_named(place, style).widest("")
        }
    }

    /// The place of the next mark, where its name is too long to be drawn large.
    pub(crate) fn next_named(place: &str, style: Style) -> Self {
        Self::of(
            said!(style, "live-label-next"),
            said!(style, "live-next-value"),
            place,
        )
    }
}

/// Whether a place has a name that can be drawn large.
pub(crate) fn is_short(place: &str) -> bool {
    place.chars().count() <= 4
}

/// The reading, or what is being typed instead of it.
pub(crate) fn reading(seen: &Seen<'_>) -> Value {
    if let Some(typed) = seen.user.typing {
        return typing(seen, &typed.replace(',', "."));
    }
    let style = seen.units;
    let indicator = seen.indicator();
    let label = match seen.stands_at() {
        Some(place) => said!(style, "live-label-reading-at", place = place),
        None => said!(style, "live-label-reading"),
    };
    let value = match indicator.as_ref().and_then(|i| i.last) {
        Some(last) => seen
            .units
            .reading(last.value.mm(), Some(last.resolution), 0),
        None => "---".to_owned(),
    };
    let current = indicator.as_ref().is_some_and(|i| i.current);
    let under = match &indicator {
        Some(indicator) => under_reading(seen, indicator),
        None if seen.status.is_some() => said!(style, "live-type-to-mark"),
        None => String::new(),
    };
    Value {
        current,
        under_meaning: match &indicator {
            Some(i) if i.settled() => Meaning::Good,
            Some(i) if i.current => Meaning::Moving,
            Some(_) => Meaning::Old,
            None => Meaning::Plain,
        },
        ..Value::of(label, value, under).meaning(if current {
            Meaning::Plain
        } else {
            Meaning::Old
        })
    }
}

/// The number large, and its unit with what follows under it.
fn typing(seen: &Seen<'_>, typed: &str) -> Value {
    let end = typed.find(|c: char| !c.is_ascii_digit() && !"+-. ".contains(c));
    let (number, unit) = typed.split_at(end.unwrap_or(typed.len()));
    let style = seen.units;
    let label = match seen.next() {
        Some(place) => said!(style, "live-label-typed-for", place = place),
        None => said!(style, "live-label-typed"),
    };
    let under = said!(style, "live-enter-marks", unit = unit);
    Value::of(label, style.written(number.to_owned()), under)
        .widest(style.written("+0.0000".to_owned()))
}

/// The reading where there is a cable or something is being typed; where values are typed nothing stands idle.
pub(crate) fn reading_if_any(seen: &Seen<'_>) -> Option<Value> {
    let any = seen.user.typing.is_some() || seen.indicator().is_some();
    any.then(|| reading(seen))
}

fn under_reading(seen: &Seen<'_>, indicator: &Indicator<'_>) -> String {
    let style = seen.units;
    let unit = style.sign();
    if !seen.connected {
        return said!(style, "live-not-current", unit = unit);
    }
    if indicator.current {
        return if indicator.settled() {
            said!(style, "live-settled", unit = unit)
        } else {
            said!(style, "live-moving", unit = unit)
        };
    }
    let state = indicator.state(style);
    match (indicator.cable.state, indicator.last) {
        (_, None) => said!(style, "live-no-reading-yet", state = state),
        (CableState::Quiet, _) => said!(style, "live-as-last-sent", unit = unit, state = state),
        _ => said!(style, "live-not-current-state", unit = unit, state = state),
    }
}
