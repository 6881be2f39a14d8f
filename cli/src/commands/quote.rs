//! `quote`: put an order into the book as it stands, and say when it could be ready and what that does and takes.

use crate::args::QuoteArgs;
use crate::asking::{Kept, no_plan, with_planner};
use crate::exit::Exit;
use crate::objects::quoted;
use crate::out_folder;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_model::instance::ShipmentId;
use platewright_model::overlay::{Overlay, Table};
use platewright_model::tables::{self, LooseRow};
use platewright_model::{Instance, Instant, Minutes, Plan};
use platewright_report::losses::losses;
use platewright_report::quote::{Need, Promise, Quote, Verdict, Wished};
use platewright_solver::Answer;
use platewright_solver::decide::{Book, Earliest, More, Planner, Wish, earliest, smallest, soon_after, wish};
use std::path::Path;

/// Most of one thing that a wish may need.
const MOST_MORE: u64 = 64;
/// And of operators on one shift.
const MOST_OPERATORS: u64 = 4;

/// An order as rows of `shipments.csv`, and the folder it is laid over.
struct Order<'o> {
    folder: &'o Path,
    rows: Vec<LooseRow>,
}

/// A plan behind the answer, and the folder it goes into.
struct Behind {
    folder: String,
    about: String,
    farm: Instance,
    overlays: Vec<Overlay>,
    plan: Plan,
}

/// Runs the command.
///
/// # Errors
/// Unusable tables or an unusable order, or an out folder that cannot be written.
pub fn run(args: &QuoteArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let begun = std::time::Instant::now();
    let out = args.out.clone().unwrap_or_else(|| args.folder.join("quote"));
    let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
    out_folder::approve(&args.folder, &out)?;
    let order = Order::of(args)?;
    let (farm, _) = order.laid(None, &[])?;
    let shipment = the_new_shipment(&instance, &farm)?;
    let due = farm.shipments.get(shipment.index()).and_then(|s| s.due);
    let farm = without_due(farm, shipment);
    let asked = Asked { order: &order, before: &instance, farm: &farm, shipment, due };
    let answer = match with_planner(&args.searching, voice, |planner| asked.answer(planner))? {
        Ok(answer) => answer,
        Err((proven, reasons)) => return Ok(no_plan(proven, &reasons, begun.elapsed(), args.json, voice)),
    };
    let (with_due, overlay) = order.laid(Some(answer.found.by), &[])?;
    let Answered { before, found, wished, promise, mut behind } = answer;
    behind.push(Behind::new("before", "", instance.clone(), Vec::new(), before.clone()));
    let about = "the order, due when it can be ready";
    behind.push(Behind::new("with", about, with_due.clone(), vec![overlay], (*found.plan).clone()));
    let quote = Quote {
        before: (&instance, &before),
        with: (&with_due, &found.plan),
        order: shipment,
        not_before: found.not_before,
        by: found.by,
        confirmed: found.confirmed,
        wished,
        promise,
        spool: args.spool,
    };
    behind.into_iter().try_for_each(|plan| plan.write(&out))?;
    if args.json {
        voice.object(&quoted::quote(&quote))
    } else {
        voice.result(&quote.page())
    }
    voice.note(&format!("the plans behind this are in {}, a folder for each", shown(&out)));
    let holds = quote.wished.as_ref().is_none_or(|wished| wished.verdict == Verdict::Holds);
    Ok(if holds { Exit::Done } else { Exit::No })
}

/// An order to be answered for.
struct Asked<'a> {
    order: &'a Order<'a>,
    /// The farm without the order.
    before: &'a Instance,
    /// The farm with it, without a due date for it.
    farm: &'a Instance,
    shipment: ShipmentId,
    /// The wished date.
    due: Option<Instant>,
}

/// What the planner found.
struct Answered {
    before: Plan,
    found: Earliest,
    wished: Option<Wished>,
    promise: Option<Promise>,
    behind: Vec<Behind>,
}

impl Asked<'_> {
    /// The plan of the book as it stands, the order's earliest moment beside it, the wished date, and a margin.
    fn answer(&self, planner: &Planner<'_>) -> Result<Result<Answered, (bool, Vec<String>)>, Refusal> {
        let before = match planner.plan("the book as it stands", self.before) {
            Answer::Plan(plan) => *plan,
            Answer::None { proven, reasons } => return Ok(Err((proven, reasons))),
        };
        let book = Book::new(self.farm, self.shipment, &before);
        let found = match earliest(planner, &book) {
            Ok(found) => found,
            Err(Answer::None { proven, reasons }) => return Ok(Err((proven, reasons))),
            Err(Answer::Plan(_)) => return Ok(Err((false, Vec::new()))),
        };
        let mut behind = Vec::new();
        let wished = self.due.map(|due| self.wished(planner, &book, &found, due, &mut behind)).transpose()?;
        let promise = self.promise(planner, &before, &found)?;
        Ok(Ok(Answered { before, found, wished, promise, behind }))
    }

    /// How the wished date stands and, where it does not hold, what would make it hold.
    fn wished(
        &self,
        planner: &Planner<'_>,
        book: &Book<'_>,
        found: &Earliest,
        due: Instant,
        behind: &mut Vec<Behind>,
    ) -> Result<Wished, Refusal> {
        let (farm, overlay) = self.order.laid(Some(due), &[])?;
        let verdict = match wish(planner, book, found, due) {
            Wish::Holds(plan) => {
                behind.push(Behind::new("wished", "the order, due when it is wished", farm, vec![overlay], *plan));
                return Ok(Wished { due, verdict: Verdict::Holds, needs: Vec::new() });
            }
            Wish::Never => Verdict::Never,
            Wish::NotFound => Verdict::NotFound,
        };
        let mut needs = Vec::new();
        for more in More::of_each(&farm).into_iter().filter(More::is_counted) {
            let most = if matches!(more, More::Printers { .. }) { MOST_MORE } else { MOST_OPERATORS };
            let question = more.words(&farm, 1);
            let mut with = |count| Some(self.order.laid(Some(due), &[more.overlay(&farm, count)]).ok()?.0);
            let deadlines = book.deadlines(due);
            let Some((count, changed, plan)) =
                smallest(planner, &question, most, &deadlines, Some(&found.plan), &mut with)
            else {
                continue;
            };
            let (words, folder) = (more.words(&farm, count), format!("with-{}", more.name(&farm)));
            let ready = book.ready(&plan).unwrap_or(due);
            let overlays = vec![overlay.clone(), more.overlay(&farm, count)];
            behind.push(Behind::new(&folder, &format!("the order, with {words}"), changed, overlays, plan));
            needs.push(Need { words, ready, folder });
        }
        Ok(Wished { due, verdict, needs })
    }

    /// The date with room for what may be lost, rounded up to the hour: when the order and that much more are ready.
    fn promise(&self, planner: &Planner<'_>, before: &Plan, found: &Earliest) -> Result<Option<Promise>, Refusal> {
        let name = self.farm.shipments.get(self.shipment.index()).map_or("", |s| s.name.as_str());
        let cover: Vec<(String, u64)> = losses(self.farm, &found.plan, name)
            .into_iter()
            .filter_map(|(part, loss)| Some((self.farm.parts.get(part.index())?.name.clone(), loss.cover())))
            .filter(|(_, count)| *count > 0)
            .collect();
        if cover.is_empty() {
            return Ok(None);
        }
        let (farm, _) = self.order.laid(None, &[self.order.spares(self.farm, name, &cover)])?;
        let farm = without_due(farm, self.shipment);
        let spares = cover.iter().map(|(_, count)| count).sum();
        let found_with = soon_after(planner, &Book::new(&farm, self.shipment, before), found.by, &found.plan);
        // A search may find a plan with spares sooner than it found one without.
        Ok(found_with.map(|(ready, _)| Promise { by: next_hour(&farm, ready.max(found.by)), spares }))
    }
}

fn without_due(mut farm: Instance, shipment: ShipmentId) -> Instance {
    if let Some(shipment) = farm.shipments.get_mut(shipment.index()) {
        shipment.due = None;
    }
    farm
}

/// The next full hour of the wall clock.
fn next_hour(instance: &Instance, at: Instant) -> Instant {
    let minute = instance.farm.clock.stamp(at).format("%M").to_string().parse::<i64>().unwrap_or(0);
    at + Minutes((60 - minute) % 60)
}

impl Order<'_> {
    /// The order of a call.
    fn of(args: &QuoteArgs) -> Result<Order<'_>, Refusal> {
        let mut rows = match (&args.add, &args.kit) {
            (Some(file), _) => tables::loose_rows(Table::Shipments, file).map_err(Refusal::tables(file))?,
            (None, kit) => {
                let name = args.name.clone().unwrap_or_else(|| "order".to_owned());
                let cells = [("kit", kit), ("quantity", &args.quantity), ("per_box", &args.per_box)];
                let cells = cells.into_iter().filter_map(|(column, text)| Some((column, text.clone()?)));
                vec![std::iter::once(("shipment", name)).chain(cells).collect()]
            }
        };
        if let Some(due) = &args.due {
            rows.iter_mut().for_each(|row| set(row, "due", due.clone()));
        }
        Ok(Order { folder: &args.folder, rows })
    }

    /// The folder with the order laid over it, due at a moment in place of what it says itself, and with more on top.
    fn laid(&self, due: Option<Instant>, more: &[Overlay]) -> Result<(Instance, Overlay), Refusal> {
        let mut rows = self.rows.clone();
        if let Some(due) = due {
            let clock = tables::read(self.folder).map_err(Refusal::tables(self.folder))?.farm.clock;
            let text = clock.stamp(due).format("%Y-%m-%dT%H:%M").to_string();
            rows.iter_mut().for_each(|row| set(row, "due", text.clone()));
        }
        let mut overlay = Overlay::new("the order asked for");
        for row in &rows {
            overlay.add(Table::Shipments, row.iter().map(|(column, text)| (*column, text.as_str())));
        }
        let all: Vec<Overlay> = std::iter::once(overlay.clone()).chain(more.iter().cloned()).collect();
        let instance = tables::read_with(self.folder, &all).map_err(Refusal::tables(self.folder))?;
        Ok((instance, overlay))
    }

    /// Spare parts that leave with the order, as a kit of their own.
    fn spares(&self, instance: &Instance, shipment: &str, cover: &[(String, u64)]) -> Overlay {
        let is_taken = |name: &String| {
            instance.kits.iter().any(|kit| kit.name == *name) || instance.parts.iter().any(|part| part.name == *name)
        };
        let mut names = (1..).map(|n| format!("spares-{n}"));
        let kit = names.find(|name| !is_taken(name)).unwrap_or_default();
        let mut overlay = Overlay::new("spare parts");
        for (part, count) in cover {
            let count = count.to_string();
            overlay.add(Table::Kits, [("kit", kit.as_str()), ("item", part), ("quantity", &count)]);
        }
        let keep = ["release", "due", "weight"];
        let row = self.rows.first().into_iter().flatten().filter(|(column, _)| keep.contains(column));
        let row = row.map(|(column, text)| (*column, text.as_str()));
        overlay
            .add(Table::Shipments, [("shipment", shipment), ("kit", &kit), ("quantity", "1")].into_iter().chain(row));
        overlay
    }
}

fn set(row: &mut LooseRow, column: &'static str, text: String) {
    row.retain(|(other, _)| *other != column);
    row.push((column, text));
}

/// The one shipment that is in the book only with the order.
fn the_new_shipment(before: &Instance, with: &Instance) -> Result<ShipmentId, Refusal> {
    let wrong = |message: &str, help: &str| Refusal::Call { message: message.to_owned(), help: help.to_owned() };
    for old in &before.shipments {
        if with.shipments.iter().any(|new| new.name == old.name && new.lines != old.lines) {
            let message = format!("the book has a shipment {} already", old.name);
            return Err(wrong(&message, "give the order a name of its own"));
        }
    }
    match with.shipments.len() - before.shipments.len() {
        // Rows of the order stand behind those of the table.
        1 => Ok(ShipmentId(before.shipments.len() as u32)),
        _ => Err(wrong("the order is more than one shipment", "quote one shipment at a time")),
    }
}

impl Behind {
    fn new(folder: &str, about: &str, farm: Instance, overlays: Vec<Overlay>, plan: Plan) -> Behind {
        Behind { folder: folder.to_owned(), about: about.to_owned(), farm, overlays, plan }
    }

    fn write(self, out: &Path) -> Result<(), Refusal> {
        let Behind { folder, about, farm, overlays, plan } = self;
        Kept { instance: &farm, plan: &plan, overlays: &overlays, about: &about, others: Vec::new() }
            .write(&out.join(folder))
    }
}
