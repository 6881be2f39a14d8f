//! What the plan costs, as a piece of its page.

use super::addition::{Addition, Place};
use crate::costs::{cost_sheet, money};
use crate::html::shown;
use crate::html::table::{Cell, Table};
use platewright_model::{Instance, Plan};

/// The cost sheet; none where the farm states no costs.
pub(super) fn costs(instance: &Instance, plan: &Plan) -> Option<Addition> {
    let sheet = cost_sheet(instance, plan)?;
    let currency = shown(&sheet.currency);
    let amount = format!("#{currency}");
    let mut table = Table::new("What the plan costs", &["what", &amount]);
    for (what, cost) in sheet.lines() {
        table.row([Cell::head(what), Cell::figure(money(cost))]);
    }
    table.row([Cell::head("total"), Cell::figure(money(sheet.total()))]);
    let per_kit = sheet.per_kit().map_or_else(String::new, |cost| format!(", {} a kit", money(cost)));
    let words = format!("{currency} {}{per_kit}.", money(sheet.total()));
    Some(Addition { place: Place::Costs, heading: "What it costs".to_owned(), words: vec![words], tables: vec![table] })
}
