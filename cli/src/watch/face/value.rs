//! Large values: what stands above, in and under the digits.

use crate::watch::advice::next;
use crate::watch::digits;
use crate::watch::look::Look;
use crate::watch::state::{Indicator, Link, Mode, Watch};
use crate::watch::target::{Count, Reached};
use crate::watch::words;
use ratatui::style::{Color, Style};

/// One large value.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// What it is.
    pub label: String,
    /// The value.
    pub value: String,
    /// What the value may become before the next mark: its room is kept, so that nothing jumps.
    pub widest: String,
    /// Its unit, and what else belongs to it.
    pub under: String,
    /// Whether it is that of now.
    pub current: bool,
    /// How the digits look.
    pub style: Style,
    /// How what stands under them looks.
    pub under_style: Style,
}

impl Value {
    /// A value that is current.
    pub fn of(
        look: Look,
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
            style: look.strong(),
            under_style: Style::new(),
        }
    }

    /// A value that may not be known yet, nor be that of now.
    pub fn computed(
        watch: &Watch,
        label: impl Into<String>,
        value: Option<String>,
        under: impl Into<String>,
    ) -> Self {
        let current = value.is_some() && watch.link == Link::Up;
        let mut computed = Self::of(watch.look, label, value.clone().unwrap_or_default(), under);
        computed.value = value.unwrap_or_else(|| "---".to_owned());
        computed.current = current;
        computed
    }

    /// The same on a plate: it cannot be taken for something good.
    pub fn plated(mut self, look: Look, colour: Color) -> Self {
        self.style = look.ink(colour).patch(look.strong());
        self.under_style = look.plate(colour);
        self
    }

    /// What is left of a tap.
    pub fn to_go(look: Look, count: Count) -> Self {
        let past = count.reached == Reached::Past;
        let size = |um| look.units.small_size(um, count.resolution);
        Self {
            label: match count.reached {
                Reached::Before => "TO GO",
                Reached::There => "THERE",
                Reached::Past => "TOO FAR",
            }
            .to_owned(),
            value: size(count.to_go_um),
            widest: size(count.full_um),
            under: look.units.small_sign().to_owned(),
            current: true,
            style: look
                .ink(if past { Color::Magenta } else { Color::Cyan })
                .patch(look.strong()),
            under_style: Style::new(),
        }
    }
}

/// The reading, or what is being typed instead of it.
pub fn reading(watch: &Watch, now_s: f64) -> Value {
    let look = watch.look;
    if let Mode::Value(typed) = &watch.mode {
        let next = watch.status.as_ref().and_then(|status| next(watch, status));
        let typed = typed.replace(',', ".");
        let end = typed.find(|c: char| !digits::drawable(&c.to_string()));
        let (number, unit) = typed.split_at(end.unwrap_or(typed.len()));
        let label = next.map_or("TYPED".to_owned(), |s| format!("TYPED for {s}"));
        let mut value = Value::of(look, label, number, format!("{unit} enter marks it"));
        value.widest = "+0.0000".to_owned();
        return value;
    }
    let indicator = watch.indicator(now_s);
    let at = watch
        .stands_at()
        .map(|s| format!(", last at {s}"))
        .unwrap_or_default();
    let value = match indicator.as_ref().and_then(|i| i.value) {
        Some((value, resolution)) => look.units.reading(value.mm(), Some(resolution), 0),
        None => "---".to_owned(),
    };
    let current = indicator.as_ref().is_some_and(|i| i.current);
    let under = match &indicator {
        Some(indicator) => under_reading(watch, indicator),
        None if watch.status.is_some() => "type a value to mark".to_owned(),
        None => String::new(),
    };
    Value {
        label: format!("READING{at}"),
        widest: value.clone(),
        value,
        under,
        current,
        style: if current { look.strong() } else { look.faint() },
        under_style: match &indicator {
            Some(i) if i.settled => look.ink(Color::Green),
            Some(i) if i.current => look.ink(Color::Yellow),
            Some(_) => look.plate(Color::Yellow),
            None => Style::new(),
        },
    }
}

/// The reading where there is a cable or something is being typed; where values are typed nothing stands idle.
pub fn reading_if_any(watch: &Watch, now_s: f64) -> Option<Value> {
    let any = matches!(watch.mode, Mode::Value(_)) || watch.indicator(now_s).is_some();
    any.then(|| reading(watch, now_s))
}

fn under_reading(watch: &Watch, indicator: &Indicator<'_>) -> String {
    if watch.link == Link::Up {
        words::reading_state(indicator, watch.look.units)
    } else {
        format!("{}, NOT CURRENT", watch.look.units.sign())
    }
}
