//! A calendar (RFC 5545) of a plan: what is loaded in each shift, and when shipments are due and ready.
//!
//! Every time is written in UTC, so that a night in which the clocks change cannot be misread and no zone has to be
//! described; calendars show it in their owner's zone. A shift is an event from the first to the last minute that the same
//! people of one crew are on, up to the last task of the plan. People who are on for longer than a day, round the clock
//! for one, get an event for each day. Shipments do not block time.
//!
//! An event's UID depends on the farm's name and on what the event is about, not on its times, so that a calendar that
//! takes in a new plan moves what it knows. `DTSTAMP`, which must be there, is the farm's start: the day of writing is in
//! no file.

use chrono::{DateTime, Days, NaiveTime, Utc};
use icalendar::{Calendar, Class, Component, Event, EventLike, Property};
use platewright_model::calendar::Wall;
use platewright_model::instance::CrewId;
use platewright_model::plan::{ShipmentPlan, Task, Work};
use platewright_model::{Instance, Instant, Minutes, Plan, roster};
use platewright_report::wall::Wall as Said;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, HashMap};

/// Operators of one crew who are on from and to the same minute.
#[derive(Debug, PartialEq, Eq)]
struct Watch {
    crew: CrewId,
    from: Instant,
    to: Instant,
    operators: Vec<u32>,
}

/// The text of the calendar file, its lines ended and folded as the standard wants.
pub fn text(instance: &Instance, plan: &Plan) -> String {
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", "-//platewright//plan//EN"));
    calendar.append_property(Property::new("CALSCALE", "GREGORIAN"));
    calendar.name(&instance.farm.name);
    calendar.append_property(Property::new("X-WR-TIMEZONE", instance.farm.clock.zone().name()));
    calendar.extend(shifts(instance, plan));
    calendar.extend(shipments(instance, plan));
    calendar.to_string()
}

fn shifts(instance: &Instance, plan: &Plan) -> Vec<Event> {
    let Some(last) = plan.tasks.iter().map(|task| task.to).max() else { return Vec::new() };
    let by_operator = tasks_by_operator(plan);
    let plates: HashMap<&str, &str> = plan.runs.iter().map(|run| (run.run.as_str(), run.plate.as_str())).collect();
    let days = watches(instance).into_iter().flat_map(|watch| days_of(instance, watch));
    days.filter(|watch| watch.from < last).map(|watch| shift(instance, &watch, &by_operator, &plates)).collect()
}

fn tasks_by_operator(plan: &Plan) -> HashMap<&str, Vec<&Task>> {
    let mut tasks: HashMap<&str, Vec<&Task>> = HashMap::new();
    plan.tasks.iter().for_each(|task| tasks.entry(&task.operator).or_default().push(task));
    tasks
}

/// In order of beginning, then of crew.
fn watches(instance: &Instance) -> Vec<Watch> {
    let mut together: BTreeMap<(Instant, CrewId, Instant), Vec<u32>> = BTreeMap::new();
    for stretch in roster::stretches(instance) {
        together.entry((stretch.from, stretch.crew, stretch.to)).or_default().push(stretch.operator);
    }
    together.into_iter().map(|((from, crew, to), operators)| Watch { crew, from, to, operators }).collect()
}

/// A watch longer than a day, cut at every midnight.
fn days_of(instance: &Instance, watch: Watch) -> Vec<Watch> {
    let mut days = Vec::new();
    let mut from = watch.from;
    while watch.to - watch.from > Minutes::DAY && from < watch.to {
        let next = midnight_after(instance, from).min(watch.to);
        days.push(Watch { crew: watch.crew, from, to: next, operators: watch.operators.clone() });
        from = next;
    }
    if days.is_empty() { vec![watch] } else { days }
}

/// The first midnight of the farm's wall clock after an instant; a day on where the calendar ends.
fn midnight_after(instance: &Instance, instant: Instant) -> Instant {
    let clock = instance.farm.clock;
    let date = clock.stamp(instant).date_naive();
    let (Wall::Exists(next) | Wall::Skipped(next)) = match date.checked_add_days(Days::new(1)) {
        Some(next) => clock.instant(next.and_time(NaiveTime::MIN)),
        None => Wall::Exists(instant + Minutes::DAY),
    };
    if next > instant { next } else { instant + Minutes::DAY }
}

fn shift(
    instance: &Instance,
    watch: &Watch,
    by_operator: &HashMap<&str, Vec<&Task>>,
    plates: &HashMap<&str, &str>,
) -> Event {
    let names = watch.operators.iter().map(|n| roster::operator_name(instance, watch.crew, *n)).collect::<Vec<_>>();
    let mut tasks: Vec<&Task> =
        names.iter().filter_map(|name| by_operator.get(name.as_str())).flatten().copied().collect();
    tasks.retain(|task| (watch.from..watch.to).contains(&task.from));
    tasks.sort_by_key(|task| task.from);
    let said = Said::of(instance);
    let (mut loads, mut harvests, mut boxes) = (Vec::new(), 0, 0);
    for task in tasks {
        match &task.work {
            Work::Load { run, printer } => {
                let plate = plates.get(run.as_str()).copied().unwrap_or_default();
                loads.push(format!("{} {printer}: {plate} ({run}, {})", said.time(task.from), task.operator));
            }
            Work::Harvest { .. } => harvests += 1,
            Work::Pack { .. } => boxes += 1,
        }
    }
    let crew = instance.crews.get(watch.crew.index()).map_or("", String::as_str);
    let counts = [
        counted(loads.len(), "load", "loads"),
        counted(harvests, "harvest", "harvests"),
        counted(boxes, "box", "boxes"),
    ];
    let work = counts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let work = if work.is_empty() { "nothing to do".to_owned() } else { work };
    let mut described = format!("On shift: {}", names.join(", "));
    if !loads.is_empty() {
        described.push_str("\nLoads, by the wall clock of the farm:\n");
        described.push_str(&loads.join("\n"));
    }
    let about =
        format!("shift {} {}", watch.operators.first().copied().unwrap_or_default(), utc(watch.from).timestamp());
    event(instance, &format!("{about} {crew}"), watch.from)
        .ends(utc(watch.to))
        .summary(&format!("{crew}: {work}"))
        .description(&described)
        .done()
}

fn counted(count: usize, one: &str, many: &str) -> Option<String> {
    (count > 0).then(|| format!("{count} {}", if count == 1 { one } else { many }))
}

fn shipments(instance: &Instance, plan: &Plan) -> Vec<Event> {
    plan.shipments
        .iter()
        .flat_map(|shipment| [Some(ready(instance, shipment)), due(instance, shipment)])
        .flatten()
        .collect()
}

fn ready(instance: &Instance, planned: &ShipmentPlan) -> Event {
    let name = &planned.shipment;
    let said = Said::of(instance);
    let kept = match planned.due {
        Some(due) if planned.late > Minutes::ZERO => format!("{} late: it is due {}", planned.late, said.say(due)),
        Some(due) => format!("{} before it is due, {}", due - planned.ready, said.say(due)),
        None => "It has no due date".to_owned(),
    };
    let late = if planned.late > Minutes::ZERO { ", late" } else { "" };
    let described = [Some(format!("{kept}.")), contents(instance, name)].into_iter().flatten().collect::<Vec<_>>();
    transparent(event(instance, &format!("ready {name}"), planned.ready))
        .summary(&format!("Shipment {name} is ready{late}"))
        .description(&described.join("\n"))
        .done()
}

fn due(instance: &Instance, planned: &ShipmentPlan) -> Option<Event> {
    let (name, due) = (&planned.shipment, planned.due?);
    let mut event = transparent(event(instance, &format!("due {name}"), due));
    event.summary(&format!("Shipment {name} is due"));
    if let Some(contents) = contents(instance, name) {
        event.description(&contents);
    }
    Some(event.done())
}

/// `12 desk-lamp`, a line for each kit.
fn contents(instance: &Instance, name: &str) -> Option<String> {
    let shipment = instance.shipments.iter().find(|shipment| shipment.name == name)?;
    let lines = shipment
        .lines
        .iter()
        .filter_map(|line| Some(format!("{} {}", line.quantity, instance.kits.get(line.kit.index())?.name)));
    Some(lines.collect::<Vec<_>>().join("\n"))
}

fn event(instance: &Instance, about: &str, from: Instant) -> Event {
    let farm = &instance.farm;
    let digest = Sha256::digest(format!("{}\n{about}", farm.name));
    let uid: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    let mut event = Event::with_uid(&format!("{uid}@platewright"));
    event.timestamp(utc(farm.start)).starts(utc(from)).class(Class::Private);
    event
}

fn transparent(mut event: Event) -> Event {
    event.add_property("TRANSP", "TRANSPARENT");
    event
}

/// Tables and plan files admit no year that chrono cannot write.
fn utc(instant: Instant) -> DateTime<Utc> {
    DateTime::from_timestamp(instant.0.saturating_mul(60), 0).unwrap_or_default()
}
