//! Text that the user sends.

use protocol::api::{Code, Refusal};

/// The user's words without the blanks around them.
pub(crate) fn plain_text(
    what: &str,
    text: &str,
    most: usize,
    lines: bool,
) -> Result<String, Refusal> {
    let text = text.trim();
    let refuse =
        |message: String| Err(Refusal::new(Code::BadValue, message).hint("write it in plain text"));
    if text.is_empty() {
        return refuse(format!("{what} is empty"));
    }
    let length = text.chars().count();
    if length > most {
        return refuse(format!(
            "{what} has {length} characters; at most {most} are allowed"
        ));
    }
    let allowed = |c: char| !c.is_control() || (lines && matches!(c, '\n' | '\t'));
    if let Some(wrong) = text.chars().find(|c| !allowed(*c)) {
        return refuse(format!(
            "{what} contains the control character {}",
            wrong.escape_unicode()
        ));
    }
    Ok(text.to_owned())
}
