//! `page`: opens the live page, closes it, and prints its links.

use crate::args::{PageOnArgs, PageVerb};
use crate::client::{Client, ClientError, block_on};
use crate::{Answer, Failure, Paths};
use protocol::api::{PageRequest, PageState};
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use std::io::IsTerminal;

pub(super) async fn on(client: Client, args: &PageOnArgs) -> Result<Answer, Failure> {
    let request = PageRequest {
        lan: args.lan,
        port: args.port,
        view_only: args.view_only,
    };
    let state = client.open_page(&request).await?;
    Answer::new(text(&state)?, &state)
}

/// Of a daemon that does not run no page is open, and none is started to say so.
pub(super) fn look_or_close(paths: &Paths, verb: Option<PageVerb>) -> Result<Answer, Failure> {
    let client = Client::new(paths);
    block_on(async {
        let state = match verb {
            Some(_) => client.close_page().await,
            None => client.page().await,
        };
        let state = match state {
            Err(ClientError::NotRunning { .. }) => PageState::default(),
            state => state?,
        };
        Answer::new(text(&state)?, &state)
    })
}

fn text(state: &PageState) -> Result<String, Failure> {
    if !state.open {
        return Ok("the page is closed; `conewright page on` opens it\n".to_owned());
    }
    let reach = match state.lan {
        true => "the page is open in the local network; anyone there can read what it sends",
        false => {
            "the page is open for this computer; `conewright page on --lan` opens it for the shop's network"
        }
    };
    let mut text = format!("{reach}\n");
    let links = [
        ("to mark", &state.mark_links),
        ("to look on", &state.view_links),
    ];
    for (what, link) in links
        .iter()
        .flat_map(|(what, links)| links.iter().map(move |link| (*what, link)))
    {
        text.push_str(&format!("{what:<11} {link}\n"));
    }
    text.push_str(&format!("screens     {}\n", state.viewers));
    // The first address is that of the first network interface; a telephone takes the strongest link there is.
    let best = state.mark_links.first().or(state.view_links.first());
    if let Some(link) = best.filter(|_| state.lan) {
        text.push_str(&code(link, std::io::stdout().is_terminal())?);
    }
    Ok(text)
}

/// A link as a code that a telephone reads, in half blocks. Telephones want it dark on light: a terminal is told so, since nobody
/// knows its colours.
fn code(link: &str, in_terminal: bool) -> Result<String, Failure> {
    let code = QrCode::new(link)
        .map_err(|error| Failure::new("internal", format!("no code for {link}: {error}")))?;
    let drawn = code.render::<Dense1x2>().build();
    let (dark_on_light, usual) = match in_terminal {
        true => ("\x1b[30;107m", "\x1b[0m"),
        false => ("", ""),
    };
    let lines = drawn.lines();
    Ok(lines
        .map(|line| format!("{dark_on_light}{line}{usual}\n"))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_for_the_network_comes_with_a_code_and_one_for_this_computer_without() {
        let link = "http://192.168.0.20:8714/#00112233445566778899aabbccddeeff".to_owned();
        let mut state = PageState {
            open: true,
            lan: true,
            mark_links: vec![link.clone()],
            ..PageState::default()
        };
        let shown = text(&state).unwrap();
        assert!(shown.contains(&link) && shown.contains('█'), "{shown}");
        assert!(
            shown.lines().all(|line| line.chars().count() < 80),
            "{shown}"
        );
        let terminal = code(&link, true).unwrap();
        assert!(
            terminal
                .lines()
                .all(|line| line.starts_with("\x1b[30;107m"))
        );
        state.lan = false;
        assert!(!text(&state).unwrap().contains('█'));
        assert!(text(&PageState::default()).unwrap().contains("closed"));
    }
}
