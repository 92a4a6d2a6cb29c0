//! A table of the configuration as it is read: keys asked for by name, mistakes collected instead of
//! stopping at the first.

use super::mistake::Problem;
use crate::near::nearest;
use std::cell::RefCell;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place.
pub(super) type Value<'a> = Spanned<DeValue<'a>>;

/// The mistakes found so far: place, key, and what is wrong.
#[derive(Default)]
pub(super) struct Findings(RefCell<Vec<(Range<usize>, String, Problem)>>);

impl Findings {
    pub fn add(&self, place: Range<usize>, key: String, problem: Problem) {
        let place = problem.at.clone().unwrap_or(place);
        self.0.borrow_mut().push((place, key, problem));
    }

    /// In the order of the file.
    pub fn into_sorted(self) -> Vec<(Range<usize>, String, Problem)> {
        let mut found = self.0.into_inner();
        found.sort_by_key(|(place, ..)| place.start);
        found
    }
}

/// A table, where it stands, and where its mistakes go.
pub(super) struct Section<'a> {
    findings: &'a Findings,
    /// `cable.bench`; empty for the whole file.
    path: String,
    /// Its key.
    place: Range<usize>,
    table: &'a DeTable<'a>,
}

/// A key as it must be written in TOML.
fn written(key: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
    if !key.is_empty() && key.chars().all(bare) {
        key.to_owned()
    } else {
        format!("{key:?}")
    }
}

impl<'a> Section<'a> {
    pub fn root(findings: &'a Findings, table: &'a DeTable<'a>) -> Self {
        Self {
            findings,
            path: String::new(),
            place: 0..0,
            table,
        }
    }

    /// Whether no mistake was found so far, in this table or elsewhere in the file.
    pub fn all_is_well(&self) -> bool {
        self.findings.0.borrow().is_empty()
    }

    /// The key's whole path.
    pub fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            written(key)
        } else {
            format!("{}.{}", self.path, written(key))
        }
    }

    fn entry(&self, key: &str) -> Option<(Range<usize>, &'a Value<'a>)> {
        let (name, value) = self.table.iter().find(|(name, _)| name.get_ref() == key)?;
        Some((name.span(), value))
    }

    pub fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// Refuses every key that is not among those known.
    pub fn only(&self, known: &[&str]) {
        for name in self
            .table
            .keys()
            .filter(|name| !known.contains(&name.get_ref().as_ref()))
        {
            let problem = Problem::new("this key is not known here")
                .expected(format!("one of {}", known.join(", ")))
                .near(nearest(name.get_ref(), known.iter().copied()));
            self.findings
                .add(name.span(), self.path_of(name.get_ref()), problem);
        }
    }

    /// Reads a key that may be absent. A mistake in it is kept, and it counts as absent.
    pub fn optional<T>(
        &self,
        key: &str,
        read: impl FnOnce(&'a Value<'a>) -> Result<T, Problem>,
    ) -> Option<T> {
        let (_, value) = self.entry(key)?;
        match read(value) {
            Ok(read) => Some(read),
            Err(problem) => {
                self.findings.add(value.span(), self.path_of(key), problem);
                None
            }
        }
    }

    /// Reads a key that must be there.
    pub fn required<T>(
        &self,
        key: &str,
        expected: &str,
        read: impl FnOnce(&'a Value<'a>) -> Result<T, Problem>,
    ) -> Option<T> {
        if !self.has(key) {
            self.wrong(Problem::new(format!("`{key}` is missing")).expected(expected));
        }
        self.optional(key, read)
    }

    /// Every key with its value, read alike; `None` where the value is wrong, which is kept.
    pub fn every<T>(
        &self,
        read: impl Fn(&'a Value<'a>) -> Result<T, Problem>,
    ) -> Vec<(String, Option<T>)> {
        self.table
            .keys()
            .map(|key| key.get_ref().clone().into_owned())
            .map(|key| (self.optional(&key, &read), key))
            .map(|(value, key)| (key, value))
            .collect()
    }

    /// A mistake of the table as a whole.
    pub fn wrong(&self, problem: Problem) {
        self.findings
            .add(self.place.clone(), self.path.clone(), problem);
    }

    /// A mistake at a key: at its name, since the value alone would be right.
    pub fn wrong_key(&self, key: &str, problem: Problem) {
        let place = self
            .entry(key)
            .map_or_else(|| self.place.clone(), |(place, _)| place);
        self.findings.add(place, self.path_of(key), problem);
    }

    /// The table under a key, `[settle]`.
    pub fn section(&self, key: &str) -> Option<Self> {
        let (place, value) = self.entry(key)?;
        let Some(table) = value.get_ref().as_table() else {
            self.findings.add(
                value.span(),
                self.path_of(key),
                Problem::new(format!("found {}", kind_of(value)))
                    .expected(format!("a table [{key}]")),
            );
            return None;
        };
        Some(Self {
            findings: self.findings,
            path: self.path_of(key),
            place,
            table,
        })
    }

    /// The table under a key that may hold something else as well.
    pub fn subtable(&self, key: &str) -> Option<Self> {
        let (_, value) = self.entry(key)?;
        value.get_ref().as_table()?;
        self.section(key)
    }

    /// The named tables under a key, `[cable.bench]`, in the order of the file.
    pub fn named_sections(&self, key: &str) -> Vec<(String, Self)> {
        let Some((_, value)) = self.entry(key) else {
            return Vec::new();
        };
        let expected = || format!("tables with a name of your own, [{key}.NAME]");
        let Some(table) = value.get_ref().as_table() else {
            let problem = Problem::new(format!("found {}", kind_of(value))).expected(expected());
            self.findings.add(value.span(), self.path_of(key), problem);
            return Vec::new();
        };
        let mut sections = Vec::new();
        for (name, value) in table.iter() {
            let path = format!("{}.{}", self.path_of(key), written(name.get_ref()));
            let Some(table) = value.get_ref().as_table() else {
                let problem =
                    Problem::new(format!("[{key}] holds named tables, and this is not one"))
                        .expected(expected());
                self.findings.add(name.span(), path, problem);
                continue;
            };
            let section = Self {
                findings: self.findings,
                path,
                place: name.span(),
                table,
            };
            if let Err(problem) = check_name(name.get_ref()) {
                section.wrong(problem);
            }
            sections.push((name.get_ref().clone().into_owned(), section));
        }
        sections.sort_by_key(|(_, section)| section.place.start);
        sections
    }
}

/// The longest name of a cable, kit, bar, fixture or taper, in characters: it must fit on a screen.
pub const MAX_NAME: usize = 40;

fn check_name(name: &str) -> Result<(), Problem> {
    let wrong = if name.trim().is_empty() {
        "a name without letters"
    } else if name.chars().count() > MAX_NAME {
        "a name that is too long"
    } else if name.chars().any(char::is_control) || name.trim() != name {
        "a name with blanks at its ends or control characters"
    } else {
        return Ok(());
    };
    Err(Problem::new(wrong).expected(format!("a name of 1 to {MAX_NAME} characters")))
}

/// What a value is, in words.
pub(super) fn kind_of(value: &Value<'_>) -> String {
    match value.get_ref() {
        DeValue::String(text) => format!("the text {text:?}"),
        DeValue::Integer(number) => format!("the number {number}"),
        DeValue::Float(number) => format!("the number {number}"),
        DeValue::Boolean(value) => format!("`{value}`"),
        DeValue::Datetime(_) => "a date or time".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
