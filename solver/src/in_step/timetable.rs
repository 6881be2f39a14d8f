//! A timetable for printers kept in step: when each is harvested and loaded in every round of a shift.
//!
//! Printers of three kinds take part. Those *in step* are harvested in the morning, do the prints of a chain, and are loaded
//! once more for the night. Those that *leave* do without that load, and stand empty for the night; as many *arrive* the next
//! morning, where nothing has to be harvested and the first print begins a little sooner. One that is in step does a print
//! more than other printers every day; two that leave and arrive in turn do so together. Before the first shift all printers
//! are empty, and all of them arrive.
//!
//! How many start what by each minute is an integer program. Minutes are counted from the beginning of each round as if prints
//! took none, and alike printers are served in one order in all rounds, so the counts say when each of them is served:
//!
//! ```text
//! maximise  printers in step + printers that leave, of which as many arrive
//! such that by any minute no more have been loaded than were harvested H minutes before, nor harvested than have been loaded
//!           in the round before by H minutes later,
//!           and no more tasks are under way than there are operators
//! ```
//!
//! On the kit run 40 operators keep 117 printers in step and 14 pairs that leave and arrive: 131 prints more a day, where
//! pairs of operators do 120. A constraint-programming model of the same (OR-Tools CP-SAT) proves 131 the most.

use super::InStep;
use crate::problem::Min;
use good_lp::solvers::highs::HighsParallelType;
use good_lp::{Constraint, Expression, Solution, SolverModel, Variable, constraint, variable, variables};

/// The integer program is left with what is found at its root.
const MOST_NODES: i32 = 1;

/// What a printer does before a shift and after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    InStep,
    Leaves,
    Arrives,
}

/// When a printer is harvested and loaded, by round, in minutes from the shift's beginning.
pub type Rounds = Vec<(Option<Min>, Option<Min>)>;

/// Who is served when.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Timetable {
    /// Those in step.
    pub in_step: Vec<Rounds>,
    /// Those that stand empty after the shift.
    pub leave: Vec<Rounds>,
    /// Those that have stood empty before it.
    pub arrive: Vec<Rounds>,
}

impl Timetable {
    /// Prints that the printers do in a day beyond what others do.
    pub fn gain(&self) -> usize {
        self.in_step.len() + self.leave.len()
    }
}

/// How many have started a harvest, and how many a load, by round and minute; minutes count from `H` before a round begins.
struct Counts {
    printers: Variable,
    harvests: Vec<Vec<Variable>>,
    loads: Vec<Vec<Variable>>,
}

impl InStep {
    /// The timetable that is worth most of those found, of no more than so many printers; none where a load for the night does
    /// not fit, or where rounds, which begin a `cycle` apart, meet.
    pub fn timetable(&self, cycle: Min, printers: usize) -> Option<Timetable> {
        let worth = |of: [Variable; 3]| (of[0] + of[1], vec![constraint!(of[1] == of[2])], of[0] + 2 * of[1]);
        let in_turns = Timetable { in_step: self.turns(cycle, printers, false)?, ..Timetable::default() };
        Some(self.solved(cycle, printers, &worth).filter(|found| found.gain() >= in_turns.gain()).unwrap_or(in_turns))
    }

    /// The same for a shift before which all printers are empty.
    pub fn first_timetable(&self, cycle: Min, printers: usize) -> Option<Timetable> {
        let worth = |of: [Variable; 3]| (of[2].into(), vec![constraint!(of[0] + of[1] == 0)], of[2].into());
        let in_turns = Timetable { arrive: self.turns(cycle, printers, true)?, ..Timetable::default() };
        let no_fewer = |found: &Timetable| found.arrive.len() >= in_turns.arrive.len();
        Some(self.solved(cycle, printers, &worth).filter(no_fewer).unwrap_or(in_turns))
    }

    /// Each operator serves printers of his own one after another, loads for the night included: what an integer program that
    /// is left early may miss.
    fn turns(&self, cycle: Min, printers: usize, empty: bool) -> Option<Vec<Rounds>> {
        if self.slack < self.load || self.width() > cycle {
            return None;
        }
        let loading = InStep { slack: self.slack - self.load, ..*self };
        let served = |printer: usize| {
            let turn = (printer / self.operators) as Min * (self.harvest + self.load);
            let round = |r: usize| {
                let from = r as Min * cycle + turn;
                ((r > 0 || !empty).then_some(from), Some(from + self.harvest))
            };
            (0..=self.rounds).map(round).collect()
        };
        Some((0..loading.in_turns().min(printers)).map(served).collect())
    }

    /// The best timetable, where `goal` says of the numbers of printers by kind what they are worth, what they have to
    /// fulfil and how many printers they are.
    fn solved(
        &self,
        cycle: Min,
        printers: usize,
        goal: &dyn Fn([Variable; 3]) -> (Expression, Vec<Constraint>, Expression),
    ) -> Option<Timetable> {
        let mut vars = variables!();
        let kinds = [Kind::InStep, Kind::Leaves, Kind::Arrives];
        let counts = kinds.map(|_| {
            let mut whole = || vars.add(variable().integer().min(0));
            let mut table = || (0..=self.rounds).map(|_| (0..self.width()).map(|_| whole()).collect()).collect();
            let (harvests, loads) = (table(), table());
            Counts { printers: whole(), harvests, loads }
        });
        let (worth, rules, all) = goal([0, 1, 2].map(|kind| counts[kind].printers));
        // Of timetables that are worth the same, one with few printers.
        let worth = 1000 * worth - all.clone();
        let model = vars.maximise(worth).using(good_lp::highs).set_threads(1).set_parallel(HighsParallelType::Off);
        let model = model.set_option("random_seed", 1).set_option("mip_max_nodes", MOST_NODES);
        let mut model = model.set_option("mip_rel_gap", 0.0).set_option("mip_abs_gap", 900.0);
        let of_kinds = kinds.iter().zip(&counts).flat_map(|(&kind, counts)| self.precedence(kind, counts));
        let rules = rules.into_iter().chain([constraint!(all <= printers as f64)]);
        for rule in rules.chain(of_kinds).chain(self.crew(&counts)) {
            model.add_constraint(rule);
        }
        let solution = model.solve().ok()?;
        let value = |v: Variable| solution.value(v).round().max(0.0) as usize;
        let [in_step, leave, arrive] = [0, 1, 2].map(|kind| self.served(cycle, &counts[kind], &value));
        Some(Timetable { in_step, leave, arrive })
    }

    /// Minutes from `H` before a round begins to the end of the last task that a round can have.
    fn width(&self) -> Min {
        2 * self.harvest + self.slack + self.load
    }

    /// What precedes what for printers of a kind.
    fn precedence(&self, kind: Kind, counts: &Counts) -> Vec<Constraint> {
        let (width, h, l) = (self.width(), self.harvest, self.load);
        let mut rules = Vec::new();
        for round in 0..=self.rounds {
            let (harvests, loads) = (&counts.harvests[round], &counts.loads[round]);
            let begin = if round == 0 { h } else { 0 };
            // The last round ends with the shift.
            let end = if round == self.rounds { width - l } else { width };
            let harvested = round > 0 || kind != Kind::Arrives;
            let loaded = round < self.rounds || kind != Kind::Leaves;
            for (of, is, minutes) in [(harvests, harvested, h), (loads, loaded, l)] {
                let all = if is { counts.printers.into() } else { Expression::from(0) };
                rules.push(constraint!(started(of, begin - 1) == 0));
                rules.push(constraint!(started(of, end - minutes) == all.clone()));
                rules.push(constraint!(started(of, width - 1) == all));
                rules.extend((1..width).map(|at| constraint!(started(of, at - 1) <= started(of, at))));
            }
            if harvested && loaded {
                rules.extend((0..width).map(|at| constraint!(started(loads, at) <= started(harvests, at - h))));
            }
            if round > 0 {
                let before = &counts.loads[round - 1];
                rules.extend((0..width - h).map(|at| constraint!(started(harvests, at) <= started(before, at + h))));
            }
        }
        rules
    }

    /// No more tasks at once than operators.
    fn crew(&self, counts: &[Counts]) -> Vec<Constraint> {
        let under_way = |of: &[Variable], at: Min, minutes: Min| started(of, at) - started(of, at - minutes);
        let tasks = |round: usize, at: Min| -> Expression {
            let of = |c: &Counts| {
                under_way(&c.harvests[round], at, self.harvest) + under_way(&c.loads[round], at, self.load)
            };
            counts.iter().map(of).sum()
        };
        let minutes = (0..=self.rounds).flat_map(|round| (0..self.width()).map(move |at| (round, at)));
        minutes.map(|(round, at)| constraint!(tasks(round, at) <= self.operators as f64)).collect()
    }

    /// When each printer of a kind is served: who is first in one round is so in all.
    fn served(&self, cycle: Min, counts: &Counts, value: &dyn Fn(Variable) -> usize) -> Vec<Rounds> {
        let start = |round: usize, of: &[Variable], printer: usize| -> Option<Min> {
            let at = of.iter().position(|&v| value(v) > printer)?;
            Some(round as Min * cycle - self.harvest + at as Min)
        };
        let of = |printer: usize| {
            let round = |r: usize| (start(r, &counts.harvests[r], printer), start(r, &counts.loads[r], printer));
            (0..=self.rounds).map(round).collect()
        };
        (0..value(counts.printers)).map(of).collect()
    }
}

/// How many have started by a minute.
fn started(of: &[Variable], at: Min) -> Expression {
    if at < 0 { 0.into() } else { of[at as usize].into() }
}
