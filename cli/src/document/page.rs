//! The frame of the page: one self-contained file that prints on A4.

use super::plot::{self, escaped};
use super::utc;
use protocol::sheet::{Figure, Part};
use std::fmt::{Display, Write};

/// Styles for screen and A4 paper; grey throughout, so that print loses nothing.
const STYLE: &str = "\
:root{color-scheme:light}body{font:14px/1.45 'DejaVu Sans',Verdana,sans-serif;color:#111;background:#fff;\
max-width:180mm;margin:8mm auto;padding:0 4mm}h1{font-size:22px;margin:0 0 2mm;border-bottom:3px solid #111;padding-bottom:2mm}\
h2{font-size:16px;margin:8mm 0 2mm;border-bottom:1px solid #999}h3{font-size:14px;margin:5mm 0 1mm}\
table{border-collapse:collapse;margin:1mm 0 3mm}th,td{padding:2px 10px 2px 0;text-align:left;vertical-align:top;border-bottom:1px solid #ddd}\
th{font-weight:600}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;padding-right:14px}\
.verdict{font-size:17px;font-weight:700;border:2px solid #111;padding:2mm 3mm;margin:3mm 3mm 3mm 0;display:inline-block}\
.source{color:#555;font-size:12px}svg{width:100%;height:auto;margin:1mm 0 3mm;break-inside:avoid}\
.pair{display:flex;gap:6mm;break-inside:avoid}figure{flex:1 1 0;margin:0;max-width:82mm;break-inside:avoid}.parts{display:flex;gap:8mm;align-items:flex-start}.facts th{white-space:nowrap}.sides{width:100%}.sides td{width:39%}p{margin:1mm 0 2mm}.when{color:#555;font-size:12px;break-after:avoid}\
figcaption{font-weight:600;text-align:center;font-size:12px}\
svg text{font:11px 'DejaVu Sans',Verdana,sans-serif;fill:#111}svg text.small{font-size:9.5px}\
.xtick,.flagname{text-anchor:middle}.ytick{text-anchor:end}\
.grid{stroke:#ddd;stroke-width:1;fill:none}.base{stroke:#999}.axis{stroke:#111;stroke-width:1.2;fill:none}\
path.heavy{stroke:#111;stroke-width:2.6;fill:none}path.light{stroke:#777;stroke-width:1.2;fill:none}\
path.trace.heavy{stroke-width:1.7}path.circle.heavy{stroke-width:1.7}path.circle.light{stroke:#333}\
path.d1{stroke-dasharray:7 3}path.d2{stroke-dasharray:2 3}path.d3{stroke-dasharray:9 3 2 3}\
circle.heavy{fill:#111}circle.light{fill:#fff;stroke:#777;stroke-width:1.2}circle.fine{fill:#555}text.heavy{font-weight:700}\
.cross{stroke:#111;stroke-width:1.8;fill:none}.spot{stroke:#111;stroke-width:1.4;fill:none}circle.spot{fill:#111}\
.band{fill:#000;fill-opacity:.16;fill-rule:evenodd}.bar{fill:#666}.flag{fill:#000;fill-opacity:.13}\
ul{margin:1mm 0 3mm;padding-left:6mm}\
@page{size:A4;margin:14mm}@media print{body{margin:0;max-width:none;padding:0}h2,h3{break-after:avoid}tr,.verdict{break-inside:avoid}tr:first-child,.verdict{break-after:avoid}\
body{font-size:11px;line-height:1.35}h1{font-size:18px}h2{font-size:14px;margin-top:6mm}h3{font-size:11.5px;margin-top:3mm}.verdict{font-size:13px;padding:1mm 2mm;margin:1.5mm 2mm 1.5mm 0}\
.source,.when,figcaption{font-size:9.5px}th,td{padding-top:1px;padding-bottom:1px}figure{max-width:76mm}}";

/// A table with more rows is cut in parts.
const LONG: usize = 12;
/// So many parts have room beside each other.
const PARTS: usize = 2;

/// With a capital at its beginning; a name that begins with a symbol stays as it is.
pub fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A figure in one line, a moment by UTC.
pub fn figure_text(figure: &Figure) -> String {
    let text = figure.text(|t| format!("{} UTC", utc(t)));
    text.replace('\n', "; ")
}

/// A page under construction. Everything put into it is escaped, except what its own methods write.
pub struct Page {
    html: String,
}

impl Page {
    pub fn new(title: &str) -> Self {
        let title = escaped(title);
        Self {
            html: format!(
                "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\
                 <meta name=\"viewport\" content=\"width=device-width\"/>\
                 <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"/>\
                 <title>{title}</title><style>{STYLE}</style></head><body>\n<h1>{title}</h1>\n"
            ),
        }
    }

    pub fn finish(mut self) -> String {
        self.html.push_str("</body></html>\n");
        self.html
    }

    pub fn heading(&mut self, text: impl Display) {
        self.element("h2", None, text);
    }

    pub fn subheading(&mut self, text: impl Display) {
        self.element("h3", None, text);
    }

    pub fn paragraph(&mut self, text: impl Display) {
        self.element("p", None, text);
    }

    pub fn verdict(&mut self, text: impl Display) {
        self.element("div", Some("verdict"), text);
    }

    pub fn source(&mut self, text: impl Display) {
        self.element("p", Some("source"), text);
    }

    /// When something was: it stays with what follows.
    pub fn when(&mut self, text: impl Display) {
        self.element("p", Some("when"), text);
    }

    fn element(&mut self, name: &str, class: Option<&str>, text: impl Display) {
        let class = class.map_or_else(String::new, |class| format!(" class=\"{class}\""));
        let text = escaped(&text.to_string());
        let _ = writeln!(self.html, "<{name}{class}>{text}</{name}>");
    }

    /// A list; nothing for nothing.
    pub fn list<T: Display>(&mut self, items: impl IntoIterator<Item = T>) {
        let mut items = items.into_iter().peekable();
        if items.peek().is_none() {
            return;
        }
        self.html.push_str("<ul>");
        for item in items {
            self.element("li", None, item);
        }
        self.html.push_str("</ul>\n");
    }

    /// Pairs of a name and what it is; pairs without a value are left out.
    pub fn facts(&mut self, facts: &[(&str, Option<String>)]) {
        if facts.iter().all(|(_, value)| value.is_none()) {
            return;
        }
        self.html.push_str("<table class=\"facts\">");
        for (name, value) in facts {
            if let Some(value) = value {
                let (name, value) = (escaped(name), escaped(value));
                let _ = write!(self.html, "<tr><th>{name}</th><td>{value}</td></tr>");
            }
        }
        self.html.push_str("</table>\n");
    }

    /// Figures by name.
    pub fn figures(&mut self, figures: &[Figure]) {
        let facts: Vec<(String, Option<String>)> = figures
            .iter()
            .map(|figure| (capital(figure.name), Some(figure_text(figure))))
            .collect();
        let facts: Vec<(&str, Option<String>)> = facts
            .iter()
            .map(|(name, value)| (name.as_str(), value.clone()))
            .collect();
        self.facts(&facts);
    }

    /// A part of a sheet under its heading.
    pub fn part(&mut self, part: &Part) {
        self.subheading(&part.heading);
        if let Some(plot) = &part.plot {
            plot::draw(self, plot);
        }
        if let Some(table) = &part.table {
            let columns = table.columns.iter();
            let columns: Vec<(String, bool)> =
                columns.map(|c| (capital(c.name), c.numeric)).collect();
            self.rows(&columns, table.rows.iter().cloned());
        }
        if !part.note.is_empty() {
            self.source(&part.note);
        }
    }

    /// A table; the columns whose heading begins with `#` hold numbers and stand to the right.
    ///
    /// One without rows is left out.
    pub fn table(&mut self, headings: &[&str], rows: impl IntoIterator<Item = Vec<String>>) {
        let columns: Vec<(String, bool)> = headings
            .iter()
            .map(|h| (h.trim_start_matches('#').to_owned(), h.starts_with('#')))
            .collect();
        self.rows(&columns, rows);
    }

    fn rows(&mut self, columns: &[(String, bool)], rows: impl IntoIterator<Item = Vec<String>>) {
        let mut rows = rows.into_iter().peekable();
        if rows.peek().is_none() {
            return;
        }
        let cell = |html: &mut String, kind: &str, numeric: bool, text: &str| {
            let class = if numeric { " class=\"n\"" } else { "" };
            let _ = write!(html, "<{kind}{class}>{}</{kind}>", escaped(text));
        };
        self.html.push_str("<table><tr>");
        for (name, numeric) in columns {
            cell(&mut self.html, "th", *numeric, name);
        }
        self.html.push_str("</tr>");
        for row in rows {
            self.html.push_str("<tr>");
            for ((_, numeric), text) in columns.iter().zip(&row) {
                cell(&mut self.html, "td", *numeric, text);
            }
            self.html.push_str("</tr>\n");
        }
        self.html.push_str("</table>\n");
    }

    /// Two sides of the same things, each of the same width.
    pub fn sides(&mut self, headings: [&str; 2], rows: impl IntoIterator<Item = [String; 3]>) {
        let [left, right] = headings.map(escaped);
        let _ = write!(
            self.html,
            "<table class=\"sides\"><tr><th></th><th>{left}</th><th>{right}</th></tr>"
        );
        for row in rows {
            let [name, left, right] = row.map(|cell| escaped(&cell));
            let _ = writeln!(
                self.html,
                "<tr><th>{name}</th><td>{left}</td><td>{right}</td></tr>"
            );
        }
        self.html.push_str("</table>\n");
    }

    /// A long table cut into parts that stand beside each other; one column of `headings` that is empty in every row is left
    /// out.
    pub fn long_table(&mut self, headings: &[&str], rows: Vec<Vec<String>>) {
        let filled: Vec<bool> = (0..headings.len())
            .map(|column| rows.iter().any(|row| !row[column].is_empty()))
            .collect();
        let kept = |cells: Vec<String>| -> Vec<String> {
            let cells = cells.into_iter().zip(&filled);
            cells.filter(|(_, f)| **f).map(|(c, _)| c).collect()
        };
        let headings: Vec<&str> = headings
            .iter()
            .zip(&filled)
            .filter(|(_, filled)| **filled)
            .map(|(heading, _)| *heading)
            .collect();
        let parts = rows.len().div_ceil(LONG).clamp(1, PARTS);
        let each = rows.len().div_ceil(parts).max(1);
        let mut rows = rows.into_iter().map(kept).peekable();
        self.html.push_str("<div class=\"parts\">");
        while rows.peek().is_some() {
            let part: Vec<Vec<String>> = rows.by_ref().take(each).collect();
            self.table(&headings, part);
        }
        self.html.push_str("</div>\n");
    }

    /// Plots beside each other, each under its caption.
    pub fn pair<'a>(&mut self, figures: impl IntoIterator<Item = (&'a str, String)>) {
        self.html.push_str("<div class=\"pair\">");
        for (caption, svg) in figures {
            let caption = escaped(caption);
            let _ = write!(
                self.html,
                "<figure><figcaption>{caption}</figcaption>{svg}</figure>"
            );
        }
        self.html.push_str("</div>\n");
    }

    /// An SVG element as the plots make it.
    pub fn svg(&mut self, svg: &str) {
        self.html.push_str(svg);
        self.html.push('\n');
    }
}
