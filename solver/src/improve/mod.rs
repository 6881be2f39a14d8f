//! Large neighbourhoods: free a few printers for a while, and let longest paths plan them again.
//!
//! The search works on a question with a yes or no: can every shipment be ready by its deadline? What stands against a
//! yes is the *shortage*, the copies missing at a price each. A move takes the runs of one to three printers out of a
//! window of time, and puts each printer back by the longest path through the room as the others leave it, minute by
//! minute and operator by operator, against what is missing by then. A longest path takes every copy for wanted; where
//! it makes more of a part than is missing, that part is made cheaper and the path is asked again, and the path that
//! really lowers the shortage most is kept. There are two ways to go about it ([`Gait`]). In one, a move that raises the
//! shortage may be kept too, less and less so. In the other a printer may push others aside: it plans as if operators could
//! leave another printer's task at a price, and whoever was in the way plans again ([`push`]). There no move may raise the
//! shortage, or only a fifth as much.
//!
//! Effort is counted in steps of the longest path, not in seconds, so that a result can be repeated.

mod idle;
mod moves;
mod packing;
mod paths;
mod push;

use crate::floor::{Floor, Machine};
use crate::history::Scratch;
use crate::problem::Min;
use crate::schedule::Schedule;
use moves::Step;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// How far prices vary from one path to the next, and how much those of the parts that print longest are favoured, in
/// thousandths; and the share of moves that push: where none does, and where some do.
const VARIES: [i64; 2] = [80, 20];
const FAVOURS: [i64; 2] = [0, 50];
const PUSHES: [f64; 2] = [0.0, 0.25];

/// Of so many windows one is the whole time and two reach to its end.
const WINDOWS: i32 = 8;

/// What a copy of the plate that is welcome beyond the needs is worth, in thousandths of its price.
const WELCOME: i64 = 600;

/// How often more operator time is kept for packing.
const PACKING_TRIES: u32 = 4;

/// A search gives up after so many moves, and so many more per run, that brought nothing new.
const STALL: [u64; 2] = [300, 20];

/// How a search goes about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gait {
    /// Moves may raise the shortage, less and less; none pushes others aside.
    Wandering,
    /// Some moves push, none may raise the shortage. It is the quickest where printers are many and alike, and sooner stuck
    /// where they are few or different.
    Downhill,
    /// Some moves push, and any may raise the shortage a little.
    Rolling,
}

impl Gait {
    /// The part of the first shortage by which a move may raise it, at most and in the beginning.
    fn tolerance(self) -> f64 {
        match self {
            Gait::Wandering => 0.02,
            Gait::Downhill => 0.0,
            Gait::Rolling => 0.004,
        }
    }
}

/// A search on one floor.
pub struct Search<'p> {
    /// The floor as it is now.
    pub floor: Floor<'p>,
    price: Vec<i64>,
    /// Price of a place in each night, summed over nights before each one (empty: free).
    night: Vec<i64>,
    /// Whether idle minutes count, and those of each printer.
    count_idle: bool,
    idle: Vec<i64>,
    /// See [`Gait::tolerance`].
    tolerance: f64,
    varies: i64,
    pushes: f64,
    windows: i32,
    /// See [`STALL`].
    stall: [u64; 2],
    /// What a copy that is welcome beyond the needs is worth, in thousandths of its price.
    welcome: i64,
    /// By part, in thousandths of its price.
    favour: Vec<i64>,
    /// By shipment, boxes for which operators are kept free before its deadline, and how often that was too little.
    to_pack: Vec<i64>,
    too_little: u32,
    /// Runs loaded before this minute stay.
    from: Min,
    rng: ChaCha8Rng,
    scratch: Scratch,
    work: u64,
    /// What was done to the floor since the last judgement.
    log: Vec<Step>,
}

impl<'p> Search<'p> {
    /// A search that prices a copy of each part, in thousandths of a printer minute.
    pub fn new(floor: Floor<'p>, price: Vec<i64>, seed: u64) -> Search<'p> {
        let rng = ChaCha8Rng::seed_from_u64(seed);
        let favour = vec![FAVOURS[0]; price.len()];
        Search {
            floor,
            price,
            night: Vec::new(),
            count_idle: false,
            idle: Vec::new(),
            tolerance: Gait::Wandering.tolerance(),
            varies: VARIES[0],
            pushes: PUSHES[0],
            windows: WINDOWS,
            stall: STALL,
            welcome: 0,
            favour,
            to_pack: Vec::new(),
            too_little: 0,
            from: 0,
            rng,
            scratch: Scratch::default(),
            work: 0,
            log: Vec::new(),
        }
    }

    /// The same search with a price on each place in a night, so that runs that gain little there leave them to others.
    pub fn with_nights(mut self, night: Vec<i64>) -> Search<'p> {
        self.night = night;
        self
    }

    /// The same search with all that is loaded before a minute left as it is.
    pub fn beginning(mut self, from: Min) -> Search<'p> {
        self.from = from;
        self
    }

    /// The same search with a plate more of each part welcome than is needed. It takes effect with the next aim.
    ///
    /// Where needs alone count, nothing tells a floor on which one more plate would fit, as long as it is not one of those
    /// that are missing, from a floor on which none would: the search wanders between them. A plate that nobody needs is worth
    /// a part of its price here, so that it is made where there is room for it, and gives way to one that is missing.
    pub fn welcoming_more(mut self) -> Search<'p> {
        self.welcome = WELCOME;
        self
    }

    /// The same search in a gait; a new one is [`Gait::Wandering`]. Where some moves push and two parts are worth the same, a
    /// night should go to the one that prints longer.
    pub fn in_gait(mut self, gait: Gait) -> Search<'p> {
        let pushing = usize::from(gait != Gait::Wandering);
        self.tolerance = gait.tolerance();
        self.varies = VARIES[pushing];
        self.pushes = PUSHES[pushing];
        self.favour.fill(FAVOURS[0]);
        let modes = &self.floor.problem.modes;
        let longest = modes.iter().map(|m| i64::from(m.print)).max().unwrap_or(1).max(1);
        for mode in modes {
            for &(part, _) in &mode.yields {
                self.favour[part] = self.favour[part].max(FAVOURS[pushing] * i64::from(mode.print) / longest);
            }
        }
        self
    }

    /// The same search without giving up as long as work is left.
    pub fn patient(mut self) -> Search<'p> {
        self.stall = [u64::MAX / 2, 0];
        self
    }

    /// Steps of longest paths done so far.
    pub fn work(&self) -> u64 {
        self.work
    }

    /// The shortage at the search's prices.
    pub fn shortage(&self) -> i64 {
        self.floor.demand.shortage(&self.price)
    }

    /// Keeps operators free, before each deadline, for as many boxes more as a schedule of this floor packs after it; false
    /// where it packs none later, or where this was done too often. Takes effect with the next aim.
    pub fn keep_for_packing(&mut self, schedule: &Schedule, deadlines: &[Min]) -> bool {
        let late = schedule.packed_late(deadlines);
        self.to_pack.resize(deadlines.len(), 0);
        self.to_pack.iter_mut().zip(&late).for_each(|(boxes, late)| *boxes += late);
        self.too_little += 1;
        late.iter().any(|&boxes| boxes > 0) && self.too_little <= PACKING_TRIES
    }

    /// Aims at other deadlines; runs that end after the last of them are taken out.
    pub fn aim(&mut self, deadlines: &[Min]) {
        let boxes: Min = self.to_pack.iter().map(|&boxes| boxes as Min).sum();
        let last = deadlines.iter().copied().max().unwrap_or(0) - boxes * self.floor.problem.pack_box;
        for machine in 0..self.floor.machines.len() {
            while let Some(run) = self.floor.machines[machine].runs.last() {
                if run.leg.harvest_to <= last || run.leg.load_from.is_none() {
                    break;
                }
                let at = self.floor.machines[machine].runs.len() - 1;
                self.floor.unbook(machine, at);
            }
        }
        self.floor.aim(deadlines);
        if self.welcome > 0 {
            self.floor.demand.welcome_more();
        }
        self.floor.keep_for_packing(&self.to_pack, deadlines);
        for machine in 0..self.floor.machines.len() {
            self.recount_idle(machine);
        }
    }

    /// The shortage, and what is welcome beyond it at a part of its price.
    fn wanting(&self) -> i64 {
        let unmade = if self.welcome > 0 { self.floor.demand.unmade(&self.price) * self.welcome / 1000 } else { 0 };
        self.shortage() + unmade
    }

    /// What stands against the floor as it is: the shortage, and idle minutes where they count.
    fn cost(&self) -> i64 {
        self.wanting() + 1000 * self.idle.iter().sum::<i64>()
    }

    /// Moves until nothing is missing, the work is done, or `stop` says so. Says whether nothing is missing.
    pub fn meet(&mut self, last: Min, work: u64, stop: &dyn Fn() -> bool) -> bool {
        self.moves(last, work, stop, true);
        self.shortage() == 0
    }

    /// Moves until the work is done or `stop` says so, whatever is missing.
    pub fn settle(&mut self, last: Min, work: u64, stop: &dyn Fn() -> bool) {
        self.moves(last, work, stop, false);
    }

    fn moves(&mut self, last: Min, work: u64, stop: &dyn Fn() -> bool, until_met: bool) {
        let begun = self.work;
        self.fill_gaps(last);
        let mut cost = self.cost();
        let start = cost.max(1);
        let mut moves = 0u64;
        let open = |m: &Machine| m.runs.iter().filter(|r| r.leg.load_from.unwrap_or(0) >= self.from).count() as u64;
        let runs: u64 = self.floor.machines.iter().map(open).sum();
        let (mut least, mut since) = (cost, 0u64);
        while cost > 0 && self.work - begun < work && since < self.stall[0] + self.stall[1] * runs {
            if until_met && self.shortage() == 0 {
                break;
            }
            moves += 1;
            if moves.is_multiple_of(16) && stop() {
                break;
            }
            // Moves cost something even where a window turns out empty, so that the search always ends.
            self.work += 100;
            let left = (1.0 - (self.work - begun) as f64 / work as f64).max(0.0);
            let tolerance = (start as f64 * self.tolerance * left * left * self.rng.random::<f64>()) as i64;
            let pushes = self.pushes > 0.0 && self.rng.random::<f64>() < self.pushes;
            cost = if pushes { self.push(last, cost, tolerance) } else { self.plan_again(last, cost, tolerance) };
            since += 1;
            if cost < least {
                (least, since) = (cost, 0);
            }
        }
    }

    /// Every printer plans again what follows its last run.
    fn fill_gaps(&mut self, last: Min) {
        for machine in 0..self.floor.machines.len() {
            let runs = self.floor.machines[machine].runs.len();
            self.replan(machine, runs, runs, last);
            self.recount_idle(machine);
        }
        self.log.clear();
    }
}
