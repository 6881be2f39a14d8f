//! Wishes that contradict each other: as few of them as can be.
//!
//! A set of wishes that cannot all be granted is first made smaller one wish at a time: what is left without a wish is
//! asked about again, and where it is still proven impossible the wish was not to blame and stays out. What remains
//! cannot be granted together, and without any one of it nothing is proven any more: the deletion filter. (Chinneck and
//! Dravnieks, *ORSA Journal on Computing* 3 (1991) 157-168, from memory, for linear programs; nothing in it needs them
//! to be linear.)
//!
//! Such a set need not be the smallest: another one, of other wishes, may have fewer. So every set with fewer wishes is
//! asked about, the smallest first, as long as they are not too many. Nothing is concluded from one set for another,
//! since a proof that succeeds for a few wishes may be missed among more of them; only of what one plan grants together
//! every part is granted too. What may be said of the size is then one of three things ([`Size`]).

use std::collections::BTreeMap;

/// No more than so many smaller sets are asked about,
const MOST_ASKED: usize = 120;
/// and no more than so many are looked through for those that have to be asked about.
const MOST_LISTED: usize = 100_000;

/// What is known of whether wishes can be granted together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// They cannot: that is proven.
    Impossible,
    /// They can: a plan does.
    Granted,
    /// Neither is known.
    Open,
}

/// What is known of the size of a contradiction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// None is smaller: every set with fewer wishes can be granted.
    Smallest,
    /// None that is smaller can be proven: every set with fewer wishes was asked about.
    SmallestProvable,
    /// With any one of its wishes given up, nothing is proven against the rest; others may have fewer.
    Irreducible,
}

/// Wishes that cannot be granted together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contradiction<W> {
    /// The wishes.
    pub wishes: Vec<W>,
    /// What is known of how many they are.
    pub size: Size,
}

/// The wishes that contradict, by position in `0..wishes`, where all of them together are impossible; none where not
/// even that is proven. `ask` says what is known of a set of wishes; `granted` are those that one known plan grants
/// together.
///
/// Of sets of one size those with the later wishes are preferred.
pub fn contradiction(
    wishes: usize,
    granted: &[usize],
    ask: &mut dyn FnMut(&[usize]) -> Verdict,
) -> Option<Contradiction<usize>> {
    let mut told: BTreeMap<Vec<usize>, Verdict> = BTreeMap::new();
    let mut ask = |set: &[usize]| *told.entry(set.to_vec()).or_insert_with(|| ask(set));
    let mut left: Vec<usize> = (0..wishes).collect();
    if ask(&left) != Verdict::Impossible {
        return None;
    }
    for wish in 0..wishes {
        let without: Vec<usize> = left.iter().copied().filter(|w| *w != wish).collect();
        if ask(&without) == Verdict::Impossible {
            left = without;
        }
    }
    let Some(smaller) = smaller_sets(wishes, left.len(), granted) else {
        return Some(Contradiction { wishes: left, size: Size::Irreducible });
    };
    let mut size = Size::Smallest;
    for set in smaller {
        match ask(&set) {
            Verdict::Impossible => return Some(Contradiction { wishes: set, size }),
            Verdict::Open => size = Size::SmallestProvable,
            Verdict::Granted => {}
        }
    }
    Some(Contradiction { wishes: left, size })
}

/// Every set with fewer wishes than `size` that is not granted, the smallest first and of one size those with the later
/// wishes; none where they are too many.
fn smaller_sets(wishes: usize, size: usize, granted: &[usize]) -> Option<Vec<Vec<usize>>> {
    let (mut sets, mut listed) = (Vec::new(), 0);
    for fewer in 0..size {
        // The positions of a set, the greatest first; the next set of the same size comes before it in the order of the
        // wishes.
        let mut set: Vec<usize> = (wishes - fewer..wishes).rev().collect();
        loop {
            listed += 1;
            if !set.iter().all(|wish| granted.contains(wish)) {
                sets.push(set.iter().rev().copied().collect());
            }
            if sets.len() > MOST_ASKED || listed > MOST_LISTED {
                return None;
            }
            // The last position that can go down does, and those behind it follow closely.
            let Some(at) = (0..fewer).rev().find(|&at| set[at] > fewer - 1 - at) else { break };
            let next = set[at] - 1;
            (at..fewer).for_each(|behind| set[behind] = next - (behind - at));
        }
    }
    Some(sets)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// A verdict on sets: impossible where one of these is in it.
    fn where_any_is_in(sets: &[Vec<usize>]) -> impl Fn(&[usize]) -> Verdict + '_ {
        |set| {
            let inside = |small: &Vec<usize>| small.iter().all(|wish| set.contains(wish));
            if sets.iter().any(inside) { Verdict::Impossible } else { Verdict::Granted }
        }
    }

    #[test]
    fn what_remains_is_the_smallest_though_the_filter_finds_another() {
        // Leaving out the early ones first, the filter ends at three.
        let sets = [vec![1, 4], vec![2, 3, 5]];
        let found = contradiction(7, &[], &mut |set| where_any_is_in(&sets)(set)).unwrap();
        assert_eq!(found, Contradiction { wishes: vec![1, 4], size: Size::Smallest });
    }

    #[test]
    fn what_is_open_is_not_claimed() {
        let sets = [vec![2, 3, 5]];
        let open = |set: &[usize]| match where_any_is_in(&sets)(set) {
            Verdict::Granted if set == [1, 4] => Verdict::Open,
            told => told,
        };
        let found = contradiction(7, &[], &mut |set| open(set)).unwrap();
        assert_eq!(found, Contradiction { wishes: vec![2, 3, 5], size: Size::SmallestProvable });
        // Where a plan grants both, there is nothing to ask.
        let found = contradiction(7, &[0, 1, 4], &mut |set| open(set)).unwrap();
        assert_eq!(found.size, Size::Smallest);
    }

    /// A proof that works for a few wishes and fails among many hides nothing: the few are asked about themselves.
    #[test]
    fn nothing_is_concluded_from_a_larger_set() {
        let weak = |set: &[usize]| match set {
            [1, 4] => Verdict::Impossible,
            set if [2, 3, 5].iter().all(|wish| set.contains(wish)) => Verdict::Impossible,
            _ => Verdict::Open,
        };
        assert_eq!(contradiction(7, &[], &mut |set| weak(set)).unwrap().wishes, [1, 4]);
    }

    #[test]
    fn random_sets_against_every_subset() {
        for seed in 0..300 {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let wishes = rng.random_range(1..7usize);
            let some = |rng: &mut ChaCha8Rng| (0..wishes).filter(|_| rng.random_bool(0.45)).collect::<Vec<_>>();
            let sets: Vec<Vec<usize>> = (0..rng.random_range(1..4)).map(|_| some(&mut rng)).collect();
            let ask = where_any_is_in(&sets);
            let subset = |bits: u32| (0..wishes).filter(|w| bits >> w & 1 == 1).collect::<Vec<_>>();
            let least =
                (0..1u32 << wishes).filter(|&b| ask(&subset(b)) == Verdict::Impossible).map(u32::count_ones).min();
            let found =
                contradiction(wishes, &[], &mut |set| ask(set)).map(|found| (found.wishes.len() as u32, found.size));
            assert_eq!(found, least.map(|least| (least, Size::Smallest)), "seed {seed}: {sets:?}");
        }
    }

    #[test]
    fn wishes_that_may_all_be_granted_give_nothing() {
        assert_eq!(contradiction(3, &[], &mut |_| Verdict::Open), None);
    }

    #[test]
    fn what_is_impossible_without_any_wish_needs_none() {
        let found = contradiction(3, &[], &mut |_| Verdict::Impossible).unwrap();
        assert_eq!(found, Contradiction { wishes: vec![], size: Size::Smallest });
    }

    #[test]
    fn too_many_smaller_sets_are_not_begun() {
        let mut asked = 0;
        let found = contradiction(40, &[], &mut |set| {
            asked += 1;
            where_any_is_in(&[vec![3, 17, 25]])(set)
        });
        assert_eq!(found.unwrap(), Contradiction { wishes: vec![3, 17, 25], size: Size::Irreducible });
        assert_eq!(asked, 41);
    }
}
