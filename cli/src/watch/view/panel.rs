//! The large values: the reading, the residual, and where there is room what is left to go or which station
//! is next.

use super::page::Page;
use crate::watch::advice::{self, Reached};
use crate::watch::digits::{self, Size};
use crate::watch::figures::arcsec;
use crate::watch::look::Look;
use crate::watch::state::{Indicator, Link, Mode, Watch};
use crate::watch::words;
use ratatui::style::{Color, Style};
use ratatui::text::{Line, Span};

/// One large value.
#[derive(Debug, Clone, PartialEq)]
struct Slot {
    label: String,
    value: String,
    /// What the value may become before the next round: its room is kept, so that nothing jumps.
    widest: String,
    under: String,
    current: bool,
    style: Style,
    under_style: Style,
}

/// Columns between two values.
const APART: u16 = 3;
/// What stands above and below the digits.
const AROUND: u16 = 2;

/// Large values at the size that fits.
#[derive(Debug)]
pub struct Panel {
    slots: Vec<Slot>,
    size: Size,
    stacked: bool,
    look: Look,
}

fn reading(watch: &Watch, now_s: f64) -> Slot {
    let look = watch.look;
    if let Mode::Value(typed) = &watch.mode {
        let next = watch
            .status
            .as_ref()
            .and_then(|s| s.next_station.as_deref());
        let typed = typed.replace(',', ".");
        let end = typed.find(|c: char| !digits::drawable(&c.to_string()));
        let (number, unit) = typed.split_at(end.unwrap_or(typed.len()));
        return Slot {
            label: next.map_or("TYPED".to_owned(), |s| format!("TYPED for {s}")),
            value: number.to_owned(),
            widest: "+0.0000".to_owned(),
            under: format!("{unit} enter marks it"),
            current: true,
            style: look.strong(),
            under_style: Style::new(),
        };
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
    Slot {
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

fn under_reading(watch: &Watch, indicator: &Indicator<'_>) -> String {
    if watch.link == Link::Up {
        words::reading_state(indicator, watch.look.units)
    } else {
        format!("{}, NOT CURRENT", watch.look.units.sign())
    }
}

fn residual(watch: &Watch) -> Slot {
    let look = watch.look;
    let zero = watch.status.as_ref().and_then(words::zero);
    let round = zero.and_then(|zero| zero.rounds.last());
    let label = match round {
        Some(round) if round.clamped => format!("RESIDUAL, round {}, tight", round.round),
        Some(round) => format!("RESIDUAL, round {}", round.round),
        None => "RESIDUAL".to_owned(),
    };
    let value = zero.and_then(|zero| zero.residual_arcsec).map(arcsec);
    Slot {
        label,
        current: value.is_some() && watch.link == Link::Up,
        widest: value.clone().unwrap_or_default(),
        value: value.unwrap_or_else(|| "---".to_owned()),
        under: match zero {
            Some(zero) if zero.residual_arcsec.is_some() => words::residual_state(zero),
            _ => "no round yet".to_owned(),
        },
        style: look.strong(),
        under_style: Style::new(),
    }
}

/// What is left to go while there is a count, else the next station.
fn third(watch: &Watch, now_s: f64) -> Option<Slot> {
    let status = watch.status.as_ref()?;
    status.step?;
    let look = watch.look;
    if let Some(count) = advice::advice(watch, now_s).count {
        let past = count.reached == Reached::Past;
        let size = |um| look.units.small_size(um, count.resolution);
        return Some(Slot {
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
        });
    }
    let next = status
        .next_station
        .as_deref()
        .filter(|s| digits::drawable(s))?;
    Some(Slot {
        label: "NEXT".to_owned(),
        value: next.to_owned(),
        widest: String::new(),
        under: status
            .next_round
            .map(|round| format!("round {round}"))
            .unwrap_or_default(),
        current: true,
        style: look.strong(),
        under_style: Style::new(),
    })
}

/// Lays the values out in the given columns and rows as large as they go; `None` where not even small digits
/// fit.
pub fn arrange(watch: &Watch, now_s: f64, width: u16, rows: u16) -> Option<Panel> {
    let pair = vec![reading(watch, now_s), residual(watch)];
    let third = third(watch, now_s);
    let lowest = watch.look.lowest_digits();
    let side = |slots: &[Slot]| {
        digits::largest(lowest, rows.saturating_sub(AROUND), |size| {
            let used: u16 = slots.iter().map(|slot| slot.width(watch.look, size)).sum();
            used + APART * (slots.len() as u16 - 1) <= width
        })
    };
    let stacked = digits::largest(lowest, (rows / 2).saturating_sub(AROUND), |size| {
        pair.iter()
            .all(|slot| slot.width(watch.look, size) <= width)
    });
    let beside = side(&pair);
    let panel = |slots, size, stacked| Panel {
        slots,
        size,
        stacked,
        look: watch.look,
    };
    if let Some(size) = stacked
        && beside.is_none_or(|beside| size.height > beside.height + 1)
    {
        return Some(panel(pair, size, true));
    }
    let beside = beside?;
    if let Some(third) = third {
        let three: Vec<_> = pair.iter().cloned().chain([third]).collect();
        // The third is a comfort: it may cost the other two a row, or a third where they are large, and never
        // the thickness that makes small digits readable.
        let allowed = |size: &Size| {
            let as_thick = digits::stroke(size.width) == digits::stroke(beside.width);
            let large = size.width >= 9 && size.height * 3 >= beside.height * 2;
            large || (as_thick && size.height + 1 >= beside.height)
        };
        if let Some(size) = side(&three).filter(allowed) {
            return Some(panel(three, size, false));
        }
    }
    Some(panel(pair, beside, false))
}

impl Slot {
    fn width(&self, look: Look, size: Size) -> u16 {
        let text = |text: &str| look.text(text).chars().count() as u16;
        let value = if digits::drawable(&self.value) {
            digits::width(&self.value, size).max(digits::width(&self.widest, size))
        } else {
            text(&self.value)
        };
        value.max(text(&self.label)).max(text(&self.under) + 2)
    }

    fn lines(&self, look: Look, size: Size) -> Vec<String> {
        if digits::drawable(&self.value) {
            return digits::lines(&self.value, size, look.digits(self.current));
        }
        let mut lines = vec![String::new(); usize::from(size.height)];
        lines[usize::from(size.height / 2)].clone_from(&self.value);
        lines
    }
}

impl Panel {
    /// How many rows it takes.
    pub const fn rows(&self) -> u16 {
        let one = self.size.height + AROUND;
        if self.stacked { one * 2 } else { one }
    }

    /// Draws it.
    pub fn draw(&self, page: &mut Page<'_>) {
        let top = page.y;
        let mut x = 0;
        for (i, slot) in self.slots.iter().enumerate() {
            page.y = top;
            let width = slot.width(self.look, self.size);
            if self.stacked {
                page.y = top + i as u16 * (self.size.height + AROUND);
            } else if i + 1 == self.slots.len() && i > 0 {
                // The last one stands at the right edge, the first at the left.
                x = page.width().saturating_sub(width);
            } else if i > 0 {
                let used: u16 = self
                    .slots
                    .iter()
                    .map(|s| s.width(self.look, self.size))
                    .sum();
                x += page.width().saturating_sub(used) / (self.slots.len() as u16 - 1);
            }
            self.slot(page, x, slot);
            if !self.stacked {
                x += width;
            }
        }
        page.y = top + self.rows();
    }

    fn slot(&self, page: &mut Page<'_>, x: u16, slot: &Slot) {
        let look = self.look;
        page.at(
            x,
            &Line::styled(look.text(&slot.label).into_owned(), look.faint()),
        );
        page.y += 1;
        for line in slot.lines(look, self.size) {
            page.at(x, &Line::styled(line, slot.style));
            page.y += 1;
        }
        let under = look.text(&slot.under).into_owned();
        page.at(x, &Line::styled(format!(" {under} "), slot.under_style));
    }
}

/// The two values in a row each, where there is no room for large digits.
pub fn compact(page: &mut Page<'_>, watch: &Watch, now_s: f64) {
    for slot in [reading(watch, now_s), residual(watch)] {
        let look = watch.look;
        let name: String = slot.label.chars().take_while(|&c| c != ',').collect();
        page.line(Line::from(vec![
            Span::styled(format!("{name:9}"), look.faint()),
            Span::styled(format!("{} ", slot.value), slot.style),
            Span::styled(look.text(&slot.under).into_owned(), slot.under_style),
        ]));
    }
}
