//! How the shapes of a plot look, once: the page's style sheet is written from it, and the PDF is painted by it.
//!
//! Everything is grey, and series differ by weight, dash and dot, so that print loses nothing.

use protocol::sheet::plot::{Dot, Stroke};
use std::fmt::Write;

/// What the lines of a series are of; some are thinner where they lie close to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A chart.
    Chart,
    /// A profile round a turn.
    Trace,
    /// A circle round a turn.
    Circle,
}

/// A line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// Of the grid.
    Grid,
    /// The circle of the level 0.
    Base,
    /// An axis.
    Axis,
    /// A heavy line of a series.
    Heavy(Of),
    /// A light one.
    Light(Of),
    /// One of three dash patterns.
    Dashed(Of, usize),
    /// A cross at a doubted point.
    Cross,
    /// Toward the high spot.
    Spot,
    /// A ring at a point.
    Ring,
}

/// A filled area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Area {
    /// Between two profiles.
    Band,
    /// A bar.
    Bar,
    /// A span of an axis that has a name.
    Flag,
    /// A point that counts.
    Full,
    /// A point that stands beside it; a [`Line::Ring`] is round it.
    Open,
    /// One of many points.
    Fine,
    /// The end of the line toward the high spot.
    Ball,
}

/// A text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Label {
    /// In the middle over its place.
    Middle,
    /// The same, smaller.
    Small,
    /// To the left of its place: a value on the upright axis.
    Before,
    /// In the middle: the name of a span.
    FlagName,
    /// To the right of its place: in a legend.
    Legend,
    /// At the end of a heavy line.
    Heavy,
    /// At the end of a light one.
    Light,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// From black, 0, to white, 255.
    pub grey: u8,
    /// Pixels.
    pub width: f32,
    /// Pixels drawn and left out, in turn.
    pub dashes: &'static [f32],
}

/// How an area is filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ink {
    /// From black, 0, to white, 255.
    pub grey: u8,
    /// From nothing, 0, to all, 1.
    pub opacity: f32,
}

/// Where a text stands about its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// How a text is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Script {
    /// Pixels.
    pub size: f32,
    /// Whether it is heavy.
    pub bold: bool,
    /// Where it stands.
    pub anchor: Anchor,
}

/// Of lines and text that count.
const BLACK: u8 = 0x11;
const DASHES: [&[f32]; 3] = [&[7.0, 3.0], &[2.0, 3.0], &[9.0, 3.0, 2.0, 3.0]];
const KINDS: [Of; 3] = [Of::Chart, Of::Trace, Of::Circle];

impl Line {
    /// How a series is drawn; nothing where its points are not joined.
    pub const fn of(stroke: Stroke, of: Of) -> Option<Self> {
        match stroke {
            Stroke::None => None,
            Stroke::Heavy => Some(Self::Heavy(of)),
            Stroke::Light => Some(Self::Light(of)),
            Stroke::Dashed(index) => Some(Self::Dashed(of, index % DASHES.len())),
        }
    }

    fn all() -> impl Iterator<Item = Self> {
        let series = KINDS.into_iter().flat_map(|of| {
            let dashed = (0..DASHES.len()).map(move |index| Self::Dashed(of, index));
            [Self::Heavy(of), Self::Light(of)].into_iter().chain(dashed)
        });
        [Self::Grid, Self::Base, Self::Axis]
            .into_iter()
            .chain(series)
            .chain([Self::Cross, Self::Spot, Self::Ring])
    }

    /// Its class in the page.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Grid => "grid",
            Self::Base => "grid base",
            Self::Axis => "axis",
            Self::Heavy(Of::Chart) => "heavy",
            Self::Heavy(Of::Trace) => "trace heavy",
            Self::Heavy(Of::Circle) => "circle heavy",
            Self::Light(Of::Chart) => "light",
            Self::Light(Of::Trace) => "trace light",
            Self::Light(Of::Circle) => "circle light",
            Self::Dashed(Of::Chart, index) => ["light d1", "light d2", "light d3"][index],
            Self::Dashed(Of::Trace, index) => {
                ["trace light d1", "trace light d2", "trace light d3"][index]
            }
            Self::Dashed(Of::Circle, index) => {
                ["circle light d1", "circle light d2", "circle light d3"][index]
            }
            Self::Cross => "cross",
            Self::Spot => "spot",
            Self::Ring => "light",
        }
    }

    /// How it is drawn.
    pub const fn pen(self) -> Pen {
        let (grey, width) = match self {
            Self::Grid => (0xdd, 1.0),
            Self::Base => (0x99, 1.0),
            Self::Axis => (BLACK, 1.2),
            Self::Heavy(Of::Chart) => (BLACK, 2.6),
            Self::Heavy(Of::Trace | Of::Circle) => (BLACK, 1.7),
            Self::Light(Of::Circle) | Self::Dashed(Of::Circle, _) => (0x33, 1.2),
            Self::Light(_) | Self::Dashed(..) | Self::Ring => (0x77, 1.2),
            Self::Cross => (BLACK, 1.8),
            Self::Spot => (BLACK, 1.4),
        };
        let dashes: &[f32] = match self {
            Self::Dashed(_, index) => DASHES[index],
            _ => &[],
        };
        Pen {
            grey,
            width,
            dashes,
        }
    }
}

impl Area {
    const ALL: [Self; 7] = [
        Self::Band,
        Self::Bar,
        Self::Flag,
        Self::Full,
        Self::Open,
        Self::Fine,
        Self::Ball,
    ];

    /// What a point is filled with, and how large it is; nothing for none, and for a cross.
    pub const fn of(dot: Dot) -> Option<(Self, f64)> {
        match dot {
            Dot::None | Dot::Cross => None,
            Dot::Full => Some((Self::Full, 3.0)),
            Dot::Open => Some((Self::Open, 3.0)),
            Dot::Fine => Some((Self::Fine, 1.1)),
        }
    }

    /// Its class in the page.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Band => "band",
            Self::Bar => "bar",
            Self::Flag => "flag",
            Self::Full => "heavy",
            Self::Open => "light",
            Self::Fine => "fine",
            Self::Ball => "spot",
        }
    }

    /// The elements that have it.
    const fn element(self) -> &'static str {
        match self {
            Self::Band => "path",
            Self::Bar | Self::Flag => "rect",
            Self::Full | Self::Open | Self::Fine | Self::Ball => "circle",
        }
    }

    /// How it is filled.
    pub const fn ink(self) -> Ink {
        let (grey, opacity) = match self {
            Self::Band => (0, 0.16),
            Self::Bar => (0x66, 1.0),
            Self::Flag => (0, 0.13),
            Self::Full | Self::Ball => (BLACK, 1.0),
            Self::Open => (0xff, 1.0),
            Self::Fine => (0x55, 1.0),
        };
        Ink { grey, opacity }
    }

    /// The line round it.
    pub const fn edge(self) -> Option<Line> {
        match self {
            Self::Open => Some(Line::Ring),
            _ => None,
        }
    }
}

impl Label {
    const ALL: [Self; 7] = [
        Self::Middle,
        Self::Small,
        Self::Before,
        Self::FlagName,
        Self::Legend,
        Self::Heavy,
        Self::Light,
    ];

    /// Its class in the page.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Middle => "xtick",
            Self::Small => "xtick small",
            Self::Before => "ytick",
            Self::FlagName => "flagname",
            Self::Legend => "legend",
            Self::Heavy => "series heavy",
            Self::Light => "series light",
        }
    }

    /// How it is written.
    pub const fn script(self) -> Script {
        let anchor = match self {
            Self::Middle | Self::Small | Self::FlagName => Anchor::Middle,
            Self::Before => Anchor::End,
            Self::Legend | Self::Heavy | Self::Light => Anchor::Start,
        };
        Script {
            size: if matches!(self, Self::Small) {
                9.5
            } else {
                11.0
            },
            bold: matches!(self, Self::Heavy),
            anchor,
        }
    }
}

/// The page's style sheet for the plots.
pub fn css() -> String {
    let mut css = String::from(
        "/* The plots. */\nsvg text{font:11px 'DejaVu Sans',Verdana,sans-serif;fill:#111}\n",
    );
    let mut rule = |element: &str, class: &str, what: &str| {
        let _ = writeln!(css, "{element}.{}{{{what}}}", class.replace(' ', "."));
    };
    let grey = |grey: u8| format!("#{grey:02x}{grey:02x}{grey:02x}");
    let stroke = |line: Line| {
        let pen = line.pen();
        format!("stroke:{};stroke-width:{}", grey(pen.grey), pen.width)
    };
    for line in Line::all().filter(|line| *line != Line::Ring) {
        let dashes: Vec<String> = line.pen().dashes.iter().map(f32::to_string).collect();
        let dashes = match dashes.as_slice() {
            [] => String::new(),
            dashes => format!(";stroke-dasharray:{}", dashes.join(" ")),
        };
        let what = format!("{};fill:none{dashes}", stroke(line));
        rule("path", line.class(), &what);
        if matches!(line, Line::Grid | Line::Base) {
            rule("circle", line.class(), &what);
        }
    }
    for area in Area::ALL {
        let ink = area.ink();
        let mut what = format!("fill:{}", grey(ink.grey));
        if ink.opacity < 1.0 {
            let _ = write!(what, ";fill-opacity:{}", ink.opacity);
        }
        if area == Area::Band {
            what.push_str(";fill-rule:evenodd");
        }
        if let Some(edge) = area.edge() {
            let _ = write!(what, ";{}", stroke(edge));
        }
        rule(area.element(), area.class(), &what);
    }
    for label in Label::ALL {
        let script = label.script();
        let anchor = match script.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = if script.bold { ";font-weight:700" } else { "" };
        let what = format!("font-size:{}px;text-anchor:{anchor}{weight}", script.size);
        rule("text", label.class(), &what);
    }
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where several rules fit an element, a browser takes the one with most classes: it has to be the element's own.
    #[test]
    fn each_rule_sets_all_that_a_shorter_one_sets() {
        let css = css();
        let rules: Vec<(Vec<&str>, Vec<&str>)> = css
            .lines()
            .skip(2)
            .map(|line| {
                let (selector, what) = line.trim_end_matches('}').split_once('{').unwrap();
                let set = what.split(';').map(|set| set.split_once(':').unwrap().0);
                (selector.split('.').collect(), set.collect())
            })
            .collect();
        assert!(rules.len() > 25, "{css}");
        for (selector, set) in &rules {
            for (shorter, of_it) in &rules {
                if shorter != selector && shorter.iter().all(|name| selector.contains(name)) {
                    let all = of_it.iter().all(|name| set.contains(name));
                    assert!(all, "{selector:?} keeps something of {shorter:?}");
                }
            }
        }
    }
}
