//! A size in words.

use super::{allowed, plain, verdict, within_arcsec, within_um};
use crate::layout::{Pairs, Table, angle, arcsec, um};
use metrology::Angle;
use metrology::size::{Finish, Passes, Plane, SizeOutcome};

pub(super) fn text(size: &SizeOutcome) -> String {
    let mut pairs = Pairs::default();
    pairs.add_some("state", size.finish.map(|f| finish(f).to_owned()));
    pairs.add_some(
        "left to grind",
        size.stock_on_diameter_um.map(|stock| {
            let at = size
                .stock_plane_mm
                .map_or(String::new(), |plane| format!(", at the plane {plane} mm"));
            format!(
                "{} on diameter{}{at}",
                um(stock),
                within_um(size.stock_expanded_um)
            )
        }),
    );
    let infeeds = size
        .infeed_square_to_axis_um
        .zip(size.infeed_square_to_cone_um);
    pairs.add_some(
        "infeed",
        infeeds.map(|(axis, cone)| {
            format!(
                "{} square to the axis, {} square to the cone",
                um(axis),
                um(cone)
            )
        }),
    );
    pairs.add_some("passes", size.passes.as_ref().map(passes));
    pairs.add_some(
        "half angle",
        size.half_angle_deg.map(|deg| {
            let expanded = within_arcsec(size.half_angle_expanded_arcsec);
            let error = size.half_angle_error_arcsec.map_or(String::new(), |error| {
                format!("\n{} from the wanted one", arcsec(error))
            });
            format!("{}{expanded}{error}", angle(Angle::from_deg(deg)))
        }),
    );
    pairs.add_some("allowed", size.limits_arcsec.map(allowed));
    pairs.add_some("verdict", size.verdict.map(|v| verdict(v).to_owned()));
    let mut text = pairs.text();
    text.push_str(&planes(&size.planes));
    text
}

const fn finish(finish: Finish) -> &'static str {
    match finish {
        Finish::Left => "there is stock left",
        Finish::AtSize => "at size, within the uncertainty",
        Finish::Undersize => "UNDER SIZE: too small already, nothing is left to grind",
        Finish::Oversize => "OVER SIZE: too large already, nothing is left to grind",
    }
}

fn passes(passes: &Passes) -> String {
    let finishing = if passes.finishing_um > 0.0 {
        format!(", then {} for finishing", plain(passes.finishing_um))
    } else {
        String::new()
    };
    match passes.count {
        0 => format!("none{finishing}"),
        1 => format!("1 of {}{finishing}", plain(passes.last_um)),
        n => format!(
            "{n} of {}, the last of {}{finishing}",
            plain(passes.depth_um),
            plain(passes.last_um)
        ),
    }
}

fn planes(planes: &[Plane]) -> String {
    if planes.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&["plane", "diameter", "wanted", "left on diameter"]);
    for plane in planes {
        table.row([
            format!("{} mm", plane.plane_mm),
            format!("{:.4} mm", plane.diameter_mm),
            plane
                .wanted_mm
                .map_or(String::new(), |mm| format!("{mm:.4} mm")),
            plane.stock_um.map_or(String::new(), um),
        ]);
    }
    table.text()
}
