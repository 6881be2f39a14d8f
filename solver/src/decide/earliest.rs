//! The earliest moment for one shipment while the others keep their dates.
//!
//! Between the moments that prices exclude and the moments of plans that are known lies what is not known; it is halved
//! from both ends. From below, a climb asks for prices that exclude a moment. From above, a search aims at one, at the
//! ends of shifts first ([`super::aims`]); where the instance is small, the engines search completely and answer both.
//! The moment that is given out is one at which the ordinary planner, asked for that due date, is on time: whoever plans
//! with the date gets what was promised.

use super::Planner;
use super::aims::{self, Aim};
use super::meet::in_minutes;
use super::tries::{Tries, Work};
use crate::engine::{Answer, EngineChoice};
use crate::problem::{Min, Problem};
use platewright_model::instance::ShipmentId;
use platewright_model::{Instance, Instant, Minutes, Plan, WeightedMinutes};

/// Moments asked from below, and from above.
const PROOFS: usize = 7;
const ATTEMPTS: usize = 12;
/// Moments confirmed by the ordinary planner.
const CONFIRMATIONS: usize = 6;
/// Steps of a closed range: enough to halve two years down to a minute.
const HALVINGS: usize = 24;

/// The order book with a shipment to be promised, and what has been promised to the others.
pub struct Book<'b> {
    /// The farm with the shipment in it, which has no due date.
    pub instance: &'b Instance,
    /// Which shipment.
    pub order: ShipmentId,
    /// The latest that the others may be ready; none where nothing was promised. The entry of `order` is not used.
    pub promised: Vec<Option<Instant>>,
    /// The weighted lateness that the others have already.
    pub late: WeightedMinutes,
    /// The plan without the shipment.
    pub before: &'b Plan,
}

impl<'b> Book<'b> {
    /// What others were promised: their due dates, or later where the plan without the new shipment is late already.
    pub fn new(instance: &'b Instance, order: ShipmentId, before: &'b Plan) -> Book<'b> {
        let promised = instance.shipments.iter().map(|shipment| {
            let ready = before.shipments.iter().find(|s| s.shipment == shipment.name).map(|s| s.ready);
            Some(shipment.due?.max(ready?))
        });
        Book { instance, order, promised: promised.collect(), late: before.claims.late, before }
    }

    /// The instance with a due date for the shipment.
    pub fn due(&self, due: Option<Instant>) -> Instance {
        let mut instance = self.instance.clone();
        if let Some(shipment) = instance.shipments.get_mut(self.order.index()) {
            shipment.due = due;
        }
        instance
    }

    /// When the shipment is ready in a plan that keeps all promises; none where one is broken.
    pub fn ready(&self, plan: &Plan) -> Option<Instant> {
        let kept = plan.shipments.iter().zip(&self.promised).enumerate().all(|(at, (shipment, promised))| {
            at == self.order.index() || promised.is_none_or(|by| shipment.ready <= by)
        });
        plan.shipments.get(self.order.index()).filter(|_| kept).map(|s| s.ready)
    }

    /// The latest that each shipment may be ready, with this due date for the one asked about.
    pub fn deadlines(&self, due: Instant) -> Vec<Option<Instant>> {
        let mut deadlines = self.promised.clone();
        if let Some(deadline) = deadlines.get_mut(self.order.index()) {
            *deadline = Some(due);
        }
        deadlines
    }
}

/// What is known of a shipment's earliest moment.
#[derive(Debug)]
pub struct Earliest {
    /// No plan that keeps the other promises has it ready before.
    pub not_before: Instant,
    /// A plan has it ready by then.
    pub by: Instant,
    /// That plan, for the instance with `by` as the shipment's due date.
    pub plan: Box<Plan>,
    /// The ordinary planner made it when it was asked for that due date; else it was found by a search of its own.
    pub confirmed: bool,
}

/// Finds the earliest moment.
///
/// # Errors
/// The engine's answer, where there is no plan that keeps the other promises within the horizon or none was found.
pub fn earliest(planner: &Planner<'_>, book: &Book<'_>) -> Result<Earliest, Answer> {
    let problem = Problem::new(book.instance);
    let tries = Tries::new(planner, &problem);
    let search = Search { planner, book, problem: &problem, tries: &tries };
    let end = book.instance.farm.horizon_end();
    let mut is_complete = book.before.claims.engine == "complete";
    let beside = if is_complete { None } else { search.attempt(end, book.before, Work::WHOLE) };
    let known = match beside {
        Some(found) => found,
        None => match planner.plan("the order at any time", book.instance) {
            Answer::Plan(plan) => {
                is_complete = plan.claims.engine == "complete";
                let ready = book.ready(&plan).map(|ready| (ready, *plan));
                ready.or_else(|| search.attempt(end, book.before, Work::WHOLE)).ok_or_else(|| Answer::None {
                    proven: false,
                    reasons: vec![
                        "no plan was found in which the other shipments keep their dates beside this order".to_owned(),
                    ],
                })?
            }
            none => return Err(none),
        },
    };
    let mut range = Range { search, low: book.instance.farm.start, later: Vec::new(), known };
    if planner.engine == EngineChoice::Quick {
        return Ok(range.confirm());
    }
    range.prove();
    if is_complete {
        return Ok(range.close());
    }
    range.narrow();
    Ok(range.confirm())
}

/// A moment, as early as a search finds it from `from` on, by which the shipment is ready beside the others' promises; and
/// the plan. It may not be the earliest there is.
pub fn soon_after(planner: &Planner<'_>, book: &Book<'_>, from: Instant, known: &Plan) -> Option<(Instant, Plan)> {
    let problem = Problem::new(book.instance);
    let tries = Tries::new(planner, &problem);
    let search = Search { planner, book, problem: &problem, tries: &tries };
    let end = book.instance.farm.horizon_end();
    let (mut failed, mut step) = (from, Minutes(120));
    let mut found = search.attempt(from, known, Work::WHOLE);
    while found.is_none() && failed < end && !planner.is_over() {
        let due = (failed + step).min(end);
        found = search.attempt(due, known, Work::WHOLE);
        if found.is_none() {
            failed = due;
        }
        step = step + step;
    }
    Some(search.narrow(failed, found?, Minutes(60), ATTEMPTS / 2, &mut |_| {}))
}

/// Searches for one order.
#[derive(Clone, Copy)]
struct Search<'s> {
    planner: &'s Planner<'s>,
    book: &'s Book<'s>,
    problem: &'s Problem<'s>,
    tries: &'s Tries<'s>,
}

impl Search<'_> {
    /// When the shipment is ready in a plan that was aimed at a moment, and keeps all promises. Packing may take it past
    /// that moment.
    fn attempt(&self, due: Instant, known: &Plan, work: Work) -> Option<(Instant, Plan)> {
        (self.planner.progress)("how soon a plan can be", None);
        let minutes = in_minutes(self.problem, &self.book.deadlines(due));
        let plan = self.tries.aim(&minutes, Some(known), work)?;
        Some((self.book.ready(&plan)?, plan))
    }

    /// The earliest plan found between a moment tried in vain, or excluded, and a plan that is known; `passed` is told the
    /// moments of plans that are left for better ones.
    fn narrow(
        &self,
        mut failed: Instant,
        mut known: (Instant, Plan),
        grain: Minutes,
        attempts: usize,
        passed: &mut dyn FnMut(Instant),
    ) -> (Instant, Plan) {
        let start = self.book.instance.farm.start;
        let minute = |at: Instant| (at - start).0 as Min;
        for _ in 0..attempts {
            let aim = aims::next(self.problem, minute(failed), minute(known.0), grain.0 as Min);
            let Some(aim) = aim.filter(|_| !self.planner.is_over()) else { break };
            let due = start + Minutes(i64::from(aim.at()));
            let work = if matches!(aim, Aim::ShiftEnd(_)) { Work::LEAP } else { Work::NEAR };
            let found = self.attempt(due, &known.1, work);
            if found.as_ref().is_none_or(|found| found.0 > due) {
                failed = due;
            }
            if let Some(found) = found.filter(|found| found.0 < known.0) {
                passed(known.0);
                known = found;
            }
        }
        known
    }
}

/// From the moment that is not excluded to the moments of plans.
struct Range<'r> {
    search: Search<'r>,
    /// Everything before is excluded.
    low: Instant,
    /// The earliest moment of a plan, and the plan.
    known: (Instant, Plan),
    /// Moments of plans found before it, the latest first.
    later: Vec<Instant>,
}

impl<'r> Range<'r> {
    /// Closer than this is close enough for a search that is not complete: a two-hundredth of the time to the moment.
    fn grain(&self) -> Minutes {
        Minutes(((self.known.0 - self.search.book.instance.farm.start).0 / 200).max(1))
    }

    /// Raises the moment that no plan can beat.
    fn prove(&mut self) {
        let problem = self.search.problem;
        let (grain, mut open) = (self.grain(), self.known.0);
        for _ in 0..PROOFS {
            if open - self.low < grain || self.search.planner.is_over() {
                return;
            }
            let middle = between(self.low, open);
            (self.search.planner.progress)("how soon no plan can be", None);
            if self.search.planner.excludes(problem, &in_minutes(problem, &self.search.book.deadlines(middle))) {
                self.low = middle + Minutes(1);
            } else {
                open = middle;
            }
        }
    }

    /// Looks for plans below the best.
    fn narrow(&mut self) {
        let (search, grain, later) = (self.search, self.grain(), &mut self.later);
        let failed = self.low - Minutes(1);
        self.known = search.narrow(failed, self.known.clone(), grain, ATTEMPTS, &mut |at| later.push(at));
    }

    /// Halves the range by an ordinary planner that searches completely, until it is closed.
    fn close(mut self) -> Earliest {
        let mut confirmed = false;
        let mut due = self.known.0;
        for _ in 0..HALVINGS {
            match self.ask(due, Planner::plan) {
                Some(found) => (self.known, confirmed) = (found, true),
                // Neither on time nor proven to be late.
                None if self.low <= due => break,
                None => {}
            }
            if self.low >= self.known.0 || self.search.planner.is_over() {
                break;
            }
            due = between(self.low, self.known.0 - Minutes(1));
        }
        self.answer(confirmed)
    }

    /// Asks the ordinary planner from the best moment on, until it is on time. The plan of another search is on time
    /// there; this one may need a little more room.
    fn confirm(mut self) -> Earliest {
        let mut step = Minutes(30);
        let mut due = self.known.0;
        for _ in 0..CONFIRMATIONS {
            // Being on time is asked first, since it is answered sooner; the whole plan is on time then, and better.
            if self.ask(due, Planner::plan_for_dates).is_some()
                && let Some((_, plan)) = self.ask(due, Planner::plan)
            {
                self.known = (due, plan);
                return self.answer(true);
            }
            if self.search.planner.is_over() {
                break;
            }
            let next = self.later.iter().rev().find(|at| **at > due).copied();
            due = next.map_or(due + step, |next| next.min(due + step));
            step = step + step;
        }
        self.answer(false)
    }

    /// When the ordinary planner has the shipment ready if it is due then; what it proves raises the bound.
    fn ask(&mut self, due: Instant, plan: fn(&Planner<'r>, &str, &Instance) -> Answer) -> Option<(Instant, Plan)> {
        let instance = self.search.book.due(Some(due));
        let question = format!("the order due {}", said(&instance, due));
        let Answer::Plan(plan) = plan(self.search.planner, &question, &instance) else {
            return None;
        };
        if plan.claims.late_bound > self.search.book.late {
            self.low = self.low.max(due + Minutes(1));
        }
        let ready = self.search.book.ready(&plan).filter(|ready| *ready <= due)?;
        Some((ready, *plan))
    }

    /// The best plan, for the instance in which the shipment is due when the plan has it ready.
    ///
    /// Its makespan is bounded by what is known already. A plan that is no later than the one without the order gives
    /// a plan without it, once the order's parts are left out, and so it is no sooner than what was proven of those; and
    /// where nothing is late, the order is not ready before what is proven of it.
    fn answer(self, confirmed: bool) -> Earliest {
        let Search { planner, book, .. } = self.search;
        let (by, plan) = self.known;
        let not_before = self.low.min(by);
        let mut bound = if plan.claims.late <= book.late { book.before.claims.bound } else { Minutes::ZERO };
        if plan.claims.late == WeightedMinutes::ZERO {
            bound = bound.max(not_before - book.instance.farm.start);
        }
        if confirmed {
            bound = bound.max(plan.claims.bound);
        }
        let plan = planner.carry(&plan, &book.due(Some(by)), bound, WeightedMinutes::ZERO).unwrap_or(plan);
        Earliest { not_before, by, plan: Box::new(plan), confirmed }
    }
}

fn between(low: Instant, high: Instant) -> Instant {
    Instant(low.0 + (high.0 - low.0) / 2)
}

fn said(instance: &Instance, at: Instant) -> String {
    instance.farm.clock.stamp(at).format("%a %-d %b %H:%M").to_string()
}
