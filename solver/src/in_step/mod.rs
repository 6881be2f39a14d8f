//! Printers kept in step: harvested and loaded anew within the same few minutes, again and again.
//!
//! `n` printers have plates to be harvested at a minute 0. In each of `k` rounds every printer is harvested (`H` minutes
//! of an operator) and then loaded (`L` minutes, of the same operator or another), and its print keeps it until the next
//! round; one more harvest ends it. All prints take the same time, so times can be counted from the beginning of each
//! round as if prints took none: a printer loaded at `x` is ready for the next round's harvest at `x - H`. No harvest may
//! start later than `slack`. How many printers can `m` operators do this for?
//!
//! `m` operators who serve one printer after another do `m * floor((slack + H + L) / (H + L))`, and their minutes alone
//! would do for as many without the `floor`. In between is the truth: splitting the work of one printer between two of
//! them fills minutes that are left over, but then that printer is late for all rounds that follow. On the kit run
//! (`H = 4`, `L = 3`, `slack = 20`, three rounds) two operators keep 6 printers in step, by minutes alone 7, and forty
//! keep 141, not 120 and not 154.
//!
//! [`prices`] bounds the number from above, for any number of operators; [`orders`] finds it out, for a few.
//! [`timetable`] says when each printer is served, where it is also to be loaded for the night, and [`histories`] what
//! such printers do from day to day.

pub mod histories;
pub mod orders;
pub mod prices;
pub mod timetable;

use crate::problem::Min;

/// The question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct InStep {
    /// Operators on shift.
    pub operators: usize,
    /// Minutes of a harvest.
    pub harvest: Min,
    /// Minutes of a load.
    pub load: Min,
    /// Rounds of harvest and load, before the last harvest.
    pub rounds: usize,
    /// The latest start of a harvest.
    pub slack: Min,
}

impl InStep {
    /// So many can be served one after another.
    pub fn in_turns(&self) -> usize {
        self.operators * (self.span() / (self.harvest + self.load)) as usize
    }

    /// So many operator minutes would do for, if minutes were all that counts.
    pub fn by_minutes(&self) -> usize {
        (self.operators as Min * self.span() / (self.harvest + self.load)) as usize
    }

    /// Whether operator minutes, beyond so many printers, would do for so many tenths of another.
    pub fn leaves(&self, printers: usize, tenths: Min) -> bool {
        10 * self.operators as Min * self.span() >= (10 * printers as Min + tenths) * (self.harvest + self.load)
    }

    /// No more printers than these.
    pub fn most(&self) -> usize {
        let most = self.most_at_prices();
        for printers in self.in_turns() + 1..=most {
            match self.is_possible(printers) {
                Some(true) => (),
                Some(false) => return printers - 1,
                None => return most,
            }
        }
        most
    }

    /// From the first start of a round to its last end.
    fn span(&self) -> Min {
        self.slack + self.harvest + self.load
    }
}

#[cfg(test)]
mod tests {
    use super::InStep;

    /// The kit run: a harvest of 4 minutes, a load of 3, three prints of 295 minutes in 930. Checked once against a
    /// constraint-programming model of the same question (OR-Tools CP-SAT): 3 printers for one operator, 6 for two, 10, 13
    /// and 17 for three, four and five, and 141 for forty.
    #[test]
    fn one_operator_keeps_three_printers_in_step_two_six_and_forty_a_few_more_than_forty_times_as_many() {
        let question = |operators| InStep { operators, harvest: 4, load: 3, rounds: 3, slack: 20 };
        assert_eq!([1, 2, 3, 40].map(|operators| question(operators).most()), [3, 6, 10, 141]);
        assert_eq!([1, 2, 3, 4, 5, 40].map(|operators| question(operators).most_at_prices()), [3, 7, 10, 14, 17, 141]);
        assert_eq!((question(40).in_turns(), question(40).by_minutes()), (120, 154));
        // In one round, with nothing to follow, two operators do a seventh by handing work over to each other.
        assert_eq!(InStep { operators: 2, harvest: 4, load: 3, rounds: 1, slack: 20 }.most(), 7);
    }
}
