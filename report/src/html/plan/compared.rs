//! Scenarios side by side, as a piece of the plan's page.

use super::addition::{Addition, Place, bar};
use crate::comparison::{Comparison, late};
use crate::costs::money;
use crate::html::table::{Cell, Table};
use platewright_model::Minutes;

/// When each scenario ships and what it costs. A bar is as long as the figure's share of the largest one.
pub fn compared(comparison: &Comparison) -> Addition {
    let planned = || comparison.entries.iter().zip(&comparison.figures);
    let longest = planned().filter_map(|(_, f)| Some(f.as_ref()?.makespan)).max().unwrap_or(Minutes(1));
    let cost = |f: &crate::comparison::Figures| f.costs.as_ref().map(|sheet| sheet.total());
    let dearest = planned().filter_map(|(_, f)| cost(f.as_ref()?)).max();
    let currency = planned().find_map(|(_, f)| Some(f.as_ref()?.costs.as_ref()?.currency.clone()));
    let amount = currency.map_or_else(|| "#cost".to_owned(), |currency| format!("#{}", crate::html::shown(&currency)));
    let heads = ["scenario", "all ready", "time it takes", "#late, weighted", &amount, "what it costs"];
    let mut table = Table::new("Scenarios side by side", &heads);
    for (entry, figures) in planned() {
        let Some(figures) = figures else {
            let none = || Cell::Words(String::new());
            table.row([Cell::head(&entry.name), Cell::Words("no plan".to_owned()), none(), none(), none(), none()]);
            continue;
        };
        let of_longest = figures.makespan.0 as f64 / longest.0.max(1) as f64;
        let (money_cell, cost_bar) = match (cost(figures), dearest) {
            (Some(total), Some(dearest)) if !dearest.is_zero() => {
                // A share for a drawing: what is lost in the conversion cannot be seen.
                let share = (total / dearest).to_string().parse().unwrap_or(0.0);
                (money(total), bar(share, None))
            }
            (Some(total), _) => (money(total), String::new()),
            (None, _) => ("-".to_owned(), String::new()),
        };
        table.row([
            Cell::head(&entry.name),
            Cell::moment(&entry.instance, figures.ready),
            Cell::Drawing(bar(of_longest, None)),
            Cell::figure(late(figures.late)),
            Cell::figure(money_cell),
            Cell::Drawing(cost_bar),
        ]);
    }
    Addition {
        place: Place::Comparison,
        heading: "What else could be done".to_owned(),
        words: vec!["Each scenario was planned by itself; its plan is kept in a folder of its name.".to_owned()],
        tables: vec![table],
    }
}
