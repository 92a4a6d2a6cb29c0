//! The page's own files, which stand in the executable.

use super::site::Site;
use super::worded;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, Uri};
use axum::response::Response;
use protocol::style::{Decimal, Language, Style};
use std::sync::{Arc, LazyLock};

/// A file by the path that it is asked for.
pub(super) struct File {
    pub path: &'static str,
    kind: &'static str,
    /// As it stands in the executable: the page's words have places in it.
    text: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

macro_rules! file {
    ($path:literal, $kind:expr, $name:literal) => {
        File {
            path: $path,
            kind: $kind,
            text: include_str!(concat!("files/", $name)),
        }
    };
}

/// Everything that the page is made of.
pub(super) static FILES: [File; 13] = [
    file!("/", "text/html; charset=utf-8", "index.html"),
    file!("/page.css", "text/css; charset=utf-8", "page.css"),
    file!("/icon.svg", "image/svg+xml", "icon.svg"),
    file!("/page.js", SCRIPT, "page.js"),
    file!("/words.js", SCRIPT, "words.js"),
    file!("/link.js", SCRIPT, "link.js"),
    file!("/screen.js", SCRIPT, "screen.js"),
    file!("/plot.js", SCRIPT, "plot.js"),
    file!("/form.js", SCRIPT, "form.js"),
    file!("/field.js", SCRIPT, "field.js"),
    file!("/step.js", SCRIPT, "step.js"),
    file!("/sessions.js", SCRIPT, "sessions.js"),
    file!("/sound.js", SCRIPT, "sound.js"),
];

/// The file of a path.
pub(super) fn find(path: &str) -> Option<&'static File> {
    FILES.iter().find(|file| file.path == path)
}

/// A file with its words in a language, and with a decimal sign.
struct Worded {
    path: &'static str,
    language: Language,
    decimal: Decimal,
    text: Bytes,
}

/// Each is filled once, whoever asks.
static WORDED: LazyLock<Vec<Worded>> = LazyLock::new(|| {
    let scripts = FILES.each_ref().map(|file| file.text);
    let mut all = Vec::new();
    for (_, language) in Language::NAMED {
        for (_, decimal) in Decimal::NAMED {
            let style = Style {
                language,
                decimal,
                ..Style::default()
            };
            let files = FILES.iter().filter(|file| worded::has_places(file.text));
            all.extend(files.map(|file| Worded {
                path: file.path,
                language,
                decimal,
                text: worded::filled(file.text, &scripts, style).into(),
            }));
        }
    }
    all
});

impl File {
    /// What a browser gets.
    fn delivered(&self, style: Style) -> Bytes {
        let wanted = (self.path, style.language, style.decimal);
        let mut all = WORDED.iter();
        let worded = all.find(|w| (w.path, w.language, w.decimal) == wanted);
        worded.map_or_else(
            || Bytes::from_static(self.text.as_bytes()),
            |worded| worded.text.clone(),
        )
    }
}

pub(super) async fn file(State(site): State<Arc<Site>>, uri: Uri) -> Response {
    // The router knows these paths only.
    let Some(file) = find(uri.path()) else {
        return Response::default();
    };
    // A daemon that stops has no configuration any more: then its page is in English.
    let configured = site.api.engine.configured().await;
    let style = configured.map_or_else(|_| Style::default(), |c| c.config.document.words());
    let mut response = Response::new(Body::from(file.delivered(style)));
    response
        .headers_mut()
        .insert(CONTENT_TYPE, HeaderValue::from_static(file.kind));
    response
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::screen::sound::{Event, Tone};

    #[test]
    fn the_page_stays_small_and_loads_nothing_from_elsewhere_in_every_language() {
        for (name, language) in Language::NAMED {
            let style = Style {
                language,
                ..Style::default()
            };
            let texts = FILES.each_ref().map(|file| file.delivered(style));
            let bytes: usize = texts.iter().map(Bytes::len).sum();
            assert!(bytes < 150_000, "{name}: {bytes} bytes");
            for (file, text) in FILES.iter().zip(&texts) {
                let text = std::str::from_utf8(text).unwrap();
                for foreign in ["https://", "//cdn", "@import", "innerHTML", "eval("] {
                    assert!(!text.contains(foreign), "{}: {foreign}", file.path);
                }
                assert!(!text.contains("{{"), "{name} {}", file.path);
            }
        }
    }

    #[test]
    fn the_page_has_its_words_in_the_language_and_its_numbers_with_the_sign() {
        let text = |path: &str, style| {
            let text = find(path).unwrap().delivered(style);
            String::from_utf8(text.to_vec()).unwrap()
        };
        let german = Style {
            language: Language::De,
            decimal: Decimal::Comma,
            ..Style::default()
        };
        for (style, wanted) in [
            (
                Style::default(),
                [
                    "<html lang=\"en\">",
                    ">Mark<",
                    "Part's name contains",
                    "\"page-lost\":\"LINK LOST for {seconds} s:",
                    "POINT = \".\"",
                ],
            ),
            (
                german,
                [
                    "<html lang=\"de\">",
                    ">Markieren<",
                    "Name des Werkstücks enthält",
                    "\"page-lost\":\"VERBINDUNG WEG seit {seconds} s:",
                    "POINT = \",\"",
                ],
            ),
        ] {
            let all = text("/", style) + &text("/words.js", style);
            for words in wanted {
                assert!(all.contains(words), "{words}");
            }
            assert_eq!(text("/page.js", style), find("/page.js").unwrap().text);
        }
    }

    /// The page and the terminal sound alike.
    #[test]
    fn the_page_has_the_sounds_of_the_description() {
        let script = find("/sound.js").unwrap().text;
        for event in Event::ALL {
            let form = |tone: &Tone| serde_json::to_string(&tone.form).unwrap();
            let one = |t: &Tone| {
                format!(
                    "[{}, {}, {}, {}, {}]",
                    t.hertz,
                    t.from_s,
                    t.long_s,
                    t.loud,
                    form(t)
                )
            };
            let tones: Vec<String> = event.tones().iter().map(one).collect();
            let line = format!("{}: [{}],", event.name(), tones.join(", "));
            assert!(script.contains(&line), "{line}");
        }
    }
}
