//! The object of `quote`.

use super::stamp;
use platewright_report::costs::money;
use platewright_report::quote::{Quote, Verdict};
use serde::Serialize;

/// What `quote --json` prints.
#[derive(Debug, Serialize)]
pub struct Quoted {
    outcome: &'static str,
    shipment: String,
    not_before: String,
    ready_by: String,
    proven_earliest: bool,
    confirmed_by_plan: bool,
    wished: Option<WishedObject>,
    promise: Option<String>,
    spare_parts: Option<u64>,
    others: Vec<Other>,
    filament: Vec<FilamentObject>,
    operator_minutes_more: i64,
    cost_more: Option<String>,
    currency: Option<String>,
}

#[derive(Debug, Serialize)]
struct WishedObject {
    due: String,
    answer: &'static str,
    would_take: Vec<NeedObject>,
}

#[derive(Debug, Serialize)]
struct NeedObject {
    change: String,
    ready: String,
    plan: String,
}

#[derive(Debug, Serialize)]
struct Other {
    shipment: String,
    ready_without: String,
    ready_with: String,
    due: Option<String>,
}

#[derive(Debug, Serialize)]
struct FilamentObject {
    material: String,
    grams: f64,
    spools: u64,
}

/// The answer: `yes` or `no` to a wished date, else `done`.
pub fn quote(quote: &Quote<'_>) -> Quoted {
    let instance = quote.with.0;
    let at = |instant| stamp(instance, instant);
    let (work, cost) = quote.more_work_and_money();
    let wished = quote.wished.as_ref().map(|wished| WishedObject {
        due: at(wished.due),
        answer: match wished.verdict {
            Verdict::Holds => "yes",
            Verdict::Never => "no",
            Verdict::NotFound => "not found",
        },
        would_take: wished
            .needs
            .iter()
            .map(|need| NeedObject { change: need.words.clone(), ready: at(need.ready), plan: need.folder.clone() })
            .collect(),
    });
    Quoted {
        outcome: match quote.wished.as_ref().map(|wished| wished.verdict) {
            None => "done",
            Some(Verdict::Holds) => "yes",
            Some(_) => "no",
        },
        shipment: quote.name().to_owned(),
        not_before: at(quote.not_before),
        ready_by: at(quote.by),
        proven_earliest: quote.not_before >= quote.by,
        confirmed_by_plan: quote.confirmed,
        wished,
        promise: quote.promise.as_ref().map(|promise| at(promise.by)),
        spare_parts: quote.promise.as_ref().map(|promise| promise.spares),
        others: quote
            .effects()
            .into_iter()
            .map(|effect| Other {
                shipment: effect.shipment,
                ready_without: at(effect.before),
                ready_with: at(effect.with),
                due: effect.due.map(at),
            })
            .collect(),
        filament: quote
            .filament()
            .into_iter()
            .map(|filament| FilamentObject {
                material: instance.materials.get(filament.material.index()).cloned().unwrap_or_default(),
                grams: filament.grams,
                spools: filament.spools,
            })
            .collect(),
        operator_minutes_more: work.0,
        cost_more: cost.as_ref().map(|(_, cost)| money(*cost)),
        currency: cost.map(|(currency, _)| currency),
    }
}
