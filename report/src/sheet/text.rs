//! A sheet as plain text, for a terminal.

use super::leaving::{Handover, Left, OnPrinter};
use super::{Into, MaterialNeed, Off, On, Round, Sheet, Stop};
use crate::html::cautions::{CAUTIONS, WHO_DECIDES};
use crate::ledger::Ledger;
use crate::ledger::words::{box_contents, box_name, many};
use crate::page::{Grid, Lean, Page, clip};
use crate::wall::Wall;
use platewright_model::{Instance, Instant, Minutes};

/// So many columns for a name that is not the first of its row.
const NAME: usize = 18;

/// How to read a sheet, for people who were not there when it was explained.
pub const LEGEND: &str = "In a round, walk the stops as they are listed. Beside the time stands a stop's leeway: done \
                          later than that it moves other things in the plan; sharp means that it has none. What is \
                          written down goes into the log under the same words: harvested with good and rejected, \
                          failed, loaded.";

/// The sheet.
pub fn text(instance: &Instance, ledger: &Ledger, sheet: &Sheet) -> String {
    let mut page = Page::new(&title(instance, sheet));
    page.blank();
    page.say(&format!("{}. {}", instance.farm.name, on_shift(instance, sheet)));
    page.say(&amount(sheet));
    if !sheet.is_idle() {
        page.say(&format!("Bags, trays and boxes of this plan end with {}.", ledger.mark));
        page.blank();
        page.say(LEGEND);
    }
    for material in &sheet.materials {
        page.item(&material_said(material));
    }
    for (number, round) in (1..).zip(&sheet.rounds) {
        tell_round(instance, ledger, (number, round), sheet.from(), &mut page);
    }
    boxes(instance, ledger, sheet, &mut page);
    before_leaving(instance, &sheet.left, &mut page);
    handover(instance, sheet.handover.as_ref(), &mut page);
    page.heading("Cautions");
    CAUTIONS.iter().for_each(|caution| page.item(&format!("{} {}", caution.title, caution.words)));
    page.say(WHO_DECIDES);
    page.text()
}

/// `Shift sheet: early, Monday 2 March 2026`.
pub fn title(instance: &Instance, sheet: &Sheet) -> String {
    let crew = instance.crews.get(sheet.crew.index()).map_or("", String::as_str);
    format!("Shift sheet: {crew}, {}", sheet.date.format("%A %-d %B %Y"))
}

/// Who is on and when.
pub fn on_shift(instance: &Instance, sheet: &Sheet) -> String {
    let wall = Wall::of(instance);
    let spans: Vec<String> =
        sheet.spans.iter().map(|s| format!("{} to {}", wall.time(s.from), wall.time(s.to))).collect();
    format!("On shift {}: {}.", spans.join(" and "), sheet.operators.join(", "))
}

/// How much there is to do.
pub fn amount(sheet: &Sheet) -> String {
    if sheet.is_idle() {
        return "The plan has nothing for this shift to do.".to_owned();
    }
    format!(
        "{} in {}, {} to pack.",
        many(sheet.stops(), "stop", "stops"),
        many(sheet.rounds.len(), "round", "rounds"),
        many(sheet.boxes.len(), "box", "boxes")
    )
}

/// What to fetch of a material.
pub fn material_said(need: &MaterialNeed) -> String {
    let grams = match need.grams {
        Some(grams) if grams >= 1000.0 => format!(", {:.1} kg", grams / 1000.0),
        Some(grams) => format!(", {grams:.0} g"),
        None => String::new(),
    };
    let changeovers = match need.changeovers {
        0 => String::new(),
        count => format!(", {}", many(count, "changeover to it", "changeovers to it")),
    };
    format!("{}: {}{changeovers}{grams}", need.material, many(need.loads, "load", "loads"))
}

/// The heading of a round.
pub fn round_title(instance: &Instance, number: usize, round: &Round) -> String {
    let wall = Wall::of(instance);
    let order = if round.in_walking_order { "" } else { ", back and forth" };
    let (from, to) = (wall.time(round.span.from), wall.time(round.span.to));
    format!("Round {number}: {}, {from} to {to}{order}", round.operator)
}

fn tell_round(instance: &Instance, ledger: &Ledger, (number, round): (usize, &Round), begun: Instant, page: &mut Page) {
    page.heading(&round_title(instance, number, round));
    for stop in &round.stops {
        let wall = Wall::of(instance);
        let bay = stop.bay.as_ref().map_or_else(String::new, |bay| format!(", bay {bay}"));
        page.tick(&format!("{}  {}{bay}  ({})", wall.time(stop.at), stop.printer, leeway(instance, stop, begun)));
        if let Some(off) = &stop.off {
            page.under_tick(&format!("off  {}", off_said(ledger, off)));
            page.under_tick("     good ____  rejected ____  failed [ ]");
        }
        if let Some(on) = &stop.on {
            page.under_tick(&format!("on   {}", on_said(instance, on)));
        }
    }
}

/// When a stop may be done in a shift that began at a minute: `07:13 to 07:20`, `by 07:20` where it might have been done
/// before the crew came, the day said where it is another than the stop's.
pub fn leeway(instance: &Instance, stop: &Stop, begun: Instant) -> String {
    let wall = Wall::of(instance);
    let clock = &instance.farm.clock;
    let day = clock.stamp(stop.at).date_naive();
    if stop.earliest == stop.latest {
        return format!("{} sharp", wall.time(stop.at));
    }
    let said = |at| if clock.stamp(at).date_naive() == day { wall.time(at) } else { wall.say(at) };
    let last = (stop.latest <= stop.at + Minutes::DAY).then(|| said(stop.latest));
    match (stop.earliest > begun, last) {
        (true, Some(last)) => format!("{} to {last}", said(stop.earliest)),
        (true, None) => format!("from {}", said(stop.earliest)),
        (false, Some(last)) => format!("by {last}"),
        (false, None) => "at any time".to_owned(),
    }
}

/// What comes off and where it goes.
pub fn off_said(ledger: &Ledger, off: &Off) -> String {
    let parts: Vec<String> = off
        .parts
        .iter()
        .map(|part| {
            let into: Vec<String> = part.into.iter().map(|into| into_said(ledger, into, part.into.len() > 1)).collect();
            let how = if into.len() > 1 { ", count" } else { " into" };
            format!("{} {}{how} {}", part.count, part.part, into.join(", "))
        })
        .collect();
    format!("{} {}: {}", off.run, off.plate, parts.join("; "))
}

/// A bag or tray to put copies into: `BAG-0004 (new)`, or `12 into BAG-0004 (close it)` where they are counted out.
pub fn into_said(ledger: &Ledger, into: &Into, counted: bool) -> String {
    let number = ledger.short_of(into.lot);
    let count = if counted { format!("{} into {number}", into.count) } else { number.to_owned() };
    match (into.begins, into.closes) {
        (true, true) => format!("{count} (new, close it)"),
        (true, false) => format!("{count} (new)"),
        (false, true) => format!("{count} (close it)"),
        (false, false) => count,
    }
}

/// What goes on.
pub fn on_said(instance: &Instance, on: &On) -> String {
    let changeover = if on.changeover { format!("CHANGEOVER to {}", on.material) } else { on.material.clone() };
    format!("{} {}, {changeover}; ready {}", on.run, on.plate, Wall::of(instance).say(on.ready))
}

fn boxes(instance: &Instance, ledger: &Ledger, sheet: &Sheet, page: &mut Page) {
    if sheet.boxes.is_empty() {
        return;
    }
    let wall = Wall::of(instance);
    page.heading("Boxes to pack");
    for stop in &sheet.boxes {
        let Some(packed) = ledger.boxes.get(stop.packed) else { continue };
        page.tick(&format!(
            "{}  {}, {}: {}",
            wall.time(stop.span.from),
            stop.operator,
            ledger.short(&packed.id),
            box_name(packed)
        ));
        for (content, from) in box_contents(ledger, packed) {
            page.under_tick(&format!("{content}: {from}"));
        }
    }
}

fn before_leaving(instance: &Instance, left: &Left, page: &mut Page) {
    page.heading("Before leaving");
    if !left.must_be_on.is_empty() {
        page.say("Must be on and printing, loaded in this shift:");
        page.table(&on_printers(instance, &left.must_be_on, "ready"));
    }
    let lists = [
        ("On since before", names(&left.still_on)),
        ("Ready and left for others", names(&left.waiting)),
        ("Left empty by the plan", left.empty.join(", ")),
        ("Down", left.down.join(", ")),
    ];
    for (what, printers) in lists {
        if !printers.is_empty() {
            page.say(&format!("{what}: {printers}."));
        }
    }
}

fn names(on: &[OnPrinter]) -> String {
    on.iter().map(|on| on.printer.as_str()).collect::<Vec<_>>().join(", ")
}

/// The words above the handover.
pub fn handover_said(instance: &Instance, handover: &Handover) -> String {
    let ready = match handover.ready.len() {
        0 => "Nothing is ready then.".to_owned(),
        count => format!("{} then:", many(count, "printer is ready", "printers are ready")),
    };
    format!("For {}, on {}. {ready}", handover.crews.join(" and "), Wall::of(instance).say(handover.at))
}

/// What is ready within the hour after.
pub fn soon_said(instance: &Instance, handover: &Handover) -> String {
    let wall = Wall::of(instance);
    let soon: Vec<String> = handover.soon.iter().map(|on| format!("{} {}", on.printer, wall.time(on.ready))).collect();
    if soon.is_empty() { String::new() } else { format!("Ready within the hour after: {}.", soon.join(", ")) }
}

fn handover(instance: &Instance, handover: Option<&Handover>, page: &mut Page) {
    page.heading("Handover");
    let Some(handover) = handover else {
        page.say("Nobody comes after this shift before the plan ends.");
        return;
    };
    page.say(&handover_said(instance, handover));
    page.table(&on_printers(instance, &handover.ready, "ready since"));
    let soon = soon_said(instance, handover);
    if !soon.is_empty() {
        page.say(&soon);
    }
}

fn on_printers(instance: &Instance, on: &[OnPrinter], ready: &str) -> Grid {
    let wall = Wall::of(instance);
    let mut grid =
        Grid::new([("printer", Lean::Left), ("run", Lean::Left), ("plate", Lean::Left), (ready, Lean::Left)]);
    for on in on {
        grid.row([on.printer.clone(), on.run.clone(), clip(&on.plate, NAME), wall.column(on.ready)]);
    }
    grid
}
