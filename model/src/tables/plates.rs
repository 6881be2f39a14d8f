//! `plates.csv`: what goes on a printer at a time, a row for each plate, group and part.

use super::findings::{Findings, Wrong};
use super::names::Names;
use super::parts::Parts;
use super::sheet::{Line, Row, Sheet, Spec};
use super::stated::Stated;
use super::{limits, number};
use crate::fault::FaultCode;
use crate::instance::{GroupId, Handling, MaterialId, PartId, Plate, PlateOnGroup};
use crate::units::{Count, Minutes};
use std::collections::HashMap;

pub(super) const PLATES: Spec = Spec {
    file: "plates.csv",
    required: &["plate", "group", "part", "copies", "minutes"],
    optional: &["cool_minutes", "load_minutes", "harvest_minutes", "failure_rate"],
    may_be_empty: false,
};

/// Plates by name.
pub(super) struct Plates {
    pub(super) names: Names,
    pub(super) list: Vec<Plate>,
}

/// A plate while its rows come in.
#[derive(Default)]
struct Draft {
    /// The material of the first part, and that part's name and row.
    material: Option<(MaterialId, String, Line)>,
    on_groups: Vec<DraftOnGroup>,
}

struct DraftOnGroup {
    group: GroupId,
    copies: Vec<(PartId, Count)>,
    /// The row of each part's copies.
    rows: HashMap<PartId, Line>,
    minutes: Stated<Minutes>,
    cool: Stated<Minutes>,
    load: Stated<Minutes>,
    harvest: Stated<Minutes>,
    failure_rate: Stated<f64>,
}

/// Reads the plates; blank handling minutes become the farm's.
pub(super) fn read(
    sheet: &Sheet,
    groups: &Names,
    parts: &Parts,
    farm: Option<Handling>,
    findings: &mut Findings,
) -> Plates {
    let mut names = Names::new("a plate", "plates.csv", FaultCode::UnknownPlate);
    let mut drafts: Vec<Draft> = Vec::new();
    names.complete = sheet.complete;
    for row in sheet.rows() {
        match read_row(row, groups, parts, &mut names, &mut drafts, findings) {
            Some(()) => {}
            None => names.complete &= row.text("plate").is_some_and(|text| names.number(text).is_some()),
        }
    }
    let handling = farm.unwrap_or(Handling {
        load: Minutes::ZERO,
        harvest: Minutes::ZERO,
        changeover: Minutes::ZERO,
        pack_box: Minutes::ZERO,
    });
    let list = names.iter().zip(drafts).map(|(name, draft)| draft.plate(name, handling)).collect();
    Plates { names, list }
}

/// Takes in one row; nothing where it cannot be used.
fn read_row(
    row: Row<'_>,
    groups: &Names,
    parts: &Parts,
    names: &mut Names,
    drafts: &mut Vec<Draft>,
    findings: &mut Findings,
) -> Option<()> {
    let mut cells = row.cells(findings);
    let (name, group, part) = (cells.name("plate"), cells.name("group"), cells.name("part"));
    let copies = cells.count("copies", limits::COPIES);
    let minutes = cells.minutes("minutes", limits::PLATE_MINUTES);
    let cool = cells.optional_minutes("cool_minutes", limits::COOL_MINUTES);
    let load = cells.optional_minutes("load_minutes", limits::HANDLING);
    let harvest = cells.optional_minutes("harvest_minutes", limits::HANDLING);
    let failure_rate = cells.optional("failure_rate", number::share);

    let name = name?;
    let number = names.declare(&name, row.line) as usize;
    if number == drafts.len() {
        drafts.push(Draft::default());
    }
    let draft = drafts.get_mut(number)?;
    let group = group.and_then(|group| groups.find(&group, cells.at("group"), cells.findings)).map(GroupId);
    let part_id = part.as_ref().and_then(|part| parts.names.find(part, cells.at("part"), cells.findings)).map(PartId);
    if let (Some(part), Some(id)) = (&part, part_id) {
        draft.check_material(&name, part, id, row, parts, cells.findings);
    }
    let (group, part_id, group_name, part) = (group?, part_id?, row.text("group")?, part?);
    let on = draft.on(group);
    if let Some(first) = on.rows.insert(part_id, row.line) {
        let message = format!("Row {first} already says how many {part} are on plate {name} on group {group_name}.");
        cells.findings.add(row.at(), Wrong::new(FaultCode::DuplicateRow, message, "Keep one of the two rows."));
        return Some(());
    }
    let whose = format!("plate {name} on group {group_name}");
    on.minutes.take(minutes, row, "minutes", &whose, cells.findings);
    on.cool.take(cool, row, "cool_minutes", &whose, cells.findings);
    on.load.take(load, row, "load_minutes", &whose, cells.findings);
    on.harvest.take(harvest, row, "harvest_minutes", &whose, cells.findings);
    on.failure_rate.take(failure_rate, row, "failure_rate", &whose, cells.findings);
    on.copies.push((part_id, copies.unwrap_or(Count(1))));
    Some(())
}

impl Draft {
    /// A plate holds one material.
    fn check_material(
        &mut self,
        plate: &str,
        part: &str,
        id: PartId,
        row: Row<'_>,
        parts: &Parts,
        findings: &mut Findings,
    ) {
        let Some(material) = parts.material.get(id.index()).copied().flatten() else { return };
        let (first, other, other_row) = self.material.get_or_insert((material, part.to_owned(), row.line));
        if *first == material {
            return;
        }
        let called = |id: MaterialId| parts.materials.iter().nth(id.index()).unwrap_or_default().to_owned();
        let message = format!(
            "Plate {plate} holds two materials: {part} is printed in {}, {other} (row {other_row}) in {}.",
            called(material),
            called(*first)
        );
        let help = "Put parts of different materials on different plates.";
        findings.add(row.at_cell("part"), Wrong::new(FaultCode::MixedMaterials, message, help));
    }

    fn on(&mut self, group: GroupId) -> &mut DraftOnGroup {
        let place = self.on_groups.iter().position(|on| on.group == group).unwrap_or_else(|| {
            self.on_groups.push(DraftOnGroup {
                group,
                copies: Vec::new(),
                rows: HashMap::new(),
                minutes: Stated::default(),
                cool: Stated::default(),
                load: Stated::default(),
                harvest: Stated::default(),
                failure_rate: Stated::default(),
            });
            self.on_groups.len() - 1
        });
        &mut self.on_groups[place]
    }

    fn plate(self, name: &str, farm: Handling) -> Plate {
        let material = self.material.map_or(MaterialId(0), |(material, _, _)| material);
        let on_group = |on: DraftOnGroup| PlateOnGroup {
            group: on.group,
            copies: on.copies,
            minutes: on.minutes.value().unwrap_or(Minutes(1)),
            cool: on.cool.value().unwrap_or_default(),
            load: on.load.value().unwrap_or(farm.load),
            harvest: on.harvest.value().unwrap_or(farm.harvest),
            failure_rate: on.failure_rate.value().unwrap_or_default(),
        };
        Plate { name: name.to_owned(), material, on_groups: self.on_groups.into_iter().map(on_group).collect() }
    }
}
