//! What the screen of a step says. Each kind fills the same places in its own way, one file each; the layout is the
//! view's and is one for all. Nothing is drawn here.

mod contact;
mod dial;
mod runout;
mod size;
mod sweep;
mod table;
mod value;
mod zero;

pub use table::Table;
pub use value::Value;

use super::advice::{self, Advice};
use super::figures::Units;
use super::look::Look;
use super::state::Watch;
use super::words;
use metrology::Counted;
use metrology::uncertainty::{Undecided, Verdict};
use protocol::api::{SoFar, Status};
use protocol::plan::{AnglesFrom, Plan, StepKind, Work};
use ratatui::style::Color;

/// A word on a plate, and what it rests on, each part standing alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// The word.
    pub word: String,
    /// The plate's colour, where there are colours.
    pub colour: Color,
    /// What it rests on.
    pub parts: Vec<String>,
}

/// A line of facts: a word, and parts of which as many are shown as fit, from the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// The word.
    pub label: &'static str,
    /// The parts, each standing alone; one that begins with a blank goes on from the one before.
    pub parts: Vec<String>,
}

/// What stands under the advice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strip {
    /// Nothing: this step has nothing to count.
    None,
    /// The bar that runs to zero.
    Count,
    /// The length of the cone in thirds, each with its share of print, per cent, big end first.
    Zones([f64; 3]),
}

/// What the screen of a step says.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// What cannot be missed: every reading is being recorded, the part is too small.
    pub banner: Option<Sign>,
    /// The large values that must be there.
    pub must: Vec<Value>,
    /// One more, where there is room.
    pub may: Option<Value>,
    /// What stands under the advice.
    pub strip: Strip,
    /// What was decided.
    pub sign: Option<Sign>,
    /// What stands there when nothing was decided.
    pub undecided: String,
    /// Lines of facts by importance; the first matters as much as the decision.
    pub facts: Vec<Fact>,
    /// What was learned, for a window with room.
    pub learned: Vec<(&'static str, String)>,
    /// Marks belong to rounds.
    pub rounds: bool,
}

impl Face {
    /// That of no step: the reading alone.
    fn idle(watch: &Watch, now_s: f64) -> Self {
        Self {
            banner: None,
            must: vec![value::reading(watch, now_s)],
            may: None,
            strip: Strip::None,
            sign: None,
            undecided: String::new(),
            facts: Vec::new(),
            learned: Vec::new(),
            rounds: false,
        }
    }

    /// A line of facts, when there are any.
    fn fact(&mut self, label: &'static str, parts: Vec<String>) {
        if !parts.is_empty() {
            self.facts.push(Fact { label, parts });
        }
    }
}

/// What the open step is for; where nobody says, the usual of its kind.
#[must_use]
pub fn plan(status: &Status) -> Option<Plan> {
    let step = status.step?;
    let plan = status.plan.clone();
    Some(plan.unwrap_or_else(|| Plan::usual(step.kind)))
}

/// What the screen says.
#[must_use]
pub fn of(watch: &Watch, now_s: f64) -> Face {
    let Some((status, plan)) = watch.status.as_ref().and_then(|s| Some((s, plan(s)?))) else {
        return Face::idle(watch, now_s);
    };
    let mut face = match &plan.work {
        Work::Zero(zero) => zero::face(watch, status, zero, now_s),
        Work::Sweep(sweep) => sweep::face(watch, status, sweep, now_s),
        Work::Runout(runout) => runout::face(watch, status, runout, now_s),
        Work::Size(size) => size::face(watch, status, size, now_s),
        Work::Contact(contact) => contact::face(watch, status, contact, now_s),
        Work::Dial(_) => dial::face(watch, status, &plan, now_s),
    };
    if let Some(why) = status.no_outcome.as_ref().filter(|_| face.sign.is_none()) {
        // Where it is a trouble the advice says so.
        let ends = status.marks.len() > 1 || !status.recording;
        if advice::under_way(status) && ends {
            face.undecided = format!("not yet: {why}");
        }
    }
    if status.recording {
        face.banner = Some(recording(watch, &plan));
    }
    if let Some(until_s) = watch.rest_until_s {
        face.banner = Some(waiting(until_s - now_s));
    }
    face
}

/// What to do now, by the step's kind.
#[must_use]
pub fn advice(watch: &Watch, status: &Status, plan: &Plan, now_s: f64) -> Advice {
    match &plan.work {
        Work::Zero(zero) => zero::advice(watch, status, zero, now_s),
        Work::Sweep(sweep) => sweep::advice(watch, status, sweep, now_s),
        Work::Runout(runout) => runout::advice(watch, status, runout, now_s),
        Work::Size(size) => size::advice(watch, status, size),
        Work::Contact(_) => contact::advice(status),
        Work::Dial(_) => dial::advice(watch, status),
    }
}

/// The step's table, as one of this many columns; none while there is nothing in it.
#[must_use]
pub fn table(status: &Status, look: Look, width: u16) -> Option<Table> {
    let table = match status.step?.kind {
        StepKind::Zero => zero::table(status, look.units, width),
        StepKind::Sweep => sweep::table(status, look.units),
        StepKind::Runout => runout::table(status, look, width),
        StepKind::Size => size::table(status, look.units),
        StepKind::Contact => contact::table(status),
        StepKind::Dial => dial::table(status, look.units),
    }?;
    (!table.rows.is_empty()).then_some(table)
}

/// That a mark is made as soon as the reading rests, and for how long it waits.
fn waiting(left_s: f64) -> Sign {
    Sign {
        word: format!("WAITING for rest, {:.0} s", left_s.max(0.0).ceil()),
        colour: Color::Yellow,
        parts: vec!["u drops it".to_owned(), "hold still".to_owned()],
    }
}

/// That every reading counts now, and what ends it.
fn recording(watch: &Watch, plan: &Plan) -> Sign {
    // What ends it stands first: it is what must be known in the narrowest window.
    let ends = match &plan.work {
        Work::Runout(runout) if runout.angles == AnglesFrom::Turns => "space: the line comes by",
        _ => "space ENDS it",
    };
    let mut parts = vec![ends.to_owned()];
    match watch.so_far {
        Some(SoFar::Sweep { points, .. }) => parts.push(Counted(points, "reading").to_string()),
        Some(SoFar::Runout { points, turns, .. }) => {
            parts.push(Counted(points, "reading").to_string());
            if turns > 0 {
                parts.push(Counted(turns as usize, "turn").to_string());
            }
        }
        None => {}
    }
    Sign {
        word: "RECORDING".to_owned(),
        colour: Color::Red,
        parts,
    }
}

/// A verdict on its plate.
fn verdict(verdict: Verdict, because: Option<Undecided>, mut parts: Vec<String>) -> Sign {
    parts.extend(because.map(|because| because.words().to_owned()));
    Sign {
        word: words::plate(verdict),
        colour: match verdict {
            Verdict::In => Color::Green,
            Verdict::Out => Color::Red,
            Verdict::Undecided => Color::Yellow,
        },
        parts,
    }
}

/// A size in µm, or in the user's small unit, with its sign and its unit.
fn signed_um(um: f64, units: Units) -> String {
    format!("{} {}", units.small_signed(um), units.small_sign())
}

/// The same without a sign, for what has none.
fn um(um: f64, units: Units) -> String {
    format!("{} {}", unsigned(um, units), units.small_sign())
}

fn unsigned(um: f64, units: Units) -> String {
    units
        .small_signed(um.abs())
        .trim_start_matches('+')
        .to_owned()
}

/// A worth, which may be too small for its decimals.
fn worth(worth_um: f64, units: Units) -> String {
    match worth_um.abs() {
        least if least < 0.005 => format!("under {}", um(0.01, units)),
        _ => um(worth_um, units),
    }
}

/// Limits between which a value lies.
fn between([low, high]: [f64; 2], units: Units) -> String {
    format!(" ({} to {})", unsigned(low, units), unsigned(high, units))
}

/// Rows of a table that lie far from the rest, the first few by their number.
fn outliers(count: usize, rows: &[usize], rejected: usize) -> Option<String> {
    if rejected > 0 {
        return Some(format!("{} left out", Counted(rejected, "outlier")));
    }
    (count > 0).then(|| {
        let shown: Vec<_> = rows.iter().take(4).map(usize::to_string).collect();
        let more = if rows.len() > shown.len() { " ..." } else { "" };
        let which = if shown.is_empty() {
            String::new()
        } else {
            format!(" (row {}{more})", shown.join(" "))
        };
        format!("{}{which}, counted in", Counted(count, "outlier"))
    })
}
