//! A mistake in a configuration, with its place, and how it is told.

use std::fmt;
use std::ops::Range;
use std::path::PathBuf;

/// More mistakes than this are not told at once; the rest is counted.
const TOLD: usize = 20;
/// A source line is shown to at most this many characters.
const SHOWN: usize = 120;

/// One mistake, with everything that the user needs to put it right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The key with its tables, `cable.bench.settings`; absent where the text is no TOML.
    pub key: Option<String>,
    /// What is wrong.
    pub problem: String,
    /// What was expected.
    pub expected: Option<String>,
    /// The nearest right name.
    pub near: Option<String>,
    /// The line as it stands in the file, and a line of carets under the place.
    pub excerpt: [String; 2],
}

/// Why a configuration cannot be used. Nothing of it is taken over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ConfigError {
    /// The file cannot be read.
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why, and what to do.
        reason: String,
    },
    /// The file holds mistakes, in the order of the file.
    Broken {
        /// The file, as it was named.
        file: String,
        /// At least one.
        mistakes: Vec<Mistake>,
    },
}

impl ConfigError {
    /// The mistakes, when the file could be read.
    #[must_use]
    pub fn mistakes(&self) -> &[Mistake] {
        match self {
            Self::Unreadable { .. } => &[],
            Self::Broken { mistakes, .. } => mistakes,
        }
    }
}

impl fmt::Display for ConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (file, mistakes) = match self {
            Self::Unreadable { path, reason } => {
                return write!(
                    f,
                    "the configuration {} cannot be read: {reason}",
                    path.display()
                );
            }
            Self::Broken { file, mistakes } => (file, mistakes),
        };
        for (i, mistake) in mistakes.iter().take(TOLD).enumerate() {
            if i > 0 {
                f.write_str("\n\n")?;
            }
            mistake.tell(file, f)?;
        }
        match mistakes.len().saturating_sub(TOLD) {
            0 => Ok(()),
            more => write!(f, "\n\n{file}: and {more} more"),
        }
    }
}

impl std::error::Error for ConfigError {}

impl Mistake {
    fn tell(&self, file: &str, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, column, .. } = self;
        write!(f, "{file}:{line}:{column}: ")?;
        if let Some(key) = &self.key {
            write!(f, "{key}: ")?;
        }
        let gutter = " ".repeat(line.to_string().len());
        let [source, carets] = &self.excerpt;
        write!(
            f,
            "{}\n{line} | {source}\n{gutter} | {carets}",
            self.problem
        )?;
        if let Some(expected) = &self.expected {
            write!(f, "\n{gutter} = expected {expected}")?;
        }
        if let Some(near) = &self.near {
            write!(f, "\n{gutter} = did you mean `{near}`?")?;
        }
        Ok(())
    }
}

/// What is wrong with a value, before its place in the file is known.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Problem {
    pub what: String,
    pub expected: Option<String>,
    pub near: Option<String>,
    /// The place, where it is narrower than the whole value.
    pub at: Option<Range<usize>>,
}

impl Problem {
    pub fn new(what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            ..Self::default()
        }
    }

    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = Some(expected.into());
        self
    }

    pub fn near(mut self, near: Option<&str>) -> Self {
        self.near = near.map(str::to_owned);
        self
    }

    /// Keeps the narrower place when there is one.
    pub fn at(mut self, place: Range<usize>) -> Self {
        self.at.get_or_insert(place);
        self
    }
}

/// Finds line, column and excerpt of a place in a text.
pub(super) fn locate(
    text: &str,
    place: Range<usize>,
    key: Option<String>,
    problem: Problem,
) -> Mistake {
    let start = text.floor_char_boundary(place.start.min(text.len()));
    let end = text.floor_char_boundary(place.end.clamp(start, text.len()));
    let line_start = text[..start].rfind('\n').map_or(0, |i| i + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |i| start + i);
    let before = text[line_start..start].chars().count();
    let length = text[start..end.min(line_end)]
        .trim_end_matches('\r')
        .chars()
        .count()
        .max(1);
    Mistake {
        line: text[..start].matches('\n').count() + 1,
        column: before + 1,
        key,
        problem: problem.what,
        expected: problem.expected,
        near: problem.near,
        excerpt: excerpt(
            text[line_start..line_end].trim_end_matches('\r'),
            before,
            length,
        ),
    }
}

/// A line with carets under `length` characters after `before` others. Of a long line the part about the
/// place is shown.
fn excerpt(line: &str, before: usize, length: usize) -> [String; 2] {
    let skipped = if line.chars().count() > SHOWN {
        before.saturating_sub(SHOWN / 2)
    } else {
        0
    };
    // A control character could move the cursor of the terminal that shows the line.
    let visible = |c: char| {
        if c.is_control() && c != '\t' {
            '\u{fffd}'
        } else {
            c
        }
    };
    let shown: String = line
        .chars()
        .skip(skipped)
        .take(SHOWN)
        .map(visible)
        .collect();
    let room = shown
        .chars()
        .count()
        .saturating_sub(before - skipped)
        .max(1);
    // Tabs stay tabs, so that the carets stand under the place whatever a tab is worth.
    let blank = |c: char| if c == '\t' { '\t' } else { ' ' };
    let carets = shown
        .chars()
        .take(before - skipped)
        .map(blank)
        .chain(std::iter::repeat_n('^', length.min(room)))
        .collect();
    [shown, carets]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str, place: Range<usize>) -> (usize, usize, [String; 2]) {
        let m = locate(text, place, None, Problem::default());
        (m.line, m.column, m.excerpt)
    }

    #[test]
    fn places_in_characters_whatever_the_bytes() {
        assert_eq!(
            at("a\nµ = x\n", 7..8),
            (2, 5, ["µ = x".into(), "    ^".into()])
        );
        assert_eq!(
            at("a\r\nb = 1\r\n", 3..4),
            (2, 1, ["b = 1".into(), "^".into()])
        );
        // A place that goes on to the next line, the end of the text, and past it.
        assert_eq!(at("ab\ncd", 1..5), (1, 2, ["ab".into(), " ^".into()]));
        assert_eq!(at("ab", 2..2), (1, 3, ["ab".into(), "  ^".into()]));
        assert_eq!(at("ab", 9..12), (1, 3, ["ab".into(), "  ^".into()]));
        assert_eq!(
            at("\tx\u{1b}[2J", 1..2),
            (1, 2, ["\tx\u{fffd}[2J".into(), "\t^".into()])
        );
    }

    #[test]
    fn of_a_long_line_the_place_is_shown() {
        let line = format!("{}X{}", "a".repeat(400), "b".repeat(400));
        let (_, column, [shown, carets]) = at(&line, 400..401);
        assert_eq!((column, shown.chars().count()), (401, SHOWN));
        assert_eq!(shown.find('X'), carets.find('^'));
    }
}
