//! `after` and `hold_hours` of `shipments.csv`: which shipment has to be ready, and looked over for how long, before
//! anything is loaded for this one.
//!
//! A shipment may be named before its own rows, so names are looked up once all rows are read. Shipments that wait for
//! each other could never begin: every such circle is told in full.

use super::findings::{At, Findings, Wrong};
use super::names::Names;
use super::sheet::{Line, Row};
use super::shipments::SHIPMENTS;
use super::stated::Stated;
use super::{limits, number};
use crate::fault::FaultCode;
use crate::instance::{After, ShipmentId};
use crate::units::Minutes;

/// What the rows of one shipment say of it.
#[derive(Default)]
pub(super) struct Waits {
    /// The name of the shipment before, and the row that says it.
    after: Option<(String, Line)>,
    hold: Stated<Minutes>,
    /// The first row with a hold.
    hold_row: Option<Line>,
}

impl Waits {
    /// Takes in what a row says; `whose` tells which shipment it is.
    pub(super) fn take(
        &mut self,
        after: Option<String>,
        hold: Option<Minutes>,
        row: Row<'_>,
        whose: &str,
        findings: &mut Findings,
    ) {
        if hold.is_some() {
            self.hold_row.get_or_insert(row.line);
        }
        self.hold.take(hold, row, "hold_hours", whose, findings);
        match (&self.after, after) {
            (None, Some(name)) => self.after = Some((name, row.line)),
            (Some((said, first)), Some(name)) if *said != name => {
                let message = format!("{name} contradicts {said} on row {first}: {whose} has one value of after.");
                let help = "Make the rows agree; a blank cell follows the other rows.";
                findings.add(row.at_cell("after"), Wrong::new(FaultCode::Disagreement, message, help));
            }
            _ => {}
        }
    }
}

/// Reads a hold: hours, to the minute.
pub(super) fn hold(text: &str) -> Result<Minutes, Wrong> {
    let hours = number::decimal(text, limits::HOLD_HOURS)?;
    // At most a year, so the nearest minute fits.
    Ok(Minutes((hours * 60.0).round() as i64))
}

/// What each shipment waits for, in the order of `names`.
pub(super) fn resolve<'w>(
    waits: impl Iterator<Item = &'w Waits>,
    names: &Names,
    findings: &mut Findings,
) -> Vec<Option<After>> {
    let waits: Vec<&Waits> = waits.collect();
    let mut found: Vec<Option<After>> = Vec::with_capacity(waits.len());
    for wait in &waits {
        let at = |row: Line, column| At { row: row.in_table(), ..At::file(SHIPMENTS.file).column(column) };
        match (&wait.after, wait.hold_row) {
            (None, Some(row)) => {
                let message = "The hold follows no shipment: the cell under after is blank.";
                let help = "Name under after the shipment that is looked over, or leave hold_hours blank.";
                findings.add(at(row, "hold_hours"), Wrong::new(FaultCode::HoldAfterNothing, message, help));
                found.push(None);
            }
            (None, None) => found.push(None),
            (Some((name, row)), _) => {
                let shipment = names.find(name, at(*row, "after"), findings).map(ShipmentId);
                found.push(shipment.map(|shipment| After { shipment, hold: wait.hold.value().unwrap_or_default() }));
            }
        }
    }
    for circle in circles(&found) {
        let called = |n: &usize| names.iter().nth(*n).unwrap_or_default().to_owned();
        let rows: Vec<Line> =
            circle.iter().filter_map(|n| waits.get(*n)?.after.as_ref().map(|(_, row)| *row)).collect();
        let way: Vec<String> = circle.iter().chain(circle.first()).map(called).collect();
        let message = format!("Shipments wait for each other in a circle: {}.", way.join(" -> "));
        let either = rows.iter().map(Line::to_string).collect::<Vec<_>>().join(" or ");
        let help = format!("Blank the cell under after on row {either}: one of them has to be first.");
        let at = At { row: rows.first().copied().and_then(Line::in_table), ..At::file(SHIPMENTS.file).column("after") };
        findings.add(at, Wrong::new(FaultCode::ShipmentCycle, message, help));
    }
    found
}

/// Every circle of shipments, each from its first member on, in the order in which they wait. A shipment waits for at
/// most one, so from any of them there is one way to go.
fn circles(after: &[Option<After>]) -> Vec<Vec<usize>> {
    let next = |n: usize| after.get(n).copied().flatten().map(|a| a.shipment.index());
    // The walk on which each was first met.
    let mut met: Vec<Option<usize>> = vec![None; after.len()];
    let mut circles = Vec::new();
    for first in 0..after.len() {
        let mut way = Vec::new();
        let mut at = Some(first);
        while let Some(n) = at.filter(|&n| met.get(n) == Some(&None)) {
            met[n] = Some(first);
            way.push(n);
            at = next(n);
        }
        if let Some(position) = at.and_then(|n| way.iter().position(|&w| w == n)) {
            let mut circle = way.split_off(position);
            let least = (0..circle.len()).min_by_key(|&i| circle[i]).unwrap_or(0);
            circle.rotate_left(least);
            circles.push(circle);
        }
    }
    circles
}

#[cfg(test)]
mod tests {
    use super::*;

    fn waiting(for_whom: &[Option<u32>]) -> Vec<Option<After>> {
        for_whom.iter().map(|w| w.map(|n| After { shipment: ShipmentId(n), hold: Minutes(0) })).collect()
    }

    #[test]
    fn each_circle_is_found_once_from_its_first_member() {
        let after = waiting(&[Some(2), None, Some(3), Some(4), Some(2), Some(5), Some(1), Some(8), Some(7)]);
        assert_eq!(circles(&after), [vec![2, 3, 4], vec![5], vec![7, 8]]);
        assert!(circles(&waiting(&[None, Some(0), Some(1), Some(1)])).is_empty());
    }

    #[test]
    fn a_hold_is_hours_to_the_minute() {
        let minutes = |text| hold(text).map(|m| m.0).ok();
        assert_eq!(["4", "0.5", "0", "1.33"].map(minutes), [Some(240), Some(30), Some(0), Some(80)]);
        assert_eq!(["-1", "8761", "4h"].map(minutes), [None, None, None]);
    }
}
