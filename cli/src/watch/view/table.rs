//! The last rounds as a small table.

use super::page::Page;
use crate::watch::figures::arcsec;
use crate::watch::words;
use protocol::api::Status;
use ratatui::text::Line;

/// Draws the last rounds, the newest below, in at most `rows` rows; gives the rows used.
pub fn rounds(page: &mut Page<'_>, status: &Status, rows: u16) -> u16 {
    let Some(zero) = words::zero(status).filter(|zero| !zero.rounds.is_empty()) else {
        return 0;
    };
    let look = page.look;
    let units = look.units;
    let small = units.small_sign();
    let span = status
        .setup
        .as_ref()
        .and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    let wide = page.width() >= 60;
    let mut head = format!("{:>5} {:>10} {:>7}", "round", "arcsec", "u");
    if let Some(span) = span {
        head.push_str(&format!(" {:>12}", format!("{small}/{:.0} mm", span.mm())));
    }
    if wide {
        head.push_str(&format!(
            " {:>10} {:>8}",
            format!("{small}/min"),
            format!("bow {small}")
        ));
    }
    head.push_str("  clamp");
    page.line(Line::styled(look.text(&head).into_owned(), look.faint()));
    let from = zero
        .rounds
        .len()
        .saturating_sub(usize::from(rows.saturating_sub(1)));
    let shown = &zero.rounds[from..];
    for round in shown {
        let mut line = format!(
            "{:>5} {:>10} {:>7.2}",
            round.round,
            arcsec(round.residual_arcsec),
            round.residual_u_arcsec
        );
        if let Some(span) = span {
            line.push_str(&format!(
                " {:>12}",
                units.small_signed(round.slope * span.um())
            ));
        }
        if wide {
            // What is not known is left empty.
            let drift = round
                .drift_um_per_min
                .map(|um| units.small_signed(um))
                .unwrap_or_default();
            let bow = round
                .bow_um
                .map(|um| units.small_signed(um))
                .unwrap_or_default();
            line.push_str(&format!(" {drift:>10} {bow:>8}"));
        }
        line.push_str(if round.clamped { "  TIGHT" } else { "  loose" });
        page.line(Line::raw(line));
    }
    shown.len() as u16 + 1
}
