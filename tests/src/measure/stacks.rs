//! Exact stacks from the 112-piece kit: how long ours take, and whether an exhaustive search and an integer program by a library's solver
//! come to the same answers.

use super::python::Python;
use super::stats::{Times, timed};
use super::{Line, rounds};
use metrology::Length;
use metrology::blocks::{Kit, Stack, StackRules, choose, choose_two};
use metrology::random::Random;

const HEIGHTS: usize = 10_000;
/// Pairs of heights, for two stacks at once.
const PAIRS: usize = 2_000;
/// Heights that the exhaustive search is asked for, and those of the integer program: each takes far longer than ours.
const SEARCHED: usize = 40;
const PROGRAMMED: usize = 6;
/// How long the solver may take for one, s.
const LONGEST_S: u32 = 20;
/// What the 99th percentile may take, ms.
const MOST_MS: f64 = 1.0;

fn kit() -> Kit {
    let kits = config::shipped_kits();
    kits.iter()
        .find(|kit| kit.name == "metric-112")
        .unwrap()
        .clone()
}

/// Heights from 2 to 250 mm, in steps of 0.5 µm, the smallest that the kit makes.
fn heights(count: usize, seed: u64, most_mm: usize) -> Vec<Length> {
    let mut random = Random::new(seed);
    (0..count)
        .map(|_| Length::from_pm((4_000 + random.below(2_000 * most_mm - 4_000) as i64) * 500_000))
        .collect()
}

pub(super) fn row() -> Vec<Line> {
    let kit = kit();
    let rules = StackRules::default();
    let mut ours = Times::default();
    for height in heights(rounds(HEIGHTS), 1, 250) {
        let (took, stack) = timed(|| choose(&kit, height, &rules));
        ours.push(took);
        assert!(stack.unwrap().within, "{height}");
    }
    let mut pairs = Times::default();
    let (first, second) = (
        heights(rounds(PAIRS), 2, 120),
        heights(rounds(PAIRS), 3, 120),
    );
    for (first, second) in first.iter().zip(&second) {
        let (took, stacks) = timed(|| choose_two(&kit, *first, *second, &rules));
        pairs.push(took);
        assert!(stacks.is_ok(), "{first} and {second}");
    }
    let mut equal = Times::default();
    for height in heights(rounds(PAIRS), 4, 120) {
        let (took, stacks) = timed(|| choose_two(&kit, height, height, &rules));
        equal.push(took);
        assert!(stacks.is_ok(), "{height} twice");
    }
    let line = |what: String, ours: &Times| {
        let (median, p99) = (ours.median(), ours.at(0.99));
        Line::told(
            what,
            format!(
                "{median:.3} ms, 99th {p99:.3} ms, longest {:.1} ms",
                ours.at(1.0)
            ),
        )
        .reach(format!("99th under {MOST_MS} ms"), p99 < MOST_MS)
    };
    vec![
        line(format!("exact stack, {HEIGHTS} heights"), &ours),
        line(
            format!("two stacks at once, {PAIRS} pairs of heights"),
            &pairs,
        ),
        line(format!("two equal stacks at once, {PAIRS} heights"), &equal),
        searched(&kit),
        programmed(&kit, 1),
        programmed(&kit, 2),
    ]
}

/// How many blocks, and the sum of the errors, pm: what both yardsticks must agree on with ours.
type Best = (usize, i64);

fn ours(kit: &Kit, heights: &[Length]) -> Best {
    let rules = StackRules::default();
    let stacks: Vec<Stack> = match heights {
        [one] => vec![choose(kit, *one, &rules).unwrap()],
        [first, second, ..] => choose_two(kit, *first, *second, &rules).unwrap().into(),
        [] => Vec::new(),
    };
    let error = |stack: &Stack| (stack.sum - stack.height).abs().pm();
    (
        stacks.iter().map(|stack| stack.blocks.len()).sum(),
        stacks.iter().map(error).sum(),
    )
}

/// The same heights by ours and by an exhaustive search: the answers must be the same.
fn searched(kit: &Kit) -> Line {
    let (mut here, mut there) = (Times::default(), Times::default());
    let mut decided = 0;
    for height in heights(rounds(SEARCHED), 5, 120) {
        let (took, own) = timed(|| ours(kit, &[height]));
        let (their, best) = timed(|| exhaustive(kit, height));
        let Some(best) = best else { continue };
        here.push(took);
        there.push(their);
        decided += 1;
        assert_eq!(own, best, "{height}");
    }
    let what = "exact stack, same answers as by exhaustive search to four blocks";
    if decided == 0 {
        return Line::missing(what, "no height was decided");
    }
    let (here, there) = (here.median(), there.median());
    Line::told(what, format!("{here:.3} ms, {decided} heights"))
        .beside(format!("{there:.1} ms"), here / there)
        .reach("the same answers", true)
}

/// The same heights by ours and by an integer program: the same answer where the solver proves its own to be the best in time, and
/// never a worse one.
fn programmed(kit: &Kit, at_once: usize) -> Line {
    let stacks = ["", "exact stack", "two stacks at once"][at_once];
    let what = format!("{stacks}, same answers as by an integer program (HiGHS)");
    let step = StackRules::default().within.pm();
    let steps = |length: Length| (length.pm() / step) as f64;
    let lengths: Vec<f64> = kit.blocks.iter().map(|b| steps(b.length())).collect();
    let none = vec![0.0; lengths.len()];
    let mut python = match Python::start("stacks.py", "scipy.optimize", [&lengths, &none]) {
        Ok(python) => python,
        Err(why) => return Line::missing(what, why),
    };
    let (mut here, mut there) = (Times::default(), Vec::new());
    let (mut asked, mut proven) = (0, 0);
    for heights in heights(rounds(PROGRAMMED) * at_once, 6, 120).chunks(at_once) {
        let (took, (blocks, error)) = timed(|| ours(kit, heights));
        here.push(took);
        let words: Vec<String> = heights.iter().map(|h| steps(*h).to_string()).collect();
        let (ms, best) = python.ask(&format!("stack {LONGEST_S} {}", words.join(" ")));
        there.push(ms);
        asked += 1;
        let [their_blocks, their_error, is_proven] = best[..] else {
            continue;
        };
        let own = [blocks as f64, error as f64 / step as f64];
        let theirs = [their_blocks, their_error];
        let same = own == theirs;
        let better = own[0] < theirs[0] || (own[0] == theirs[0] && own[1] < theirs[1]);
        assert!(
            same || (better && is_proven < 0.5),
            "{heights:?}: {own:?}, {theirs:?}"
        );
        proven += usize::from(is_proven > 0.5);
    }
    let there: Times = there.into_iter().collect();
    let (here, there) = (here.median(), there.median());
    Line::told(
        what,
        format!("{here:.3} ms; {proven} of {asked} proven within {LONGEST_S} s, none better"),
    )
    .beside(format!("{there:.0} ms"), here / there)
    .reach("the same answers", proven > 0)
}

/// All subsets of one block, of two, of three, of four, until some lie within half a micrometre; nothing when it takes more.
fn exhaustive(kit: &Kit, height: Length) -> Option<Best> {
    let within = StackRules::default().within.pm();
    let lengths: Vec<i64> = kit.blocks.iter().map(|block| block.length().pm()).collect();
    (1..=4).find_map(|count| {
        let nearest = nearest(&lengths, count, height.pm(), i64::MAX);
        (nearest <= within).then_some((count, nearest))
    })
}

/// The least distance from `rest` of a sum of `count` of the lengths.
fn nearest(lengths: &[i64], count: usize, rest: i64, mut best: i64) -> i64 {
    if count == 0 {
        return rest.abs();
    }
    for (n, length) in lengths.iter().enumerate() {
        best = best.min(nearest(&lengths[n + 1..], count - 1, rest - length, best));
    }
    best
}
