//! Sheets as a page to print, upright or across as the paper is; each sheet begins a page of its own.

use super::leaving::OnPrinter;
use super::text::{
    self, LEGEND, amount, handover_said, into_said, leeway, material_said, on_shift, round_title, soon_said,
};
use super::{Off, On, Sheet, Stop};
use crate::html::frame::Frame;
use crate::html::moment::Moment;
use crate::html::shown;
use crate::html::table::{Cell, Table};
use crate::ledger::Ledger;
use crate::ledger::words::{box_contents, box_name};
use crate::paper::Paper;
use askama::Template;
use platewright_model::{Instance, Instant};

#[derive(Template)]
#[template(path = "sheets.html")]
struct SheetsPage {
    frame: Frame,
    farm: String,
    mark: String,
    sheets: Vec<SheetView>,
}

struct SheetView {
    title: String,
    on_shift: String,
    amount: String,
    idle: bool,
    materials: Vec<String>,
    rounds: Vec<RoundView>,
    boxes: Vec<BoxView>,
    must_be_on: Table,
    lists: Vec<(&'static str, String)>,
    handover: Option<(String, Table, String)>,
}

struct RoundView {
    title: String,
    stops: Vec<StopView>,
}

struct StopView {
    at: Moment,
    printer: String,
    bay: String,
    leeway: String,
    off: Option<OffView>,
    on: Option<OnView>,
}

struct OffView {
    run: String,
    plate: String,
    parts: Vec<(String, Vec<String>)>,
}

struct OnView {
    run: String,
    plate: String,
    material: String,
    changeover: bool,
    ready: Moment,
}

struct BoxView {
    at: Moment,
    operator: String,
    number: String,
    name: String,
    contents: Vec<(String, String)>,
}

impl SheetsPage {
    fn legend(&self) -> &'static str {
        LEGEND
    }
}

/// The page of some sheets, for a size of paper or for whatever the printer holds.
pub fn page(instance: &Instance, ledger: &Ledger, sheets: &[Sheet], paper: Option<Paper>) -> String {
    let style = match paper {
        None => concat!(include_str!("../../templates/sheets.css"), "@page { size: landscape; margin: 10mm; }"),
        Some(Paper::A4) => {
            concat!(include_str!("../../templates/sheets.css"), "@page { size: A4 landscape; margin: 10mm; }")
        }
        Some(Paper::Letter) => {
            concat!(include_str!("../../templates/sheets.css"), "@page { size: letter landscape; margin: 10mm; }")
        }
    };
    let title = match sheets {
        [only] => shown(&text::title(instance, only)),
        _ => format!("Shift sheets: {}", shown(&instance.farm.name)),
    };
    let page = SheetsPage {
        frame: Frame { title, kind: Some("sheets"), style, script: None },
        farm: shown(&instance.farm.name),
        mark: ledger.mark.clone(),
        sheets: sheets.iter().map(|sheet| view(instance, ledger, sheet)).collect(),
    };
    // A page of ours, written into a string, has nothing that could fail.
    page.render().unwrap_or_default()
}

fn view(instance: &Instance, ledger: &Ledger, sheet: &Sheet) -> SheetView {
    let names = |on: &[OnPrinter]| shown(&on.iter().map(|on| on.printer.as_str()).collect::<Vec<_>>().join(", "));
    let lists = [
        ("On since before", names(&sheet.left.still_on)),
        ("Ready and left for others", names(&sheet.left.waiting)),
        ("Left empty by the plan", shown(&sheet.left.empty.join(", "))),
        ("Down", shown(&sheet.left.down.join(", "))),
    ];
    SheetView {
        title: shown(&text::title(instance, sheet)),
        on_shift: shown(&on_shift(instance, sheet)),
        amount: amount(sheet),
        idle: sheet.is_idle(),
        materials: sheet.materials.iter().map(|need| shown(&material_said(need))).collect(),
        rounds: (1..)
            .zip(&sheet.rounds)
            .map(|(number, round)| RoundView {
                title: shown(&round_title(instance, number, round)),
                stops: round.stops.iter().map(|stop| stop_view(instance, ledger, stop, sheet.from())).collect(),
            })
            .collect(),
        boxes: sheet
            .boxes
            .iter()
            .filter_map(|stop| {
                let packed = ledger.boxes.get(stop.packed)?;
                let contents = box_contents(ledger, packed).into_iter();
                Some(BoxView {
                    at: Moment::time_of_day(instance, stop.span.from),
                    operator: shown(&stop.operator),
                    number: ledger.short(&packed.id).to_owned(),
                    name: shown(&box_name(packed)),
                    contents: contents.map(|(part, from)| (shown(&part), from)).collect(),
                })
            })
            .collect(),
        must_be_on: on_printers(
            instance,
            "Must be on and printing, loaded in this shift",
            "ready",
            &sheet.left.must_be_on,
        ),
        lists: lists.into_iter().filter(|(_, printers)| !printers.is_empty()).collect(),
        handover: sheet.handover.as_ref().map(|handover| {
            let said = shown(&handover_said(instance, handover));
            let ready = on_printers(instance, "Ready and still on", "ready since", &handover.ready);
            (said, ready, shown(&soon_said(instance, handover)))
        }),
    }
}

fn stop_view(instance: &Instance, ledger: &Ledger, stop: &Stop, begun: Instant) -> StopView {
    StopView {
        at: Moment::time_of_day(instance, stop.at),
        printer: shown(&stop.printer),
        bay: stop.bay.as_deref().map(shown).unwrap_or_default(),
        leeway: leeway(instance, stop, begun),
        off: stop.off.as_ref().map(|off| off_view(ledger, off)),
        on: stop.on.as_ref().map(|on| on_view(instance, on)),
    }
}

fn off_view(ledger: &Ledger, off: &Off) -> OffView {
    let parts = off.parts.iter().map(|part| {
        let counted = part.into.len() > 1;
        let into = part.into.iter().map(|into| into_said(ledger, into, counted));
        let count = if counted { " (count)" } else { "" };
        (format!("{} {}{count}", part.count, shown(&part.part)), into.collect())
    });
    OffView { run: shown(&off.run), plate: shown(&off.plate), parts: parts.collect() }
}

fn on_view(instance: &Instance, on: &On) -> OnView {
    OnView {
        run: shown(&on.run),
        plate: shown(&on.plate),
        material: shown(&on.material),
        changeover: on.changeover,
        ready: Moment::of(instance, on.ready),
    }
}

fn on_printers(instance: &Instance, caption: &str, ready: &str, on: &[OnPrinter]) -> Table {
    let mut table = Table::new(caption, &["printer", "run", "plate", ready]);
    for on in on {
        table.row([
            Cell::head(&on.printer),
            Cell::name(&on.run),
            Cell::name(&on.plate),
            Cell::moment(instance, on.ready),
        ]);
    }
    table
}
