//! What a style is chosen from.

/// What stands before the decimals of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Decimal {
    /// `1.5`.
    #[default]
    Point,
    /// `1,5`.
    Comma,
}

/// A language in which documents are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    En,
    /// German.
    De,
}

impl Decimal {
    /// Each with the name by which it is chosen.
    pub const NAMED: [(&'static str, Self); 2] = [("point", Self::Point), ("comma", Self::Comma)];
}

impl Language {
    /// Each with the name by which it is chosen: its tag by ISO 639-1.
    pub const NAMED: [(&'static str, Self); 2] = [("en", Self::En), ("de", Self::De)];

    /// Its tag, as an HTML page and a PDF state it.
    #[must_use]
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
        }
    }

    /// The table of its words.
    pub(super) const fn table(self) -> &'static str {
        match self {
            Self::En => include_str!("../../words/en.ftl"),
            Self::De => include_str!("../../words/de.ftl"),
        }
    }

    /// The decimal sign that its readers expect.
    #[must_use]
    pub const fn usual_decimal(self) -> Decimal {
        match self {
            Self::En => Decimal::Point,
            Self::De => Decimal::Comma,
        }
    }
}
