//! Large values: what stands above, in and under the digits.

use super::parts::{Count, Meaning, Reached, Value};
use super::seen::{Indicator, Seen};
use crate::api::CableState;

impl Value {
    /// A value that is current.
    pub(super) fn of(
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
    pub(super) fn computed(
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

    pub(super) fn meaning(self, meaning: Meaning) -> Self {
        Self { meaning, ..self }
    }

    pub(super) fn widest(self, widest: impl Into<String>) -> Self {
        Self {
            widest: widest.into(),
            ..self
        }
    }

    /// What is left of a tap.
    pub(super) fn to_go(count: &Count) -> Self {
        let (label, meaning) = match count.reached {
            Reached::Before => ("TO GO", Meaning::Counting),
            Reached::There => ("THERE", Meaning::Counting),
            Reached::Past => ("TOO FAR", Meaning::Past),
        };
        Self::of(label, &*count.left, count.unit)
            .widest(&*count.whole)
            .meaning(meaning)
    }

    /// The place of the next mark, large where it has a short name.
    pub(super) fn next(place: &str, under: &str) -> Self {
        if is_short(place) {
            Self::of("NEXT", place, under).widest("")
        } else {
            Self::of("NEXT", "mark", place).widest("")
        }
    }
}

/// Whether a place has a name that can be drawn large.
pub(super) fn is_short(place: &str) -> bool {
    place.chars().count() <= 4
}

/// The reading, or what is being typed instead of it.
pub(super) fn reading(seen: &Seen<'_>) -> Value {
    if let Some(typed) = seen.user.typing {
        return typing(seen, &typed.replace(',', "."));
    }
    let indicator = seen.indicator();
    let at = seen
        .stands_at()
        .map(|s| format!(", last at {s}"))
        .unwrap_or_default();
    let value = match indicator.as_ref().and_then(|i| i.last) {
        Some(last) => seen
            .units
            .reading(last.value.mm(), Some(last.resolution), 0),
        None => "---".to_owned(),
    };
    let current = indicator.as_ref().is_some_and(|i| i.current);
    let under = match &indicator {
        Some(indicator) => under_reading(seen, indicator),
        None if seen.status.is_some() => "type a value to mark".to_owned(),
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
        ..Value::of(format!("READING{at}"), value, under).meaning(if current {
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
    let label = seen
        .next()
        .map_or("TYPED".to_owned(), |s| format!("TYPED for {s}"));
    Value::of(label, number, format!("{unit} enter marks it")).widest("+0.0000")
}

/// The reading where there is a cable or something is being typed; where values are typed nothing stands idle.
pub(super) fn reading_if_any(seen: &Seen<'_>) -> Option<Value> {
    let any = seen.user.typing.is_some() || seen.indicator().is_some();
    any.then(|| reading(seen))
}

fn under_reading(seen: &Seen<'_>, indicator: &Indicator<'_>) -> String {
    let unit = seen.units.sign();
    if !seen.connected {
        return format!("{unit}, NOT CURRENT");
    }
    if indicator.current {
        let word = if indicator.settled() {
            "settled"
        } else {
            "MOVING"
        };
        return format!("{unit}, {word}");
    }
    let state = indicator.state();
    match (indicator.cable.state, indicator.last) {
        (_, None) => format!("{state}: no reading yet"),
        (CableState::Quiet, _) => format!("{unit}, {state}: as last sent"),
        _ => format!("{unit}, NOT CURRENT: {state}"),
    }
}
