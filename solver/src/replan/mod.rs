//! The rest of the week, planned anew from what has happened.
//!
//! The first candidate is the old plan lived on ([`crate::follow`]) from the state of the room: what prints goes on, what
//! was lost is made again, what is late is done as soon as it can be, everything else stays where the crew knows it.
//! Where nothing has departed from the plan, that is the plan itself, and nothing changes.
//!
//! Else the planner is asked for another rest of the week ([`rest`]), which is lived from the same state, so that the
//! past, the work under way and every rule hold in it as well. It is taken only where it is better by more than its
//! changes cost: each run of the coming shift that it puts elsewhere or at another time than the old plan has, counted
//! against the first candidate's, must be worth a stated number of minutes. What is compared is, in whole minutes, the weighted
//! lateness and then the sum of how late or soon shipments are ready at their weights.

pub mod rest;
mod spares;
mod write;

use crate::follow::{Certain, Fate, Lived, Manner, NotFollowed, Past, Player, Script};
use crate::problem::{Min, Problem};
use platewright_model::past;
use platewright_model::{Instance, Instant, Plan};

use spares::{Asked, Verdict};
pub use write::same;

/// The moment and what is known of it.
pub struct Moment<'i> {
    /// The instance with the log's downtime and absences ([`past::room`]).
    pub room: &'i Instance,
    /// The digest of the instance as it is in the tables.
    pub digest: String,
    /// The moment.
    pub at: Instant,
    /// What has happened to each run of the plan.
    pub fates: &'i [past::Fate],
}

/// What the old plan leads to, lived on.
///
/// # Errors
/// The plan speaks of things that the instance does not have. `None` where some shipment is never ready, or where no
/// spares make its parts suffice with the confidence.
pub fn live_on(moment: &Moment<'_>, old: &Plan) -> Result<Option<Plan>, NotFollowed> {
    let problem = Problem::for_least_idle(moment.room);
    let mut asked = Asked::of(moment, old);
    loop {
        let script = asked.script(&problem)?;
        let past = of_script(moment, &script);
        let Some(lived) = best_life(moment, &script, &past) else { return Ok(None) };
        match asked.look(moment, &script, &lived) {
            Verdict::Suffices => return Ok(Some(write::plan(moment, &script, old, &lived))),
            Verdict::More => {}
            Verdict::OutOfReach => return Ok(None),
        }
    }
}

/// The least late life, then the one with the soonest ready times, over all manners of fitting in what is made again;
/// none where some shipment is never ready.
fn best_life(moment: &Moment<'_>, script: &Script<'_>, past: &Past) -> Option<Lived> {
    let lives = Manner::all().filter_map(|manner| {
        let lived = Player::resume(script, past, Certain).with(manner).live();
        let mut cost = (0, 0);
        for (ready, shipment) in lived.ready.iter().zip(&moment.room.shipments) {
            let ready = i64::from((*ready)?);
            let weight = shipment.weight.0 as i64;
            let due = shipment.due.map_or(i64::MAX, |due| (due - moment.room.farm.start).0);
            cost.0 += (ready - due.min(ready)) * weight;
            cost.1 += ready * weight;
        }
        Some((cost, lived))
    });
    // The first of equals, so that where nothing is made again the manner does not matter.
    lives.min_by_key(|life| life.0).map(|life| life.1)
}

/// What has happened, in the script's minutes.
pub fn of_script(moment: &Moment<'_>, script: &Script<'_>) -> Past {
    let minute = |at: Instant| (at - moment.room.farm.start).0 as Min;
    let fate = |fate: &past::Fate| Fate {
        loaded: fate.loaded.map(minute),
        ended: fate.ended.as_ref().map(|ended| {
            let good = ended.good.as_ref();
            let good = good.map(|good| good.iter().map(|(part, n)| (part.index(), n.0 as i64)).collect());
            (minute(ended.at), good)
        }),
    };
    debug_assert_eq!(moment.fates.len(), script.jobs.len());
    Past { at: minute(moment.at), fates: moment.fates.iter().map(fate).collect() }
}

/// What a plan costs beside its changes: weighted lateness in thousandths of a minute, then the shipments' ready times
/// at their weights, counted from the farm's start.
pub fn cost(instance: &Instance, plan: &Plan) -> (i64, i64) {
    let ready = instance.shipments.iter().zip(&plan.shipments);
    let late = plan.claims.late.0;
    (late, ready.map(|(s, row)| (row.ready - instance.farm.start).0 * s.weight.0 as i64).sum())
}

/// Whether a plan is worth its changes against another: `changed` runs more than that one's at `price` minutes each.
pub fn pays(instance: &Instance, plan: &Plan, other: &Plan, changed: i64, price: u32) -> bool {
    let (a, b) = (cost(instance, plan), cost(instance, other));
    let gain = (b.0 - a.0) + (b.1 - a.1);
    a.0 <= b.0 && gain > changed.max(0) * i64::from(price) * 1000
}
