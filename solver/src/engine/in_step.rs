//! Cells beside printers that are kept in step.
//!
//! Two operators keep six printers of the kit run in step, and twenty pairs 120; but forty operators together do a print more
//! a day for 131 ([`crate::in_step`]). Those printers are set apart with all that they do until the bound, and the cells
//! share what is left. It is only done where nothing but the operators keeps printers apart: one class of printers, shifts
//! that are all alike, no night limits, no releases, nothing on printers at the start and no due date that binds.

use super::campaign;
use super::descent::Task;
use crate::division::Division;
use crate::in_step::InStep;
use crate::in_step::histories::Season;
use crate::problem::Pool;

/// The division beside printers kept in step; none where cells do as much by themselves.
pub(super) fn beside<'p>(task: &Task<'_, 'p, '_>, division: &Division<'p>) -> Option<Division<'p>> {
    let Task { problem, allowed, start, low, ref relaxation, guide, .. } = *task;
    let makespan = start.ready_times(problem).into_iter().max()?;
    let chain = &relaxation.rows().chains.first()?.chain;
    let [class] = problem.classes.as_slice() else { return None };
    let unlimited = problem.night_printers.is_none() && problem.night_minutes.is_none();
    let always = class.running.is_none() && class.downtime.is_empty();
    let undated = allowed.iter().all(|&d| d >= makespan) && problem.orders.iter().all(|o| o.release <= 0);
    if !(unlimited && always && undated) || campaign::is_long(makespan) {
        return None;
    }
    let shifts: Vec<&Pool> = problem.pools.iter().take_while(|pool| pool.from <= low).collect();
    let first = shifts.first()?;
    let alike = |p: &&Pool| (p.to - p.from, p.operators.len()) == (chain.to - chain.from, first.operators.len());
    let apart = shifts.windows(2).all(|two| two[0].to <= two[1].from);
    if !apart || !shifts.iter().all(alike) {
        return None;
    }
    let (operators, load) = (first.operators.len(), problem.modes[*chain.modes.first()?].load);
    let slack = chain.latest(0) - chain.from;
    let shift = InStep { operators, harvest: chain.harvest, load, rounds: chain.prints, slack };
    let by_cells = division.cells * InStep { operators: operators / division.cells, ..shift }.in_turns();
    if shift.most_at_prices() <= by_cells {
        return None;
    }
    let (cycle, printers) = (chain.cycle, class.printers.len());
    let others = shift.timetable(cycle, printers).filter(|timetable| timetable.gain() > by_cells)?;
    let of_first = shift.first_timetable(cycle, printers)?;
    let begins = shifts.iter().map(|pool| pool.from).collect();
    let season = Season { problem, shift, cycle, begins, by_day: &chain.modes, price: &guide.price };
    division.beside(problem, season.histories(&of_first, &others, low), low)
}
