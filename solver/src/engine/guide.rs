//! Prices that guide a search, and what they say in plain words.

use crate::columns::bound::Relaxation;
use crate::columns::prices::Prices;
use crate::floor::Floor;
use crate::improve::{Gait, Search};
use crate::mix;
use crate::problem::Problem;

/// What a copy of each part is worth to a search, in thousandths of a printer minute.
#[derive(Debug, Clone)]
pub(crate) struct Guide {
    /// By part.
    pub(crate) price: Vec<i64>,
    /// Of a place in each night, summed over nights before each one; empty where nights have no limit.
    pub(crate) night: Vec<i64>,
}

impl Guide {
    /// The plate mix's prices.
    pub(super) fn plain(problem: &Problem<'_>) -> Guide {
        Guide { price: mix::prices(problem), night: Vec::new() }
    }

    /// The prices that proved a bound, brought to the scale of the plate mix, and never far below its prices: what the
    /// relaxation gets for nothing still has to be printed.
    pub(crate) fn new(problem: &Problem<'_>, relaxation: &Relaxation<'_>, prices: Option<&Prices>) -> Guide {
        let base = mix::prices(problem);
        let Some(prices) = prices else { return Guide { price: base, night: Vec::new() } };
        let needs = mix::total_needs(problem);
        let worth: f64 = base.iter().zip(&needs).map(|(&p, &n)| p as f64 * n as f64).sum();
        let rows = relaxation.rows();
        let mut proven = rows.part_prices(problem, prices);
        let sum: f64 = proven.iter().zip(&needs).map(|(p, &n)| p * n as f64).sum();
        if sum <= 0.0 {
            return Guide { price: base, night: Vec::new() };
        }
        for p in &mut proven {
            *p *= worth / sum;
        }
        let mut price: Vec<i64> = proven.iter().map(|p| p.round() as i64).collect();
        for (p, &b) in price.iter_mut().zip(&base) {
            if b > 0 {
                *p = (*p).max(b / 4).max(1);
            }
        }
        let mut night = Vec::new();
        if problem.night_printers.is_some() {
            night.push(0);
            let mut before = 0;
            for &p in &prices.night {
                before += (p as f64 * worth / sum).round() as i64;
                night.push(before);
            }
        }
        Guide { price, night }
    }

    /// A search on a floor at these prices.
    pub(super) fn search<'p>(&self, gait: Gait, floor: Floor<'p>, seed: u64) -> Search<'p> {
        Search::new(floor, self.price.clone(), seed).with_nights(self.night.clone()).welcoming_more().in_gait(gait)
    }

    /// Three lines at most: what binds, and what one more operator hour is worth where it is worth most.
    pub(super) fn in_words(
        &self,
        problem: &Problem<'_>,
        relaxation: &Relaxation<'_>,
        prices: Option<&Prices>,
    ) -> Vec<String> {
        let Some(prices) = prices else { return Vec::new() };
        let rows = relaxation.rows();
        let of_part = rows.part_prices(problem, prices);
        let needs = mix::total_needs(problem);
        let worth: f64 = of_part.iter().zip(&needs).map(|(p, &n)| p * n as f64).sum();
        let crew: f64 = rows
            .slots
            .iter()
            .zip(&prices.slot)
            .map(|(&(from, to), &p)| p as f64 * (from..to).map(|m| rows.staff[m as usize] as f64).sum::<f64>())
            .sum();
        let nights: f64 = prices.night.iter().map(|&p| p as f64).sum::<f64>();
        if worth <= 0.0 {
            return Vec::new();
        }
        let mut lines = Vec::new();
        let crew_share = 100.0 * crew / worth;
        lines.push(match (crew_share, nights > 0.0) {
            (share, _) if share > 50.0 => format!(
                "The crew's time limits this plan: {share:.0} % of what a faster plan would need is operator minutes."
            ),
            (share, true) => format!(
                "Printers and the limit on unattended printing set the pace; operator minutes carry {share:.0} % of it."
            ),
            (share, false) => format!("Printer time sets the pace; operator minutes carry {share:.0} % of it."),
        });
        let mut by_part: Vec<(f64, usize)> =
            of_part.iter().zip(&needs).enumerate().map(|(part, (p, &n))| (p * n as f64, part)).collect();
        by_part.sort_by(|a, b| b.0.total_cmp(&a.0));
        if let Some(&(share, part)) = by_part.first() {
            let name = &problem.instance.parts[part].name;
            lines.push(format!(
                "The part that weighs most is {name}: {:.0} % of the whole need.",
                100.0 * share / worth
            ));
        }
        let dearest = rows
            .slots
            .iter()
            .zip(&prices.slot)
            .filter(|s| *s.1 > 0)
            .max_by(|a, b| a.1.cmp(b.1).then(b.0.0.cmp(&a.0.0)));
        if let Some((&(from, _), &price)) = dearest {
            let at = problem.instance.farm.clock.stamp(problem.instant(from)).format("%a %H:%M");
            let kits = 100.0 * 60.0 * price as f64 / worth;
            lines.push(format!("One more operator hour is worth most around {at}: {kits:.2} % of the whole need.",));
        }
        lines
    }
}
