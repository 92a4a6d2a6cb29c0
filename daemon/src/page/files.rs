//! The page's own files, which stand in the executable.

use axum::body::Body;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, Uri};
use axum::response::Response;

/// A file by the path that it is asked for.
pub(super) struct File {
    pub path: &'static str,
    kind: &'static str,
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
pub(super) static FILES: [File; 12] = [
    file!("/", "text/html; charset=utf-8", "index.html"),
    file!("/page.css", "text/css; charset=utf-8", "page.css"),
    file!("/icon.svg", "image/svg+xml", "icon.svg"),
    file!("/page.js", SCRIPT, "page.js"),
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

pub(super) async fn file(uri: Uri) -> Response {
    // The router knows these paths only.
    let text = find(uri.path()).map_or(("text/plain", ""), |file| (file.kind, file.text));
    let mut response = Response::new(Body::from(text.1));
    response
        .headers_mut()
        .insert(CONTENT_TYPE, HeaderValue::from_static(text.0));
    response
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::screen::sound::{Event, Tone};

    #[test]
    fn the_page_stays_small_and_loads_nothing_from_elsewhere() {
        let bytes: usize = FILES.iter().map(|file| file.text.len()).sum();
        assert!(bytes < 150_000, "{bytes} bytes");
        for file in &FILES {
            for foreign in ["https://", "//cdn", "@import", "innerHTML", "eval("] {
                assert!(!file.text.contains(foreign), "{}: {foreign}", file.path);
            }
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
