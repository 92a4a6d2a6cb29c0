//! What a screen is made of: words and numbers with their meaning. How they look is the renderer's choice.

use super::sound::Beat;
use crate::said;
use crate::style::Style;
use serde::Serialize;

/// What the live view shows of a moment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Screen {
    /// Which session and which step.
    pub title: String,
    /// Where readings come from, once that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<Source>,
    /// What cannot be missed: every reading is being recorded, the part is too small.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub banner: Option<Sign>,
    /// What is wrong now, and would otherwise be taken for a fault of the set-up.
    pub notices: Vec<Entry>,
    /// The large values that must be there.
    pub must: Vec<Value>,
    /// One more, where there is room.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub may: Option<Value>,
    /// What to do now.
    pub advice: Advice,
    /// What stands under the advice.
    pub strip: Strip,
    /// What was decided.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sign: Option<Sign>,
    /// Why nothing was decided; empty where something was, or where nobody asks yet.
    pub undecided: String,
    /// Lines of facts by importance; the first matters as much as the decision.
    pub facts: Vec<Fact>,
    /// Marks belong to rounds, and the first complete one brings the first fact.
    pub rounds: bool,
    /// What the next mark is about; none where no step is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next: Option<NextMark>,
    /// The last mark, in parts as those of a [`Fact`].
    pub last: Vec<String>,
    /// What was done to the readings, and remarks, in sentences.
    pub remarks: Vec<String>,
    /// The plan, in parts as those of a [`Fact`].
    pub plan: Vec<String>,
    /// What was marked or found, row by row.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub listing: Option<Listing>,
    /// For a window with room: the set-up, what was learned of it, marks, cables.
    pub details: Vec<Entry>,
    /// The budget, a component in each line.
    pub budget: Vec<String>,
}

/// What something means, for the colour of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Meaning {
    /// Nothing in particular.
    Plain,
    /// It is as wanted.
    Good,
    /// It is not decided, or wants an answer.
    Doubtful,
    /// It is not as wanted.
    Bad,
    /// It counts down, or grows while it is recorded.
    Counting,
    /// It went too far.
    Past,
    /// Every reading counts now.
    Recording,
    /// It moves, and cannot be marked yet.
    Moving,
    /// It is not that of now.
    Old,
}

/// Where readings come from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    /// The cable, or that values are typed.
    pub name: String,
    /// The cable's state with its age.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// Whether its value is that of now.
    pub current: bool,
    /// Bytes that were no reading, for a window with room.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skipped: Option<String>,
}

/// A word on a plate, and what it rests on, each part standing alone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sign {
    /// The word.
    pub word: String,
    /// What it means.
    pub meaning: Meaning,
    /// What it rests on.
    pub parts: Vec<String>,
}

/// A line of facts: a word, and parts of which as many are shown as fit, from the first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fact {
    /// The word.
    pub label: String,
    /// The parts, each standing alone; one that begins with a blank goes on from the one before.
    pub parts: Vec<String>,
}

/// A word and a text.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// The word.
    pub label: String,
    /// The text.
    pub text: String,
}

/// One large value.
#[derive(Debug, Clone, PartialEq, Serialize)]
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
    /// What the value means.
    pub meaning: Meaning,
    /// What that under it means.
    pub under_meaning: Meaning,
}

/// What to do now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advice {
    /// What it is about, in a word.
    pub label: String,
    /// The sentence.
    pub text: String,
    /// The count of a tap that is under way: the bar that runs to zero.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<Count>,
}

/// Where a tap has come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reached {
    /// Before the target.
    Before,
    /// At it, within what the display can show.
    There,
    /// Past it.
    Past,
}

/// How far a tap has come, in the user's unit of small lengths.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Count {
    /// Where that is.
    pub reached: Reached,
    /// What is left: positive before the target, zero at it, negative past it.
    pub to_go: f64,
    /// The whole of the tap.
    pub full: f64,
    /// The unit of both.
    pub unit: &'static str,
    /// What is left as a number without a sign, as its display would show it.
    pub left: String,
    /// The whole of the tap, likewise.
    pub whole: String,
    /// What is left, in words.
    pub words: String,
    /// What it sounds like.
    pub beat: Beat,
}

/// What stands under the advice.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Strip {
    /// Nothing: this step has nothing to count.
    None,
    /// The bar that runs to zero, while the advice has a count.
    Count,
    /// The length of the cone in thirds, each with its share of print, per cent, big end first.
    Zones([f64; 3]),
}

/// What the next mark is about.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextMark {
    /// Where, and in which round.
    pub place: String,
    /// Whether the clamp is tight.
    pub clamped: bool,
}

/// What was marked or found, row by row.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Listing {
    /// Rows under a head.
    Table(Table),
    /// Under a heading, as many in a row as there is room for; the newest last.
    Cells {
        /// The heading.
        heading: String,
        /// Where each was read, and its value.
        cells: Vec<[String; 2]>,
    },
}

/// Rows under a head. Where there is no room for all rows, those at one end are left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Table {
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with a cell for every column; a cell is empty where nothing is known.
    pub rows: Vec<Vec<String>>,
    /// For each row the length of a bar behind it, as a share of the longest; none where there are no bars.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub bars: Vec<f64>,
    /// The newest stand last and are kept; otherwise the first are.
    pub newest_last: bool,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Column {
    /// Its name with the unit.
    pub name: String,
    /// Its cells stand to the right.
    pub right: bool,
    /// The longest of its cells may have so many characters: the room is kept, so that nothing jumps.
    pub room: usize,
    /// A narrow window does without it.
    pub spare: bool,
}

impl Screen {
    /// A line of facts, when there are any.
    pub(crate) fn fact(&mut self, label: String, parts: Vec<String>) {
        if !parts.is_empty() {
            self.facts.push(Fact { label, parts });
        }
    }

    /// An entry of the details.
    pub(crate) fn detail(&mut self, label: String, text: impl Into<String>) {
        self.details.push(Entry::new(label, text));
    }
}

impl Entry {
    pub(crate) fn new(label: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            label: label.into(),
            text: text.into(),
        }
    }
}

impl Advice {
    /// A sentence.
    pub(crate) fn say(style: Style, text: impl Into<String>) -> Self {
        Self {
            label: said!(style, "live-label-now"),
            text: text.into(),
            count: None,
        }
    }
}

impl Column {
    /// A column that stands to the right.
    pub(crate) fn right(name: impl Into<String>, room: usize) -> Self {
        Self {
            name: name.into(),
            right: true,
            room,
            spare: false,
        }
    }

    /// A column that stands to the left.
    pub(crate) fn left(name: impl Into<String>, room: usize) -> Self {
        Self {
            right: false,
            ..Self::right(name, room)
        }
    }

    /// A narrow window does without it.
    pub(crate) fn spare(self) -> Self {
        Self {
            spare: true,
            ..self
        }
    }
}

impl Table {
    /// The newest stand last.
    pub(crate) fn newest_last(
        columns: impl Into<Vec<Column>>,
        rows: impl IntoIterator<Item = Vec<String>>,
    ) -> Self {
        Self {
            newest_last: true,
            ..Self::first_kept(columns, rows)
        }
    }

    /// The first rows are kept.
    pub(crate) fn first_kept(
        columns: impl Into<Vec<Column>>,
        rows: impl IntoIterator<Item = Vec<String>>,
    ) -> Self {
        Self {
            columns: columns.into(),
            rows: rows.into_iter().collect(),
            bars: Vec::new(),
            newest_last: false,
        }
    }
}

impl Listing {
    /// Whether there is nothing in it.
    pub(crate) fn is_empty(&self) -> bool {
        match self {
            Self::Table(table) => table.rows.is_empty(),
            Self::Cells { cells, .. } => cells.is_empty(),
        }
    }
}
