//! `ledger`: which runs fill which bag, tray and box, and a lot traced to its printers or a printer to its lots.

use crate::checked_plan;
use crate::exit::Exit;
use crate::floor_args::{LedgerArgs, LedgerTable};
use crate::objects::{ledger as object, stamp};
use crate::refusal::Refusal;
use crate::voice::Voice;
use platewright_model::plan::Run;
use platewright_model::{Instance, Plan};
use platewright_report::ledger::{self, BoxLot, Ledger, Lot, told, trace};
use platewright_report::span::Span;
use platewright_report::wall::Wall;
use std::collections::{BTreeMap, BTreeSet};

/// Runs the command.
///
/// # Errors
/// Unusable tables or plan, or a lot, run or printer that the plan does not have.
pub fn run(args: &LedgerArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let (instance, plan) = checked_plan::read(&args.of.folder, &args.of.plan)?;
    let ledger = of(&instance, &plan)?;
    if let Some(table) = args.csv {
        voice.result(&csv(&instance, &ledger, table)?);
        return Ok(Exit::Done);
    }
    if let Some(words) = &args.lot {
        lot(&instance, &plan, &ledger, words, args.json, voice)?;
    } else if let Some((runs, about)) = runs(&instance, &plan, args)? {
        if args.json {
            voice.object(&found(&instance, &ledger, &runs));
        } else {
            voice.result(&told::page_of_runs(&instance, &plan, &ledger, &runs, &about));
        }
    } else if args.json {
        voice.object(&object::of(&instance, &ledger, &ledger.lots, &ledger.boxes));
    } else {
        voice.result(&told::page(&instance, &plan, &ledger));
    }
    Ok(Exit::Done)
}

/// The ledger of a plan.
///
/// # Errors
/// More lots than anybody could label.
pub fn of(instance: &Instance, plan: &Plan) -> Result<Ledger, Refusal> {
    ledger::ledger(instance, plan).map_err(|error| Refusal::Call {
        message: error.to_string(),
        help: "check per_bag in parts.csv and per_box in shipments.csv".to_owned(),
    })
}

fn lot(
    instance: &Instance,
    plan: &Plan,
    ledger: &Ledger,
    words: &str,
    json: bool,
    voice: &mut Voice,
) -> Result<(), Refusal> {
    let id = ledger.full(words);
    if let Some((at, lot)) = trace::lot(ledger, &id) {
        if json {
            voice.object(&object::of(instance, ledger, [lot], trace::boxes_from(ledger, at)));
        } else {
            voice.result(&told::page_of_lot(instance, plan, ledger, at, lot));
        }
    } else if let Some(packed) = trace::box_lot(ledger, &id) {
        if json {
            voice.object(&object::of(instance, ledger, None, [packed]));
        } else {
            voice.result(&told::page_of_box(instance, plan, ledger, packed));
        }
    } else {
        return Err(Refusal::Call {
            message: format!("this plan has no lot {words}"),
            help: format!(
                "its lots are numbered from BAG-0001, TRAY-0001 and BOX-0001 and end with {}; a label that ends \
                 otherwise is of another plan",
                ledger.mark
            ),
        });
    }
    Ok(())
}

/// The runs that are asked for, and what to call them.
fn runs<'p>(instance: &Instance, plan: &'p Plan, args: &LedgerArgs) -> Result<Option<(Vec<&'p Run>, String)>, Refusal> {
    if let Some(name) = &args.run {
        let found: Vec<&Run> = plan.runs.iter().filter(|run| run.run == *name).collect();
        if found.is_empty() {
            return Err(Refusal::Call {
                message: format!("this plan has no run {name}"),
                help: "runs.csv lists them".to_owned(),
            });
        }
        return Ok(Some((found, format!("Where the copies of {name} went"))));
    }
    let Some(printer) = &args.printer else { return Ok(None) };
    if !instance.printers.iter().any(|known| known.name == *printer) {
        return Err(Refusal::Call {
            message: format!("there is no printer {printer}"),
            help: "printers.csv lists them".to_owned(),
        });
    }
    let whole = Span::of_plan(instance, plan);
    let from = args.from.as_deref().map_or(Ok(whole.from), |words| time(instance, words))?;
    let to = args.to.as_deref().map_or(Ok(whole.to), |words| time(instance, words))?;
    if to <= from {
        return Err(Refusal::Call {
            message: "the hours end before they begin".to_owned(),
            help: "give --from a time before that of --to".to_owned(),
        });
    }
    let span = Span { from, to };
    Ok(Some((trace::runs_on(plan, printer, span), told::stretch(instance, printer, span))))
}

fn time(instance: &Instance, words: &str) -> Result<platewright_model::Instant, Refusal> {
    Wall::of(instance).read(words).ok_or_else(|| Refusal::Call {
        message: format!("{words} is no time in {}", instance.farm.clock.zone()),
        help: "write a wall time of the farm, such as 2026-03-02T07:00".to_owned(),
    })
}

/// The lots and boxes that some runs went into.
fn found(instance: &Instance, ledger: &Ledger, runs: &[&Run]) -> object::LedgerObject {
    let lots: BTreeMap<usize, &Lot> = runs.iter().flat_map(|run| trace::lots_of(ledger, &run.run)).collect();
    let of_runs: BTreeSet<&str> =
        runs.iter().flat_map(|run| trace::boxes_of(ledger, &run.run)).map(|packed| packed.id.as_str()).collect();
    let boxes: Vec<&BoxLot> = ledger.boxes.iter().filter(|packed| of_runs.contains(packed.id.as_str())).collect();
    object::of(instance, ledger, lots.into_values(), boxes)
}

fn csv(instance: &Instance, ledger: &Ledger, table: LedgerTable) -> Result<String, Refusal> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    match table {
        LedgerTable::Lots => {
            rows.push(words(&["lot", "holder", "part", "source", "shipment", "count", "whole_plate", "at", "usable"]));
            for lot in &ledger.lots {
                for fill in &lot.fills {
                    rows.extend(fill.gives.iter().map(|give| {
                        vec![
                            lot.id.clone(),
                            lot.holder.word().to_owned(),
                            lot.part.clone(),
                            fill.source.name().to_owned(),
                            give.shipment.clone().unwrap_or_default(),
                            give.count.to_string(),
                            fill.whole.to_string(),
                            stamp(instance, fill.at),
                            stamp(instance, fill.usable),
                        ]
                    }));
                }
            }
        }
        LedgerTable::Boxes => {
            rows.push(words(&["box", "shipment", "kit", "kits", "closes", "part", "lot", "source", "count"]));
            for packed in &ledger.boxes {
                for content in &packed.contents {
                    rows.extend(content.pieces.iter().map(|pieces| {
                        vec![
                            packed.id.clone(),
                            packed.shipment.clone(),
                            packed.kit.clone(),
                            packed.kits.to_string(),
                            stamp(instance, packed.closes),
                            content.part.clone(),
                            ledger.lots.get(pieces.lot).map(|lot| lot.id.clone()).unwrap_or_default(),
                            pieces.source.name().to_owned(),
                            pieces.count.to_string(),
                        ]
                    }));
                }
            }
        }
    }
    let cannot = |error: String| Refusal::Call {
        message: format!("the table cannot be written: {error}"),
        help: "report it with the folder of tables".to_owned(),
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).map_err(|error| cannot(error.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|error| cannot(error.to_string()))?;
    String::from_utf8(bytes).map_err(|error| cannot(error.to_string()))
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}
