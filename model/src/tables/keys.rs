//! The keys of one section of `farm.toml`, each read as what it holds, with the row it stands on, and those of scenarios
//! laid over it.

use super::farm::{minutes, row_of, section_of};
use super::findings::{At, Findings, Wrong};
use super::number::{self, Amount, Whole};
use super::{folder, words};
use crate::fault::FaultCode;
use crate::rehearsal::ByGroup;
use crate::units::Minutes;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One text that says something of a section: `farm.toml`, or a scenario that changes it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layer<'d> {
    /// How faults call it.
    pub(super) file: &'d str,
    pub(super) text: &'d str,
    pub(super) table: &'d DeTable<'d>,
    /// What stands before the section's name in this file: nothing, or `farm.`.
    pub(super) within: &'static str,
    /// Whether a row number means anything to the planner.
    pub(super) numbered: bool,
}

impl<'d> Layer<'d> {
    fn row(&self, at: usize) -> Option<u64> {
        self.numbered.then(|| row_of(self.text, at))
    }

    /// The value as it stands in the text.
    fn written(&self, value: &Spanned<DeValue<'_>>) -> &'d str {
        self.text.get(value.span()).unwrap_or_default()
    }
}

/// A section being read.
pub(super) struct Section<'d, 'f> {
    /// The section's name; empty for the keys before the first section.
    name: &'static str,
    /// What says something of it; the last layer that has a key says its value.
    layers: Vec<Layer<'d>>,
    /// Known keys that an unknown one was taken for.
    meant: Vec<&'static str>,
    findings: &'f mut Findings,
}

/// A key's value and where it stands.
type Found<'d> = (Layer<'d>, &'d Spanned<DeValue<'d>>);

impl<'d, 'f> Section<'d, 'f> {
    /// Opens a section and tells of the keys it does not have.
    pub(super) fn new(
        name: &'static str,
        layers: Vec<Layer<'d>>,
        known: &'static [&'static str],
        findings: &'f mut Findings,
    ) -> Section<'d, 'f> {
        let mut section = Section { name, layers, meant: Vec::new(), findings };
        for layer in section.layers.clone() {
            for key in layer.table.keys().filter(|key| !known.contains(&key.get_ref().as_ref())) {
                section.unknown(layer, key, known);
            }
        }
        section
    }

    /// A section within this one.
    pub(super) fn section(
        &mut self,
        key: &'static str,
        known: &'static [&'static str],
        required: bool,
    ) -> Option<Section<'d, '_>> {
        let found: Vec<Found<'d>> =
            self.layers.iter().filter_map(|layer| Some((*layer, layer.table.get(key)?))).collect();
        if found.is_empty() && required {
            self.missing(key);
        }
        let mut layers = Vec::new();
        for found @ (layer, value) in found {
            match value.get_ref() {
                DeValue::Table(table) => layers.push(Layer { table, ..layer }),
                _ => {
                    let help = format!("Write [{}{key}] on a line of its own and its keys below.", layer.within);
                    self.wrong_type(key, found, "a section", help);
                    return None;
                }
            }
        }
        (!layers.is_empty()).then(|| Section::new(key, layers, known, self.findings))
    }

    /// Text that must be there.
    pub(super) fn required_text<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&str) -> Result<T, Wrong>,
    ) -> Option<T> {
        if self.find(key).is_none() {
            self.missing(key);
        }
        self.text(key, read)
    }

    /// Text that may be left out.
    pub(super) fn text<T>(&mut self, key: &'static str, read: impl FnOnce(&str) -> Result<T, Wrong>) -> Option<T> {
        let found = self.find(key)?;
        let DeValue::String(text) = found.1.get_ref() else {
            let written = found.0.written(found.1);
            self.wrong_type(key, found, "text", format!("Put it in double quotes: {key} = \"{written}\"."));
            return None;
        };
        let text = text.trim();
        let result = if text.is_empty() {
            Err(Wrong::new(FaultCode::BlankCell, format!("{key} is blank."), "Fill it in."))
        } else if text.contains(char::is_control) {
            Err(Wrong::new(FaultCode::ControlCharacter, format!("{key} holds a control character."), "Type it anew."))
        } else {
            read(text)
        };
        self.told(key, found, result)
    }

    /// A whole number that may be left out.
    pub(super) fn whole(&mut self, key: &'static str, range: Whole) -> Option<u64> {
        let found @ (layer, value) = self.find(key)?;
        let written = layer.written(value);
        match value.get_ref() {
            DeValue::Integer(_) | DeValue::Float(_) => {
                let plain = written.replace('_', "");
                self.told(key, found, number::whole(plain.strip_prefix('+').unwrap_or(&plain), range))
            }
            _ => {
                self.wrong_type(
                    key,
                    found,
                    "a whole number",
                    format!("Write it in digits without quotes, such as {key} = {}.", range.least.max(3)),
                );
                None
            }
        }
    }

    /// Minutes that may be left out.
    pub(super) fn minutes(&mut self, key: &'static str, range: Whole) -> Option<Minutes> {
        self.whole(key, range).map(minutes)
    }

    /// Minutes that must be there.
    pub(super) fn required_minutes(&mut self, key: &'static str, range: Whole) -> Option<Minutes> {
        if self.find(key).is_none() {
            self.missing(key);
        }
        self.minutes(key, range)
    }

    /// A decimal number; 0 where it is left out.
    pub(super) fn amount(&mut self, key: &'static str, range: Amount) -> f64 {
        let Some(found @ (layer, value)) = self.find(key) else { return 0.0 };
        let written = layer.written(value);
        match value.get_ref() {
            DeValue::Integer(_) | DeValue::Float(_) => {
                let plain = written.replace('_', "");
                let read = number::decimal(plain.strip_prefix('+').unwrap_or(&plain), range);
                self.told(key, found, read).unwrap_or_default()
            }
            _ => {
                self.wrong_type(
                    key,
                    found,
                    "a number",
                    format!("Write it without quotes and with a point, such as {key} = 0.35."),
                );
                0.0
            }
        }
    }

    /// A share, 0 or more and below 1, that must be there.
    pub(super) fn required_share(&mut self, key: &'static str) -> Option<f64> {
        let Some(found @ (layer, value)) = self.find(key) else {
            self.missing(key);
            return None;
        };
        let written = layer.written(value);
        match value.get_ref() {
            DeValue::Integer(_) | DeValue::Float(_) => {
                let plain = written.replace('_', "");
                self.told(key, found, number::share(plain.strip_prefix('+').unwrap_or(&plain)))
            }
            _ => {
                self.wrong_type(
                    key,
                    found,
                    "a number",
                    format!("Write it without quotes and with a point, such as {key} = 0.95."),
                );
                None
            }
        }
    }

    /// A decimal number that may be left out.
    pub(super) fn optional_amount(&mut self, key: &'static str, range: Amount) -> Option<f64> {
        self.find(key).map(|_| self.amount(key, range))
    }

    /// A decimal number, or one for each of several names (`key = { small = 1500, large = 900 }`); what it leaves out is
    /// as usual.
    pub(super) fn by_name(&mut self, key: &'static str, range: Amount, usual: ByGroup) -> ByGroup {
        let Some((layer, value)) = self.find(key) else { return usual };
        let DeValue::Table(named) = value.get_ref() else {
            return ByGroup { all: self.amount(key, range), named: Vec::new() };
        };
        let mut all = Vec::new();
        for (name, value) in named {
            let plain = layer.written(value).replace('_', "");
            let read = number::decimal(plain.strip_prefix('+').unwrap_or(&plain), range);
            if let Some(amount) = self.told(key, (layer, value), read) {
                all.push((name.get_ref().clone().into_owned(), amount));
            }
        }
        ByGroup { named: all, ..usual }
    }

    /// `true` or `false`, which may be left out.
    pub(super) fn flag(&mut self, key: &'static str) -> Option<bool> {
        let found = self.find(key)?;
        let DeValue::Boolean(flag) = found.1.get_ref() else {
            self.wrong_type(
                key,
                found,
                "true or false",
                format!("Write {key} = true or {key} = false, without quotes."),
            );
            return None;
        };
        Some(*flag)
    }

    /// A key's value: the last layer's that has it.
    fn find(&self, key: &str) -> Option<Found<'d>> {
        self.layers.iter().rev().find_map(|layer| Some((*layer, layer.table.get(key)?)))
    }

    /// The key's full name: `handling.load`.
    fn full(&self, key: &str) -> String {
        if self.name.is_empty() { key.to_owned() } else { format!("{}.{key}", self.name) }
    }

    fn tell(&mut self, key: &str, layer: Layer<'_>, row: Option<u64>, wrong: Wrong) {
        let full = format!("{}{}", layer.within, self.full(key));
        self.findings.add(At { file: layer.file, row, column: Some(&full) }, wrong);
    }

    fn told<T>(&mut self, key: &str, (layer, value): Found<'_>, result: Result<T, Wrong>) -> Option<T> {
        let row = layer.row(value.span().start);
        result.map_err(|wrong| self.tell(key, layer, row, wrong)).ok()
    }

    fn wrong_type(&mut self, key: &str, (layer, value): Found<'_>, wanted: &str, help: String) {
        let written: String = layer.written(value).chars().take(40).filter(|c| !c.is_control()).collect();
        let row = layer.row(value.span().start);
        self.tell(key, layer, row, Wrong::new(FaultCode::WrongType, format!("{written} is not {wanted}."), help));
    }

    fn missing(&mut self, key: &'static str) {
        if self.meant.contains(&key) {
            return;
        }
        let help = match key {
            "name" => "Add it: name = \"Harbour Street print room\".",
            "time_zone" => "Add it: time_zone = \"Europe/Lisbon\".",
            "start" => "Add it: start = \"2026-03-02T07:00\".",
            "handling" => "Add [handling] with load = 3 and harvest = 4: the minutes that one operator takes.",
            "confidence" => "Add it below [spares]: confidence = 0.95; or delete the section.",
            "load" => "Add it below [handling]: load = 3.",
            _ => "Add it below [handling]: harvest = 4.",
        };
        let full = self.full(key);
        let wrong = Wrong::new(FaultCode::MissingKey, "The key is missing.", help);
        self.findings.add(At::file(folder::FARM).column(&full), wrong);
    }

    fn unknown(&mut self, layer: Layer<'_>, key: &Spanned<std::borrow::Cow<'_, str>>, known: &'static [&'static str]) {
        let row = layer.row(key.span().start);
        let key: String = key.get_ref().chars().take(100).filter(|c| !c.is_control()).collect();
        let meant = words::closest(&key, known.iter().copied());
        let place = if self.name.is_empty() {
            match layer.within {
                "" => "the keys before the first section".to_owned(),
                _ => "the keys of farm.toml before its first section".to_owned(),
            }
        } else {
            format!("[{}{}]", layer.within, self.name)
        };
        let help = match (meant, section_of(&key)) {
            (_, Some(section)) if section != self.name => format!("Move it below [{}{section}].", layer.within),
            (Some(meant), _) => format!("Did you mean {meant}? Known are {}.", words::listed(known.iter().copied())),
            _ => format!("Delete it. Known are {}.", words::listed(known.iter().copied())),
        };
        self.meant.extend(meant);
        let wrong = Wrong::new(FaultCode::UnknownKey, format!("\"{key}\" is not one of {place}."), help);
        self.tell(&key, layer, row, wrong);
    }
}
