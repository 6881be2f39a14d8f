//! The dice of one rehearsal.

use crate::follow::{Luck, Printing, Script};
use crate::problem::Min;
use platewright_model::Instance;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Exp, LogNormal};

/// How long a printer prints until it breaks down, and how long its repair takes; none: no time.
type Wear = (Exp<f64>, Option<Exp<f64>>);

/// What the dice are loaded with.
#[derive(Debug, Clone)]
pub struct Odds {
    /// Share of runs of a mode that fail whole.
    pub failure: Vec<f64>,
    /// Share of copies of a part that are rejected.
    pub reject: Vec<f64>,
    /// The factor on printing minutes; none: exactly as long as stated.
    spread: Option<LogNormal<f64>>,
    /// Minutes that people come late; none: never.
    late: Option<Exp<f64>>,
    /// By printer, minutes of printing until it breaks down, and minutes of repair; none: never.
    breaks: Vec<Option<Wear>>,
}

/// An exponential distribution of this mean; none where that is 0.
fn exponential(mean: f64) -> Option<Exp<f64>> {
    (mean > 0.0).then(|| Exp::new(1.0 / mean).ok()).flatten()
}

impl Odds {
    /// What the tables and `[rehearsal]` say.
    pub fn of(instance: &Instance, script: &Script<'_>) -> Odds {
        let says = &instance.farm.rehearsal;
        let breaks = instance.printers.iter().map(|printer| {
            let group = &instance.groups[printer.group.index()];
            let life = exponential(says.breaks_after_hours.of(group) * 60.0)?;
            Some((life, exponential(says.repair_hours.of(group) * 60.0)))
        });
        // Of mean 1: for a log-normal with sigma, mu = -sigma²/2, and its variance is exp(sigma²) - 1.
        let sigma = (1.0 + says.print_spread * says.print_spread).ln().sqrt();
        Odds {
            failure: script.failure.clone(),
            reject: instance.parts.iter().map(|part| part.reject_rate).collect(),
            spread: (sigma > 0.0).then(|| LogNormal::new(-sigma * sigma / 2.0, sigma).ok()).flatten(),
            late: exponential(says.late_minutes),
            breaks: breaks.collect(),
        }
    }
}

/// One rehearsal's dice.
pub struct Dice<'o> {
    odds: &'o Odds,
    rng: ChaCha8Rng,
    /// By printer, how many more minutes it prints until it breaks down.
    life: Vec<Option<f64>>,
}

impl<'o> Dice<'o> {
    /// The dice of one rehearsal of a seed.
    pub fn new(odds: &'o Odds, seed: u64, play: u64) -> Dice<'o> {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(play);
        let life = odds.breaks.iter().map(|b| b.as_ref().map(|b| b.0.sample(&mut rng))).collect();
        Dice { odds, rng, life }
    }
}

impl Luck for Dice<'_> {
    fn print(&mut self, mode: usize, printer: usize, minutes: Min) -> Printing {
        let takes = match &self.odds.spread {
            Some(spread) => (f64::from(minutes) * spread.sample(&mut self.rng)).round().max(1.0),
            None => f64::from(minutes),
        };
        let rate = self.odds.failure[mode];
        let fails = rate > 0.0 && self.rng.random::<f64>() < rate;
        let fails_after = fails.then(|| takes * self.rng.random::<f64>());
        let mut printing = Printing { minutes: takes as Min, lost_after: fails_after.map(|m| m as Min), repair: None };
        let Some(life) = &mut self.life[printer] else { return printing };
        let prints = fails_after.unwrap_or(takes);
        if *life > prints {
            *life -= prints;
            return printing;
        }
        printing.lost_after = Some(*life as Min);
        let Some((again, repair)) = &self.odds.breaks[printer] else { return printing };
        *life = again.sample(&mut self.rng);
        printing.repair = Some(repair.as_ref().map_or(0, |r| r.sample(&mut self.rng).round() as Min));
        printing
    }

    fn good(&mut self, part: usize, copies: i64) -> i64 {
        let rate = self.odds.reject[part];
        if rate <= 0.0 {
            return copies;
        }
        (0..copies).filter(|_| self.rng.random::<f64>() >= rate).count() as i64
    }

    fn late(&mut self) -> Min {
        match &self.odds.late {
            // Nobody comes hours late in a rehearsal: that is an absence, which is planned.
            Some(late) => (late.sample(&mut self.rng).round() as Min).min(240),
            None => 0,
        }
    }
}
