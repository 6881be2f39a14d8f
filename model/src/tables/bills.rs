//! `kits.csv`: what each kit holds.

use super::findings::{At, Findings, Wrong};
use super::names::Names;
use super::sheet::{Line, Row, Sheet, Spec};
use super::{limits, number, words};
use crate::fault::FaultCode;
use crate::instance::{Kit, KitId, KitItem, PartId};
use crate::kits;
use crate::units::Count;
use std::collections::HashMap;

pub(super) const KITS: Spec =
    Spec { file: "kits.csv", required: &["kit", "item", "quantity"], optional: &[], may_be_empty: false };

/// Kits by name.
pub(super) struct Kits {
    pub(super) names: Names,
    pub(super) list: Vec<Kit>,
}

/// Reads the kits. A kit may be named as an item before its own rows, so names are gathered first.
pub(super) fn read(sheet: &Sheet, parts: &Names, findings: &mut Findings) -> Kits {
    let mut names = Names::new("a kit", "kits.csv", FaultCode::UnknownKit);
    names.complete = sheet.complete;
    let mut rows: Vec<(Row<'_>, Option<u32>)> = Vec::new();
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let name = cells.name("kit");
        names.complete &= name.is_some();
        rows.push((row, name.map(|name| declare(&name, row, &mut names, parts, findings))));
    }
    let mut list: Vec<Kit> = names.iter().map(|name| Kit { name: name.to_owned(), items: Vec::new() }).collect();
    let mut seen: HashMap<(u32, KitItem), Line> = HashMap::new();
    for (row, kit) in rows {
        let Some((item, quantity)) = read_item(row, &names, parts, findings) else { continue };
        let Some((number, kit)) = kit.and_then(|n| Some((n, list.get_mut(n as usize)?))) else { continue };
        if let Some(first) = seen.insert((number, item), row.line) {
            let message = format!(
                "Row {first} already says how many {} are in {}.",
                row.text("item").unwrap_or_default(),
                kit.name
            );
            findings
                .add(row.at(), Wrong::new(FaultCode::DuplicateRow, message, "Add the two quantities up on one row."));
        } else {
            kit.items.push((item, Count(quantity)));
        }
    }
    check_cycles(&list, &seen, findings);
    check_size(&list, &names, findings);
    Kits { names, list }
}

fn declare(name: &str, row: Row<'_>, names: &mut Names, parts: &Names, findings: &mut Findings) -> u32 {
    if let (None, Some(part_row)) = (names.row(name), parts.row(name)) {
        let message = format!("\"{name}\" is a part too (parts.csv, row {part_row}).");
        let help = "Give the kit or the part another name, so that an item can mean only one of them.";
        findings.add(row.at_cell("kit"), Wrong::new(FaultCode::KitNamedAsPart, message, help));
    }
    names.declare(name, row.line)
}

fn read_item(row: Row<'_>, kits: &Names, parts: &Names, findings: &mut Findings) -> Option<(KitItem, u64)> {
    let mut cells = row.cells(findings);
    if row.text("item") == Some("") && row.text("quantity") == Some("") {
        let message = format!("The kit \"{}\" holds nothing on this row.", row.text("kit").unwrap_or_default());
        let help = "Write under item a part or another kit, and how many of it under quantity; or delete the row.";
        cells.findings.add(cells.at("item"), Wrong::new(FaultCode::EmptyKit, message, help));
        return None;
    }
    let item = cells.name("item");
    let quantity = cells.required("quantity", |text| number::whole(text, limits::ITEM_QUANTITY));
    let item = item?;
    let part = parts.number(&item).map(|part| KitItem::Part(PartId(part)));
    let found = part.or_else(|| kits.number(&item).map(|kit| KitItem::Kit(KitId(kit))));
    if found.is_none() && parts.complete && kits.complete {
        cells.findings.add_once(cells.at("item"), FaultCode::UnknownItem, &item, |suggest| {
            let meant = words::did_you_mean(&item, parts.iter().chain(kits.iter()), suggest);
            let help = format!("{meant}Parts are listed in parts.csv, kits under kit in this table.");
            Wrong::new(FaultCode::UnknownItem, format!("\"{item}\" is neither a part nor a kit."), help)
        });
    }
    Some((found?, quantity?))
}

fn check_cycles(list: &[Kit], rows: &HashMap<(u32, KitItem), Line>, findings: &mut Findings) {
    let called = |kit: &KitId| list.get(kit.index()).map_or("", |kit| kit.name.as_str());
    for cycle in kits::cycles(list) {
        let inner = cycle.iter().cycle().skip(1);
        let rows: Vec<Line> = cycle
            .iter()
            .zip(inner)
            .filter_map(|(outer, inner)| rows.get(&(outer.0, KitItem::Kit(*inner))).copied())
            .collect();
        let way: Vec<&str> = cycle.iter().chain(cycle.first()).map(called).collect();
        let message = format!("Kits hold each other in a circle: {}.", way.join(" -> "));
        let either = rows.iter().map(Line::to_string).collect::<Vec<_>>().join(" or ");
        let help = format!("Delete row {either}: a kit cannot hold itself.");
        let at = At { row: rows.first().and_then(|line| line.in_table()), ..At::file(KITS.file).column("item") };
        findings.add(at, Wrong::new(FaultCode::KitCycle, message, help));
    }
}

/// A kit of kits of kits may ask for more parts than can be counted; of kits within each other the innermost is told.
fn check_size(list: &[Kit], names: &Names, findings: &mut Findings) {
    let sizes = kits::sizes(list);
    let too_large = |kit: KitId| sizes.get(kit.index()).is_some_and(|size| *size > limits::ALL_PARTS);
    for (id, kit) in (0..).map(KitId).zip(list) {
        let within = kit.items.iter().any(|(item, _)| matches!(item, KitItem::Kit(inner) if too_large(*inner)));
        if too_large(id) && !within {
            let message = format!("One {} holds more than {} parts.", kit.name, number::grouped(limits::ALL_PARTS));
            let at =
                At { row: names.row(&kit.name).and_then(Line::in_table), ..At::file(KITS.file).column("quantity") };
            findings.add(at, Wrong::new(FaultCode::TooManyParts, message, "Check the quantities of what it holds."));
        }
    }
}
