//! `farm.toml`: the farm itself.

use super::findings::{At, Findings, Wrong};
use super::keys::{Layer, Section};
use super::{folder, limits, moment, rehearsal, words};
use crate::calendar::Clock;
use crate::fault::FaultCode;
use crate::instance::{Costs, Farm, Handling, Spares, Unattended};
use crate::overlay::Overlay;
use crate::units::{Count, Minutes};
use chrono_tz::{TZ_VARIANTS, Tz};
use toml::de::{DeTable, DeValue};

const ROOT: [&str; 10] = [
    "name",
    "time_zone",
    "start",
    "horizon_days",
    "handling",
    "unattended",
    "counting",
    "costs",
    "spares",
    "rehearsal",
];
const HANDLING: [&str; 4] = ["load", "harvest", "changeover", "pack_box"];
const UNATTENDED: [&str; 3] = ["allowed", "max_printers", "max_minutes"];
const COUNTING: [&str; 1] = ["whole_plates_per_bag"];
const SPARES: [&str; 1] = ["confidence"];
const COSTS: [&str; 7] =
    ["currency", "printer_hour", "operator_hour", "night_premium", "filament_kg", "energy_kwh", "printer_watts"];
const REHEARSAL: [&str; 4] = ["print_spread", "late_minutes", "breaks_after_hours", "repair_hours"];

/// Where a key belongs that stands in the wrong section.
pub(super) fn section_of(key: &str) -> Option<&'static str> {
    let sections = [
        ("handling", &HANDLING[..]),
        ("unattended", &UNATTENDED),
        ("counting", &COUNTING),
        ("costs", &COSTS),
        ("spares", &SPARES),
        ("rehearsal", &REHEARSAL),
    ];
    sections.into_iter().find(|(_, keys)| keys.contains(&key)).map(|(section, _)| section)
}

/// Reads the farm; nothing where a key it cannot do without is missing or wrong.
pub(super) fn read(text: &str, overlays: &[Overlay], findings: &mut Findings) -> Option<Farm> {
    let document = parse(text, folder::FARM, findings);
    let keys = || overlays.iter().flat_map(|overlay| overlay.farm.iter().map(move |keys| (overlay, keys)));
    let laid_over: Vec<_> = keys().map(|(overlay, keys)| parse(&keys.text, &overlay.file, findings)).collect();

    let own = document.as_ref().map(DocTable::get_ref)?;
    let mut layers = vec![Layer { file: folder::FARM, text, table: own, within: "", numbered: true }];
    for ((overlay, keys), document) in keys().zip(&laid_over) {
        let (file, text, root) = (&*overlay.file, keys.text.as_str(), document.as_ref().map(DocTable::get_ref)?);
        match (keys.in_section, root.get("farm").map(|value| value.get_ref())) {
            (false, _) => layers.push(Layer { file, text, table: root, within: "", numbered: false }),
            (true, Some(DeValue::Table(table))) => {
                layers.push(Layer { file, text, table, within: "farm.", numbered: true });
            }
            (true, _) => {}
        }
    }
    let mut root = Section::new("", layers, &ROOT, findings);
    let name = root.required_text("name", words::name);
    let clock = root.required_text("time_zone", zone).map(Clock::new);
    let start = root.required_text("start", |text| match clock {
        Some(clock) => moment::instant(text, clock).map(Some),
        None => moment::wall(text).map(|_| None),
    });
    let horizon_days = root.whole("horizon_days", limits::HORIZON_DAYS).unwrap_or(60);

    let handling = root.section("handling", &HANDLING, true).map(|mut section| {
        let load = section.required_minutes("load", limits::HANDLING);
        let harvest = section.required_minutes("harvest", limits::HANDLING);
        let changeover = section.minutes("changeover", limits::HANDLING).unwrap_or_default();
        let pack_box = section.minutes("pack_box", limits::HANDLING).unwrap_or_default();
        Some(Handling { load: load?, harvest: harvest?, changeover, pack_box })
    });
    let mut unattended = Unattended { allowed: true, max_printers: None, max_minutes: None };
    if let Some(mut section) = root.section("unattended", &UNATTENDED, false) {
        unattended.allowed = section.flag("allowed").unwrap_or(true);
        unattended.max_printers = section.whole("max_printers", limits::UNATTENDED_PRINTERS).map(Count);
        unattended.max_minutes = section.minutes("max_minutes", limits::UNATTENDED_MINUTES);
    }
    let counting = root.section("counting", &COUNTING, false);
    let whole_plates_per_bag = counting.and_then(|mut section| section.flag("whole_plates_per_bag")).unwrap_or(false);
    let costs = root.section("costs", &COSTS, false).map(|mut section| Costs {
        currency: section.text("currency", words::name).unwrap_or_else(|| "money".to_owned()),
        printer_hour: section.amount("printer_hour", limits::MONEY),
        operator_hour: section.amount("operator_hour", limits::MONEY),
        night_premium: section.amount("night_premium", limits::MONEY),
        filament_kg: section.amount("filament_kg", limits::MONEY),
        energy_kwh: section.amount("energy_kwh", limits::MONEY),
        printer_watts: section.amount("printer_watts", limits::MONEY),
    });
    let spares = root
        .section("spares", &SPARES, false)
        .and_then(|mut section| Some(Spares { confidence: section.required_share("confidence")? }));
    let rehearsal = rehearsal::read(root.section("rehearsal", &REHEARSAL, false));
    Some(Farm {
        name: name?,
        clock: clock?,
        start: start??,
        horizon_days: u32::try_from(horizon_days).unwrap_or(u32::MAX),
        handling: handling??,
        unattended,
        whole_plates_per_bag,
        costs,
        spares,
        rehearsal,
    })
}

/// A document with the places of its keys.
type DocTable<'d> = toml::Spanned<DeTable<'d>>;

/// The document of a text; its errors are told.
pub(crate) fn parse<'d>(text: &'d str, file: &str, findings: &mut Findings) -> Option<DocTable<'d>> {
    let (document, errors) = DeTable::parse_recoverable(text);
    let sound = errors.is_empty();
    let mut last = None;
    for error in errors {
        let row = error.span().map(|span| row_of(text, span.start));
        // One slip often makes several errors on its row; the first names it.
        if row.is_none() || row != last {
            findings.add(At { row, ..At::file(file) }, syntax(error.message()));
        }
        last = row;
    }
    sound.then_some(document)
}

/// The editor's number of the line at a byte.
pub(crate) fn row_of(text: &str, at: usize) -> u64 {
    1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count() as u64
}

fn zone(text: &str) -> Result<Tz, Wrong> {
    text.parse().map_err(|_| {
        let names = || TZ_VARIANTS.iter().map(|zone| zone.name());
        let city = names().find(|name| name.rsplit('/').next().is_some_and(|city| city.eq_ignore_ascii_case(text)));
        let meant = city.or_else(|| words::closest(text, names()));
        let help = match meant {
            Some(meant) => format!("Did you mean \"{meant}\"?"),
            None => "Write an IANA zone: region and city, such as \"Europe/Lisbon\".".to_owned(),
        };
        Wrong::new(FaultCode::UnknownZone, format!("\"{text}\" is not a time zone."), help)
    })
}

fn syntax(what: &str) -> Wrong {
    let message = format!("The file cannot be read as TOML here: {what}.");
    Wrong::new(
        FaultCode::TomlSyntax,
        message,
        "Write each key as key = value, text in double quotes, sections as [handling].",
    )
}

/// `Minutes` from a range that ends far below the largest `i64`.
pub(super) fn minutes(number: u64) -> Minutes {
    Minutes(i64::try_from(number).unwrap_or(i64::MAX))
}
