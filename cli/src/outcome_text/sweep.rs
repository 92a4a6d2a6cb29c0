//! A sweep in words.

use super::{allowed, outliers, over_taper, plain, tap, verdict, within_arcsec};
use crate::layout::{Pairs, arcsec, um};
use metrology::setup::Setup;
use metrology::sweep::SweepOutcome;
use metrology::zero::Sloping;

pub(super) fn text(sweep: &SweepOutcome, setup: &Setup) -> String {
    let mut pairs = Pairs::default();
    pairs.add(
        "residual",
        format!(
            "{}{}{}",
            arcsec(sweep.residual_arcsec),
            within_arcsec(sweep.residual_expanded_arcsec),
            match sweep.cone {
                Some(Sloping::Steeper) => ", steeper",
                Some(Sloping::Shallower) => ", shallower",
                None => "",
            }
        ),
    );
    pairs.add("over the sweep", um(sweep.over_span_um));
    pairs.add_some(
        "over the taper",
        sweep.over_taper_um.map(|worth| over_taper(worth, setup)),
    );
    pairs.add_some(
        "half angle",
        sweep.half_angle_error_arcsec.map(|error| {
            format!(
                "{}{} from the wanted one",
                arcsec(error),
                within_arcsec(sweep.half_angle_expanded_arcsec)
            )
        }),
    );
    pairs.add_some("allowed", sweep.limits_arcsec.map(allowed));
    pairs.add_some("verdict", sweep.verdict.map(|v| verdict(v).to_owned()));
    pairs.add_some("tap", sweep.tap.as_ref().map(|t| tap(t, setup)));
    let behind = sweep.filtered.as_ref().map_or(String::new(), |filtered| {
        format!(
            "\nbehind a filter of {1} mm ({0})",
            filtered.filter, filtered.cut_off_mm
        )
    });
    pairs.add(
        "straightness",
        format!(
            "{} least squares, {} minimum zone{behind}",
            plain(sweep.straightness_ls_um),
            plain(sweep.straightness_mz_um)
        ),
    );
    pairs.add_some(
        "bow",
        sweep.bow_um.map(|bow| {
            let way = if bow > 0.0 {
                ", the middle nearer to the indicator"
            } else if bow < 0.0 {
                ", the ends nearer to the indicator"
            } else {
                ""
            };
            format!("{}{way}", um(bow))
        }),
    );
    pairs.add_some(
        "scatter",
        sweep
            .residual_sd_mm
            .map(|sd| format!("{} standard deviation about the line", plain(sd * 1e3))),
    );
    pairs.add(
        "points",
        format!(
            "{} from {:.3} mm to {:.3} mm",
            sweep.points, sweep.from_mm, sweep.to_mm
        ),
    );
    pairs.add_some("outliers", outliers(sweep.outliers, sweep.rejected));
    pairs.text()
}
