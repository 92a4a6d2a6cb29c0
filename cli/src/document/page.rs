//! The frame of the page: one self-contained file that prints on A4.

use super::plot::escaped;
use std::fmt::{Display, Write};

/// Styles for screen and A4 paper; grey throughout, so that print loses nothing.
const STYLE: &str = "\
:root{color-scheme:light}body{font:14px/1.45 'DejaVu Sans',Verdana,sans-serif;color:#111;background:#fff;\
max-width:180mm;margin:8mm auto;padding:0 4mm}h1{font-size:22px;margin:0 0 2mm;border-bottom:3px solid #111;padding-bottom:2mm}\
h2{font-size:16px;margin:8mm 0 2mm;border-bottom:1px solid #999}h3{font-size:14px;margin:5mm 0 1mm}\
table{border-collapse:collapse;margin:1mm 0 3mm}th,td{padding:2px 10px 2px 0;text-align:left;vertical-align:top;border-bottom:1px solid #ddd}\
th{font-weight:600}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;padding-right:14px}\
.verdict{font-size:17px;font-weight:700;border:2px solid #111;padding:2mm 3mm;margin:3mm 0;display:inline-block}\
.source{color:#555;font-size:12px}svg{width:100%;height:auto;margin:1mm 0 3mm;break-inside:avoid}\
svg text{font:11px 'DejaVu Sans',Verdana,sans-serif;fill:#111}.xtick,.flagname{text-anchor:middle}.ytick{text-anchor:end}\
.grid{stroke:#ddd;stroke-width:1;fill:none}.axis{stroke:#111;stroke-width:1.2;fill:none}\
path.heavy{stroke:#111;stroke-width:2.6;fill:none}path.light{stroke:#777;stroke-width:1.2;fill:none}\
path.d1{stroke-dasharray:7 3}path.d2{stroke-dasharray:2 3}path.d3{stroke-dasharray:9 3 2 3}\
circle.heavy{fill:#111}circle.light{fill:#fff;stroke:#777;stroke-width:1.2}text.heavy{font-weight:700}\
.flag{fill:#000;fill-opacity:.13}ul{margin:1mm 0 3mm;padding-left:6mm}\
@page{size:A4;margin:14mm}@media print{body{margin:0;max-width:none;padding:0}h2,h3{break-after:avoid}tr,.verdict{break-inside:avoid}}";

/// A page under construction. Everything put into it is escaped, except what its own methods write.
pub struct Page {
    html: String,
}

impl Page {
    pub fn new(title: &str) -> Self {
        let title = escaped(title);
        Self {
            html: format!(
                "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
                 <meta name=\"viewport\" content=\"width=device-width\">\
                 <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\
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

    fn element(&mut self, name: &str, class: Option<&str>, text: impl Display) {
        let class = class.map_or_else(String::new, |class| format!(" class=\"{class}\""));
        let text = escaped(&text.to_string());
        let _ = writeln!(self.html, "<{name}{class}>{text}</{name}>");
    }

    pub fn list<T: Display>(&mut self, items: impl IntoIterator<Item = T>) {
        self.html.push_str("<ul>");
        for item in items {
            self.element("li", None, item);
        }
        self.html.push_str("</ul>\n");
    }

    /// Pairs of a name and what it is; pairs without a value are left out.
    pub fn facts(&mut self, facts: &[(&str, Option<String>)]) {
        self.html.push_str("<table>");
        for (name, value) in facts {
            if let Some(value) = value {
                let (name, value) = (escaped(name), escaped(value));
                let _ = write!(self.html, "<tr><th>{name}</th><td>{value}</td></tr>");
            }
        }
        self.html.push_str("</table>\n");
    }

    /// A table; the columns whose heading begins with `#` hold numbers and stand to the right.
    pub fn table(&mut self, headings: &[&str], rows: impl IntoIterator<Item = Vec<String>>) {
        let cell = |html: &mut String, kind: &str, heading: &str, text: &str| {
            let class = if heading.starts_with('#') {
                " class=\"n\""
            } else {
                ""
            };
            let _ = write!(html, "<{kind}{class}>{}</{kind}>", escaped(text));
        };
        self.html.push_str("<table><tr>");
        for heading in headings {
            cell(
                &mut self.html,
                "th",
                heading,
                heading.trim_start_matches('#'),
            );
        }
        self.html.push_str("</tr>");
        for row in rows {
            self.html.push_str("<tr>");
            for (heading, text) in headings.iter().zip(&row) {
                cell(&mut self.html, "td", heading, text);
            }
            self.html.push_str("</tr>\n");
        }
        self.html.push_str("</table>\n");
    }

    /// An SVG element as the plots make it.
    pub fn svg(&mut self, svg: &str) {
        self.html.push_str(svg);
        self.html.push('\n');
    }
}
