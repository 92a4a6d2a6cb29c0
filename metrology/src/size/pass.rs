//! The next pass, from what is left and from what the passes before it took.

use super::{Finish, Ground, SizeOptions, SizeOutcome};
use crate::grind::{NextPass, PassDone, PassRule, next_pass};

/// What was left of an earlier state of the part, µm on diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// What was left.
    pub stock_um: f64,
    /// Its expanded uncertainty, where it was known.
    pub expanded_um: Option<f64>,
}

/// Tells the passes so far and the next one. `before` has the earlier states of the part, each measured before it was ground.
///
/// The infeeds are taken to be those that were advised at each state. A state at which none was, as one that was at size already,
/// begins anew: what the machine still held then is not known.
pub fn look_back(out: &mut SizeOutcome, options: &SizeOptions, before: &[Left]) {
    out.ground.clear();
    out.next_pass = None;
    let (Some(depth), Some(within)) = (options.pass, options.within) else {
        return;
    };
    let Some(stock_um) = out.stock_on_diameter_um else {
        return;
    };
    // By this the infeed of the plan differs from that square to the axis, of which the passes are told.
    let by = match out.infeed_um.zip(out.infeed_square_to_axis_um) {
        Some((infeed, axis)) if axis.abs() > 0.0 => infeed / axis,
        _ => 1.0,
    };
    let known = out.stock_expanded_um;
    let rule = |expanded_um: f64| PassRule {
        depth_um: depth.um() / by,
        allowance_um: options.allowance.unwrap_or_default().um() / by,
        within_um: within.um(),
        expanded_um,
    };
    let states: Vec<f64> = before.iter().map(|left| left.stock_um).collect();
    let after = states.iter().copied().skip(1).chain([stock_um]);
    let mut done: Vec<PassDone> = Vec::new();
    for (left, after_um) in before.iter().zip(after) {
        let sure = left.expanded_um.or(known).unwrap_or_default();
        match next_pass(left.stock_um, &rule(sure), &done) {
            NextPass::Rough {
                infeed_um,
                expects_um,
            }
            | NextPass::Finish {
                infeed_um,
                expects_um,
            } => {
                out.ground.push(Ground {
                    infeed_um: infeed_um * by,
                    before_um: left.stock_um,
                    expected_um: expects_um,
                    after_um,
                });
                done.push(PassDone {
                    infeed_um,
                    before_um: left.stock_um,
                    after_um,
                });
            }
            NextPass::AtSize | NextPass::TooFar => done.clear(),
        }
    }
    // Rounds that disagree, or of which nothing tells how sure they are, are measured again first.
    let sure = known.filter(|_| out.finish == Some(Finish::Left) && out.rounds_disagree.is_none());
    out.next_pass = sure.map(|sure| match next_pass(stock_um, &rule(sure), &done) {
        // What is left lies below the aim already, which the uncertainty keeps away from nothing left: another pass gains nothing.
        NextPass::Finish { expects_um, .. } if expects_um >= stock_um => NextPass::AtSize,
        next => in_the_plans_way(next, by),
    });
}

fn in_the_plans_way(next: NextPass, by: f64) -> NextPass {
    match next {
        NextPass::Rough {
            infeed_um,
            expects_um,
        } => NextPass::Rough {
            infeed_um: infeed_um * by,
            expects_um,
        },
        NextPass::Finish {
            infeed_um,
            expects_um,
        } => NextPass::Finish {
            infeed_um: infeed_um * by,
            expects_um,
        },
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Length;
    use crate::size::Infeed;

    fn options() -> SizeOptions {
        SizeOptions {
            pass: Some(Length::from_um(10)),
            allowance: Some(Length::from_um(4)),
            within: Some(Length::from_um(2)),
            ..SizeOptions::default()
        }
    }

    fn left(stock_um: f64) -> SizeOutcome {
        SizeOutcome {
            stock_on_diameter_um: Some(stock_um),
            stock_expanded_um: Some(0.6),
            infeed_um: Some(stock_um / 2.0),
            infeed_square_to_axis_um: Some(stock_um / 2.0),
            finish: Some(Finish::Left),
            ..SizeOutcome::default()
        }
    }

    fn states(stocks_um: &[f64]) -> Vec<Left> {
        let left = |stock_um: &f64| Left {
            stock_um: *stock_um,
            expanded_um: Some(0.6),
        };
        stocks_um.iter().map(left).collect()
    }

    #[test]
    fn the_next_pass_is_corrected_by_what_those_before_it_took() {
        let mut first = left(60.0);
        look_back(&mut first, &options(), &[]);
        let rough = |infeed_um, expects_um| {
            Some(NextPass::Rough {
                infeed_um,
                expects_um,
            })
        };
        assert_eq!(first.next_pass, rough(10.0, 40.0));
        assert!(first.ground.is_empty());
        // It took 16 µm of 20, and holds 2 µm of infeed: the same infeed then takes 0.8 · 12 µm.
        let mut second = left(44.0);
        look_back(&mut second, &options(), &states(&[60.0]));
        let ground = Ground {
            infeed_um: 10.0,
            before_um: 60.0,
            expected_um: 40.0,
            after_um: 44.0,
        };
        assert_eq!(second.ground, [ground]);
        let Some(NextPass::Rough {
            infeed_um,
            expects_um,
        }) = second.next_pass
        else {
            panic!("{second:?}");
        };
        assert!((infeed_um - 10.0).abs() < 1e-9);
        assert!((expects_um - (44.0 - 2.0 * 0.8 * 12.0)).abs() < 1e-6);
    }

    #[test]
    fn square_to_the_cone_the_same_pass_is_the_smaller_number() {
        let mut axis = left(26.0);
        look_back(&mut axis, &options(), &[]);
        let cos = 0.9;
        let mut cone = SizeOutcome {
            infeed_um: Some(13.0 * cos),
            ..left(26.0)
        };
        let options = SizeOptions {
            infeed: Infeed::Cone,
            pass: Some(Length::from_um(9)),
            allowance: Some(Length::from_pm(3_600_000)),
            ..options()
        };
        look_back(&mut cone, &options, &[]);
        let infeed = |out: &SizeOutcome| match out.next_pass {
            Some(NextPass::Rough { infeed_um, .. }) => infeed_um,
            ref other => panic!("{other:?}"),
        };
        assert!((infeed(&cone) - infeed(&axis) * cos).abs() < 1e-9);
    }

    #[test]
    fn a_pass_that_could_take_nothing_is_not_advised() {
        // ± 1.8 µm: the aim lies at 2.25 µm, and 2 µm are left.
        let mut out = SizeOutcome {
            stock_expanded_um: Some(1.8),
            ..left(2.0)
        };
        let options = SizeOptions {
            within: Some(Length::from_um(3)),
            ..options()
        };
        look_back(&mut out, &options, &[]);
        assert_eq!(out.next_pass, Some(NextPass::AtSize));
    }

    #[test]
    fn nothing_is_told_of_what_is_not_known() {
        let old = SizeOptions {
            within: None,
            ..options()
        };
        let mut out = left(44.0);
        look_back(&mut out, &old, &states(&[60.0]));
        assert_eq!((out.next_pass, out.ground.len()), (None, 0));
        let mut unsure = SizeOutcome {
            finish: None,
            stock_expanded_um: None,
            ..left(44.0)
        };
        look_back(&mut unsure, &options(), &states(&[60.0]));
        assert_eq!((unsure.next_pass, unsure.ground.len()), (None, 1));
        // At size before the last pass: no infeed was advised for it.
        let mut out = left(1.3);
        look_back(&mut out, &options(), &states(&[60.0, 1.4]));
        assert_eq!(out.ground.len(), 1);
        assert_eq!(out.next_pass, Some(NextPass::AtSize));
    }
}
