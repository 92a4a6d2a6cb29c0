//! Draws what the live view knows. A pure function of [`Watch`], the time given and the window's size.
//!
//! Rows are handed out by importance: what must be there, then what helps, then comfort; large digits and the
//! table of rounds share what is left. So one layout serves a narrow strip and a whole screen.

mod details;
#[cfg(test)]
mod golden;
mod page;
mod panel;
mod table;
mod talk;

use super::advice::{self, Advice, Reached};
use super::bar;
use super::figures::age;
use super::state::{Link, Mode, Watch};
use super::words;
use metrology::uncertainty::Verdict;
use page::{Page, wrap};
use panel::Panel;
use ratatui::Frame;
use ratatui::style::{Color, Style};
use ratatui::text::{Line, Span};

/// From this width on, the lower part has two columns.
const TWO_COLUMNS: u16 = 110;

/// Draws everything.
pub fn draw(frame: &mut Frame<'_>, watch: &Watch, now_s: f64) {
    let area = frame.area();
    let mut page = Page::new(frame.buffer_mut(), area, watch.look);
    header(&mut page, watch, now_s);
    let keys_at = area.height.saturating_sub(1);
    if watch.mode == Mode::Help {
        details::help(&mut page, keys_at);
    } else {
        body(&mut page, watch, now_s, keys_at);
        talk::overlay(&mut page, watch, keys_at);
    }
    page.y = keys_at;
    talk::keys(&mut page, watch);
}

/// Which rows there are, beside the header and the keys.
#[derive(Debug, Default)]
struct Rows {
    worth: bool,
    second_advice: bool,
    last: bool,
    scale: bool,
    plan: bool,
    table: u16,
    gaps: u16,
    panel: Option<Panel>,
}

/// Rows that must be there: reading, residual, advice, bar, verdict, next.
const LEAST: u16 = 6;

fn allot(watch: &Watch, now_s: f64, width: u16, height: u16) -> Rows {
    let mut rows = Rows::default();
    let mut spare = height.saturating_sub(LEAST);
    let take = |spare: &mut u16, n: u16| {
        let given = *spare >= n;
        if given {
            *spare -= n;
        }
        given
    };
    rows.worth = take(&mut spare, 1);
    rows.second_advice = take(&mut spare, 1);
    // The compact form takes two rows, the smallest panel five.
    let room_for_panel = take(&mut spare, 3);
    rows.last = take(&mut spare, 1);
    rows.scale = take(&mut spare, 1);
    if take(&mut spare, 3) {
        rows.table = 3;
    }
    rows.plan = width < TWO_COLUMNS && take(&mut spare, 1);
    if room_for_panel {
        // Digits get at most about half the window, so that there is room for what they mean.
        let most = (5 + spare).min((height * 2 / 5).max(5));
        rows.panel = panel::arrange(watch, now_s, width, most);
        let used = rows.panel.as_ref().map_or(2, Panel::rows);
        spare = (5 + spare).saturating_sub(used);
    }
    while rows.gaps < 4 && spare > 1 + rows.gaps && take(&mut spare, 1) {
        rows.gaps += 1;
    }
    if rows.table > 0 {
        rows.table += spare;
    }
    rows
}

fn body(page: &mut Page<'_>, watch: &Watch, now_s: f64, until: u16) {
    notices(page, watch, now_s, until);
    let rows = allot(watch, now_s, page.width(), until.saturating_sub(page.y));
    if rows.gaps > 0 {
        page.rule();
    }
    let gap = |page: &mut Page<'_>, n: u16| {
        if rows.gaps >= n {
            page.blank();
        }
    };
    match &rows.panel {
        Some(panel) => panel.draw(page),
        None => panel::compact(page, watch, now_s),
    }
    gap(page, 2);
    let advice = advice::advice(watch, now_s);
    tap(
        page,
        &advice,
        if rows.second_advice { 2 } else { 1 },
        rows.scale,
    );
    gap(page, 3);
    verdict(page, watch, rows.worth);
    gap(page, 4);
    next(page, watch);
    if rows.last {
        last(page, watch);
    }
    lower(page, watch, now_s, &rows, until);
}

fn lower(page: &mut Page<'_>, watch: &Watch, now_s: f64, rows: &Rows, until: u16) {
    let Some(status) = &watch.status else { return };
    if page.width() >= TWO_COLUMNS {
        let top = page.y;
        let middle = page.width() / 2;
        let mut left = page.column(0, middle - 2, until);
        table::rounds(&mut left, status, until.saturating_sub(top));
        let mut right = page.column(middle, page.width() - middle, until);
        details::all(&mut right, watch, now_s, until, !rows.plan);
        return;
    }
    if rows.plan {
        // What the step has to remark matters more than the plan, which is known.
        let remark = words::zero(status).and_then(|zero| zero.remarks.first());
        let faint = page.look.faint();
        if let Some(remark) = remark {
            let room = page.width().saturating_sub(6);
            let text = wrap(&page.look.text(remark), room, 1).concat();
            page.line(Line::from(vec![
                Span::styled("NOTE  ", faint),
                Span::raw(text),
            ]));
        } else {
            let parts = status.setup.as_ref().map(words::plan).unwrap_or_default();
            page.fitting(Span::styled("PLAN ", faint), &parts);
        }
    }
    if rows.table > 0 {
        let shown = table::rounds(page, status, rows.table);
        // In a tall window there is room for the rest below the table.
        if rows.table > shown + 3 {
            page.blank();
            details::all(page, watch, now_s, until, !rows.plan);
        }
    }
}

fn header(page: &mut Page<'_>, watch: &Watch, now_s: f64) {
    let look = watch.look;
    let title = match &watch.status {
        None => "conewright".to_owned(),
        Some(status) => match (&status.session, status.step) {
            (None, _) => "conewright: no session".to_owned(),
            (Some(session), None) => format!("{}: session {}, no step", session.name, session.id),
            (Some(session), Some(step)) => format!(
                "{}: session {}, {} step {}",
                session.name,
                session.id,
                step.kind.name(),
                step.number
            ),
        },
    };
    let state = match watch.indicator(now_s) {
        None if watch.status.is_some() => Line::from("values are typed"),
        None => Line::default(),
        Some(indicator) => {
            let state = words::cable_state(indicator.cable, indicator.age_s, indicator.current);
            let skipped = match indicator.cable.skipped_bytes {
                0 => String::new(),
                _ if page.width() < 60 || !watch.skips(now_s) => String::new(),
                n => format!("{n} bytes skipped, "),
            };
            let style = if indicator.current {
                look.ink(Color::Green)
            } else {
                look.plate(Color::Yellow)
            };
            Line::from(vec![
                Span::raw(format!("{skipped}{} ", indicator.cable.name)),
                Span::styled(format!(" {state} "), style),
            ])
        }
    };
    page.sides(
        Line::styled(look.text(&title).into_owned(), look.strong()),
        state,
    );
}

/// What is wrong now, and would otherwise be taken for a fault of the set-up.
fn notices(page: &mut Page<'_>, watch: &Watch, now_s: f64, until: u16) {
    let look = watch.look;
    let mut tell = |word: &str, text: &str| {
        for line in wrap(&look.text(&format!("{word}: {text}")), page.width(), 2) {
            if page.y + LEAST < until {
                page.line(Line::styled(line, look.plate(Color::Yellow)));
            }
        }
    };
    match &watch.link {
        Link::Lost { since_s, why } => {
            let age = age(now_s - since_s);
            tell(
                &format!("NO CONNECTION {age}"),
                &format!("{why}; what is shown is old"),
            );
        }
        Link::Waiting => tell("CONNECTING", "waiting for the background process"),
        Link::Up => {}
    }
    if let Some(detail) = watch.indicator(now_s).and_then(|i| {
        let detail = i.cable.detail.as_deref()?;
        (!i.current).then(|| (i.cable.name.clone(), detail.to_owned()))
    }) {
        tell(&detail.0, &detail.1);
    }
    if let Some(double) = watch.status.as_ref().and_then(|s| s.double_press.as_ref()) {
        let (happened, asked) = words::double_press(double, look.units);
        let asked = format!("{asked} space yes, u no");
        tell(&happened.to_uppercase(), &asked);
    }
    if let Some(notice) = watch.status.as_ref().and_then(|s| s.notice.as_deref()) {
        tell("NOTICE", notice);
    }
}

fn tap(page: &mut Page<'_>, advice: &Advice, text_rows: u16, scale: bool) {
    let look = page.look;
    let label = if advice.is_tap { "TAP   " } else { "NOW   " };
    let room = page.width().saturating_sub(label.len() as u16);
    let lines = wrap(&look.text(&advice.text), room, usize::from(text_rows));
    for row in 0..text_rows {
        let text = lines.get(usize::from(row)).cloned().unwrap_or_default();
        let label = if row == 0 { label } else { "      " };
        page.line(Line::from(vec![
            Span::styled(label, look.faint()),
            Span::styled(text, look.strong()),
        ]));
    }
    let Some(count) = advice.count else {
        page.blank();
        if scale {
            page.blank();
        }
        return;
    };
    let words = look.text(&advice::count(count, look.units)).into_owned();
    // Room for the longest count keeps the bar from changing its length as it runs.
    let room = 20;
    let width = page.width().saturating_sub(room + 1).max(bar::LEAST_WIDTH);
    let left = if count.reached == Reached::There {
        0.0
    } else {
        count.to_go_um
    };
    let drawn = bar::draw(
        look.units.small(left),
        look.units.small(count.full_um),
        width,
        look.blocks,
    );
    let colour = if count.reached == Reached::Past {
        Color::Magenta
    } else {
        Color::Cyan
    };
    page.line(Line::from(vec![
        Span::styled(drawn.bar, look.ink(colour)),
        Span::styled(format!(" {words:>19}"), look.strong()),
    ]));
    if scale {
        page.line(Line::styled(
            look.text(&format!("{} {}", drawn.scale, look.units.small_sign()))
                .into_owned(),
            look.faint(),
        ));
    }
}

fn verdict(page: &mut Page<'_>, watch: &Watch, worth: bool) {
    let look = watch.look;
    let zero = watch.status.as_ref().and_then(words::zero);
    match zero.and_then(words::verdict) {
        Some((verdict, word, parts)) => {
            let colour = match verdict {
                Verdict::In => Color::Green,
                Verdict::Out => Color::Red,
                Verdict::Undecided => Color::Yellow,
            };
            page.fitting(
                Span::styled(format!(" {word} "), look.plate(colour)),
                &parts,
            );
        }
        None if zero.is_some_and(|zero| !zero.rounds.is_empty()) => page.line(Line::styled(
            "no tolerance was stated, so there is no verdict",
            look.faint(),
        )),
        None => page.blank(),
    }
    if worth {
        let setup = watch.status.as_ref().and_then(|s| s.setup.as_ref());
        let parts = zero
            .map(|zero| words::worth(zero, setup, look.units))
            .unwrap_or_default();
        page.fitting(Span::styled("WORTH", look.faint()), &parts);
    }
}

fn next(page: &mut Page<'_>, watch: &Watch) {
    let look = watch.look;
    let Some(status) = watch.status.as_ref().filter(|s| s.step.is_some()) else {
        page.blank();
        return;
    };
    let station = status.next_station.as_deref().unwrap_or("a station");
    let round = match (watch.new_round, status.next_round) {
        (true, _) => ", a NEW round".to_owned(),
        (false, Some(round)) => format!(", round {round}"),
        (false, None) => String::new(),
    };
    let waiting = if watch.waiting { "  (asking)" } else { "" };
    let clamp = if status.clamped { " TIGHT " } else { "loose" };
    let clamp_style = if status.clamped {
        look.plate(Color::Blue)
    } else {
        Style::new()
    };
    page.sides(
        Line::from(vec![
            Span::styled("NEXT  ", look.faint()),
            Span::styled(format!("{station}{round}{waiting}"), look.strong()),
        ]),
        Line::from(vec![
            Span::styled("clamp ", look.faint()),
            Span::styled(clamp, clamp_style),
        ]),
    );
}

fn last(page: &mut Page<'_>, watch: &Watch) {
    let units = watch.look.units;
    let parts = watch
        .last_mark()
        .map(|mark| {
            let mut parts = vec![words::mark_line(mark, units)];
            parts.extend(mark.value.map(|value| words::dwell(&value, units)));
            parts
        })
        .unwrap_or_default();
    page.fitting(Span::styled("LAST ", watch.look.faint()), &parts);
}
