//! The stack for a height, chosen exactly, and the stack for an angle.

use super::search::{Found, NEGLIGIBLE, Search};
use super::{Block, Kit, Stack, StackError};
use crate::setting::Bar;
use crate::{Angle, Length};

/// What a stack must satisfy.
///
/// ```
/// use conewright_metrology::blocks::StackRules;
/// let rules = StackRules { wear: Some("2mm".parse()?), ..StackRules::default() };
/// assert_eq!(rules.within, "0.5um".parse()?);
/// # Ok::<(), conewright_metrology::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackRules {
    /// A sum this near to the height is good; fewer blocks are better than a nearer sum. 0.5 µm by default.
    pub within: Length,
    /// Blocks of these nominal lengths are left in the box.
    pub exclude: Vec<Length>,
    /// A wear block of this nominal length at both ends. A kit that lists two of them gives them, with their
    /// calibration; otherwise the pair is one that is kept beside the kit and counts as nominal.
    pub wear: Option<Length>,
    /// At most this many blocks, wear blocks included. No limit by default.
    pub max_blocks: usize,
}

impl Default for StackRules {
    fn default() -> Self {
        Self {
            within: Length::from_pm(500_000),
            exclude: Vec::new(),
            wear: None,
            max_blocks: usize::MAX,
        }
    }
}

/// Standard uncertainty that each wrung joint adds, µm: what the film between two faces varies by.
/// Common practice, a value from memory; well wrung steel faces stay within some 20 nm.
pub const WRING_U_UM: f64 = 0.01;

/// The largest kit that is searched.
const MOST_PIECES: usize = 1_000;

/// A stack with the places in the kit of the blocks that it takes.
#[derive(Debug, Clone)]
pub(super) struct Chosen {
    pub stack: Stack,
    pub used: Vec<usize>,
    /// Sum minus height.
    pub error: Length,
}

/// Chooses the stack for a height, exactly.
///
/// Among all subsets of the kit whose sum, with the calibrated deviations where they are known, lies within
/// [`StackRules::within`] of the height: the fewest blocks; among those the smallest absolute error; among those
/// the largest blocks first, by nominal length and then by deviation. Where no subset lies within, the smallest
/// absolute error of all; among those the fewest blocks, and then the largest first; the answer then says so
/// by [`Stack::within`]. An error of up to 0.1 nm counts as none.
///
/// # Errors
/// A height of zero or less, or beyond everything that may be stacked, with the closest that can be made; a rule
/// that nothing satisfies; a kit with an impossible block.
///
/// ```
/// use conewright_metrology::{Length, blocks::{Block, Kit, StackRules, choose}};
/// let block = |um| Block { nominal: Length::from_um(um), deviation: None, u: None };
/// let kit = Kit {
///     name: "five".into(),
///     blocks: [1005, 1340, 2000, 6000, 50_000].map(block).to_vec(),
///     grade: None,
///     source: "an example".into(),
/// };
/// let stack = choose(&kit, "58.345mm".parse()?, &StackRules::default())?;
/// assert_eq!(stack.blocks, ["50mm", "6mm", "1.34mm", "1.005mm"].map(|b| b.parse().unwrap()));
///
/// let beyond = choose(&kit, "60.4mm".parse()?, &StackRules::default()).unwrap_err();
/// assert!(beyond.to_string().contains("the highest, of 5 blocks, is 60.345 mm, 55 µm less"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn choose(kit: &Kit, height: Length, rules: &StackRules) -> Result<Stack, StackError> {
    let wear = wear_pairs(kit, rules)?;
    Chooser::new(kit, rules, &[&wear[0]])?
        .choose(height, &wear[0], &[])
        .map(|chosen| chosen.stack)
}

/// Chooses the stack that sets a half angle in a bar, and says what it really sets.
///
/// # Errors
/// As [`choose`], and what the bar refuses.
///
/// ```
/// use conewright_metrology::{Length, blocks::{Block, Kit, StackRules, stack_for_angle}};
/// use conewright_metrology::setting::{Bar, BarKind};
/// let block = |um| Block { nominal: Length::from_um(um), deviation: None, u: None };
/// let kit = Kit {
///     name: "few".into(),
///     blocks: [1003, 1160, 2000].map(block).to_vec(),
///     grade: None,
///     source: "an example".into(),
/// };
/// let bar = Bar {
///     kind: BarKind::Sine,
///     centre_distance: Some("100mm".parse()?),
///     constant: Length::ZERO,
///     disc_radii: None,
///     centre_distance_u: None,
/// };
/// let stack = stack_for_angle(&kit, &bar, "1:12".parse()?, &StackRules::default())?;
/// assert_eq!(stack.sum, "4.163mm".parse()?);
/// assert!((stack.angle_error_arcsec.unwrap() - -0.11).abs() < 0.01, "the rounding of the stack");
/// assert!(stack_for_angle(&kit, &bar, "90deg".parse()?, &StackRules::default()).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn stack_for_angle(
    kit: &Kit,
    bar: &Bar,
    half_angle: Angle,
    rules: &StackRules,
) -> Result<Stack, StackError> {
    let height_mm = bar.stack_height_mm(half_angle)?;
    let height = Length::from_mm(height_mm).ok_or(StackError::Rule(
        "the stack for this angle is over a kilometre high; check the bar's dimensions",
    ))?;
    let mut stack = choose(kit, height, rules)?;
    // A stack that is far off, because the kit has no better, may set no angle at all.
    if let Ok(set) = bar.half_angle(stack.sum) {
        stack.angle_set_deg = Some(set.deg());
        stack.angle_error_arcsec = Some((set - half_angle).arcsec());
    }
    Ok(stack)
}

/// A block of the stack and, where it is from the kit, its place there.
pub(super) type Placed = (Option<usize>, Block);

/// The wear blocks of a first and of a second stack; empty where none are demanded.
pub(super) fn wear_pairs(kit: &Kit, rules: &StackRules) -> Result<[Vec<Placed>; 2], StackError> {
    let Some(nominal) = rules.wear else {
        return Ok([Vec::new(), Vec::new()]);
    };
    if nominal <= Length::ZERO {
        return Err(StackError::Rule(
            "a wear block is thicker than 0 mm; state its nominal length",
        ));
    }
    if rules.max_blocks < 2 {
        return Err(StackError::Rule(
            "two wear blocks are more than the number of blocks allowed; allow at least 2",
        ));
    }
    let listed: Vec<Placed> = (kit.blocks.iter().enumerate())
        .filter(|(_, block)| block.nominal == nominal)
        .map(|(place, block)| (Some(place), *block))
        .collect();
    let beside = (
        None,
        Block {
            nominal,
            deviation: None,
            u: None,
        },
    );
    let pair = |first: usize| match listed.get(first..first + 2) {
        Some(pair) => pair.to_vec(),
        None => vec![beside; 2],
    };
    Ok([pair(0), pair(2)])
}

/// A kit prepared for choosing from it more than once.
pub(super) struct Chooser<'a> {
    kit: &'a Kit,
    rules: &'a StackRules,
    /// The blocks that may be chosen, with their places in the kit.
    usable: Vec<(usize, Block)>,
    /// Their true lengths, the largest first, with their positions in `usable`.
    lengths: Vec<(Length, usize)>,
    search: Search,
}

impl<'a> Chooser<'a> {
    /// Prepares all blocks that the rules allow and that are none of the wear blocks.
    pub(super) fn new(
        kit: &'a Kit,
        rules: &'a StackRules,
        wear: &[&[Placed]],
    ) -> Result<Self, StackError> {
        if rules.within < Length::ZERO {
            return Err(StackError::Rule(
                "no stack lies within less than 0 µm; state how near is near enough",
            ));
        }
        if rules.max_blocks == 0 {
            return Err(StackError::Rule(
                "a stack of no blocks is none; allow at least 1",
            ));
        }
        let usable = usable(kit, rules, wear)?;
        let mut lengths: Vec<_> = (usable.iter().enumerate())
            .map(|(position, (_, block))| (block.length(), position))
            .collect();
        lengths.sort_unstable_by(|a, b| b.cmp(a));
        let search = Search::new(
            usable
                .iter()
                .map(|(_, block)| (block.nominal.pm(), block.length().pm())),
        );
        Ok(Self {
            kit,
            rules,
            usable,
            lengths,
            search,
        })
    }

    /// Chooses without the places in `banned`, between the wear blocks given.
    pub(super) fn choose(
        &mut self,
        height: Length,
        wear: &[Placed],
        banned: &[usize],
    ) -> Result<Chosen, StackError> {
        let banned: Vec<usize> = (banned.iter())
            .filter_map(|place| self.usable.binary_search_by_key(place, |(p, _)| *p).ok())
            .collect();
        let wear_sum: Length = wear.iter().map(|(_, block)| block.length()).sum();
        let most = (self.rules.max_blocks - wear.len()).min(self.usable.len() - banned.len());
        if most == 0 && wear.is_empty() {
            return Err(self.no_blocks());
        }
        self.check_reach(height, wear_sum, wear.len(), most, &banned)?;

        let target = (height - wear_sum).pm();
        let within = self.rules.within.pm().max(NEGLIGIBLE);
        let none = (!wear.is_empty()).then(|| Found {
            error: -target,
            blocks: Vec::new(),
        });
        self.search.forbid(&banned);
        let search = &mut self.search;
        let found = none
            .clone()
            .filter(|none| none.error.abs() <= within)
            .or_else(|| search.fewest(target, within, most))
            .or_else(|| {
                let nearest = search.nearest(target, within, most);
                // Two wear blocks alone may be nearer than with the smallest block between them.
                [none, nearest]
                    .into_iter()
                    .flatten()
                    .min_by_key(|found| found.error.abs())
            })
            .ok_or_else(|| self.no_blocks())?;
        Ok(self.chosen(height, wear, &found, within))
    }

    fn no_blocks(&self) -> StackError {
        StackError::NoBlocks {
            kit: self.kit.name.clone(),
        }
    }

    /// What was found, told as a stack between its wear blocks.
    fn chosen(&self, height: Length, wear: &[Placed], found: &Found, within: i64) -> Chosen {
        let taken = found.blocks.iter().map(|i| self.usable[*i]);
        let mut placed: Vec<Placed> = wear
            .iter()
            .copied()
            .chain(taken.map(|(place, block)| (Some(place), block)))
            .collect();
        placed.sort_by_key(|(_, block)| std::cmp::Reverse(block.nominal));
        let error = Length::from_pm(found.error);
        Chosen {
            used: placed.iter().filter_map(|(place, _)| *place).collect(),
            error,
            stack: Stack {
                height,
                blocks: placed.iter().map(|(_, block)| block.nominal).collect(),
                sum: height + error,
                error_um: error.um(),
                within: found.error.abs() <= within,
                u_um: stack_u_um(self.kit, &placed),
                angle_set_deg: None,
                angle_error_arcsec: None,
            },
        }
    }

    /// Refuses a height that is zero or less, below the wear blocks, or beyond everything that may be stacked.
    fn check_reach(
        &self,
        height: Length,
        wear_sum: Length,
        wear_count: usize,
        most: usize,
        banned: &[usize],
    ) -> Result<(), StackError> {
        let allowed = |(_, position): &&(Length, usize)| !banned.contains(position);
        if height <= Length::ZERO {
            let lowest = self.lengths.iter().rev().find(allowed);
            return Err(StackError::NotPositive {
                height,
                closest: match lowest {
                    Some((lowest, _)) if wear_count == 0 => *lowest,
                    _ => wear_sum,
                },
            });
        }
        if height + self.rules.within < wear_sum {
            return Err(StackError::BelowWear {
                height,
                closest: wear_sum,
            });
        }
        let largest = self.lengths.iter().filter(allowed).take(most);
        let highest = wear_sum + largest.map(|(length, _)| *length).sum();
        if height > highest + self.rules.within {
            return Err(StackError::BeyondKit {
                height,
                closest: highest,
                blocks: wear_count + most,
                kit: self.kit.name.clone(),
            });
        }
        Ok(())
    }
}

/// The blocks that may be chosen, with their places in the kit.
fn usable(
    kit: &Kit,
    rules: &StackRules,
    wear: &[&[Placed]],
) -> Result<Vec<(usize, Block)>, StackError> {
    if kit.blocks.len() > MOST_PIECES {
        return Err(StackError::Rule(
            "a kit of more than 1000 blocks is not searched; list those that are meant",
        ));
    }
    for block in &kit.blocks {
        if block.nominal <= Length::ZERO || block.length() <= Length::ZERO {
            return Err(StackError::BadBlock {
                nominal: block.nominal,
                kit: kit.name.clone(),
            });
        }
    }
    for nominal in &rules.exclude {
        let nearest = (kit.blocks.iter().map(|block| block.nominal))
            .min_by_key(|listed| (*listed - *nominal).abs())
            .ok_or_else(|| StackError::NoBlocks {
                kit: kit.name.clone(),
            })?;
        if nearest != *nominal {
            return Err(StackError::NotInKit {
                nominal: *nominal,
                nearest,
                kit: kit.name.clone(),
            });
        }
    }
    let worn = |place| {
        let mut worn = wear.iter().flat_map(|wear| wear.iter());
        worn.any(|(worn, _)| *worn == Some(place))
    };
    Ok((kit.blocks.iter().copied().enumerate())
        .filter(|(place, block)| !rules.exclude.contains(&block.nominal) && !worn(*place))
        .collect())
}

/// Standard uncertainty of a stack's height, µm: its blocks and its joints, all independent. Wear blocks that are
/// kept beside the kit count as of its grade. None when a block's is not known.
fn stack_u_um(kit: &Kit, placed: &[Placed]) -> Option<f64> {
    let joints = placed.len().saturating_sub(1) as f64;
    let mut square = joints * WRING_U_UM * WRING_U_UM;
    for (_, block) in placed {
        square += block.u_um(kit.grade)?.powi(2);
    }
    Some(square.sqrt())
}
