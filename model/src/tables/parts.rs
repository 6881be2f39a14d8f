//! `parts.csv`: the printed pieces.

use super::findings::{Findings, Wrong};
use super::names::Names;
use super::sheet::{Sheet, Spec};
use super::{limits, number};
use crate::fault::FaultCode;
use crate::instance::{MaterialId, Part};

pub(super) const PARTS: Spec = Spec {
    file: "parts.csv",
    required: &["part", "material"],
    optional: &["grams", "finish_minutes", "per_bag", "reject_rate"],
    may_be_empty: false,
};

/// Parts and their materials.
pub(super) struct Parts {
    pub(super) names: Names,
    pub(super) materials: Names,
    pub(super) list: Vec<Part>,
    /// The material of each part, where its cell could be read.
    pub(super) material: Vec<Option<MaterialId>>,
}

/// Reads the parts.
pub(super) fn read(sheet: &Sheet, findings: &mut Findings) -> Parts {
    let mut names = Names::new("a part", "parts.csv", FaultCode::UnknownPart);
    let mut materials = Names::new("a material", "parts.csv", FaultCode::LookAlike);
    let (mut list, mut material_of) = (Vec::new(), Vec::new());
    names.complete = sheet.complete;
    for row in sheet.rows() {
        let mut cells = row.cells(findings);
        let (name, material) = (cells.name("part"), cells.name("material"));
        let material = material.map(|m| MaterialId(materials.mention(&m, cells.at("material"), cells.findings)));
        let grams = cells.optional("grams", |text| number::decimal(text, limits::GRAMS));
        let finish = cells.optional_minutes("finish_minutes", limits::FINISH_MINUTES).unwrap_or_default();
        let per_bag = cells.optional_count("per_bag", limits::PER_BAG);
        let reject_rate = cells.optional("reject_rate", number::share).unwrap_or_default();
        let Some(name) = name else {
            names.complete = false;
            continue;
        };
        if let Some(first) = names.row(&name) {
            let message = format!("The part \"{name}\" is already on row {first}.");
            let wrong = Wrong::new(FaultCode::DuplicateRow, message, "Keep one row for each part.");
            cells.findings.add(cells.at("part"), wrong);
            continue;
        }
        names.declare(&name, row.line);
        material_of.push(material);
        list.push(Part { name, material: material.unwrap_or(MaterialId(0)), grams, finish, per_bag, reject_rate });
    }
    Parts { names, materials, list, material: material_of }
}
