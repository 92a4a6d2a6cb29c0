//! Pages, filled from the top: what stands where, and where a page ends.

use super::font::Lettering;
use super::text;
use crate::document::plot::shape::Shape;
use config::model::PaperSize;
use protocol::said;
use protocol::style::Style;

/// The size of a sheet of paper, points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// Across.
    pub width: f32,
    /// From top to bottom.
    pub height: f32,
}

impl Paper {
    /// 210 mm by 297 mm. Source: ISO 216.
    pub const A4: Self = Self {
        width: 595.276,
        height: 841.89,
    };
    /// 8.5 in by 11 in. Source: ANSI/ASME Y14.1.
    pub const LETTER: Self = Self {
        width: 612.0,
        height: 792.0,
    };
}

impl Paper {
    /// The sheet in the measure of what is printed on it at a scale.
    pub fn seen_at(self, scale: f32) -> Self {
        Self {
            width: self.width / scale,
            height: self.height / scale,
        }
    }
}

impl From<PaperSize> for Paper {
    fn from(size: PaperSize) -> Self {
        match size {
            PaperSize::A4 => Self::A4,
            PaperSize::Letter => Self::LETTER,
        }
    }
}

/// At the left and at the right.
pub const MARGIN: f32 = 48.0;
const TOP: f32 = 46.0;
/// Room for the foot.
const BELOW: f32 = 62.0;

/// Of lines and text that count.
pub const BLACK: u8 = 17;
/// The usual text.
pub const TEXT: Lettering = Lettering::plain(9.0);
/// What explains.
pub const SMALL: Lettering = Lettering::grey(8.0);

/// Something that stands on a page; places are from its upper left corner.
pub enum Item {
    /// A line of text, at the left end of its base line.
    Text([f32; 2], String, Lettering),
    /// A line from one place to another: its width, and how light it is, from 0.
    Rule([f32; 2], [f32; 2], f32, u8),
    /// A frame: its corner, its size, the width of its line.
    Frame([f32; 2], [f32; 2], f32),
    /// A plot: its corner, how much larger it is drawn than its pixels are points, and its shapes.
    Plot([f32; 2], f32, Vec<Shape>),
    /// A code that a telephone reads: its corner, its side, and what it says.
    Code([f32; 2], f32, String),
}

/// A heading that a reader finds in the list of contents.
pub struct Bookmark {
    /// What it says.
    pub text: String,
    /// The page, from 0.
    pub page: usize,
    /// How far from the top.
    pub y: f32,
}

/// How large what should take one page is printed: the first that has room there.
const SCALES: [f32; 5] = [1.0, 0.93, 0.86, 0.8, 0.74];

/// A page.
pub struct Page {
    /// How large everything on it is printed.
    pub scale: f32,
    /// What stands on it.
    pub items: Vec<Item>,
}

impl Page {
    const fn empty(scale: f32) -> Self {
        Self {
            scale,
            items: Vec::new(),
        }
    }
}

/// The pages of a document.
pub struct Pages {
    /// On which they are printed.
    pub sheet: Paper,
    /// How large everything is printed from here on.
    scale: f32,
    /// The sheet as what is put on it sees it.
    pub paper: Paper,
    /// The pages so far; the last one is being filled.
    pub pages: Vec<Page>,
    /// What a reader finds.
    pub bookmarks: Vec<Bookmark>,
    /// Where the next thing goes.
    pub y: f32,
    /// What a page begins with that goes on with the one before.
    running: Option<String>,
    /// In which words.
    style: Style,
    /// What is kept free at the right.
    beside: f32,
}

impl Pages {
    /// What is laid out on one page, printed smaller where it must be; what has no room there even so, on several in full size.
    pub fn on_one(sheet: Paper, style: Style, lay_out: impl Fn(&mut Self)) -> Self {
        let laid_out = |scale| {
            let mut pages = Self::scaled(sheet, scale, style);
            lay_out(&mut pages);
            pages
        };
        let mut sizes = SCALES.into_iter().map(laid_out);
        sizes
            .find(|pages| pages.pages.len() == 1)
            .unwrap_or_else(|| laid_out(1.0))
    }

    /// One page, empty.
    fn scaled(sheet: Paper, scale: f32, style: Style) -> Self {
        Self {
            sheet,
            scale,
            paper: sheet.seen_at(scale),
            pages: vec![Page::empty(scale)],
            bookmarks: Vec::new(),
            y: TOP,
            running: None,
            style,
            beside: 0.0,
        }
    }

    /// How wide the next thing may be.
    pub fn width(&self) -> f32 {
        self.paper.width - 2.0 * MARGIN - self.beside
    }

    /// Keeps room free at the right.
    pub const fn keep_beside(&mut self, width: f32) {
        self.beside = width;
    }

    const fn bottom(&self) -> f32 {
        self.paper.height - BELOW
    }

    /// What is left of the page.
    pub fn room(&self) -> f32 {
        self.bottom() - self.y
    }

    /// Puts something on the page.
    pub fn put(&mut self, item: Item) {
        if let Some(page) = self.pages.last_mut() {
            page.items.push(item);
        }
    }

    /// Begins a page that goes on with the one before.
    pub fn turn(&mut self) {
        self.pages.push(Page::empty(self.scale));
        self.y = TOP;
        if let Some(running) = self.running.clone() {
            let line = text::one_line(
                &said!(self.style, "continued", heading = running),
                SMALL,
                self.width(),
            );
            self.line(MARGIN, line, SMALL);
            self.y += 6.0;
        }
    }

    /// Begins a page of something else in full size, unless the page is empty.
    pub fn fresh(&mut self) {
        self.running = None;
        self.scale = 1.0;
        self.paper = self.sheet;
        if self.pages.last().is_some_and(|page| !page.items.is_empty()) {
            self.turn();
        }
    }

    /// Begins a page unless so much has room.
    pub fn keep(&mut self, height: f32) {
        let empty = self.pages.last().is_none_or(|page| page.items.is_empty());
        if !empty && self.room() < height {
            self.turn();
        }
    }

    /// Leaves some room.
    pub fn gap(&mut self, height: f32) {
        self.y += height;
    }

    /// A printable line of text.
    pub fn line(&mut self, x: f32, line: String, style: Lettering) {
        let base = self.y + style.size;
        if !line.is_empty() {
            self.put(Item::Text([x, base], line, style));
        }
        self.y += style.line();
    }

    /// Text in as many lines as it takes, over pages where it must.
    pub fn text(&mut self, text: &str, style: Lettering) {
        self.indented(text, style, 0.0);
    }

    fn indented(&mut self, text: &str, style: Lettering, indent: f32) {
        for line in text::lines(text, style, self.width() - indent) {
            self.keep(style.line());
            self.line(MARGIN + indent, line, style);
        }
    }

    /// A paragraph, with room behind it.
    pub fn paragraph(&mut self, text: &str, style: Lettering) {
        self.text(text, style);
        self.gap(4.0);
    }

    /// A list; each item after a dash.
    pub fn list<'a>(&mut self, items: impl IntoIterator<Item = &'a String>) {
        for item in items {
            self.keep(TEXT.line());
            self.put(Item::Text([MARGIN, self.y + TEXT.size], "–".into(), TEXT));
            self.indented(item, TEXT, 11.0);
            self.gap(1.5);
        }
        self.gap(3.0);
    }

    /// Tasks, each after a box to tick.
    pub fn tasks(&mut self, tasks: &[String]) {
        const SIDE: f32 = 9.0;
        for task in tasks {
            self.keep(TEXT.line());
            self.put(Item::Frame([MARGIN, self.y + 0.5], [SIDE; 2], 0.9));
            self.indented(task, TEXT, SIDE + 8.0);
            self.gap(4.0);
        }
        self.gap(3.0);
    }

    /// The document's own heading.
    pub fn title(&mut self, title: &str) {
        self.text(title, Lettering::bold(17.0));
        self.gap(2.0);
        self.rule(1.6);
        self.gap(8.0);
    }

    /// A heading of a part, which a reader finds; what follows it at once takes `below`.
    pub fn heading(&mut self, heading: &str, below: f32) {
        let style = Lettering::bold(12.0);
        self.gap(8.0);
        self.keep(style.line() + 8.0 + below);
        self.bookmarks.push(Bookmark {
            text: text::cut(&text::one_line(heading, style, self.width()), 200),
            page: self.pages.len() - 1,
            y: self.y,
        });
        self.text(heading, style);
        self.gap(1.0);
        self.rule(0.6);
        self.gap(5.0);
    }

    /// A heading that pages repeat on which what is below it goes on.
    pub fn running_heading(&mut self, heading: &str) {
        self.heading(heading, 40.0);
        self.running = Some(heading.to_owned());
    }

    /// A heading within a part; what follows it at once takes `below`.
    pub fn minor_heading(&mut self, heading: &str, below: f32) {
        let style = Lettering::bold(9.5);
        self.gap(5.0);
        self.keep(style.line() + 2.0 + below);
        self.text(heading, style);
        self.gap(2.0);
    }

    /// What was decided, framed.
    pub fn verdict(&mut self, verdict: &str) {
        let style = Lettering::bold(11.5);
        let (across, above) = (7.0, 4.0);
        let lines = text::lines(verdict, style, self.width() - 2.0 * across);
        let wide = lines.iter().map(|line| super::font::width(line, style));
        let wide = wide.fold(0.0, f32::max) + 2.0 * across;
        let high = lines.len() as f32 * style.line() + 2.0 * above;
        self.keep(high);
        self.put(Item::Frame([MARGIN, self.y], [wide, high], 1.3));
        self.y += above;
        for line in lines {
            self.line(MARGIN + across, line, style);
        }
        self.y += above + 6.0;
    }

    /// A line across.
    pub fn rule(&mut self, width: f32) {
        let right = MARGIN + self.width();
        self.put(Item::Rule([MARGIN, self.y], [right, self.y], width, BLACK));
    }
}
