//! Against published figures, another library's binomial, and every outcome counted one by one.

use super::*;
use statrs::distribution::{Binomial, DiscreteCDF};

/// Runs of equal plates: copies, failure rate, how many.
fn tally(reject_rate: f64, runs: &[(u64, f64, usize)]) -> Tally {
    let mut tally = Tally::new(reject_rate);
    for &(copies, failure_rate, times) in runs {
        tally.add_runs(times as u64, copies, failure_rate);
    }
    tally
}

/// By statrs: the least starts of which enough are good with a confidence.
fn starts_by_library(good: u64, yield_rate: f64, confidence: f64) -> u64 {
    (good..).find(|&n| 1.0 - Binomial::new(yield_rate, n).unwrap().cdf(good - 1) >= confidence).unwrap()
}

#[test]
fn starts_for_ninety_five_percent_are_those_of_the_binomial_distribution() {
    let table = [(100, 0.97, 106), (100, 0.95, 109), (60, 0.90, 71), (1000, 0.98, 1028), (20, 0.95, 23)];
    for (good, yield_rate, expected) in table {
        assert_eq!(starts(good, 1.0 - yield_rate, 0.95), expected, "{good} at {yield_rate}");
        assert_eq!(starts_by_library(good, yield_rate, 0.95), expected, "{good} at {yield_rate}, statrs");
        // One copy on a plate: it is the same whether the plate fails or its copy is rejected.
        let chance = |plates, fails, rejects| tally(rejects, &[(1, fails, plates)]).chance(good);
        for (fails, rejects) in [(1.0 - yield_rate, 0.0), (0.0, 1.0 - yield_rate)] {
            assert!(
                chance(expected as usize, fails, rejects) >= 0.95
                    && chance(expected as usize - 1, fails, rejects) < 0.95
            );
        }
    }
}

#[test]
fn the_scrap_chain_is_what_suffices_on_average() {
    // Tompkins and others, Facilities Planning: 97,000 good ones through scrap of 4 %, 1 % and 3 % take 105,219 starts.
    let chain = [0.03, 0.01, 0.04].iter().fold(97_000.0, |needed, scrap| needed / (1.0 - scrap));
    assert_eq!(f64::ceil(chain), 105_219.0);
    // To come through is 0.96 * 0.99 * 0.97. On average means about every second time.
    let lost = 1.0 - 0.96 * 0.99 * 0.97;
    assert!(starts(97_000, lost, 0.5).abs_diff(105_219) <= 1, "{}", starts(97_000, lost, 0.5));
    let sure = starts(97_000, lost, 0.95);
    assert_eq!(sure, starts_by_library_near(97_000, 1.0 - lost, 0.95, sure));
    assert!(sure > 105_219 + 100);
}

/// As [`starts_by_library`], looking around a figure only.
fn starts_by_library_near(good: u64, yield_rate: f64, confidence: f64, near: u64) -> u64 {
    (near - 20..).find(|&n| 1.0 - Binomial::new(yield_rate, n).unwrap().cdf(good - 1) >= confidence).unwrap()
}

#[test]
fn the_reject_allowance_of_a_costly_part() {
    // Facilities Planning, reject allowance: 4 good castings earn 120,000, each start costs 15,000, 0.9 come out good.
    let profit = |starts: usize| 120_000.0 * tally(0.1, &[(1, 0.0, starts)]).chance(4) - 15_000.0 * starts as f64;
    let best = (1..12).max_by(|a, b| profit(*a).total_cmp(&profit(*b))).unwrap();
    assert_eq!(best, 5);
    assert!((profit(5) - 35_224.80).abs() < 0.005, "{}", profit(5));
}

#[test]
fn one_plate_and_one_failure_rate_is_the_closed_form() {
    // 40 of a part at 12 a plate: 4 plates must succeed.
    for plates in 4..12_u64 {
        let closed = 1.0 - Binomial::new(0.93, plates).unwrap().cdf(3);
        assert!((tally(0.0, &[(12, 0.07, plates as usize)]).chance(40) - closed).abs() < 1e-12);
    }
}

#[test]
fn lost_together_is_not_lost_singly() {
    // 24 needed, 48 made, one in ten lost on average either way. In two plates of 24 one must succeed: 1 - 0.01.
    let together = tally(0.0, &[(24, 0.1, 2)]).chance(24);
    assert!((together - 0.99).abs() < 1e-15);
    assert!(tally(0.1, &[(24, 0.0, 2)]).chance(24) > 0.999_999);
    // Where no spare is to be had, it is the other way round.
    assert!(tally(0.0, &[(24, 0.1, 1)]).chance(24) > 0.89 && tally(0.1, &[(24, 0.0, 1)]).chance(24) < 0.08);
}

#[test]
fn every_outcome_counted_one_by_one_gives_the_same() {
    // Plates of 3, 2 and 1 with their own failure rates, rejects at 1/8 and a certain copy. Rates are powers of two, so
    // the sums on both sides are exact.
    let plates = [(3_u32, 0.25), (2, 0.5), (1, 0.125)];
    let mut by_good = [0.0; 8];
    for fate in 0..8_u32 {
        for rejects in 0..64_u32 {
            let (mut chance, mut good, mut copy) = (1.0, 1, 0);
            for (plate, &(copies, fails)) in plates.iter().enumerate() {
                let failed = fate >> plate & 1 == 1;
                chance *= if failed { fails } else { 1.0 - fails };
                for _ in 0..copies {
                    let rejected = rejects >> copy & 1 == 1;
                    chance *= if rejected { 0.125 } else { 0.875 };
                    good += usize::from(!failed && !rejected);
                    copy += 1;
                }
            }
            by_good[good] += chance;
        }
    }
    let mut tally = tally(0.125, &[(3, 0.25, 1), (2, 0.5, 1), (1, 0.125, 1)]);
    tally.add_certain(1);
    for need in 0..8 {
        let counted: f64 = by_good[need..].iter().sum();
        assert!((tally.chance(need as u64) - counted).abs() < 1e-15, "{need}");
    }
    assert_eq!((tally.copies(), tally.chance(8)), (7, 0.0));
}

#[test]
fn more_copies_and_more_runs_never_make_a_chance_lower() {
    let chance = |a: usize, b: usize, c: usize| tally(0.02, &[(25, 0.03, a), (12, 0.1, b), (1, 0.0, c)]).chance(400);
    for (a, b, c) in [(10, 10, 0), (16, 0, 20), (0, 40, 3), (15, 3, 2)] {
        let now = chance(a, b, c);
        assert!((0.0..=1.0).contains(&now));
        assert!(chance(a + 1, b, c) >= now && chance(a, b + 1, c) >= now && chance(a, b, c + 1) >= now);
    }
}

#[test]
fn large_numbers_neither_vanish_nor_overflow() {
    let of = binomial(2_000_000, 0.03, 70_000);
    assert!((of.iter().sum::<f64>() - 1.0).abs() < 1e-9);
    let library = Binomial::new(0.03, 2_000_000).unwrap().cdf(60_200);
    assert!((of[..=60_200].iter().sum::<f64>() - library).abs() < 1e-7);
    assert_eq!(binomial(5, 0.0, 3), [1.0]);
    assert!(reaches(1.0 - 0.05, 0.95) && !reaches(0.949_999, 0.95));
}
