//! The chance against every outcome counted one by one.

use super::*;

/// A part that needs so many, and its lots: failure rate, copies, runs.
fn part(place: usize, need: u64, reject_rate: f64, lots: &[(f64, u64, u64)]) -> Part {
    let lots = lots.iter().map(|&(rate, copies, runs)| ((rate.to_bits(), copies), runs)).collect();
    Part { id: PartId(place as u32), place, need, reject_rate, lots }
}

/// All outcomes: each run fails or not, each copy of each part on it is rejected or not.
fn counted(given: &Given) -> f64 {
    // By run: failure rate and copies of each part.
    let mut runs: Vec<(f64, Vec<u64>)> = Vec::new();
    for part in &given.parts {
        for (&(bits, copies), &times) in &part.lots {
            let mut of_run = vec![0; given.parts.len()];
            of_run[part.place] = copies;
            (0..times).for_each(|_| runs.push((f64::from_bits(bits), of_run.clone())));
        }
    }
    for lot in &given.shared {
        (0..lot.runs).for_each(|_| runs.push((lot.failure_rate, lot.copies.clone())));
    }
    fn go(given: &Given, runs: &[(f64, Vec<u64>)], good: &mut Vec<u64>, weight: f64) -> f64 {
        let Some(((fails, copies), others)) = runs.split_first() else {
            return if given.parts.iter().all(|p| good[p.place] >= p.need) { weight } else { 0.0 };
        };
        let mut sum = go(given, others, good, weight * fails);
        let all: Vec<usize> = (0..copies.len()).flat_map(|p| (0..copies[p]).map(move |_| p)).collect();
        for rejects in 0..1_u32 << all.len() {
            let mut chance = 1.0 - fails;
            let before = good.clone();
            for (copy, &p) in all.iter().enumerate() {
                let rejected = rejects >> copy & 1 == 1;
                let rate = given.parts[p].reject_rate;
                chance *= if rejected { rate } else { 1.0 - rate };
                good[p] += u64::from(!rejected);
            }
            sum += go(given, others, good, weight * chance);
            *good = before;
        }
        sum
    }
    go(given, &runs, &mut vec![0; given.parts.len()], 1.0)
}

#[test]
fn the_chance_is_that_of_all_outcomes_counted() {
    let own = Given {
        parts: vec![part(0, 4, 0.1, &[(0.2, 3, 2), (0.05, 1, 2)]), part(1, 1, 0.0, &[(0.3, 2, 2)])],
        shared: vec![],
    };
    let mixed = Given {
        parts: vec![part(0, 3, 0.1, &[(0.2, 2, 1)]), part(1, 2, 0.25, &[])],
        shared: vec![
            SharedLot { failure_rate: 0.15, copies: vec![1, 2], runs: 2 },
            SharedLot { failure_rate: 0.4, copies: vec![2, 1], runs: 1 },
        ],
    };
    for given in [own, mixed] {
        assert!((given.chance() - counted(&given)).abs() < 1e-12, "{} {}", given.chance(), counted(&given));
    }
}

#[test]
fn parts_that_fail_together_suffice_more_often_than_each_by_itself() {
    // Two parts, one of each on every plate, plates fail one in ten, two plates for one of each: 0.99 and not 0.99².
    let shared = SharedLot { failure_rate: 0.1, copies: vec![1, 1], runs: 2 };
    let given = Given { parts: vec![part(0, 1, 0.0, &[]), part(1, 1, 0.0, &[])], shared: vec![shared] };
    assert!((given.chance() - 0.99).abs() < 1e-15);
    let each = given.parts.iter().map(|p| p.alone(&given.shared));
    assert!((each.product::<f64>() - 0.99 * 0.99).abs() < 1e-15);
    // In far too many ways to count, they are taken apart.
    let lot = |copies: u64| SharedLot { failure_rate: 0.1, copies: vec![copies, 1], runs: 90 };
    let given =
        Given { parts: vec![part(0, 900, 0.0, &[]), part(1, 240, 0.0, &[])], shared: vec![lot(3), lot(4), lot(5)] };
    let chance = given.chance();
    let each: f64 = given.parts.iter().map(|p| p.alone(&given.shared)).product();
    assert!((0.01..0.99).contains(&chance) && (chance - each).abs() < 1e-15);
}

#[test]
fn large_numbers_neither_vanish_nor_overflow() {
    let given = Given { parts: vec![part(0, 120_000, 0.02, &[(0.03, 25, 5_080)])], shared: vec![] };
    // Mean loss 3 % of plates and 2 % of the rest: 127,000 * 0.97 * 0.98 = 120,726; about two standard deviations above.
    assert!((0.85..0.999).contains(&given.chance()), "{}", given.chance());
    assert_eq!(percent(0.949_999_9), "94.999 %");
    assert_eq!(percent(0.95), "95 %");
}
