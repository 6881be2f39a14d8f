//! The object of `sheets`.

use super::stamp;
use platewright_model::{Instance, Instant};
use platewright_report::ledger::Ledger;
use platewright_report::sheet::leaving::{Handover, Left, OnPrinter};
use platewright_report::sheet::{BoxStop, MaterialNeed, Off, On, Round, Sheet, Stop};
use platewright_report::span::Span;
use serde::Serialize;

/// What `sheets --json` prints: the sheets asked for, with the whole numbers of bags, trays and boxes.
#[derive(Debug, Serialize)]
pub struct Sheets {
    mark: String,
    sheets: Vec<SheetObject>,
}

#[derive(Debug, Serialize)]
struct SheetObject {
    crew: String,
    date: String,
    on_shift: Vec<SpanObject>,
    operators: Vec<String>,
    rounds: Vec<RoundObject>,
    boxes: Vec<BoxObject>,
    materials: Vec<MaterialObject>,
    leaving: LeavingObject,
    /// None: nobody comes before the plan ends.
    handover: Option<HandoverObject>,
}

#[derive(Debug, Serialize)]
struct SpanObject {
    from: String,
    to: String,
}

#[derive(Debug, Serialize)]
struct RoundObject {
    operator: String,
    from: String,
    to: String,
    in_walking_order: bool,
    stops: Vec<StopObject>,
}

#[derive(Debug, Serialize)]
struct StopObject {
    at: String,
    earliest: String,
    latest: String,
    printer: String,
    bay: Option<String>,
    off: Option<OffObject>,
    on: Option<OnObject>,
}

#[derive(Debug, Serialize)]
struct OffObject {
    run: String,
    plate: String,
    ready: String,
    parts: Vec<PartObject>,
}

#[derive(Debug, Serialize)]
struct PartObject {
    part: String,
    count: u64,
    into: Vec<IntoObject>,
}

#[derive(Debug, Serialize)]
struct IntoObject {
    lot: String,
    count: u64,
    new: bool,
    close: bool,
}

#[derive(Debug, Serialize)]
struct OnObject {
    run: String,
    plate: String,
    material: String,
    changeover: bool,
    ready: String,
}

#[derive(Debug, Serialize)]
struct BoxObject {
    #[serde(rename = "box")]
    id: String,
    operator: String,
    from: String,
    to: String,
}

#[derive(Debug, Serialize)]
struct MaterialObject {
    material: String,
    loads: usize,
    changeovers: usize,
    /// None where the tables do not say the grams of some part.
    grams: Option<f64>,
}

#[derive(Debug, Serialize)]
struct LeavingObject {
    must_be_on: Vec<PrinterObject>,
    on_since_before: Vec<PrinterObject>,
    left_ready: Vec<PrinterObject>,
    empty: Vec<String>,
    down: Vec<String>,
}

#[derive(Debug, Serialize)]
struct HandoverObject {
    crews: Vec<String>,
    at: String,
    ready: Vec<PrinterObject>,
    ready_within_the_hour: Vec<PrinterObject>,
}

#[derive(Debug, Serialize)]
struct PrinterObject {
    printer: String,
    run: String,
    plate: String,
    ready: String,
    harvest_from: String,
}

/// Some sheets of a plan.
pub fn of(instance: &Instance, ledger: &Ledger, sheets: &[Sheet]) -> Sheets {
    let on = Telling { instance, ledger };
    Sheets { mark: ledger.mark.clone(), sheets: sheets.iter().map(|sheet| on.sheet(sheet)).collect() }
}

#[derive(Clone, Copy)]
struct Telling<'i> {
    instance: &'i Instance,
    ledger: &'i Ledger,
}

impl Telling<'_> {
    fn at(self, instant: Instant) -> String {
        stamp(self.instance, instant)
    }

    fn span(self, span: &Span) -> SpanObject {
        SpanObject { from: self.at(span.from), to: self.at(span.to) }
    }

    fn sheet(self, sheet: &Sheet) -> SheetObject {
        SheetObject {
            crew: self.instance.crews.get(sheet.crew.index()).cloned().unwrap_or_default(),
            date: sheet.date.to_string(),
            on_shift: sheet.spans.iter().map(|span| self.span(span)).collect(),
            operators: sheet.operators.clone(),
            rounds: sheet.rounds.iter().map(|round| self.round(round)).collect(),
            boxes: sheet.boxes.iter().map(|stop| self.packed(stop)).collect(),
            materials: sheet.materials.iter().map(material).collect(),
            leaving: self.leaving(&sheet.left),
            handover: sheet.handover.as_ref().map(|handover| self.handover(handover)),
        }
    }

    fn round(self, round: &Round) -> RoundObject {
        RoundObject {
            operator: round.operator.clone(),
            from: self.at(round.span.from),
            to: self.at(round.span.to),
            in_walking_order: round.in_walking_order,
            stops: round.stops.iter().map(|stop| self.stop(stop)).collect(),
        }
    }

    fn stop(self, stop: &Stop) -> StopObject {
        StopObject {
            at: self.at(stop.at),
            earliest: self.at(stop.earliest),
            latest: self.at(stop.latest),
            printer: stop.printer.clone(),
            bay: stop.bay.clone(),
            off: stop.off.as_ref().map(|off| self.off(off)),
            on: stop.on.as_ref().map(|on| self.on(on)),
        }
    }

    fn off(self, off: &Off) -> OffObject {
        let lot = |at: usize| self.ledger.lots.get(at).map(|lot| lot.id.clone()).unwrap_or_default();
        let parts = off.parts.iter().map(|part| PartObject {
            part: part.part.clone(),
            count: part.count.0,
            into: part
                .into
                .iter()
                .map(|i| IntoObject { lot: lot(i.lot), count: i.count.0, new: i.begins, close: i.closes })
                .collect(),
        });
        OffObject { run: off.run.clone(), plate: off.plate.clone(), ready: self.at(off.ready), parts: parts.collect() }
    }

    fn on(self, on: &On) -> OnObject {
        OnObject {
            run: on.run.clone(),
            plate: on.plate.clone(),
            material: on.material.clone(),
            changeover: on.changeover,
            ready: self.at(on.ready),
        }
    }

    fn packed(self, stop: &BoxStop) -> BoxObject {
        BoxObject {
            id: self.ledger.boxes.get(stop.packed).map(|packed| packed.id.clone()).unwrap_or_default(),
            operator: stop.operator.clone(),
            from: self.at(stop.span.from),
            to: self.at(stop.span.to),
        }
    }

    fn leaving(self, left: &Left) -> LeavingObject {
        LeavingObject {
            must_be_on: self.printers(&left.must_be_on),
            on_since_before: self.printers(&left.still_on),
            left_ready: self.printers(&left.waiting),
            empty: left.empty.clone(),
            down: left.down.clone(),
        }
    }

    fn handover(self, handover: &Handover) -> HandoverObject {
        HandoverObject {
            crews: handover.crews.clone(),
            at: self.at(handover.at),
            ready: self.printers(&handover.ready),
            ready_within_the_hour: self.printers(&handover.soon),
        }
    }

    fn printers(self, on: &[OnPrinter]) -> Vec<PrinterObject> {
        let told = |on: &OnPrinter| PrinterObject {
            printer: on.printer.clone(),
            run: on.run.clone(),
            plate: on.plate.clone(),
            ready: self.at(on.ready),
            harvest_from: self.at(on.harvest),
        };
        on.iter().map(told).collect()
    }
}

fn material(need: &MaterialNeed) -> MaterialObject {
    MaterialObject {
        material: need.material.clone(),
        loads: need.loads,
        changeovers: need.changeovers,
        grams: need.grams,
    }
}
