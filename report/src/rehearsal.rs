//! What rehearsals of a plan showed: how its dates hold, what makes them slip, where it is tight.

use crate::page::{Grid, Lean, Page};
use crate::wall::Wall;
use platewright_model::{Instance, Instant, Minutes};

/// What is told of many rehearsals.
#[derive(Debug, Clone, PartialEq)]
pub struct Rehearsal {
    /// How many.
    pub times: u64,
    /// The seed they were drawn from.
    pub seed: u64,
    /// One per shipment, in the instance's order.
    pub shipments: Vec<ShipmentDates>,
    /// Rehearsals in which no shipment was late.
    pub all_on_time: u64,
    /// Runs with the least slack, least first.
    pub slack: Vec<RunSlack>,
    /// Hours in which tasks waited longest for somebody to have time, longest first.
    pub tight: Vec<TightHour>,
    /// Means per rehearsal: plates failed, copies rejected, breakdowns, runs made again.
    pub means: [f64; 4],
}

/// A shipment's dates.
#[derive(Debug, Clone, PartialEq)]
pub struct ShipmentDates {
    /// Its name.
    pub shipment: String,
    /// When it is due.
    pub due: Option<Instant>,
    /// When the plan has it ready.
    pub planned: Instant,
    /// Rehearsals in which it was in time.
    pub on_time: u64,
    /// The dates at 50, 80 and 95 %; none where it was never ready in enough of them.
    pub at: [Option<Instant>; 3],
    /// What made it late, in words, most often first.
    pub causes: Vec<(String, u64)>,
    /// When it was ready, ascending.
    pub ready: Vec<Instant>,
}

/// A run and how much later it may be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunSlack {
    /// Its name.
    pub run: String,
    /// Its printer.
    pub printer: String,
    /// Its plate.
    pub plate: String,
    /// When it is to be harvested.
    pub harvest: Instant,
    /// Its slack.
    pub slack: Minutes,
}

/// An hour of the crew.
#[derive(Debug, Clone, PartialEq)]
pub struct TightHour {
    /// When it begins.
    pub from: Instant,
    /// Minutes that tasks begun to wait in it had to, per rehearsal.
    pub waited: f64,
}

/// A bar of a histogram.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bar {
    /// From.
    pub from: Instant,
    /// Up to, but not including it.
    pub to: Instant,
    /// How many.
    pub count: u64,
}

const BARS: i64 = 14;

/// Ready times in bars of equal, round widths; the last also holds whatever comes later than 99.5 %.
pub fn histogram(instance: &Instance, ready: &[Instant]) -> Vec<Bar> {
    let (Some(first), Some(last)) = (ready.first(), ready.get(ready.len() * 995 / 1000)) else { return Vec::new() };
    let reach = (*last - *first).0 + 1;
    let widths = [5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 7 * 1440];
    let width = widths.into_iter().find(|w| reach <= w * (BARS - 1)).unwrap_or((reach / BARS).max(1));
    // Round by the clock on the wall.
    let offset = i64::from(instance.farm.clock.stamp(*first).offset().local_minus_utc() / 60);
    let begin = (first.0 + offset).div_euclid(width) * width - offset;
    let bars = (last.0 - begin).div_euclid(width) + 1;
    let mut all: Vec<Bar> = (0..bars)
        .map(|n| Bar { from: Instant(begin + n * width), to: Instant(begin + (n + 1) * width), count: 0 })
        .collect();
    for at in ready {
        let bar = ((at.0 - begin).div_euclid(width)).clamp(0, bars - 1) as usize;
        all[bar].count += 1;
    }
    all
}

/// A share in percent: never 0 % of something or 100 % of less than all.
pub(crate) fn share(count: u64, times: u64) -> String {
    let percent = 100.0 * count as f64 / times.max(1) as f64;
    match percent {
        _ if count == 0 || count == times => format!("{percent:.0} %"),
        p if p < 1.0 => "< 1 %".to_owned(),
        p if p > 99.0 => "> 99 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

/// The page.
pub fn page(instance: &Instance, told: &Rehearsal) -> String {
    let wall = Wall::of(instance);
    let mut page = Page::new(&format!("The plan for {}, rehearsed", instance.farm.name));
    page.blank();
    page.say(&format!(
        "{} rehearsals, seed {}. In {} of them nothing was late. A rehearsal had on average {:.1} failed plates, {:.1} \
         rejected copies, {:.1} breakdowns and {:.1} runs made again.",
        told.times,
        told.seed,
        share(told.all_on_time, told.times),
        told.means[0],
        told.means[1],
        told.means[2],
        told.means[3]
    ));
    page.heading("Dates");
    let mut grid = Grid::new([
        ("shipment", Lean::Left),
        ("in time", Lean::Right),
        ("50 %", Lean::Left),
        ("80 %", Lean::Left),
        ("95 %", Lean::Left),
    ]);
    for s in &told.shipments {
        let at = |at: Option<Instant>| at.map_or_else(|| "never".to_owned(), |at| wall.column(at));
        let in_time = if s.due.is_some() { share(s.on_time, told.times) } else { "any time".to_owned() };
        grid.row([s.shipment.clone(), in_time, at(s.at[0]), at(s.at[1]), at(s.at[2])]);
    }
    page.table(&grid);
    for s in &told.shipments {
        one_shipment(instance, told, s, &mut page);
    }
    tight(&wall, told, &mut page);
    page.text()
}

fn one_shipment(instance: &Instance, told: &Rehearsal, s: &ShipmentDates, page: &mut Page) {
    let wall = Wall::of(instance);
    page.heading(&s.shipment);
    let due = s.due.map_or_else(|| "no due date".to_owned(), |due| format!("due {}", wall.say(due)));
    page.say(&format!("Planned {}, {due}. Ready within the time from:", wall.say(s.planned)));
    let bars = histogram(instance, &s.ready);
    let most = bars.iter().map(|b| b.count).max().unwrap_or(1).max(1);
    let mut grid = Grid::new([("from", Lean::Left), ("", Lean::Left), ("share", Lean::Right), ("", Lean::Left)]);
    for bar in &bars {
        let length = (40 * bar.count).div_ceil(most) as usize;
        let mark = match s.due {
            Some(due) if bar.from <= due && due < bar.to => "due",
            _ => "",
        };
        grid.row([wall.column(bar.from), "#".repeat(length), share(bar.count, told.times), mark.to_owned()]);
    }
    page.table(&grid);
    let never = told.times - s.ready.len() as u64;
    if never > 0 {
        page.say(&format!("Never ready within the horizon: {}.", share(never, told.times)));
    }
    let late: u64 = s.causes.iter().map(|c| c.1).sum();
    if late > 0 {
        let causes = s.causes.iter().take(3).map(|(what, count)| format!("{what} ({})", share(*count, late)));
        page.say(&format!("Late {} times; last of all came: {}.", late, causes.collect::<Vec<_>>().join(", ")));
    }
}

fn tight(wall: &Wall<'_>, told: &Rehearsal, page: &mut Page) {
    page.heading("Where it is tight");
    if let Some(least) = told.slack.first() {
        let late = |slack: Minutes| {
            if slack < Minutes::ZERO { format!("{} late as planned", Minutes(-slack.0)) } else { slack.to_string() }
        };
        page.item(&format!(
            "The run with the least slack is {}: {} on {}, harvested {}. Slack: {}.",
            least.run,
            least.plate,
            least.printer,
            wall.say(least.harvest),
            late(least.slack)
        ));
        let next = told.slack.iter().skip(1).take(4).map(|s| format!("{} ({})", s.run, late(s.slack)));
        let next: Vec<String> = next.collect();
        if !next.is_empty() {
            page.item(&format!("Then: {}.", next.join(", ")));
        }
    } else {
        page.item("No run has any bearing on a due date.");
    }
    match told.tight.first() {
        Some(hour) => {
            page.item(&format!(
                "The tightest operator hour begins {}: tasks wait {:.0} min in all for somebody to have time, per \
                 rehearsal.",
                wall.say(hour.from),
                hour.waited
            ));
            let next = told.tight.iter().skip(1).take(2).map(|h| format!("{} ({:.0} min)", wall.say(h.from), h.waited));
            let next: Vec<String> = next.collect();
            if !next.is_empty() {
                page.item(&format!("Then: {}.", next.join(", ")));
            }
        }
        None => page.item("No task ever waited for an operator."),
    }
}
