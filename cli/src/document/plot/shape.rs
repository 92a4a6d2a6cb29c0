//! What a plot is made of, in pixels from its upper left corner: the page writes it as SVG, and the PDF is painted with it.

use super::look::{Area, Label, Line};
use maud::{Markup, Render, html};
use protocol::sheet::plot::Dot;
use std::fmt::Write;

/// A shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// What it is.
    pub form: Form,
    /// Whether it is a sample in a legend, and stands for nothing by itself.
    pub sample: bool,
}

/// What a shape is.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Lines along paths.
    Lines(Line, Vec<Path>),
    /// Areas within paths; where two lie over each other, neither is filled.
    Within(Area, Vec<Path>),
    /// A circle that is drawn: its centre and its radius.
    Ring(Line, [f64; 2], f64),
    /// A circle that is filled.
    Disc(Area, [f64; 2], f64),
    /// A rectangle: its corner and its size.
    Block(Area, [f64; 2], [f64; 2]),
    /// A text at its place, and whether it runs upward.
    Text(Label, [f64; 2], String, bool),
}

/// Places that are joined in turn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    /// The places.
    pub places: Vec<[f64; 2]>,
    /// Whether the last is joined with the first.
    pub closed: bool,
}

/// A drawing that is being made; what comes later lies on top.
#[derive(Debug, Clone, Default)]
pub struct Canvas {
    /// What has been drawn.
    pub shapes: Vec<Shape>,
    sample: bool,
}

impl Canvas {
    fn put(&mut self, form: Form) {
        let sample = self.sample;
        self.shapes.push(Shape { form, sample });
    }

    /// What is drawn within is a sample.
    pub fn sample(&mut self, draw: impl FnOnce(&mut Self)) {
        self.sample = true;
        draw(self);
        self.sample = false;
    }

    /// Lines from place to place.
    pub fn line(&mut self, line: Line, places: impl Into<Vec<[f64; 2]>>) {
        self.put(Form::Lines(line, vec![Path::open(places)]));
    }

    /// The same, joined to a ring.
    pub fn ring_of(&mut self, line: Line, places: impl Into<Vec<[f64; 2]>>) {
        self.put(Form::Lines(line, vec![Path::closed(places)]));
    }

    /// Areas within paths.
    pub fn within(&mut self, area: Area, paths: Vec<Path>) {
        self.put(Form::Within(area, paths));
    }

    /// A circle that is drawn.
    pub fn ring(&mut self, line: Line, centre: [f64; 2], radius: f64) {
        self.put(Form::Ring(line, centre, radius));
    }

    /// A circle that is filled.
    pub fn disc(&mut self, area: Area, centre: [f64; 2], radius: f64) {
        self.put(Form::Disc(area, centre, radius));
    }

    /// A rectangle.
    pub fn block(&mut self, area: Area, corner: [f64; 2], size: [f64; 2]) {
        self.put(Form::Block(area, corner, size));
    }

    /// A text; nothing for an empty one.
    pub fn text(&mut self, label: Label, at: [f64; 2], text: impl Into<String>) {
        self.write(label, at, text.into(), false);
    }

    /// A text that runs upward.
    pub fn upward(&mut self, label: Label, at: [f64; 2], text: impl Into<String>) {
        self.write(label, at, text.into(), true);
    }

    fn write(&mut self, label: Label, at: [f64; 2], text: String, upward: bool) {
        if !text.is_empty() {
            self.put(Form::Text(label, at, text, upward));
        }
    }

    /// A point.
    pub fn dot(&mut self, dot: Dot, [x, y]: [f64; 2]) {
        if let Some((area, radius)) = Area::of(dot) {
            self.disc(area, [x, y], radius);
        } else if dot == Dot::Cross {
            let falling = [[x - 4.0, y - 4.0], [x + 4.0, y + 4.0]];
            let rising = [[x - 4.0, y + 4.0], [x + 4.0, y - 4.0]];
            let both = [falling, rising].map(Path::open);
            self.put(Form::Lines(Line::Cross, both.into()));
        }
    }
}

impl Path {
    /// Places that are joined in turn.
    pub fn open(places: impl Into<Vec<[f64; 2]>>) -> Self {
        Self {
            places: places.into(),
            closed: false,
        }
    }

    /// The same, joined to a ring.
    pub fn closed(places: impl Into<Vec<[f64; 2]>>) -> Self {
        Self {
            closed: true,
            ..Self::open(places)
        }
    }
}

/// Paths as SVG writes them.
fn d(paths: &[Path]) -> String {
    let mut d = String::new();
    for path in paths {
        for (i, [x, y]) in path.places.iter().enumerate() {
            let command = if i == 0 { 'M' } else { 'L' };
            let _ = write!(d, "{command}{x:.1} {y:.1}");
        }
        if path.closed && !path.places.is_empty() {
            d.push('Z');
        }
    }
    d
}

/// A place on paper, to a tenth of a pixel.
struct Px(f64);

impl Render for Px {
    fn render_to(&self, buffer: &mut String) {
        let _ = write!(buffer, "{:.1}", self.0);
    }
}

impl Render for Shape {
    fn render(&self) -> Markup {
        let sample = self.sample;
        match &self.form {
            Form::Lines(line, paths) => {
                html! { path.(line.class()).sample[sample] d=(d(paths)) {} }
            }
            Form::Within(area, paths) => html! { path.(area.class()) d=(d(paths)) {} },
            Form::Ring(line, [x, y], radius) => {
                html! { circle.(line.class()) cx=(Px(*x)) cy=(Px(*y)) r=(Px(*radius)) {} }
            }
            Form::Disc(area, [x, y], radius) => html! {
                circle.(area.class()).sample[sample] cx=(Px(*x)) cy=(Px(*y)) r=(radius) {}
            },
            Form::Block(area, [x, y], [wide, high]) => html! {
                rect.(area.class()) x=(Px(*x)) y=(Px(*y)) width=(Px(*wide)) height=(Px(*high)) {}
            },
            Form::Text(label, [x, y], text, false) => {
                html! { text.(label.class()) x=(Px(*x)) y=(Px(*y)) { (text) } }
            }
            Form::Text(label, [x, y], text, true) => html! {
                text.(label.class()) transform={ "translate(" (Px(*x)) " " (Px(*y)) ") rotate(-90)" } { (text) }
            },
        }
    }
}
