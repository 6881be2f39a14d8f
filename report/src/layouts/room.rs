//! How long the room is staffed at a stretch, and how long it is not: what a plate's length is held against.

use platewright_model::roster;
use platewright_model::{Instance, Instant, Minutes};
use std::collections::BTreeMap;

/// The usual day and night of a room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UsualDay {
    /// The staffed stretch that comes most often; of two as frequent, the longer. A room staffed without a break has
    /// stretches of one day.
    pub staffed: Minutes,
    /// The unattended stretch that comes most often; none in a room that is never unattended.
    pub night: Option<Minutes>,
}

impl UsualDay {
    /// Looks through the whole horizon; stretches that its ends cut are left out where others are there.
    pub fn of(instance: &Instance) -> UsualDay {
        let gaps = roster::unattended(instance);
        let (start, end) = (instance.farm.start, instance.farm.horizon_end());
        let mut edge = start;
        let mut staffed = Vec::new();
        for &(from, to) in &gaps {
            staffed.push((edge, from));
            edge = to;
        }
        staffed.push((edge, end));
        let day = usual(&staffed, start, end).unwrap_or(Minutes::DAY);
        UsualDay { staffed: day.min(Minutes::DAY), night: usual(&gaps, start, end) }
    }
}

fn usual(stretches: &[(Instant, Instant)], start: Instant, end: Instant) -> Option<Minutes> {
    let most = |of: &mut dyn Iterator<Item = &(Instant, Instant)>| {
        let mut times: BTreeMap<Minutes, usize> = BTreeMap::new();
        of.filter(|(from, to)| from < to).for_each(|(from, to)| *times.entry(*to - *from).or_default() += 1);
        times.into_iter().max_by_key(|&(length, times)| (times, length)).map(|(length, _)| length)
    };
    let whole = |s: &&(Instant, Instant)| s.0 > start && s.1 < end;
    most(&mut stretches.iter().filter(whole)).or_else(|| most(&mut stretches.iter()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use chrono::NaiveTime;

    #[test]
    fn ten_hours_daily_leave_a_night_of_fourteen() {
        let day = UsualDay::of(&sample::instance());
        assert_eq!(day, UsualDay { staffed: Minutes(600), night: Some(Minutes(840)) });
    }

    #[test]
    fn a_room_that_never_sleeps_has_no_night() {
        let mut instance = sample::instance();
        instance.shifts[0].from = NaiveTime::MIN;
        instance.shifts[0].to = NaiveTime::MIN;
        assert_eq!(UsualDay::of(&instance), UsualDay { staffed: Minutes::DAY, night: None });
    }
}
