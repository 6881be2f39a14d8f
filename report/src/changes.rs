//! What a plan made anew changes: for whom, when, and which dates move by how much.

use crate::page::{Grid, Lean, Page};
use crate::wall::Wall;
use platewright_model::plan::{Plan, Source, Work};
use platewright_model::{Instance, Instant, Minutes, roster};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The differences between two plans from a moment on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changes {
    /// The moment.
    pub since: Instant,
    /// When the shift that is on then, or comes next, ends.
    pub soon: Instant,
    /// Shipments, in the instance's order.
    pub dates: Vec<DateChange>,
    /// Tasks that are new, gone, or at another time, place or by somebody else, in order of time.
    pub tasks: Vec<TaskChange>,
    /// Runs that the old plan did not have.
    pub new_runs: Vec<String>,
    /// Runs that the old plan had and this one has not.
    pub gone_runs: Vec<String>,
    /// Shipments that get copies from elsewhere, with how many.
    pub copies: Vec<(String, u64)>,
}

/// A shipment's date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DateChange {
    /// The shipment.
    pub shipment: String,
    /// When the old plan had it ready.
    pub was: Instant,
    /// When this one has.
    pub is: Instant,
    /// When it is due.
    pub due: Option<Instant>,
}

/// A task of one operator.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaskChange {
    /// Who does it now, or did.
    pub operator: String,
    /// Who was to do it, where that is somebody else.
    pub instead_of: Option<String>,
    /// What, in words.
    pub what: String,
    /// The run, if it is about one.
    pub run: Option<String>,
    /// When it was to begin.
    pub was: Option<Instant>,
    /// When it begins.
    pub is: Option<Instant>,
}

impl TaskChange {
    fn at(&self) -> Instant {
        self.is.or(self.was).unwrap_or(Instant(0))
    }
}

impl Changes {
    /// Tasks changed in the coming shift: their old or new time lies before its end.
    pub fn soon(&self) -> impl Iterator<Item = &TaskChange> {
        self.tasks.iter().filter(|t| t.was.into_iter().chain(t.is).any(|at| at < self.soon))
    }

    /// Runs changed in the coming shift.
    pub fn soon_runs(&self) -> BTreeSet<&str> {
        self.soon().filter_map(|task| task.run.as_deref()).collect()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.tasks.is_empty() && self.copies.is_empty() && self.dates.iter().all(|date| date.was == date.is)
    }
}

/// The end of the shift that is on at a moment, or of the next one.
pub fn end_of_shift(instance: &Instance, at: Instant) -> Instant {
    let stretches = roster::stretches(instance);
    let on = stretches.iter().filter(|s| s.from <= at && at < s.to).map(|s| s.to).max();
    let next = || stretches.iter().filter(|s| at < s.from).min_by_key(|s| s.from).map(|s| s.to);
    on.or_else(next).unwrap_or(at)
}

/// What a task is, whichever plan it is in: the box is counted within its row.
type Key = (u8, String, String, usize);

fn keyed(plan: &Plan) -> HashMap<Key, (Instant, Instant, &str, &str)> {
    let mut boxes: HashMap<(&str, &str), usize> = HashMap::new();
    let mut all = HashMap::new();
    let mut tasks: Vec<_> = plan.tasks.iter().collect();
    tasks.sort_by_key(|task| task.from);
    for task in tasks {
        let (key, printer): (Key, &str) = match &task.work {
            Work::Load { run, printer } => ((0, run.clone(), String::new(), 0), printer),
            Work::Harvest { run, printer } => ((1, run.clone(), String::new(), 0), printer),
            Work::Pack { shipment, kit } => {
                let number = boxes.entry((shipment, kit)).or_default();
                *number += 1;
                ((2, shipment.clone(), kit.clone(), *number), "")
            }
        };
        all.insert(key, (task.from, task.to, task.operator.as_str(), printer));
    }
    all
}

/// The differences. `old` and `new` are plans of one instance; what was done by `since` in the new one is no change.
pub fn between(instance: &Instance, old: &Plan, new: &Plan, since: Instant) -> Changes {
    let (before, after) = (keyed(old), keyed(new));
    let plates: HashMap<&str, &str> =
        old.runs.iter().chain(&new.runs).map(|run| (run.run.as_str(), run.plate.as_str())).collect();
    let what = |key: &Key, printer: &str| match key.0 {
        2 => format!("pack {} for {}", key.2, key.1),
        kind => {
            let plate = plates.get(key.1.as_str()).copied().unwrap_or_default();
            format!("{} {plate} on {printer} ({})", if kind == 0 { "load" } else { "harvest" }, key.1)
        }
    };
    let run = |key: &Key| (key.0 < 2).then(|| key.1.clone());
    let mut tasks = Vec::new();
    for (key, now) in after.iter().filter(|(_, now)| now.1 > since) {
        match before.get(key) {
            Some(then) if (then.0, then.2, then.3) == (now.0, now.2, now.3) => {}
            then => tasks.push(TaskChange {
                operator: now.2.to_owned(),
                instead_of: then.filter(|then| then.2 != now.2).map(|then| then.2.to_owned()),
                what: what(key, now.3),
                run: run(key),
                was: then.map(|then| then.0),
                is: Some(now.0),
            }),
        }
    }
    let gone = before.iter().filter(|(key, then)| then.1 > since && after.get(*key).is_none_or(|now| now.1 <= since));
    // What was done sooner than planned is no news to those who did it; what is not to be done any more is.
    tasks.extend(gone.filter(|(key, _)| !after.contains_key(*key)).map(|(key, then)| TaskChange {
        operator: then.2.to_owned(),
        instead_of: None,
        what: what(key, then.3),
        run: run(key),
        was: Some(then.0),
        is: None,
    }));
    tasks.sort_by(|a, b| (a.at(), &a.operator, &a.what).cmp(&(b.at(), &b.operator, &b.what)));
    let names = |plan: &Plan| plan.runs.iter().map(|run| run.run.clone()).collect::<BTreeSet<_>>();
    let (had, has) = (names(old), names(new));
    Changes {
        since,
        soon: end_of_shift(instance, since),
        dates: dates(instance, old, new),
        tasks,
        new_runs: has.difference(&had).cloned().collect(),
        gone_runs: had.difference(&has).cloned().collect(),
        copies: copies(instance, old, new),
    }
}

fn dates(instance: &Instance, old: &Plan, new: &Plan) -> Vec<DateChange> {
    let of = |plan: &Plan, name: &str| plan.shipments.iter().find(|row| row.shipment == name).map(|row| row.ready);
    let shipments = instance.shipments.iter();
    shipments
        .filter_map(|s| {
            let is = of(new, &s.name)?;
            Some(DateChange { shipment: s.name.clone(), was: of(old, &s.name).unwrap_or(is), is, due: s.due })
        })
        .collect()
}

/// How many copies each shipment gets from other sources than it did.
fn copies(instance: &Instance, old: &Plan, new: &Plan) -> Vec<(String, u64)> {
    let table = |plan: &Plan| {
        let mut table: BTreeMap<(String, String, Source), u64> = BTreeMap::new();
        for row in &plan.allocation {
            *table.entry((row.shipment.clone(), row.part.clone(), row.source.clone())).or_default() += row.count.0;
        }
        table
    };
    let (was, is) = (table(old), table(new));
    let more = |shipment: &str| -> u64 {
        let rows = is.iter().filter(|(key, _)| key.0 == shipment);
        rows.map(|(key, count)| count.saturating_sub(was.get(key).copied().unwrap_or(0))).sum()
    };
    instance.shipments.iter().map(|s| (s.name.clone(), more(&s.name))).filter(|s| s.1 > 0).collect()
}

fn moved(was: Instant, is: Instant) -> String {
    match (is - was).0 {
        0 => String::new(),
        later if later > 0 => format!("{} later", Minutes(later)),
        sooner => format!("{} sooner", Minutes(-sooner)),
    }
}

/// The page, which opens with what changed.
pub fn page(instance: &Instance, changes: &Changes) -> String {
    let wall = Wall::of(instance);
    let title = format!("The plan for {}, anew from {}", instance.farm.name, wall.say(changes.since));
    let mut page = Page::new(&title);
    page.blank();
    if changes.is_empty() {
        page.say("Nothing changes: all is as planned.");
        return page.text();
    }
    page.say(&opening(&wall, changes));
    page.heading("Dates");
    let mut grid = Grid::new([
        ("shipment", Lean::Left),
        ("was", Lean::Left),
        ("is", Lean::Left),
        ("moves", Lean::Right),
        ("", Lean::Left),
    ]);
    for date in &changes.dates {
        let late = date.due.filter(|due| date.is > *due).map(|due| format!("late {}", Minutes((date.is - due).0)));
        let row = [wall.column(date.was), wall.column(date.is), moved(date.was, date.is), late.unwrap_or_default()];
        let [was, is, moves, late] = row;
        grid.row([date.shipment.clone(), was, is, moves, late]);
    }
    page.table(&grid.without_columns_of(""));
    page.heading(&format!("For whom, until {}", wall.say(changes.soon)));
    let mut grid = Grid::new([("who", Lean::Left), ("was", Lean::Left), ("is", Lean::Left), ("what", Lean::Left)]);
    for task in changes.soon() {
        let time = |at: Option<Instant>, none: &str| {
            let soon = |at: Instant| if at < changes.soon { wall.time(at) } else { wall.say(at) };
            at.map_or_else(|| none.to_owned(), soon)
        };
        let was = match &task.instead_of {
            Some(other) => format!("{} {other}", time(task.was, "-")),
            None => time(task.was, "-"),
        };
        grid.row([task.operator.clone(), was, time(task.is, "not"), task.what.clone()]);
    }
    if changes.soon().next().is_none() {
        page.say("Nothing changes in this shift.");
    } else {
        page.table(&grid);
    }
    later(&wall, changes, &mut page);
    page.text()
}

fn opening(wall: &Wall<'_>, changes: &Changes) -> String {
    let soon = changes.soon_runs();
    let all: BTreeSet<&str> = changes.tasks.iter().filter_map(|task| task.run.as_deref()).collect();
    let of = |n: usize| counted(n as u64, "run");
    let people: BTreeSet<&str> = changes.soon().map(|task| task.operator.as_str()).collect();
    let whom = match people.len() {
        0 => String::new(),
        _ => format!(", for {}", people.into_iter().collect::<Vec<_>>().join(", ")),
    };
    let moved_dates = changes.dates.iter().filter(|date| date.was != date.is);
    let dates: Vec<String> =
        moved_dates.map(|date| format!("{} {}", date.shipment, moved(date.was, date.is))).collect();
    let dates = if dates.is_empty() { "No date moves.".to_owned() } else { format!("Dates: {}.", dates.join(", ")) };
    let change = |n: usize| if n == 1 { "1 run changes".to_owned() } else { format!("{} change", of(n)) };
    let new = changes.new_runs.len();
    let new = if new == 1 { "1 run is".to_owned() } else { format!("{} are", of(new)) };
    let until = wall.say(changes.soon);
    let after = all.difference(&soon).count();
    format!("{} until {until}{whom}, and {} after that. {new} new. {dates}", change(soon.len()), of(after))
}

/// So many of something.
fn counted(n: u64, what: &str) -> String {
    let plural = match what {
        "copy" => "copies".to_owned(),
        what => format!("{what}s"),
    };
    if n == 1 { format!("1 {what}") } else { format!("{n} {plural}") }
}

fn later(wall: &Wall<'_>, changes: &Changes, page: &mut Page) {
    page.heading("After that");
    let later = || changes.tasks.iter().filter(|t| t.was.into_iter().chain(t.is).all(|at| at >= changes.soon));
    let shifts: Vec<i64> = later().filter_map(|t| Some((t.is? - t.was?).0)).collect();
    let most = shifts.iter().map(|minutes| minutes.abs()).max().unwrap_or(0);
    if later().next().is_none() {
        page.item("Nothing changes.");
    } else {
        let tasks = counted(later().count() as u64, "task");
        let by = if most == 0 { String::new() } else { format!(", by at most {}", Minutes(most)) };
        page.item(&format!("At another time, new, gone or somebody else's: {tasks}{by}; tasks.csv has them."));
    }
    let first = |name: &String| changes.tasks.iter().find(|task| task.run.as_ref() == Some(name));
    for name in changes.new_runs.iter().take(10) {
        if let Some(task) = first(name) {
            page.item(&format!("New: {}, {}.", task.what, wall.say(task.at())));
        }
    }
    if changes.new_runs.len() > 10 {
        page.item(&format!("And {} more new runs.", changes.new_runs.len() - 10));
    }
    if !changes.gone_runs.is_empty() {
        page.item(&format!("No longer printed: {}.", changes.gone_runs.join(", ")));
    }
    for (shipment, count) in &changes.copies {
        page.item(&format!("{shipment} gets {} from elsewhere than before.", counted(*count, "copy")));
    }
}
