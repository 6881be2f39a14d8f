//! The engines put together: quick first, then the bound, then the search towards it.
//!
//! `quick` dispatches in several manners and keeps the best. `exact` proves a bound by columns, and searches with large
//! neighbourhoods between the bound and the best known plan; instances small enough are searched completely instead.
//! `auto` is `exact` that says so where it had to rest on `quick`. Whatever is found last is only given out if the
//! caller accepts it; else the next best is.

use crate::assemble::{self, Statement};
use crate::columns::bound::{Effort, Relaxation};
use crate::columns::master::Column;
use crate::columns::prices::Prices;
use crate::dispatch::{Manner, dispatch};
use crate::finish::finish;
use crate::improve::Search;
use crate::mix;
use crate::problem::{Min, Problem};
use crate::schedule::{Merit, Schedule};
use platewright_model::plan::Objective;
use platewright_model::{Instance, Minutes, Plan, WeightedMinutes};
use std::cell::Cell;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Which engine is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EngineChoice {
    /// Exact, resting on quick where exact finds nothing.
    #[default]
    Auto,
    /// Bound and search.
    Exact,
    /// The dispatcher alone.
    Quick,
}

/// How the search stands.
#[derive(Debug, Clone, Copy)]
pub struct Progress {
    /// The best plan's value.
    pub value: Option<Minutes>,
    /// The proven bound on it.
    pub bound: Option<Minutes>,
    /// The best plan's weighted lateness.
    pub late: Option<WeightedMinutes>,
    /// What is being done, in a word or two.
    pub phase: &'static str,
}

/// What is asked.
pub struct Request<'a> {
    /// What to minimise.
    pub objective: Objective,
    /// By which engine.
    pub engine: EngineChoice,
    /// Longest wall time; the result then says that it was cut short.
    pub time_limit: Option<Duration>,
    /// Seed of the random choices.
    pub seed: u64,
    /// Set from outside to end the search; the best plan so far is given.
    pub stop: &'a AtomicBool,
    /// Told how the search stands.
    pub progress: &'a dyn Fn(Progress),
    /// The caller's verdict on a plan; one that is refused is not given out.
    pub accept: &'a dyn Fn(&Plan) -> bool,
}

/// What came of it.
#[derive(Debug)]
pub enum Answer {
    /// A plan that the caller accepted.
    Plan(Box<Plan>),
    /// No plan.
    None {
        /// Whether none exists; else none was found.
        proven: bool,
        /// Why, in the planner's words.
        reasons: Vec<String>,
    },
}

/// Most work of the neighbourhood search, in steps of longest paths.
const SEARCH_WORK: u64 = 3_000_000_000;
/// Most rounds of the climb.
const CLIMB_ROUNDS: usize = 1500;
/// Slots of operator time in the relaxation.
const SLOT: Min = 30;

/// Plans an instance.
pub fn solve(instance: &Instance, request: &Request<'_>) -> Answer {
    let problem = Problem::new(instance);
    let mut hunt = Hunt {
        problem: &problem,
        request,
        begun: Instant::now(),
        cut: Cell::new(false),
        found: Vec::new(),
        late_bound: 0,
        bound: 0,
        notes: Vec::new(),
    };
    hunt.quick();
    if request.engine != EngineChoice::Quick {
        hunt.exact();
    }
    hunt.answer()
}

struct Hunt<'p, 'r> {
    problem: &'p Problem<'p>,
    request: &'r Request<'r>,
    begun: Instant,
    cut: Cell<bool>,
    found: Vec<(Merit, Schedule, &'static str)>,
    late_bound: i64,
    bound: i64,
    notes: Vec<String>,
}

impl<'p> Hunt<'p, '_> {
    fn least_idle(&self) -> bool {
        self.request.objective == Objective::LeastIdle
    }

    fn stopped(&self) -> bool {
        let over = self.request.time_limit.is_some_and(|limit| self.begun.elapsed() >= limit);
        if over || self.request.stop.load(Ordering::Relaxed) {
            self.cut.set(true);
        }
        self.cut.get()
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

    fn keep(&mut self, candidate: Option<(Merit, Schedule)>, engine: &'static str) -> bool {
        let Some((merit, schedule)) = candidate else { return false };
        let better = self.found.last().is_none_or(|b| merit < b.0);
        if better {
            self.found.push((merit, schedule, engine));
        }
        better
    }

    fn quick(&mut self) {
        let price = mix::prices(self.problem);
        for manner in Manner::all(self.problem) {
            if !self.found.is_empty() && self.stopped() {
                break;
            }
            let floor = dispatch(self.problem, &price, manner, &|| false);
            let done = finish(&floor, self.least_idle());
            self.keep(done, "quick");
            self.tell("dispatching");
        }
    }

    fn exact(&mut self) {
        let Some((merit, schedule, _)) = self.found.last().cloned() else { return };
        let horizon = self.problem.horizon;
        let allowed: Vec<Min> = self
            .problem
            .orders
            .iter()
            .map(|o| match o.due {
                Some(due) if o.weight > 0 => (i64::from(due) + merit.late / o.weight).clamp(0, i64::from(horizon)) as Min,
                _ => horizon,
            })
            .collect();
        let makespan = schedule.ready_times(self.problem).into_iter().max().unwrap_or(0);
        let known = histories(self.problem, &schedule);
        let relaxation = Relaxation::new(self.problem, &allowed, SLOT);
        let effort = Effort { rounds: CLIMB_ROUNDS, slot: SLOT };
        let stop = |_: Min| self.stopped();
        let climbed = relaxation.climb(0, makespan, &known, effort, &stop);
        if !self.least_idle() {
            self.bound = i64::from(climbed.makespan.min(makespan));
        }
        self.tell("bound proven");
        let (price, operator) = self.guide(&relaxation, climbed.prices.as_ref());
        self.search(&allowed, price, operator);
    }

    /// Prices for the search, in thousandths of a printer minute, from the prices that proved the bound.
    fn guide(&self, relaxation: &Relaxation<'_>, prices: Option<&Prices>) -> (Vec<i64>, Vec<i64>) {
        let base = mix::prices(self.problem);
        let Some(prices) = prices else { return (base, Vec::new()) };
        let needs = mix::total_needs(self.problem);
        let worth: i64 = base.iter().zip(&needs).map(|(p, n)| p * n).sum();
        let proven: i128 = relaxation.rows().needs.iter().zip(&prices.need).map(|(n, &p)| n.copies as i128 * p as i128).sum();
        if proven <= 0 {
            return (base, Vec::new());
        }
        let scale = worth as f64 / proven as f64;
        let mut price = vec![0i64; base.len()];
        for (need, &p) in relaxation.rows().needs.iter().zip(&prices.need) {
            price[need.part] = price[need.part].max((p as f64 * scale).round() as i64);
        }
        for (p, b) in price.iter_mut().zip(&base) {
            if *b > 0 {
                *p = (*p).max(*b / 20).max(1);
            }
        }
        let operator = relaxation.rows().operator_prefix(prices).iter().map(|&p| (p as f64 * scale) as i64).collect();
        (price, operator)
    }

    fn search(&mut self, allowed: &[Min], price: Vec<i64>, operator: Vec<i64>) {
        let Some(best) = self.found.last().map(|b| b.1.clone()) else { return };
        let mut makespan = best.ready_times(self.problem).into_iter().max().unwrap_or(0);
        let low = self.bound as Min;
        let mut search = Search::new(refloor(self.problem, &best, allowed), price, operator, self.request.seed);
        let mut target = low + (makespan - low) / 8;
        let mut step = 0;
        while target < makespan && search.work() < SEARCH_WORK && !self.stopped() {
            let deadlines: Vec<Min> = allowed.iter().map(|&d| d.min(target)).collect();
            search.aim(&deadlines);
            let met = search.meet(target, SEARCH_WORK / 16, &|| self.stopped());
            step += 1;
            if met {
                let done = finish(&search.floor, self.least_idle());
                if let Some((merit, _)) = &done {
                    let ready = merit.value as Min;
                    makespan = makespan.min(ready);
                }
                self.keep(done, "exact");
                self.tell("searching");
                if makespan <= low {
                    break;
                }
                target = (makespan - 1).min(low + (makespan - low) * 3 / 4);
            } else {
                let short = search.shortage() / 1000 / search.floor.machines.len().max(1) as i64;
                target = (target + (short as Min).max(3)).min(makespan - 1).max(target + 1);
            }
            if std::env::var_os("PW_TRACE").is_some() {
                eprintln!("step {step} met {met} target {target} makespan {makespan} low {low} work {} short {} t {:?}", search.work(), search.shortage(), self.begun.elapsed());
            }
        }
    }

    fn answer(mut self) -> Answer {
        if self.cut.get() {
            self.notes.push("The search was cut short; a longer one may find better.".to_string());
        }
        while let Some((merit, schedule, engine)) = self.found.pop() {
            let statement = Statement {
                objective: self.request.objective,
                late_bound: self.late_bound.min(merit.late),
                bound: self.bound.min(merit.value),
                engine: engine.to_string(),
                seed: self.request.seed,
                notes: self.notes.clone(),
                prices: Vec::new(),
            };
            let plan = assemble::plan(self.problem, &schedule, statement);
            if (self.request.accept)(&plan) {
                return Answer::Plan(Box::new(plan));
            }
        }
        Answer::None { proven: false, reasons: Vec::new() }
    }
}

fn histories(problem: &Problem<'_>, schedule: &Schedule) -> Vec<Column> {
    let floor = refloor(problem, schedule, &vec![problem.horizon; problem.orders.len()]);
    floor
        .machines
        .iter()
        .map(|m| Column { class: m.class, legs: m.runs.iter().map(|r| r.leg).collect() })
        .collect()
}

/// A floor with a schedule's runs on it.
fn refloor<'p>(problem: &'p Problem<'p>, schedule: &Schedule, deadlines: &[Min]) -> crate::floor::Floor<'p> {
    let mut floor = crate::floor::Floor::new(problem, deadlines);
    for machine in 0..floor.machines.len() {
        let (class, slot) = (floor.machines[machine].class, floor.machines[machine].slot);
        let mut runs: Vec<_> = schedule.runs.iter().filter(|r| (r.class, r.slot) == (class, slot)).collect();
        runs.sort_by_key(|r| r.harvest.from);
        for (at, run) in runs.into_iter().enumerate() {
            let mode = &problem.modes[run.mode];
            let leg = crate::history::Leg {
                mode: run.mode,
                load_from: run.load.map(|l| l.from),
                print_from: run.ready - mode.to_ready(),
                ready: run.ready,
                harvest_from: run.harvest.from,
                harvest_to: run.harvest.to,
            };
            let booked = crate::floor::Booked { leg, load: run.load, harvest: run.harvest };
            floor.rebook(machine, at, booked);
        }
    }
    floor
}
