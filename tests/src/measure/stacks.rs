//! Exact stacks from the 112-piece kit: how long ours take, and whether an exhaustive search and an integer program by a library's solver
//! come to the same answers.

use super::stats::{Times, timed};
use super::{Line, rounds};
use good_lp::{Expression, Solution, SolverModel, constraint, default_solver, variable, variables};
use metrology::Length;
use metrology::blocks::{Kit, Stack, StackRules, choose, choose_two};
use metrology::random::Random;

const HEIGHTS: usize = 10_000;
/// Pairs of heights, for two stacks at once.
const PAIRS: usize = 2_000;
/// Heights that the exhaustive search is asked for, and those of the integer program: each takes far longer than ours.
const SEARCHED: usize = 40;
const PROGRAMMED: usize = 10;
/// What the 99th percentile may take, ms.
const MOST_MS: f64 = 1.0;

const PROGRAM: &str = "integer program by a library's solver";

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
        compared(
            &kit,
            "exhaustive search, to four blocks",
            (1, SEARCHED),
            exhaustive,
        ),
        compared(&kit, PROGRAM, (1, PROGRAMMED), integer_program),
        compared(&kit, PROGRAM, (2, PROGRAMMED), integer_program),
    ]
}

/// How many blocks, and the sum of the errors, pm: what both yardsticks must agree on with ours.
type Best = (usize, i64);

/// Finds the best for one height or two; nothing when it takes too much.
type Yardstick = fn(&Kit, &[Length]) -> Option<Best>;

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

/// The same heights by ours and by a yardstick: the answers must be the same.
fn compared(kit: &Kit, by: &str, (at_once, count): (usize, usize), yardstick: Yardstick) -> Line {
    let (mut here, mut there) = (Times::default(), Times::default());
    let mut decided = 0;
    for heights in heights(rounds(count) * at_once, 5, 120).chunks(at_once) {
        let (took, own) = timed(|| ours(kit, heights));
        let (their, best) = timed(|| yardstick(kit, heights));
        let Some(best) = best else { continue };
        here.push(took);
        there.push(their);
        decided += 1;
        assert_eq!(own, best, "{heights:?} by {by}");
    }
    let stacks = ["", "exact stack", "two stacks at once"][at_once];
    let what = format!("{stacks}, same answers as by {by}");
    if decided == 0 {
        return Line::missing(what, "no height was decided");
    }
    let (here, there) = (here.median(), there.median());
    Line::told(what, format!("{here:.3} ms, {decided} cases"))
        .beside(format!("{there:.1} ms"), here / there)
        .reach("the same answers", true)
}

/// All subsets of one block, of two, of three, of four, until some lie within half a micrometre; nothing when it takes more.
fn exhaustive(kit: &Kit, heights: &[Length]) -> Option<Best> {
    let within = StackRules::default().within.pm();
    let lengths: Vec<i64> = kit.blocks.iter().map(|block| block.length().pm()).collect();
    (1..=4).find_map(|count| {
        let nearest = nearest(&lengths, count, heights[0].pm(), i64::MAX);
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

/// The fewest blocks whose sums are the heights, no block in two of them, by branch and bound over one variable for each block and
/// height. All lengths and heights are in steps of half a micrometre, so a sum within it is exact or one step off.
fn integer_program(kit: &Kit, heights: &[Length]) -> Option<Best> {
    let unit = StackRules::default().within.pm() as f64;
    let lengths: Vec<f64> = (kit.blocks.iter())
        .map(|block| block.length().pm() as f64 / unit)
        .collect();
    let mut program = variables!();
    let mut cost = Expression::from(0.0);
    let mut rules = Vec::new();
    let mut taken = Vec::new();
    for height in heights {
        let of_height: Vec<_> = lengths
            .iter()
            .map(|_| program.add(variable().binary()))
            .collect();
        let [over, under] = [(); 2].map(|()| program.add(variable().min(0.0).max(1.0)));
        // A sum that is one step off costs a tenth of a block.
        cost += of_height.iter().copied().sum::<Expression>() + 0.1 * over + 0.1 * under;
        let sum: Expression = lengths.iter().zip(&of_height).map(|(l, v)| *l * *v).sum();
        rules.push(constraint!(sum - over + under == height.pm() as f64 / unit));
        taken.push(of_height);
    }
    for block in 0..lengths.len() {
        let uses: Expression = taken.iter().map(|of_height| of_height[block]).sum();
        rules.push(constraint!(uses <= 1.0));
    }
    let mut model = program.minimise(cost).using(default_solver);
    for rule in rules {
        model = model.with(rule);
    }
    let solved = model.solve().ok()?;
    let mut best = (0, 0);
    for (height, of_height) in heights.iter().zip(&taken) {
        let used = lengths.iter().zip(of_height);
        let used = used.filter(|(_, taken)| solved.value(**taken) > 0.5);
        let (count, sum) = used.fold((0, 0.0), |(n, sum), (length, _)| (n + 1, sum + length));
        best.0 += count;
        best.1 += ((sum * unit).round() as i64 - height.pm()).abs();
    }
    Some(best)
}
