//! Wishes that contradict each other: the deletion filter.
//!
//! A set of wishes that cannot all be granted is made smaller one wish at a time: what is left without a wish is asked
//! about again, and where it is still proven impossible the wish was not to blame and stays out. What remains cannot be
//! granted together, and without any one of it nothing is proven any more. (Chinneck and Dravnieks, *ORSA Journal on
//! Computing* 3 (1991) 157-168, from memory, for linear programs; nothing in it needs them to be linear.)

/// The wishes that remain, by position in `0..wishes`, where all of them together are impossible; none where not even
/// that is proven. `impossible` says whether it is proven that a set of wishes cannot be granted.
///
/// Wishes at the end are kept longest, so a set holds the later ones where it can do with either.
pub fn contradiction(wishes: usize, impossible: &mut dyn FnMut(&[usize]) -> bool) -> Option<Vec<usize>> {
    let mut left: Vec<usize> = (0..wishes).collect();
    if !impossible(&left) {
        return None;
    }
    for wish in 0..wishes {
        let without: Vec<usize> = left.iter().copied().filter(|w| *w != wish).collect();
        if impossible(&without) {
            left = without;
        }
    }
    Some(left)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_remains_contradicts_and_is_needed() {
        // Impossible: 1 with 4, or 2 with 3 and 5.
        let mut impossible = |set: &[usize]| {
            let has = |w: usize| set.contains(&w);
            (has(1) && has(4)) || (has(2) && has(3) && has(5))
        };
        let left = contradiction(7, &mut impossible).unwrap();
        assert_eq!(left, [2, 3, 5]);
        for wish in &left {
            let without: Vec<usize> = left.iter().copied().filter(|w| w != wish).collect();
            assert!(!impossible(&without));
        }
    }

    #[test]
    fn wishes_that_may_all_be_granted_give_nothing() {
        assert_eq!(contradiction(3, &mut |_| false), None);
    }

    #[test]
    fn what_is_impossible_without_any_wish_needs_none() {
        assert_eq!(contradiction(3, &mut |_| true), Some(vec![]));
    }
}
