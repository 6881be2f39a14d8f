//! What is still printing in the morning.

use crate::columns::master::Column;
use crate::problem::Min;

/// Which place a printer takes on the next day. Where a printer that begins late could only go on to end as late, the late ones
/// would be the same for ever, and each would have to fill a day of the same length with whole plates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// The first place follows the last.
    Reversed,
    /// Half of the places on.
    Half,
}

impl Turn {
    pub(super) fn next(self, place: usize, places: usize) -> usize {
        match self {
            Turn::Reversed => places - 1 - place,
            Turn::Half => (place + places / 2) % places,
        }
    }
}

/// How long after the beginning of a morning the plate of the night is ready, by place and the longest first: the mean over all
/// mornings but the first and the last that the columns reach, by how many of all `printers` follow each. A plate that prints
/// for most of the day to come is not carried into it: no day could follow it.
pub(super) fn from_columns(columns: &[(Column, f64)], mornings: &[Min], printers: usize, places: usize) -> Vec<Min> {
    let reached = columns.iter().flat_map(|c| c.0.legs.last()).map(|leg| leg.harvest_to).max().unwrap_or(0);
    let inner: Vec<Min> = mornings.iter().copied().skip(2).filter(|&m| m + super::LAST_DAY <= reached).collect();
    let inner = inner.split_last().map_or(&[][..], |(_, others)| others);
    let mut late: Vec<(Min, f64)> = Vec::new();
    for (column, weight) in columns {
        for leg in &column.legs {
            let Some(load) = leg.load_from else { continue };
            let over = inner.iter().find(|&&m| load < m && m < leg.ready);
            let over = over.map(|m| leg.ready - m).filter(|&minutes| minutes < super::LAST_DAY);
            late.extend(over.map(|minutes| (minutes, weight / inner.len() as f64)));
        }
    }
    late.sort_by_key(|l| std::cmp::Reverse(l.0));
    let share = places as f64 / printers.max(1) as f64;
    let (mut passed, mut at) = (0.0, 0);
    let mut by_place = Vec::with_capacity(places);
    for place in 0..places {
        while at < late.len() && passed + late[at].1 * share < place as f64 + 0.5 {
            passed += late[at].1 * share;
            at += 1;
        }
        by_place.push(late.get(at).map_or(0, |l| l.0));
    }
    by_place
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::history::Leg;

    #[test]
    fn every_place_is_taken_by_one_printer() {
        for turn in [Turn::Reversed, Turn::Half] {
            for places in [1, 2, 12, 25] {
                let mut taken: Vec<usize> = (0..places).map(|place| turn.next(place, places)).collect();
                taken.sort_unstable();
                assert_eq!(taken, (0..places).collect::<Vec<_>>(), "{turn:?}");
            }
        }
    }

    #[test]
    fn places_share_what_columns_print_into_the_morning() {
        let mornings: Vec<Min> = (0..9).map(|day| day * 1440).collect();
        let night = |day: Min, late: Min| {
            let (load, ready) = (day * 1440 + 900, (day + 1) * 1440 + late);
            let harvest = ready.max((day + 1) * 1440);
            Leg {
                mode: 0,
                load_from: Some(load),
                print_from: load + 3,
                ready,
                harvest_from: harvest,
                harvest_to: harvest + 4,
            }
        };
        let column = |late: Min| Column { class: 0, legs: (0..8).map(|day| night(day, late)).collect() };
        // Of ten printers two are an hour late, three half an hour, and five are ready in the night.
        let columns = [(column(30), 3.0), (column(-90), 5.0), (column(60), 2.0)];
        assert_eq!(from_columns(&columns, &mornings, 10, 10), [60, 60, 30, 30, 30, 0, 0, 0, 0, 0]);
        assert_eq!(from_columns(&columns, &mornings, 10, 5), [60, 30, 30, 0, 0], "one place and a half are two");
        assert_eq!(from_columns(&[], &mornings, 10, 2), [0, 0]);
        assert_eq!(from_columns(&[(column(800), 10.0)], &mornings, 10, 2), [0, 0], "most of the next day");
    }
}
