//! What whole plates make.
//!
//! Two knobs short is not two knobs' worth short where knobs come in plates of 25: whoever makes the two has made 25.
//! Totals that no plates add up to cannot occur, so asking for the next total that can is asking for nothing more, and it
//! tells a search what the last plate is worth: all of it.

use crate::problem::Problem;

/// Up to so many copies totals are listed one by one; beyond, only their common divisor counts.
const LISTED: i64 = 100_000;

/// The fewest copies of a part, no fewer than so many, that loaded plates and those on printers at the start may add up
/// to. Never more than any plan makes that makes the copies asked for.
pub fn rounded_up(problem: &Problem<'_>, part: usize, copies: i64) -> i64 {
    let of = |mode: usize| problem.modes[mode].yields.iter().find(|y| y.0 == part).map_or(0, |y| y.1);
    let loaded = problem.classes.iter().flat_map(|class| class.modes.iter().map(|&m| of(m)));
    let mut sizes: Vec<i64> = loaded.filter(|&n| n > 0).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let held = || {
        let holding = problem.classes.iter().filter_map(|class| Some((of(class.running.as_ref()?.mode), class)));
        holding.filter(|h| h.0 > 0).flat_map(|(n, class)| class.printers.iter().map(move |_| n))
    };
    if copies <= 0 || sizes.is_empty() {
        return copies;
    }
    let divisor = sizes.iter().copied().chain(held()).fold(0, greatest_common_divisor);
    let in_steps = (copies + divisor - 1) / divisor * divisor;
    if copies > LISTED {
        return in_steps;
    }
    // A plate more or less is enough to reach the first total there is.
    let mut made = vec![false; (copies + sizes[0]) as usize];
    made[0] = true;
    for n in held().map(|n| n as usize) {
        for at in (n..made.len()).rev() {
            made[at] |= made[at - n];
        }
    }
    for at in 0..made.len() {
        for &n in &sizes {
            let before = at.checked_sub(n as usize);
            made[at] |= before.is_some_and(|before| made[before]);
        }
    }
    (copies as usize..made.len()).find(|&n| made[n]).map_or(in_steps, |n| n as i64)
}

/// Of whole numbers that are not negative; of 0 and another, the other.
pub(crate) fn greatest_common_divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}
