//! The words: a table for each language, `words/LANGUAGE.ftl`, in the format of Project Fluent.

use super::{Language, Style};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::sync::LazyLock;

/// A value that a sentence has a place for: a text, or a count that chooses the plural.
pub type Said<'a> = FluentValue<'a>;

/// What a language says.
struct Table(FluentBundle<FluentResource>);

impl Table {
    fn of(language: Language) -> Self {
        let tag = language.tag().parse().expect("the tag of a language");
        let mut bundle = FluentBundle::new_concurrent(vec![tag]);
        // Marks of direction around each value would be printed as code points.
        bundle.set_use_isolating(false);
        let table = FluentResource::try_new(language.table().to_owned());
        let table =
            table.unwrap_or_else(|(_, errors)| panic!("{}.ftl: {errors:?}", language.tag()));
        bundle.add_resource_overriding(table);
        Self(bundle)
    }

    fn has(&self, key: &str) -> bool {
        self.0.has_message(key)
    }

    fn say(&self, key: &str, values: &[(&'static str, Said<'_>)]) -> Option<String> {
        let pattern = self.0.get_message(key)?.value()?;
        let mut arguments = FluentArgs::new();
        for (name, value) in values {
            arguments.set(*name, value.clone());
        }
        let mut errors = Vec::new();
        let said = self
            .0
            .format_pattern(pattern, Some(&arguments), &mut errors);
        debug_assert!(errors.is_empty(), "{key}: {errors:?}");
        Some(said.into_owned())
    }
}

static EN: LazyLock<Table> = LazyLock::new(|| Table::of(Language::En));
static DE: LazyLock<Table> = LazyLock::new(|| Table::of(Language::De));

fn table(language: Language) -> &'static Table {
    match language {
        Language::En => &EN,
        Language::De => &DE,
    }
}

impl Style {
    /// What the style's language says for a key of the table; [`said!`](crate::said) is shorter.
    ///
    /// A key that is in no table is said as it is. A test holds all of them against both tables.
    #[must_use]
    pub fn say(self, key: &str, values: &[(&'static str, Said<'_>)]) -> String {
        let said = table(self.language).say(key, values);
        debug_assert!(said.is_some(), "{key} is in no table");
        said.unwrap_or_else(|| key.to_owned())
    }

    /// What the language has for a term that is stored in English; the term itself where the language has none for it.
    #[must_use]
    pub fn term(self, of: &str, term: &str) -> String {
        let key = format!("{of}-{}", slug(term));
        let known = table(self.language).say(&key, &[]);
        known.unwrap_or_else(|| term.to_owned())
    }

    /// What the language says for a key, with the name of each value in braces in its place: `mark {number}`. It is for what
    /// fills the places itself, and has no plurals.
    ///
    /// A key that is in no table is said as it is, as by [`Self::say`].
    #[must_use]
    pub fn template(self, key: &str) -> String {
        let mut lines = self.language.table().lines();
        let said = lines.find_map(|line| line.strip_prefix(key)?.strip_prefix(" = "));
        debug_assert!(said.is_some(), "{key} is in no table");
        said.unwrap_or(key).replace("{ $", "{").replace(" }", "}")
    }

    /// Whether the language says something for a key.
    #[must_use]
    pub fn has(self, key: &str) -> bool {
        table(self.language).has(key)
    }
}

/// A term as a part of a key: small letters and digits, joined by hyphens.
fn slug(term: &str) -> String {
    let words = term.split(|c: char| !c.is_ascii_alphanumeric());
    let words: Vec<String> = words
        .filter(|word| !word.is_empty())
        .map(str::to_ascii_lowercase)
        .collect();
    words.join("-")
}

/// What a style's language says for a key, with the values that it has places for: `said!(style, "at-place", place = "A")`.
#[macro_export]
macro_rules! said {
    ($style:expr, $key:literal $(, $name:ident = $value:expr)* $(,)?) => {
        $style.say($key, &[$((stringify!($name), $crate::style::Said::from($value))),*])
    };
}
