//! One call of the planner: what has been found, what has been proven, and when to stop.

use super::stage::Stage;
use super::{Answer, EngineChoice, Progress, Request, campaign, cells, deadlines, descent, guide, idle, reasons};
use crate::after;
use crate::assemble::{self, Statement};
use crate::assignment;
use crate::columns::bound::{Bound, Relaxation};
use crate::complete;
use crate::dispatch::quick;
use crate::division;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use platewright_model::plan::Objective;
use platewright_model::{Minutes, WeightedMinutes};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Instances with at most so many runs in a quick plan are searched completely,
const COMPLETE_UP_TO_RUNS: usize = 14;
/// looking at no more than so many states.
pub(super) const COMPLETE_STATES: u64 = 4_000_000;
/// Rounds of columns for a bound at the first, coarse, slots of operator time.
pub(super) const FIRST_ROUNDS: usize = 400;
/// The part of a plan's makespan by which no aim lies beyond it, in any search for a sooner one.
const BEYOND_AIMS: Min = 8;
/// Searches for less lateness, at most.
const LATENESS_ROUNDS: u64 = 8;

/// Whether a problem that takes so many runs may be searched completely.
pub(super) fn is_small(problem: &Problem<'_>, runs: usize) -> bool {
    runs <= COMPLETE_UP_TO_RUNS && problem.classes.iter().map(|c| c.printers.len()).sum::<usize>() <= 12
}

/// The hunt for a plan.
pub(super) struct Hunt<'p, 'r> {
    problem: &'p Problem<'p>,
    /// What bounds are proven on: the same, with rules forgotten that bounds do not know.
    relaxed: &'p Problem<'p>,
    known: &'p Option<(Merit, Schedule)>,
    request: &'r Request<'r>,
    limit: Limit<'r>,
    /// Plans in the order they were found, each better than the one before.
    found: Vec<(Merit, Schedule, &'static str)>,
    late_bound: i64,
    bound: i64,
    /// No plan exists within the horizon.
    impossible: bool,
    /// The exact search came to its own end.
    settled: bool,
    /// It looked at everything.
    complete: bool,
    notes: Vec<String>,
    prices: Vec<String>,
}

/// When to stop, shared by all threads of a call.
pub(super) struct Limit<'r> {
    begun: Instant,
    seconds: Option<std::time::Duration>,
    stop: &'r AtomicBool,
    cut: AtomicBool,
}

impl<'r> Limit<'r> {
    /// From now on.
    pub(super) fn new(request: &'r Request<'r>) -> Limit<'r> {
        Limit { begun: Instant::now(), seconds: request.time_limit, stop: request.stop, cut: AtomicBool::new(false) }
    }

    /// Has the time limit or an interruption ended the search?
    pub(super) fn over(&self) -> bool {
        let over = self.seconds.is_some_and(|limit| self.begun.elapsed() >= limit);
        if over || self.stop.load(Ordering::Relaxed) {
            self.cut.store(true, Ordering::Relaxed);
        }
        self.cut.load(Ordering::Relaxed)
    }
}

impl<'p, 'r> Hunt<'p, 'r> {
    pub(super) fn new(stage: &'p Stage<'p>, request: &'r Request<'r>, limit: Limit<'r>) -> Hunt<'p, 'r> {
        Hunt {
            problem: &stage.search,
            relaxed: &stage.relaxed,
            known: &stage.known,
            request,
            limit,
            found: Vec::new(),
            late_bound: 0,
            bound: 0,
            impossible: false,
            settled: false,
            complete: false,
            notes: Vec::new(),
            prices: Vec::new(),
        }
    }

    fn least_idle(&self) -> bool {
        self.request.objective == Objective::LeastIdle
    }

    fn tell(&self, phase: &'static str) {
        let best = self.found.last();
        (self.request.progress)(Progress {
            value: best.map(|b| Minutes(b.0.value)),
            bound: Some(Minutes(self.bound)),
            late: best.map(|b| WeightedMinutes(b.0.late)),
            phase,
        });
    }

    fn keep(&mut self, candidate: Option<(Merit, Schedule)>, engine: &'static str) {
        let Some((merit, schedule)) = candidate else { return };
        if self.found.last().is_none_or(|b| merit < b.0) {
            self.found.push((merit, schedule, engine));
        }
    }

    /// Begins with what was found while the stage was set.
    pub(super) fn begin(&mut self) {
        self.keep(self.known.clone(), "exact");
    }

    /// The quick engine's plans, which everything else starts from.
    pub(super) fn quick(&mut self) {
        let (problem, seed, least_idle) = (self.problem, self.request.seed, self.least_idle());
        let mut plans = Vec::new();
        quick(problem, least_idle, seed, &|| self.limit.over(), &mut |merit, schedule| plans.push((merit, schedule)));
        for plan in plans {
            self.keep(Some(plan), "quick");
        }
        self.tell("dispatching");
    }

    /// Bound and search; where only being on time is asked about, no further than the search for less lateness.
    pub(super) fn exact(&mut self, only_dates: bool) {
        if only_dates && self.found.last().is_some_and(|f| f.0.late == 0) {
            self.settled = true;
            return;
        }
        if self.is_small() && self.search_completely() {
            self.settled = true;
            self.complete = true;
            return;
        }
        if self.assign() {
            self.settled = true;
            return;
        }
        if self.found.is_empty() && !self.find_any() {
            return;
        }
        self.lessen_lateness();
        if !only_dates {
            self.improve();
            self.bound_lateness();
        }
        self.settled = !self.limit.over();
    }

    /// The exact search broke off with an error of its own.
    pub(super) fn exact_failed(&mut self) {
        self.notes.push(
            "The exact engine failed with an internal error; this is the best plan found until then.".to_string(),
        );
    }

    fn is_small(&self) -> bool {
        is_small(self.problem, self.found.last().map_or(0, |f| f.1.runs.len()))
    }

    /// Searches everything; true where that settled the matter. What is best in the relaxed problem may be no plan.
    fn search_completely(&mut self) -> bool {
        let known = self.found.last().map(|f| f.0);
        let least_idle = self.least_idle();
        let found = complete::search(self.relaxed, least_idle, known, COMPLETE_STATES, &|| self.limit.over());
        let best = found.best.map(|s| (s.merit(self.relaxed, least_idle), s));
        let least = best.as_ref().map(|b| b.0).or(known);
        self.keep(best.filter(|b| after::holds(self.problem, &b.1)), "complete");
        self.late_bound = self.late_bound.max(found.late_bound);
        let ours = self.found.last().map(|f| f.0);
        // The bound on the value is for plans as late as the best of the relaxed problem.
        if least.is_none() || least.map(|l| l.late) == ours.map(|o| o.late) {
            self.bound = self.bound.max(found.value_bound);
        }
        if !found.proven {
            return false;
        }
        self.impossible = least.is_none();
        self.tell("searched completely");
        self.impossible || ours.is_some_and(|o| least.is_some_and(|l| (l.late, l.value) == (o.late, o.value)))
    }

    /// Assigns runs to printers where only printer time counts; true where that settled the matter.
    fn assign(&mut self) -> bool {
        let Some(merit) = self.found.last().map(|f| f.0).filter(|m| m.late == 0 && !self.least_idle()) else {
            return false;
        };
        let (until, stop) = (merit.value as Min, || self.limit.over());
        let Some(done) = assignment::search(self.problem, until, self.request.seed, &stop) else { return false };
        self.bound = self.bound.max(done.bound.min(merit.value));
        self.keep(done.plan, "exact");
        self.prices = vec!["Printer time alone sets the pace: nobody is ever waited for.".to_string()];
        self.tell("assigned");
        self.found.last().is_some_and(|f| f.0.value <= self.bound)
    }

    /// Where the dispatcher found no plan: does one exist at all, and can the search find it?
    fn find_any(&mut self) -> bool {
        let horizon = self.problem.horizon;
        let open = vec![horizon; self.problem.orders.len()];
        let relaxation = Relaxation::recurring(self.relaxed, &open, horizon);
        let effort = relaxation.unrefined(FIRST_ROUNDS);
        let climbed = relaxation.climb(0, horizon, &[], None, effort, &|_| self.limit.over());
        if climbed.makespan > horizon {
            self.impossible = true;
            return false;
        }
        let guide = guide::Guide::new(self.problem, &relaxation, climbed.prices.as_ref());
        let done = descent::attempt(self.problem, &open, &guide, self.request.seed, self.least_idle(), &self.limit);
        self.keep(done, "exact");
        !self.found.is_empty()
    }

    /// Looks for plans that are less late, from an empty floor and from the best one in turn, as long as that helps.
    fn lessen_lateness(&mut self) {
        let guide = guide::Guide::plain(self.problem);
        let mut idle = 0;
        for round in 0..LATENESS_ROUNDS {
            let Some((merit, schedule, _)) = self.found.last().cloned() else { return };
            if merit.late == 0 || self.limit.over() || idle == 2 {
                return;
            }
            self.tell("less lateness");
            let start = (round % 2 == 1).then_some(&schedule);
            let seed = self.request.seed.wrapping_add(round);
            let done = descent::less_late(self.problem, &schedule, start, &guide, seed, self.least_idle(), &self.limit);
            let before = self.found.len();
            self.keep(done, "exact");
            idle = if self.found.len() > before { 0 } else { idle + 1 };
        }
    }

    /// What lateness cannot be avoided, where the best plan is late.
    fn bound_lateness(&mut self) {
        if let Some((merit, schedule, _)) = self.found.last().filter(|f| f.0.late > self.late_bound) {
            let stop = || self.limit.over();
            let bound = deadlines::lateness_bound(self.relaxed, schedule, &stop);
            self.late_bound = self.late_bound.max(bound.min(merit.late));
        }
    }

    /// The bound on the objective among plans no later, and the search towards it.
    fn improve(&mut self) {
        let Some((merit, schedule, _)) = self.found.last().cloned() else { return };
        let allowed = self.problem.no_later(merit.late);
        if self.least_idle() {
            let done = idle::improve(self.problem, self.relaxed, &allowed, &schedule, self.request.seed, &self.limit);
            self.bound = self.bound.max(done.bound);
            self.keep(done.plan, "exact");
            self.tell("searched");
            return;
        }
        let makespan = schedule.ready_times(self.problem).into_iter().max().unwrap_or(0);
        if i64::from(makespan) <= self.bound {
            return;
        }
        // What lies beyond every aim takes time and decides nothing, but for plates that stand on printers until then.
        let harvested = schedule.runs.iter().map(|run| run.harvest.to).max().unwrap_or(0);
        let end = (makespan + makespan / BEYOND_AIMS + 1440).max(harvested);
        let (problem, relaxed) = (&self.problem.until(end), &self.relaxed.until(end));
        let allowed = problem.no_later(merit.late);
        let known = descent::histories(problem, &schedule);
        let mut coarse = Relaxation::recurring(relaxed, &allowed, makespan);
        let effort = coarse.unrefined(FIRST_ROUNDS);
        let from = (self.bound as Min).max(0);
        let over = |_: Min| self.limit.over();
        let climbed: Bound = coarse.climb(from, makespan, &known, None, effort, &over);
        // Prices of boxes say when parts are needed, which no search by deadlines can use.
        let guide = guide::Guide::new(problem, &coarse, climbed.prices.as_ref());
        self.prices = guide.in_words(problem, &coarse, climbed.prices.as_ref());
        let climbed = coarse.climb_packed(climbed, makespan, effort, &over);
        self.bound = self.bound.max(i64::from(climbed.makespan.min(makespan)));
        self.tell("bound proven");
        let task = descent::Task {
            problem,
            allowed: &allowed,
            start: &schedule,
            low: self.bound as Min,
            coarse: &climbed,
            relaxation: coarse,
            guide: &guide,
            seed: self.request.seed,
            by_days: true,
            limit: &self.limit,
            tell: &|value, bound| {
                (self.request.progress)(Progress {
                    value: value.map(Minutes),
                    bound: Some(Minutes(bound)),
                    late: Some(WeightedMinutes(merit.late)),
                    phase: "searching",
                });
            },
        };
        let outcome = match division::divide(problem) {
            Some(division) => cells::descend(task, &division),
            None if campaign::is_long(makespan) => campaign::descend(task),
            None => descent::descend(task),
        };
        for plan in outcome.plans {
            self.keep(Some(plan), "exact");
        }
        self.bound = self.bound.max(outcome.bound);
        self.tell("searched");
    }

    /// The best plan the caller accepts.
    pub(super) fn answer(mut self) -> Answer {
        if self.limit.cut.load(Ordering::Relaxed) {
            self.notes.push("The search was cut short; given longer it may find a better plan or bound.".to_string());
        }
        let asked = self.request.engine;
        let mut refused = false;
        while let Some((merit, schedule, engine)) = self.found.pop() {
            let mut notes = self.notes.clone();
            if refused {
                notes.push("A better plan was found, but the checker refused it; this is the next best.".to_string());
            }
            let engine = match engine {
                "quick" if self.complete => "complete",
                "quick" if self.settled => "exact",
                "quick" if asked != EngineChoice::Quick => {
                    notes.push("The exact search did not get far enough; this is the quick engine's plan.".to_string());
                    engine
                }
                other => other,
            };
            let statement = Statement {
                objective: self.request.objective,
                late_bound: self.late_bound.min(merit.late),
                bound: self.bound.min(merit.value),
                engine: engine.to_string(),
                seed: self.request.seed,
                notes,
                prices: self.prices.clone(),
            };
            let plan = assemble::plan(self.problem, &schedule, statement);
            if (self.request.accept)(&plan) {
                return Answer::Plan(Box::new(plan));
            }
            refused = true;
        }
        if refused {
            let reason = "plans were found, but the checker refused every one of them: that is a fault of this program";
            return Answer::None { proven: false, reasons: vec![reason.to_string()] };
        }
        Answer::None { proven: self.impossible, reasons: reasons::why_none(self.problem, self.impossible) }
    }
}
