//! The keys of one section of `farm.toml`, each read as what it holds, with the row it stands on.

use super::farm::{minutes, row_of, section_of};
use super::findings::{At, Findings, Wrong};
use super::number::{self, Amount, Whole};
use super::{folder, words};
use crate::fault::FaultCode;
use crate::rehearsal::ByGroup;
use crate::units::Minutes;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A section being read.
pub(super) struct Section<'d, 'f> {
    text: &'d str,
    /// The section's name; empty for the keys before the first section.
    name: &'static str,
    table: &'d DeTable<'d>,
    /// Known keys that an unknown one was taken for.
    meant: Vec<&'static str>,
    findings: &'f mut Findings,
}

impl<'d, 'f> Section<'d, 'f> {
    /// Opens a section and tells of the keys it does not have.
    pub(super) fn new(
        text: &'d str,
        name: &'static str,
        table: &'d DeTable<'d>,
        known: &'static [&'static str],
        findings: &'f mut Findings,
    ) -> Section<'d, 'f> {
        let mut section = Section { text, name, table, meant: Vec::new(), findings };
        for key in table.keys() {
            if !known.contains(&key.get_ref().as_ref()) {
                section.unknown(key, known);
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
        match self.table.get(key) {
            None if required => {
                self.missing(key);
                None
            }
            None => None,
            Some(value) => match value.get_ref() {
                DeValue::Table(table) => Some(Section::new(self.text, key, table, known, self.findings)),
                _ => {
                    self.wrong_type(
                        key,
                        value,
                        "a section",
                        format!("Write [{key}] on a line of its own and its keys below."),
                    );
                    None
                }
            },
        }
    }

    /// Text that must be there.
    pub(super) fn required_text<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&str) -> Result<T, Wrong>,
    ) -> Option<T> {
        if self.table.get(key).is_none() {
            self.missing(key);
        }
        self.text(key, read)
    }

    /// Text that may be left out.
    pub(super) fn text<T>(&mut self, key: &'static str, read: impl FnOnce(&str) -> Result<T, Wrong>) -> Option<T> {
        let value = self.table.get(key)?;
        let DeValue::String(text) = value.get_ref() else {
            let written = self.written(value);
            self.wrong_type(key, value, "text", format!("Put it in double quotes: {key} = \"{written}\"."));
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
        self.told(key, value, result)
    }

    /// A whole number that may be left out.
    pub(super) fn whole(&mut self, key: &'static str, range: Whole) -> Option<u64> {
        let value = self.table.get(key)?;
        let written = self.written(value);
        match value.get_ref() {
            DeValue::Integer(_) | DeValue::Float(_) => {
                let plain = written.replace('_', "");
                self.told(key, value, number::whole(plain.strip_prefix('+').unwrap_or(&plain), range))
            }
            _ => {
                self.wrong_type(
                    key,
                    value,
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
        if self.table.get(key).is_none() {
            self.missing(key);
        }
        self.minutes(key, range)
    }

    /// A decimal number; 0 where it is left out.
    pub(super) fn amount(&mut self, key: &'static str, range: Amount) -> f64 {
        let Some(value) = self.table.get(key) else { return 0.0 };
        let written = self.written(value);
        match value.get_ref() {
            DeValue::Integer(_) | DeValue::Float(_) => {
                let plain = written.replace('_', "");
                let read = number::decimal(plain.strip_prefix('+').unwrap_or(&plain), range);
                self.told(key, value, read).unwrap_or_default()
            }
            _ => {
                self.wrong_type(
                    key,
                    value,
                    "a number",
                    format!("Write it without quotes and with a point, such as {key} = 0.35."),
                );
                0.0
            }
        }
    }

    /// A decimal number that may be left out.
    pub(super) fn optional_amount(&mut self, key: &'static str, range: Amount) -> Option<f64> {
        self.table.get(key).map(|_| self.amount(key, range))
    }

    /// A decimal number, or one for each of several names (`key = { small = 1500, large = 900 }`); what it leaves out is
    /// as usual.
    pub(super) fn by_name(&mut self, key: &'static str, range: Amount, usual: ByGroup) -> ByGroup {
        let Some(value) = self.table.get(key) else { return usual };
        let DeValue::Table(named) = value.get_ref() else {
            return ByGroup { all: self.amount(key, range), named: Vec::new() };
        };
        let mut all = Vec::new();
        for (name, value) in named {
            let plain = self.written(value).replace('_', "");
            let read = number::decimal(plain.strip_prefix('+').unwrap_or(&plain), range);
            if let Some(amount) = self.told(key, value, read) {
                all.push((name.get_ref().clone().into_owned(), amount));
            }
        }
        ByGroup { named: all, ..usual }
    }

    /// `true` or `false`, which may be left out.
    pub(super) fn flag(&mut self, key: &'static str) -> Option<bool> {
        let value = self.table.get(key)?;
        let DeValue::Boolean(flag) = value.get_ref() else {
            self.wrong_type(
                key,
                value,
                "true or false",
                format!("Write {key} = true or {key} = false, without quotes."),
            );
            return None;
        };
        Some(*flag)
    }

    /// The value as it stands in the file.
    fn written(&self, value: &Spanned<DeValue<'_>>) -> &'d str {
        self.text.get(value.span()).unwrap_or_default()
    }

    /// The key's full name: `handling.load`.
    fn full(&self, key: &str) -> String {
        if self.name.is_empty() { key.to_owned() } else { format!("{}.{key}", self.name) }
    }

    fn tell(&mut self, key: &str, row: Option<u64>, wrong: Wrong) {
        let full = self.full(key);
        self.findings.add(At { file: folder::FARM, row, column: Some(&full) }, wrong);
    }

    fn told<T>(&mut self, key: &str, value: &Spanned<DeValue<'_>>, result: Result<T, Wrong>) -> Option<T> {
        let row = row_of(self.text, value.span().start);
        result.map_err(|wrong| self.tell(key, Some(row), wrong)).ok()
    }

    fn wrong_type(&mut self, key: &str, value: &Spanned<DeValue<'_>>, wanted: &str, help: String) {
        let written: String = self.written(value).chars().take(40).filter(|c| !c.is_control()).collect();
        let row = row_of(self.text, value.span().start);
        self.tell(key, Some(row), Wrong::new(FaultCode::WrongType, format!("{written} is not {wanted}."), help));
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
            "load" => "Add it below [handling]: load = 3.",
            _ => "Add it below [handling]: harvest = 4.",
        };
        self.tell(key, None, Wrong::new(FaultCode::MissingKey, "The key is missing.", help));
    }

    fn unknown(&mut self, key: &Spanned<std::borrow::Cow<'_, str>>, known: &'static [&'static str]) {
        let row = row_of(self.text, key.span().start);
        let key: String = key.get_ref().chars().take(100).filter(|c| !c.is_control()).collect();
        let meant = words::closest(&key, known.iter().copied());
        let place = if self.name.is_empty() {
            "the keys before the first section".to_owned()
        } else {
            format!("[{}]", self.name)
        };
        let help = match (meant, section_of(&key)) {
            (_, Some(section)) if section != self.name => format!("Move it below [{section}]."),
            (Some(meant), _) => format!("Did you mean {meant}? Known are {}.", words::listed(known.iter().copied())),
            _ => format!("Delete it. Known are {}.", words::listed(known.iter().copied())),
        };
        self.meant.extend(meant);
        let wrong = Wrong::new(FaultCode::UnknownKey, format!("\"{key}\" is not one of {place}."), help);
        self.tell(&key, Some(row), wrong);
    }
}
