//! What a session came to, in the few figures by which two of them are compared: the part as it was found, and as it was left.
//!
//! Programs read a [`Compared`] as JSON, people read its lines. Each kind of step gives both of its own ([`Compare`]), so that
//! text, page and JSON say the same, and none of them picks figures out of an outcome.

use super::{Amount, Figure, Unit, words};
use crate::evidence::Time;
use crate::for_kind;
use crate::plan::Condition;
use crate::record::{Record, StepRecord};
use crate::step::{OfKind, Step, StepKind};
use crate::style::Style;
use metrology::dial::IndicatorCheck;
use metrology::uncertainty::Verdict;
use serde::Serialize;
use serde_json::Map;

/// A session in figures. What it did not measure is absent.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Its number.
    pub session: i64,
    /// The part's name.
    pub part: String,
    /// When it was opened.
    pub opened_utc_ns: Time,
    /// The taper's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taper: Option<String>,
    /// The fixture's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fixture: Option<String>,
    /// What the steps of each kind came to, by the names that the kinds give it.
    #[serde(flatten)]
    pub fields: Map<String, serde_json::Value>,
    /// Every verdict, in the order of the steps.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub verdicts: Vec<Judged>,
    /// The indicator's last check that the session knew of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub indicator_check: Option<IndicatorCheck>,
    /// What the steps of each kind came to, for people.
    #[serde(skip)]
    lines: Vec<Line>,
    #[serde(skip)]
    style: Style,
}

/// The verdict of a step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judged {
    /// The step's number.
    pub number: u32,
    /// Its kind.
    pub kind: StepKind,
    /// In which state of the part it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub condition: Option<Condition>,
    /// The verdict.
    pub verdict: Verdict,
}

/// A line of the comparison: its name, and the figure where the session has it.
type Line = (&'static str, Option<Figure>);

/// A figure of two sessions. At least one of them has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Its name.
    pub name: &'static str,
    /// In the session that is looked at.
    pub this: Option<Figure>,
    /// In the one beside it.
    pub beside: Option<Figure>,
}

/// Two sessions side by side: a row for each figure that either of them has.
#[must_use]
pub fn rows(this: &Compared, beside: &Compared) -> Vec<Row> {
    let pairs = this.all_lines().into_iter().zip(beside.all_lines());
    pairs
        .map(|((name, this), (_, beside))| Row { name, this, beside })
        .filter(|row| row.this.is_some() || row.beside.is_some())
        .collect()
}

impl Compared {
    /// Of a session; its lines are written in a style.
    #[must_use]
    pub fn of(record: &Record, style: Style) -> Self {
        let setup = &record.setup;
        let mut all = Share::default();
        for kind in StepKind::ALL {
            let own = for_kind!(kind, StepKind => S, share::<S>(record, style));
            all.fields.extend(own.fields);
            all.lines.extend(own.lines);
        }
        let steps = record.steps.iter();
        let check = steps.clone().rev().find_map(check);
        Self {
            session: record.session.id,
            part: record.session.name.clone(),
            opened_utc_ns: record.session.opened_utc_ns,
            taper: setup.taper.as_ref().map(|taper| taper.name.clone()),
            fixture: setup.fixture.as_ref().map(|fixture| fixture.name.clone()),
            fields: all.fields,
            verdicts: steps.filter_map(judged).collect(),
            indicator_check: check.or_else(|| setup.indicator.check.clone()),
            lines: all.lines,
            style,
        }
    }

    /// Every line. The names are the same for every session, whatever it measured.
    fn all_lines(&self) -> Vec<Line> {
        let words = |name: &'static str, words: Option<&str>| {
            (name, words.map(|it| Figure::words(name.to_owned(), it)))
        };
        let verdicts: Vec<String> = self.verdicts.iter().map(Judged::words).collect();
        let verdicts = (!verdicts.is_empty()).then(|| verdicts.join(", "));
        let mut lines = vec![
            words("part", Some(&self.part)),
            (
                "opened",
                Some(Figure::moment("opened".to_owned(), self.opened_utc_ns)),
            ),
            words("taper", self.taper.as_deref()),
            words("fixture", self.fixture.as_deref()),
        ];
        lines.extend(self.lines.iter().cloned());
        lines.push(words("verdicts", verdicts.as_deref()));
        lines.push((
            "indicator checked",
            self.indicator_check
                .as_ref()
                .map(|check| checked(check, self.style)),
        ));
        lines
    }
}

impl Judged {
    fn words(&self) -> String {
        let condition = match self.condition {
            Some(Condition::Found) => " as found",
            Some(Condition::Left) => " as left",
            None => "",
        };
        let verdict = words::verdict_word(self.verdict);
        format!("{}{condition} {verdict}", self.kind.word())
    }
}

fn checked(check: &IndicatorCheck, style: Style) -> Figure {
    let name = "indicator checked".to_owned();
    let u = format!(", u {}", Amount::plain(check.u_um, Unit::Um).text(style));
    match check.checked_utc_ns {
        Some(ns) => Figure::moment(name, Time(ns)),
        None => Figure::words(name, "without a date"),
    }
    .more(u)
}

fn judged(step: &StepRecord) -> Option<Judged> {
    Some(Judged {
        number: step.number,
        kind: step.plan.kind(),
        condition: step.plan.condition,
        verdict: step.outcome.as_ref()?.verdict()?,
    })
}

/// The check that a step made, or that it was opened with. One that has no date of its own is of the step's.
fn check(step: &StepRecord) -> Option<IndicatorCheck> {
    let outcome = step.outcome.as_ref();
    let made = outcome.and_then(|outcome| step.plan.work.teaches(outcome).check);
    match made {
        Some(mut check) => {
            let when = step.closed.unwrap_or(step.opened);
            check.checked_utc_ns.get_or_insert(when.0);
            Some(check)
        }
        None => step.plan.indicator.as_ref()?.check.clone(),
    }
}

/// A kind of step, and what is compared of it.
pub(crate) trait Compare: Step {
    /// What all steps of this kind in one session came to; nothing for a kind that says nothing of the part.
    fn compare(_steps: &[Measured<'_, Self::Outcome>], _style: Style) -> Share {
        Share::default()
    }
}

/// A step that has an outcome.
pub(crate) struct Measured<'a, O> {
    pub step: &'a StepRecord,
    pub outcome: &'a O,
}

/// What one kind of step says of a session. A kind names the same lines for every session.
#[derive(Default)]
pub(crate) struct Share {
    fields: Map<String, serde_json::Value>,
    lines: Vec<Line>,
}

/// Something as found and as left; what was measured once is as left.
#[derive(Debug, Serialize)]
pub(crate) struct States<T> {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<T>,
    pub left: T,
}

fn measured<S: Compare>(step: &StepRecord) -> Option<Measured<'_, S::Outcome>> {
    let outcome = S::Outcome::of(step.outcome.as_ref()?)?;
    Some(Measured { step, outcome })
}

fn share<S: Compare>(record: &Record, style: Style) -> Share {
    let steps: Vec<_> = record.steps.iter().filter_map(measured::<S>).collect();
    S::compare(&steps, style)
}

impl Share {
    /// A field of the JSON; none where there is nothing.
    pub fn field(mut self, name: &str, value: Option<impl Serialize>) -> Self {
        // Only a map with keys that are no strings could fail, and there is none.
        let json = value.and_then(|value| serde_json::to_value(value).ok());
        self.fields.extend(json.map(|json| (name.to_owned(), json)));
        self
    }

    /// A line.
    pub fn line(
        mut self,
        name: &'static str,
        figure: impl FnOnce(&'static str) -> Option<Figure>,
    ) -> Self {
        self.lines.push((name, figure(name)));
        self
    }

    /// Two lines: as found, and as left.
    pub fn lines<T>(
        self,
        [found, left]: [&'static str; 2],
        of: Option<&States<T>>,
        figure: impl Fn(&'static str, &T) -> Option<Figure>,
    ) -> Self {
        self.line(found, |name| figure(name, of?.found.as_ref()?))
            .line(left, |name| figure(name, &of?.left))
    }
}

/// The steps of one kind as found and as left. A step whose state was said is taken by its word; of the others the first is as
/// found and the last as left.
pub(crate) fn states<O, T>(steps: &[Measured<'_, O>], of: impl Fn(&O) -> T) -> Option<States<T>> {
    let said = |condition| {
        move |measured: &&Measured<'_, O>| measured.step.plan.condition == Some(condition)
    };
    let found = steps.iter().find(said(Condition::Found));
    let left = steps.iter().rev().find(said(Condition::Left));
    let left = left.or_else(|| steps.last())?;
    let found = found.or_else(|| steps.first())?;
    Some(States {
        found: (found.step.number != left.step.number).then(|| of(found.outcome)),
        left: of(left.outcome),
    })
}
