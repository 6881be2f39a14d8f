//! `explain`: why a plan ends when it does, what contradicts where dates are not kept, and what one more of something
//! would gain.

use crate::args::ExplainArgs;
use crate::asking::{Kept, quiet_planner, with_planner};
use crate::exit::Exit;
use crate::objects::explained;
use crate::out_folder;
use crate::plan_of::{self, PlanOf};
use crate::refusal::{Refusal, shown};
use crate::two_threads;
use crate::voice::Voice;
use platewright_checker as checker;
use platewright_model::overlay::Overlay;
use platewright_model::{Instance, Plan, WeightedMinutes, tables};
use platewright_report::gains::{self, Gain};
use platewright_report::page::Page;
use platewright_report::wall::Wall;
use platewright_report::{bound, why};
use platewright_solver::Answer;
use platewright_solver::decide::{Claim, Contradiction, More, Planner, Size, clash, merit, onward};
use std::path::Path;

/// A farm to be planned, what is other there than in the tables, and the folder that its plan goes into.
struct Farm {
    words: String,
    folder: String,
    farm: Instance,
    overlays: Vec<Overlay>,
}

/// A changed farm and its plan.
struct Changed {
    of: Farm,
    plan: Plan,
}

impl Changed {
    fn gain(&self) -> Gain<'_> {
        Gain { words: self.of.words.clone(), folder: self.of.folder.clone(), plan: &self.plan }
    }
}

/// What more would gain, beside the plan that gains are counted from: the one that is explained, or a better one that
/// the same search finds in the farm as it is.
struct Gains {
    base: Plan,
    changed: Vec<Changed>,
}

/// What there is to explain.
enum Found {
    /// A plan; where dates are late, the claims that contradict, if that is proven; and what more would gain.
    Plan { base: Box<Plan>, clash: Option<Contradiction<Claim>>, gains: Option<Box<Gains>> },
    /// No plan.
    None { proven: bool, reasons: Vec<String>, clash: Option<Contradiction<Claim>> },
    /// The plan that was given breaks rules.
    Broken,
}

/// Runs the command.
///
/// # Errors
/// Unusable tables, a plan that cannot be read, or an out folder that cannot be written.
pub fn run(args: &ExplainArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let out = args.out.clone().unwrap_or_else(|| args.folder.join("explain"));
    let Read { instance, overlays, given } = read(args)?;
    out_folder::approve(&args.folder, &out)?;
    let found = with_planner(&args.searching, voice, |planner| find(planner, args, (&instance, &overlays), given))?;
    let mut page = Page::new(&format!("Why, at {}", instance.farm.name));
    match found {
        Found::Broken => {
            voice.error("the plan breaks rules, so there is nothing to explain yet");
            voice.hint("see `platewright check` for which, and plan again");
            if args.json {
                voice.object(&explained::broken());
            }
            Ok(Exit::No)
        }
        Found::None { proven, reasons, clash } => {
            voice.error(if proven { "no plan exists within the horizon" } else { "no plan was found" });
            page.blank();
            reasons.iter().for_each(|reason| page.item(reason));
            clash_section(&instance, clash.as_ref(), &mut page);
            if args.json {
                voice.object(&explained::none(&instance, proven, &reasons, clash.as_ref()));
            } else {
                voice.result(&page.text());
            }
            Ok(Exit::NoPlan)
        }
        Found::Plan { base, clash, gains } => {
            tell_why(&instance, &base, clash.as_ref(), &mut page);
            let (from, changed) = match gains.map(|gains| *gains) {
                Some(Gains { base, changed }) => (base, changed),
                None => ((*base).clone(), Vec::new()),
            };
            let sorted = gains::sorted(changed.iter().map(Changed::gain).collect(), &from);
            if !sorted.is_empty() {
                gains::section(&instance, (&base, &from), &sorted, &mut page);
                keep((&instance, &overlays), &from, &changed, &out)?;
                voice.note(&format!("the plans behind the gains are in {}, a folder for each", shown(&out)));
            }
            if args.json {
                voice.object(&explained::plan(&instance, &base, clash.as_ref(), (&from, &sorted)));
            } else {
                voice.result(&page.text());
            }
            Ok(Exit::Done)
        }
    }
}

/// The farm, what is other there than in the tables, and the plan if there is one.
struct Read {
    instance: Instance,
    overlays: Vec<Overlay>,
    given: Option<Plan>,
}

/// Reads the plan that is named, or the one where `plan` puts it, with its farm.
fn read(args: &ExplainArgs) -> Result<Read, Refusal> {
    let usual = args.folder.join("plan");
    let plan = args.plan.clone().or_else(|| usual.join("plan.json").is_file().then_some(usual));
    Ok(match plan {
        None => {
            let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
            Read { instance, overlays: Vec::new(), given: None }
        }
        Some(plan) => {
            let PlanOf { instance, folder, overlays } = plan_of::read(&args.folder, &plan)?;
            Read { instance, overlays, given: Some(folder.plan) }
        }
    })
}

fn find(
    planner: &Planner<'_>,
    args: &ExplainArgs,
    (instance, overlays): (&Instance, &[Overlay]),
    given: Option<Plan>,
) -> Result<Found, Refusal> {
    if given.as_ref().is_some_and(|plan| !checker::check(instance, plan).holds()) {
        return Ok(Found::Broken);
    }
    let base = match given {
        // Only what the same search does not find in the farm as it is may be called a gain.
        Some(plan) if args.only_why || (plan.claims.engine != "quick" && plan.claims.notes.is_empty()) => plan,
        given => match planner.plan("the farm as it is", instance) {
            Answer::Plan(plan) => given.filter(|given| merit(given) < merit(&plan)).unwrap_or(*plan),
            Answer::None { proven, reasons } => match given {
                Some(given) => given,
                None => {
                    let clash = if proven { clash(planner, instance, None) } else { None };
                    return Ok(Found::None { proven, reasons, clash });
                }
            },
        },
    };
    let clash = if base.claims.late > WeightedMinutes::ZERO { clash(planner, instance, Some(&base)) } else { None };
    let gains = if args.only_why { None } else { Some(Box::new(gains(planner, args, (instance, overlays), &base)?)) };
    Ok(Found::Plan { base: Box::new(base), clash, gains })
}

/// Goes on from the plan in the farm as it is, and in the farm with one more of each thing, for which what was found in the
/// farm as it is is a candidate too.
fn gains(
    planner: &Planner<'_>,
    args: &ExplainArgs,
    (instance, overlays): (&Instance, &[Overlay]),
    plan: &Plan,
) -> Result<Gains, Refusal> {
    (planner.progress)("what one more of each thing would gain", None);
    let with = |more: More| {
        let overlays: Vec<Overlay> = overlays.iter().cloned().chain([more.overlay(instance, 1)]).collect();
        let farm = tables::read_with(&args.folder, &overlays).map_err(Refusal::tables(&args.folder))?;
        Ok(Farm { words: more.words(instance, 1), folder: more.name(instance), farm, overlays })
    };
    let as_it_is = Farm {
        words: "the farm as it is".to_owned(),
        folder: "as-it-is".to_owned(),
        farm: instance.clone(),
        overlays: overlays.to_vec(),
    };
    let farms = std::iter::once(Ok(as_it_is)).chain(More::of_each(instance).into_iter().map(with));
    let farms = farms.collect::<Result<Vec<_>, Refusal>>()?;
    let until = planner.until;
    let plans =
        two_threads::each(&farms, |of| onward(&quiet_planner(&args.searching, until), &of.words, &of.farm, plan));
    let mut plans = plans.into_iter();
    let base = plans.next().flatten().filter(|found| merit(found) < merit(plan)).unwrap_or_else(|| plan.clone());
    let changed = farms.into_iter().skip(1).zip(plans).filter_map(|(of, found)| {
        let plan = planner.better(found?, &base, &of.farm);
        Some(Changed { of, plan })
    });
    let changed = changed.collect();
    Ok(Gains { base, changed })
}

fn keep(
    (instance, overlays): (&Instance, &[Overlay]),
    base: &Plan,
    changed: &[Changed],
    out: &Path,
) -> Result<(), Refusal> {
    let as_it_is = Kept { instance, plan: base, overlays, about: "the farm as it is", others: Vec::new() };
    as_it_is.write(&out.join("as-it-is"))?;
    changed.iter().try_for_each(|c| {
        let kept = Kept {
            instance: &c.of.farm,
            plan: &c.plan,
            overlays: &c.of.overlays,
            about: &c.of.words,
            others: Vec::new(),
        };
        kept.write(&out.join(&c.of.folder))
    })
}

fn tell_why(instance: &Instance, plan: &Plan, clash: Option<&Contradiction<Claim>>, page: &mut Page) {
    page.blank();
    page.say(&bound::on_value(instance, plan));
    if let Some(words) = bound::on_lateness(&plan.claims) {
        page.say(&words);
    }
    bound::prices_section(plan, page);
    let last = plan.shipments.iter().max_by_key(|s| s.ready).map(|s| s.shipment.as_str());
    let late = plan.shipments.iter().filter(|s| s.late.0 > 0).map(|s| s.shipment.as_str());
    let mut told: Vec<&str> = Vec::new();
    for shipment in last.into_iter().chain(late) {
        if told.contains(&shipment) {
            continue;
        }
        told.push(shipment);
        if let Some(chain) = why::chain(instance, plan, shipment) {
            let is_late = plan.shipments.iter().any(|s| s.shipment == shipment && s.late.0 > 0);
            let why = if is_late { "is late" } else { "is the last" };
            why::chain_section(instance, &chain, &format!("Why {shipment} {why}"), page);
        }
    }
    if plan.claims.late > WeightedMinutes::ZERO {
        clash_section(instance, clash, page);
    }
}

fn clash_section(instance: &Instance, clash: Option<&Contradiction<Claim>>, page: &mut Page) {
    page.heading("What contradicts");
    match clash {
        None => {
            page.say("That these dates and rules contradict each other is not proven; a better plan may keep them.")
        }
        Some(Contradiction { wishes, size }) => {
            page.say(&format!(
                "These cannot all hold: that is proven. {}",
                match size {
                    Size::Smallest => "No fewer dates and rules contradict each other: any fewer can be kept together.",
                    Size::SmallestProvable =>
                        "Fewer dates and rules were all tried, and none of them is proven to contradict.",
                    Size::Irreducible => "With any one of them given up, nothing is proven against the rest.",
                }
            ));
            wishes.iter().for_each(|claim| page.item(&words(instance, claim)));
        }
    }
}

/// A claim in the words of the tables.
pub fn words(instance: &Instance, claim: &Claim) -> String {
    let wall = Wall::of(instance);
    let name = |id: platewright_model::instance::ShipmentId| {
        instance.shipments.get(id.index()).map_or("", |shipment| shipment.name.as_str())
    };
    match claim {
        Claim::Attended => "Nothing prints with nobody there (unattended.allowed is false).".to_owned(),
        Claim::AtMost(most) => format!("At most {most} printers print with nobody there (unattended.max_printers)."),
        Claim::NoLonger(most) => {
            format!("No run prints longer than {most} with nobody there (unattended.max_minutes).")
        }
        Claim::WholeBags => "Only plates that close a bag are used (counting.whole_plates_per_bag).".to_owned(),
        Claim::Downtime => "Printers stay down as downtime.csv says.".to_owned(),
        Claim::Closures => "No shift starts on the dates of closures.csv.".to_owned(),
        Claim::Release(id) => format!("Nothing loaded before its release goes into {}.", name(*id)),
        Claim::Ready(id, by) => format!("{} is ready by {}.", name(*id), wall.say(*by)),
    }
}
