//! Draws what [`protocol::screen`] says of what the live view knows. A pure function of [`Watch`], the time given and the
//! window's size.
//!
//! Rows are handed out by importance: what must be there, then what helps, then comfort; large digits and the
//! table of rounds share what is left. So one layout serves a narrow strip and a whole screen.

mod beside;
mod details;
#[cfg(test)]
mod golden;
#[cfg(test)]
mod golden_german;
#[cfg(test)]
mod golden_steps;
mod head;
mod page;
mod panel;
mod plot;
mod table;
mod talk;
mod zones;

use super::bar;
use super::state::{Mode, Watch};
use beside::Beside;
use page::{Page, wrap};
use panel::Panel;
use protocol::said;
use protocol::screen::{self, Advice, Count, Listing, Meaning, Reached, Screen, Strip};
use ratatui::Frame;
use ratatui::style::{Color, Style};
use ratatui::text::{Line, Span};

/// Columns between the left part and what stands beside it.
const APART: u16 = 3;
/// From this width on, the lower part has two columns.
const TWO_COLUMNS: u16 = 110;

/// Draws everything.
pub fn draw(frame: &mut Frame<'_>, watch: &Watch, now_s: f64) {
    let area = frame.area();
    let mut page = Page::new(frame.buffer_mut(), area, watch.look);
    let screen = screen::of(&watch.seen(now_s));
    head::header(&mut page, &screen);
    let own = 1 + u16::from(watch.practice.is_some());
    let keys_at = area.height.saturating_sub(own);
    if let Mode::Help(from) = watch.mode {
        details::help(&mut page, (from, watch.practice.is_some()), keys_at);
    } else {
        body(&mut page, watch, &screen, now_s, keys_at);
        talk::overlay(&mut page, watch, keys_at);
    }
    page.y = keys_at;
    talk::keys(&mut page, watch);
}

/// Which rows there are, beside the header and the keys.
#[derive(Debug, Default)]
struct Rows {
    first_fact: bool,
    advice: u16,
    last: bool,
    scale: bool,
    more_facts: usize,
    plan: u16,
    table: u16,
    gaps: u16,
    panel: Option<Panel>,
}

/// Rows that must be there: two large values, advice, bar, verdict, next.
const LEAST: u16 = 6;

fn allot(watch: &Watch, screen: &Screen, (width, height): (u16, u16), beside: bool) -> Rows {
    let mut rows = Rows::default();
    let strip = screen.strip != Strip::None;
    let values = u16::try_from(screen.must.len()).unwrap_or(LEAST);
    let least = 3 + u16::from(strip) + values;
    let mut spare = height.saturating_sub(least);
    let take = |spare: &mut u16, n: u16| {
        let given = *spare >= n;
        if given {
            *spare -= n;
        }
        given
    };
    let facts = screen.facts.len();
    rows.first_fact = screen.rounds | (facts > 0) && take(&mut spare, 1);
    rows.advice = 1;
    let words = wrap(
        &watch.look.text(&screen.advice.text),
        advice_room(width),
        MOST_ADVICE,
    );
    // A second row is kept where there is room, so that nothing moves when the words change.
    let wanted = u16::try_from(words.len()).unwrap_or(1).max(2);
    while rows.advice < wanted && take(&mut spare, 1) {
        rows.advice += 1;
    }
    // The compact form takes a row for each value, the smallest panel five.
    let panel_needs = 5_u16.saturating_sub(values);
    let room_for_panel = take(&mut spare, panel_needs);
    rows.last = take(&mut spare, 1);
    rows.scale = strip && take(&mut spare, 1);
    while rows.more_facts + 1 < facts && take(&mut spare, 1) {
        rows.more_facts += 1;
    }
    if !beside && take(&mut spare, 3) {
        rows.table = 3;
    }
    rows.plan = u16::from(!beside && width < TWO_COLUMNS && take(&mut spare, 1));
    if room_for_panel {
        // Digits get at most about half the window, so that there is room for what they mean.
        // While it records there is little else to be seen.
        let recording = watch
            .known
            .status
            .as_ref()
            .is_some_and(|status| status.recording);
        let share = if recording || beside { 3 } else { 2 };
        let most = (5 + spare).min((height * share / 5).max(5));
        rows.panel = panel::arrange(screen, watch.look, width, most);
        let used = rows.panel.as_ref().map_or(values, Panel::rows);
        spare = (5 + spare).saturating_sub(used);
    }
    while rows.gaps < 4 && spare > 1 + rows.gaps && take(&mut spare, 1) {
        rows.gaps += 1;
    }
    widen_remark(&mut rows, &mut spare, watch, screen, width);
    if rows.table > 0 {
        rows.table += spare;
    }
    rows
}

/// Shows a remark whole where empty rows alone are the price; the rows of the listing are worth more.
fn widen_remark(rows: &mut Rows, spare: &mut u16, watch: &Watch, screen: &Screen, width: u16) {
    let Some(remark) = screen.remarks.first().filter(|_| rows.plan > 0) else {
        return;
    };
    let lines = wrap(&watch.look.text(remark), advice_room(width), usize::MAX);
    let more = u16::try_from(lines.len())
        .unwrap_or(u16::MAX)
        .saturating_sub(1);
    let listed = match &screen.listing {
        Some(Listing::Table(table)) => table.rows.len() as u16 + 1,
        Some(Listing::Cells { cells, .. }) => cells.len() as u16 + 1,
        None => 0,
    };
    let free = spare.saturating_sub(listed.saturating_sub(rows.table));
    if more <= free + rows.gaps.saturating_sub(1) {
        rows.plan += more;
        rows.gaps -= more.saturating_sub(free);
        *spare -= more.min(free);
    }
}

fn body(page: &mut Page<'_>, watch: &Watch, screen: &Screen, now_s: f64, until: u16) {
    if let Some(banner) = &screen.banner {
        let style = page.look.sign(banner.meaning);
        page.banner(&banner.word, &banner.parts, style);
    }
    head::notices(page, watch, screen, now_s, until.saturating_sub(LEAST));
    let height = until.saturating_sub(page.y);
    let Some(columns) = beside::columns(watch, screen, (page.width(), height)) else {
        let rows = allot(watch, screen, (page.width(), height), false);
        if rows.gaps > 0 {
            page.rule();
        }
        main(page, watch, screen, &rows);
        if watch.known.status.is_some() {
            lower(page, screen, &rows, until);
        }
        return;
    };
    page.rule();
    let width = page.width() - columns;
    Beside::of(watch, screen, now_s).draw(&mut page.column(width, columns, until), until);
    let mut left = page.column(0, width - APART, until);
    let rows = allot(watch, screen, (left.width(), height - 1), true);
    main(&mut left, watch, screen, &rows);
    details::all(&mut left, screen, until, (true, 0));
}

/// What every window shows: the digits, what to do, what was decided, what is next.
fn main(page: &mut Page<'_>, watch: &Watch, screen: &Screen, rows: &Rows) {
    let gap = |page: &mut Page<'_>, n: u16| {
        if rows.gaps >= n {
            page.blank();
        }
    };
    match &rows.panel {
        Some(panel) => panel.draw(page),
        None => panel::compact(page, screen),
    }
    gap(page, 2);
    said(page, &screen.advice, rows.advice);
    match (screen.strip, &screen.advice.count) {
        (Strip::None, _) => {}
        (Strip::Zones(zones), _) => zones::draw(page, zones, rows.scale),
        (Strip::Count, Some(count)) => bar(page, count, rows.scale),
        (Strip::Count, None) => (0..1 + u16::from(rows.scale)).for_each(|_| page.blank()),
    }
    gap(page, 3);
    sign(page, screen);
    if rows.first_fact {
        facts(page, screen, 0, 1);
    }
    facts(page, screen, 1, rows.more_facts);
    gap(page, 4);
    next(page, watch, screen);
    if rows.last {
        let style = page.look.words;
        let label = said!(style, "watch-label-last");
        let label = Span::styled(format!("{label:SHORT$}"), page.look.faint());
        page.fitting(label, &screen.last);
    }
}

fn lower(page: &mut Page<'_>, screen: &Screen, rows: &Rows, until: u16) {
    let listing = screen.listing.as_ref();
    if page.width() >= TWO_COLUMNS {
        let top = page.y;
        let middle = page.width() / 2;
        let mut left = page.column(0, middle - 2, until);
        table::draw(&mut left, listing, until.saturating_sub(top));
        let mut right = page.column(middle, page.width() - middle, until);
        details::all(&mut right, screen, until, (rows.plan == 0, 0));
        return;
    }
    let style = page.look.words;
    let mut told = 0;
    if rows.plan > 0 {
        // What the step has to remark matters more than the plan, which is known.
        let faint = page.look.faint();
        if let Some(remark) = screen.remarks.first() {
            let room = page.width().saturating_sub(6);
            let text = page.look.text(remark);
            let shown = usize::from(rows.plan);
            told = usize::from(wrap(&text, room, shown + 1).len() <= shown);
            for (row, line) in wrap(&text, room, shown).into_iter().enumerate() {
                let label = match row {
                    0 => said!(style, "watch-label-note"),
                    _ => String::new(),
                };
                page.line(Line::from(vec![
                    Span::styled(format!("{label:LABEL$}"), faint),
                    Span::raw(line),
                ]));
            }
        } else {
            let label = said!(style, "watch-label-plan");
            let label = Span::styled(format!("{label:SHORT$}"), faint);
            page.fitting(label, &screen.plan);
        }
    }
    if rows.table > 0 {
        let shown = table::draw(page, listing, rows.table);
        // In a tall window there is room for the rest below the table.
        if rows.table > shown + 3 {
            page.blank();
            details::all(page, screen, until, (rows.plan == 0, told));
        }
    }
}

fn said(page: &mut Page<'_>, advice: &Advice, text_rows: u16) {
    let look = page.look;
    let room = advice_room(page.width());
    let lines = wrap(&look.text(&advice.text), room, usize::from(text_rows));
    for row in 0..text_rows {
        let text = lines.get(usize::from(row)).cloned().unwrap_or_default();
        let label = if row == 0 { &*advice.label } else { "" };
        page.line(Line::from(vec![
            Span::styled(format!("{label:LABEL$}"), look.faint()),
            Span::styled(text, look.strong()),
        ]));
    }
}

/// Columns of the words at the left.
const LABEL: usize = 6;
/// The same where a blank follows of itself.
const SHORT: usize = LABEL - 1;
/// No advice needs more rows in a window that is wide enough to be read.
const MOST_ADVICE: usize = 4;

const fn advice_room(width: u16) -> u16 {
    width.saturating_sub(LABEL as u16)
}

fn bar(page: &mut Page<'_>, count: &Count, scale: bool) {
    let look = page.look;
    let words = look.text(&count.words).into_owned();
    // Room for the longest count keeps the bar from changing its length as it runs.
    let room = 20;
    let width = page.width().saturating_sub(room + 1).max(bar::LEAST_WIDTH);
    let drawn = bar::draw(count.to_go, count.full, width, look.blocks);
    let meaning = match count.reached {
        Reached::Past => Meaning::Past,
        Reached::Before | Reached::There => Meaning::Counting,
    };
    page.line(Line::from(vec![
        Span::styled(drawn.bar, look.meant(meaning)),
        Span::styled(format!(" {words:>19}"), look.strong()),
    ]));
    if scale {
        let scale = format!("{} {}", drawn.scale, count.unit);
        page.line(Line::styled(look.text(&scale).into_owned(), look.faint()));
    }
}

/// What was decided, and what it rests on.
fn sign(page: &mut Page<'_>, screen: &Screen) {
    let look = page.look;
    match &screen.sign {
        Some(sign) => page.fitting(
            Span::styled(
                look.text(&format!(" {} ", sign.word)).into_owned(),
                look.sign(sign.meaning),
            ),
            &sign.parts,
        ),
        None => page.line(Line::styled(
            look.text(&screen.undecided).into_owned(),
            look.faint(),
        )),
    }
}

fn facts(page: &mut Page<'_>, screen: &Screen, from: usize, count: usize) {
    let look = page.look;
    let faint = look.faint();
    for i in from..from + count {
        match screen.facts.get(i) {
            Some(fact) => {
                let label = look.text(&fact.label).into_owned();
                let label = format!("{label:SHORT$}");
                page.fitting(Span::styled(label, faint), &fact.parts);
            }
            None => page.blank(),
        }
    }
}

fn next(page: &mut Page<'_>, watch: &Watch, screen: &Screen) {
    let look = watch.look;
    let Some(next) = &screen.next else {
        page.blank();
        return;
    };
    let words = look.words;
    let asking = match watch.waiting {
        true => said!(words, "watch-asking"),
        false => String::new(),
    };
    let (clamp, style) = if next.clamped {
        let tight = said!(words, "live-tight");
        (format!(" {tight} "), look.plate(Color::Blue))
    } else {
        (said!(words, "live-loose"), Style::new())
    };
    let place = format!("{}{asking}", next.place);
    let label = said!(words, "watch-label-next");
    let at = said!(words, "watch-label-clamp");
    page.sides(
        Line::from(vec![
            Span::styled(format!("{label:LABEL$}"), look.faint()),
            Span::styled(look.text(&place).into_owned(), look.strong()),
        ]),
        Line::from(vec![
            Span::styled(format!("{at} "), look.faint()),
            Span::styled(look.text(&clamp).into_owned(), style),
        ]),
    );
}
