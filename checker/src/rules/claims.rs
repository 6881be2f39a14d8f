//! CLAIM: every figure the plan states of itself is what follows from it.

use crate::breach::Breach;
use crate::case::Case;
use platewright_model::plan::Outcome;
use platewright_model::{Count, Instant, Minutes, Rule, WeightedMinutes};

/// The figures are those recomputed, the bounds are not above them, and optimal means that they meet.
///
/// That a bound is proven cannot be seen from the plan; that it is below a plan which holds can.
pub(super) fn claim(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    if case.plan.instance_digest != case.instance.digest() {
        let message = "the plan was made for other tables than these: its digest differs";
        breaches.push(Breach::of(Rule::Claim, message));
    }
    breaches.extend(promises(case));
    breaches.extend(totals(case).into_iter().map(|message| Breach::of(Rule::Claim, message)));
    breaches.extend(bounds(case).into_iter().map(|message| Breach::of(Rule::Claim, message)));
    breaches
}

fn promises(case: &Case) -> Vec<Breach> {
    let mut breaches = Vec::new();
    for (row, known) in case.plan.shipments.iter().zip(&case.book.promises) {
        let Some(figures) = known.and_then(|id| case.figures.shipments.get(id.index())) else { continue };
        let breach = |message: String| Breach::of(Rule::Claim, message).shipment(&row.shipment);
        if row.due != figures.due {
            let say = |due: Option<Instant>| due.map_or("no date".to_owned(), |due| case.at(due));
            let message = format!("{} is due {}, the plan says {}", row.shipment, say(figures.due), say(row.due));
            breaches.push(breach(message));
        }
        if row.late != figures.late {
            breaches.push(breach(format!("{} is {} late, the plan says {}", row.shipment, figures.late, row.late)));
        }
    }
    breaches
}

fn totals(case: &Case) -> Vec<String> {
    let (claims, figures) = (&case.plan.claims, &case.figures);
    let minutes = |what: &str, is: Minutes, said: Minutes| {
        (is != said).then(|| format!("{what} comes to {} minutes, the plan says {}", is.0, said.0))
    };
    let counts =
        |what: &str, is: Count, said: Count| (is != said).then(|| format!("{what} {is}, the plan says {said}"));
    let all = [
        minutes("the makespan", figures.makespan, claims.makespan),
        (figures.late != claims.late).then(|| {
            let (is, says) = (said(figures.late), said(claims.late));
            format!("the weighted lateness comes to {is} minutes, the plan says {says}")
        }),
        minutes("the printers' idle time", figures.idle, claims.idle),
        counts("the parts left over are", figures.surplus_parts, claims.surplus_parts),
        counts("the runs are", figures.runs, claims.runs),
        minutes("the operators' work", figures.operator_minutes, claims.operator_minutes),
        minutes(&format!("what {} minimises", case.plan.objective.word()), figures.value, claims.value),
    ];
    all.into_iter().flatten().collect()
}

fn bounds(case: &Case) -> Vec<String> {
    let (claims, figures) = (&case.plan.claims, &case.figures);
    let mut faults = Vec::new();
    if !(Minutes::ZERO..=figures.value.max(Minutes::ZERO)).contains(&claims.bound) {
        faults.push(format!(
            "no lower bound can be {} minutes where the plan itself comes to {}",
            claims.bound.0, figures.value.0
        ));
    }
    if !(WeightedMinutes::ZERO..=figures.late.max(WeightedMinutes::ZERO)).contains(&claims.late_bound) {
        faults.push(format!(
            "no lower bound on the weighted lateness can be {} minutes where the plan's own comes to {}",
            said(claims.late_bound),
            said(figures.late)
        ));
    }
    let met = claims.bound == figures.value && claims.late_bound == figures.late;
    match claims.outcome {
        Outcome::Optimal if !met => {
            faults.push("the plan is called optimal, and its bounds do not meet its figures".to_owned());
        }
        Outcome::Optimal | Outcome::Feasible => {}
    }
    faults
}

/// Weighted minutes to the thousandth, without the zeros.
fn said(late: WeightedMinutes) -> String {
    late.in_minutes().to_string()
}
