//! `[kit.NAME]`: the gauge blocks that the user owns.

use super::mistake::Problem;
use super::section::{Section, Value};
use super::value::{UNITS, choice, length_in, list, positive_in, text, whole};
use crate::lookup::is_taken_by_a_kit;
use crate::shipped::{KitGroup, MAX_BLOCKS, shipped_kits};
use metrology::blocks::{Block, Grade, Kit};
use metrology::{Length, Unit};

const KEYS: [&str; 10] = [
    "like",
    "without",
    "blocks",
    "groups",
    "unit",
    "grade",
    "deviations",
    "uncertainty",
    "pieces",
    "source",
];

const GRADES: [(&str, Grade); 4] = [
    ("K", Grade::K),
    ("0", Grade::Zero),
    ("1", Grade::One),
    ("2", Grade::Two),
];

const LIST: &str = "a list of lengths such as [1.005, 1.01, \"0.1001in\"]";

/// Reads a kit. What is wrong with it is among the findings when there is none.
pub(super) fn read(name: String, section: &Section<'_>) -> Option<Kit> {
    section.only(&KEYS);
    if is_taken_by_a_kit(&name) {
        section.wrong(
            Problem::new(format!("`{name}` is a shipped kit")).expected(format!(
                "another name; `like = \"{name}\"` takes over its blocks"
            )),
        );
    }
    let unit = section.optional("unit", choice(&UNITS)).unwrap_or(Unit::Mm);
    let blocks = blocks(section, unit);
    let grade = section.optional("grade", choice(&GRADES));
    let u = section.optional("uncertainty", positive_in(unit));
    let source = section
        .optional("source", text)
        .unwrap_or("the configuration")
        .to_owned();
    let blocks = blocks?;
    if let Some(pieces) = section.optional("pieces", whole(1, MAX_BLOCKS as i64))
        && pieces != blocks.len() as i64
    {
        section.wrong_key(
            "pieces",
            Problem::new(format!(
                "the list has {} blocks, not {pieces}",
                blocks.len()
            ))
            .expected("the number of the blocks listed"),
        );
    }
    let mut blocks: Vec<Block> = blocks
        .into_iter()
        .map(|nominal| Block {
            nominal,
            deviation: None,
            u,
        })
        .collect();
    if let Some(deviations) = section.section("deviations") {
        set_deviations(&mut blocks, &deviations, unit);
    }
    Some(Kit {
        name,
        blocks,
        grade,
        source,
    })
}

/// The nominal lengths: those of a shipped kit, of groups and of a list together, less those left out.
fn blocks(section: &Section<'_>, unit: Unit) -> Option<Vec<Length>> {
    let mut all = Vec::new();
    let mut sound = true;
    let mut take = |key: &str, found: Option<Vec<Length>>| match found {
        Some(found) => all.extend(found),
        None => sound &= !section.has(key),
    };
    take("like", section.optional("like", like));
    let groups = section.optional("groups", list(GROUPS, |v| group(v, unit)));
    take("groups", groups.map(|groups| groups.concat()));
    take(
        "blocks",
        section.optional("blocks", list(LIST, positive_in(unit))),
    );
    let without = section.optional("without", list(LIST, positive_in(unit)));
    sound &= without.is_some() || !section.has("without");
    if !sound {
        return None;
    }
    for left_out in without.unwrap_or_default() {
        match all.iter().position(|nominal| *nominal == left_out) {
            Some(i) => drop(all.remove(i)),
            None => section.wrong_key(
                "without",
                Problem::new(format!("there is no block of {left_out} to leave out"))
                    .expected("lengths of blocks that the kit has"),
            ),
        }
    }
    if all.is_empty() || all.len() > MAX_BLOCKS {
        section.wrong(
            Problem::new(format!("a kit of {} blocks", all.len())).expected(format!(
                "1 to {MAX_BLOCKS} blocks, from `blocks`, `groups` or `like`"
            )),
        );
        return None;
    }
    Some(all)
}

fn like(value: &Value<'_>) -> Result<Vec<Length>, Problem> {
    let name = text(value)?;
    match crate::Config::default().kit(name) {
        Ok(kit) => Ok(kit.blocks.iter().map(|block| block.nominal).collect()),
        Err(_) => {
            let known = shipped_kits().iter().map(|kit| kit.name.as_str());
            Err(Problem::new(format!("there is no shipped kit `{name}`"))
                .expected(format!(
                    "one of {}",
                    known.clone().collect::<Vec<_>>().join(", ")
                ))
                .near(crate::near::nearest(name, known)))
        }
    }
}

const GROUPS: &str =
    "a list of groups [first, last, step] such as [[1.01, 1.49, 0.01], [10, 100, 10]]";

fn group(value: &Value<'_>, unit: Unit) -> Result<Vec<Length>, Problem> {
    let numbers = list("a group [first, last, step]", positive_in(unit))(value)?;
    let [first, last, step] = numbers[..] else {
        return Err(
            Problem::new(format!("a group of {} numbers", numbers.len()))
                .expected("a group [first, last, step]"),
        );
    };
    KitGroup { first, last, step }.lengths().map_err(|what| {
        Problem::new(what).expected("a group [first, last, step] such as [1.01, 1.49, 0.01]")
    })
}

/// `deviations = { "1.005" = "0.02um" }`: each length is that of a block, each deviation its own.
fn set_deviations(blocks: &mut [Block], deviations: &Section<'_>, unit: Unit) {
    for (key, deviation) in deviations.every(length_in(unit)) {
        let nominal = Length::parse(&key, unit);
        let mut found = false;
        for block in blocks
            .iter_mut()
            .filter(|block| nominal.as_ref() == Ok(&block.nominal))
        {
            block.deviation = deviation;
            found = true;
        }
        if !found {
            deviations.wrong_key(
                &key,
                Problem::new(format!("the kit has no block of `{key}`"))
                    .expected("the length of one of its blocks as the key"),
            );
        }
        // A bare 0.02 is 20 µm; the slip of the unit would move every stack.
        if deviation.is_some_and(|d| d.abs() > MAX_DEVIATION) {
            deviations.wrong_key(
                &key,
                Problem::new("a gauge block is not so far from its length")
                    .expected("a deviation of at most 0.01 mm, such as \"0.02um\""),
            );
        }
    }
}

/// The widest limit of ISO 3650 below 1 m is 8 µm.
const MAX_DEVIATION: Length = Length::from_um(10);
