//! `plates`: fit the known plates, show what other counts would mean, and let the planner choose among them.

use crate::args::PlatesArgs;
use crate::asking::{Kept, no_plan, with_planner};
use crate::exit::Exit;
use crate::objects::layouts as object;
use crate::out_folder;
use crate::refusal::{Refusal, shown};
use crate::voice::Voice;
use platewright_model::instance::PartId;
use platewright_model::overlay::{Overlay, Table};
use platewright_model::{Instance, Plan, tables};
use platewright_report::layouts::{self, Candidate, Most, gain};
use platewright_report::page::Page;
use platewright_solver::Answer;
use platewright_solver::decide::Planner;
use std::path::Path;
use std::time::Instant;

/// What the planner chose.
struct Choice {
    before: Plan,
    after: Plan,
    /// The farm with the chosen layouts.
    farm: Instance,
    overlay: Overlay,
    chosen: Vec<Candidate>,
}

/// Runs the command.
///
/// # Errors
/// Unusable tables, a part that is not there, or an out folder that cannot be written.
pub fn run(args: &PlatesArgs, voice: &mut Voice) -> Result<Exit, Refusal> {
    let begun = Instant::now();
    let out = args.out.clone().unwrap_or_else(|| args.folder.join("plates"));
    let instance = tables::read(&args.folder).map_err(Refusal::tables(&args.folder))?;
    out_folder::approve(&args.folder, &out)?;
    let studies = layouts::studies(&instance, &parts(&instance, &args.parts)?, most(args)?);
    let candidates = layouts::candidates(&instance, &studies);
    let mut page = Page::new(&format!("Plates for {}", instance.farm.name));
    layouts::studies_section(&instance, &studies, &mut page);
    page.heading("What the planner makes of them");
    if candidates.is_empty() {
        page.say("There is no layout to add: every count worth a look is known, or no count gives a line.");
        if args.json {
            voice.object(&object::plates(&instance, &studies, None))
        } else {
            voice.result(&page.text())
        }
        return Ok(Exit::Done);
    }
    let choice = match with_planner(&args.searching, voice, |planner| choose(planner, args, &instance, &candidates))? {
        Ok(choice) => choice,
        Err((proven, reasons)) => return Ok(no_plan(proven, &reasons, begun.elapsed(), args.json, voice)),
    };
    keep(&choice, &instance, &out)?;
    tell(&choice, &instance, candidates.len(), &mut page);
    if args.json {
        let told = object::Told { before: &choice.before, after: &choice.after, chosen: &choice.chosen };
        voice.object(&object::plates(&instance, &studies, Some(told)));
    } else {
        voice.result(&page.text());
    }
    let out = shown(&out);
    voice.note(&format!("plates.csv and the plan with it are in {out}, the plan without in {out}/before"));
    Ok(Exit::Done)
}

fn parts(instance: &Instance, names: &[String]) -> Result<Vec<PartId>, Refusal> {
    let known = || instance.parts.iter().map(|p| p.name.as_str());
    let find = |name: &String| {
        (0..).map(PartId).zip(known()).find(|(_, part)| part == name).map(|(id, _)| id).ok_or_else(|| Refusal::Call {
            message: format!("\"{name}\" is no part of parts.csv"),
            help: format!("name one of {}", known().collect::<Vec<_>>().join(", ")),
        })
    };
    names.iter().map(find).collect()
}

fn most(args: &PlatesArgs) -> Result<Most, Refusal> {
    Ok(match (args.most, args.bed.zip(args.copy)) {
        (Some(most), _) => Most::Copies(most),
        (None, None) => Most::Known,
        (None, Some((bed, copy))) => match layouts::on_bed(bed, copy) {
            0 => {
                return Err(Refusal::Call {
                    message: format!("a copy of {} x {} mm does not lie on the bed", copy.0, copy.1),
                    help: "check --bed and --copy; both are in millimetres".to_owned(),
                });
            }
            most => Most::Copies(most.min(10_000)),
        },
    })
}

/// The choice; else whether it is proven that there is no plan, and why.
type Chosen = Result<Choice, (bool, Vec<String>)>;

/// Plans with the known plates and with layouts to choose from, and keeps of the layouts those that the best plan runs.
fn choose(
    planner: &Planner<'_>,
    args: &PlatesArgs,
    instance: &Instance,
    candidates: &[Candidate],
) -> Result<Chosen, Refusal> {
    let before = match planner.plan("the plates that are known", instance) {
        Answer::Plan(plan) => *plan,
        Answer::None { proven, reasons } => return Ok(Err((proven, reasons))),
    };
    // With every layout to choose from a search may lose its way; those within the known counts are the likelier ones.
    let all: Vec<&Candidate> = candidates.iter().collect();
    let likely: Vec<&Candidate> = candidates.iter().filter(|c| !c.layout.stretched).collect();
    let mut best = (instance.clone(), before.clone());
    for (question, set) in [("with every layout", &all), ("with those within the known counts", &likely)] {
        if set.is_empty() || (set.len() == all.len() && question != "with every layout") {
            continue;
        }
        let (farm, _) = with(args, instance, set)?;
        if let Answer::Plan(plan) = planner.plan(question, &farm)
            && gain::worth(&plan) < gain::worth(&best.1)
        {
            best = (farm, *plan);
        }
    }
    let (wide, best) = best;
    let used = gain::plates_used(&wide, &best);
    let runs = |c: &&Candidate| used.iter().any(|(plate, group)| *plate == c.plate && *group == c.group);
    let chosen: Vec<&Candidate> = candidates.iter().filter(runs).collect();
    let (farm, overlay) = with(args, instance, &chosen)?;
    // What holds against more plates holds against fewer.
    let after = planner.carry(&best, &farm, best.claims.bound, best.claims.late_bound).unwrap_or(best);
    Ok(Ok(Choice { before, after, farm, overlay, chosen: chosen.into_iter().cloned().collect() }))
}

/// The farm with these layouts.
fn with(args: &PlatesArgs, instance: &Instance, candidates: &[&Candidate]) -> Result<(Instance, Overlay), Refusal> {
    let mut overlay = Overlay::new("the layouts");
    for row in layouts::rows(instance, candidates) {
        overlay.add(Table::Plates, row.iter().map(|(column, text)| (*column, text.as_str())));
    }
    let farm =
        tables::read_with(&args.folder, std::slice::from_ref(&overlay)).map_err(Refusal::tables(&args.folder))?;
    Ok((farm, overlay))
}

fn keep(choice: &Choice, instance: &Instance, out: &Path) -> Result<(), Refusal> {
    let plain = Kept { instance, plan: &choice.before, overlays: &[], about: "", others: Vec::new() };
    plain.write(&out.join("before"))?;
    let others = vec![("plates.csv", tables::plates_csv(&choice.farm).into_bytes())];
    let overlays = std::slice::from_ref(&choice.overlay);
    Kept { instance: &choice.farm, plan: &choice.after, overlays, about: "layouts worth cutting", others }.write(out)
}

fn tell(choice: &Choice, instance: &Instance, looked_at: usize, page: &mut Page) {
    if choice.chosen.is_empty() {
        page.say(&format!(
            "Of {looked_at} layouts that have yet to be cut, none gives a better plan than was found with the known \
             plates; plates.csv is as it was."
        ));
        return;
    }
    let names: Vec<&str> = choice.chosen.iter().map(|c| c.plate.as_str()).collect();
    page.say(&format!(
        "Of {looked_at} layouts that have yet to be cut, the plan runs {}: {}. With them {}.",
        names.len(),
        names.join(", "),
        gain::whole(&choice.before, &choice.after)
    ));
    let gains = gain::gains((instance, &choice.before), (&choice.farm, &choice.after));
    let chosen = |gain: &&gain::PartGain| choice.chosen.iter().any(|c| c.part == gain.part);
    gains.iter().filter(chosen).for_each(|part| page.item(&part.words(instance)));
}
