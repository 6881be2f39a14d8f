//! One instance, planned in this process as often as a test wants, and believed only after it was checked.

use crate::tables::Tables;
use crate::verdict;
use platewright_model::plan::Objective;
use platewright_model::{Instance, Plan, tables};
use platewright_solver::{Answer, EngineChoice, Progress, Request, solve};
use std::cell::{Cell, RefCell};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use tempfile::TempDir;

/// What is asked of the planner.
#[derive(Debug, Clone, Copy)]
pub struct Ask {
    /// What is minimised.
    pub objective: Objective,
    /// By which engine.
    pub engine: EngineChoice,
    /// The seed of its random choices.
    pub seed: u64,
    /// Interrupt it when it has told so often how the search stands; none: let it end by itself.
    pub interrupt_after: Option<u32>,
}

impl Ask {
    /// The objective `soonest` by an engine.
    pub fn soonest(engine: EngineChoice) -> Ask {
        Ask { objective: Objective::Soonest, engine, seed: 0, interrupt_after: None }
    }

    /// The objective `least-idle` by an engine.
    pub fn least_idle(engine: EngineChoice) -> Ask {
        Ask { objective: Objective::LeastIdle, ..Ask::soonest(engine) }
    }
}

/// What came of it.
#[derive(Debug)]
pub enum Found {
    /// A plan, checked.
    Plan(Box<Plan>),
    /// None, and whether it is proven that none exists.
    Nothing {
        /// No plan exists.
        proven: bool,
    },
}

impl Found {
    /// The plan, where there is one.
    pub fn plan(self) -> Option<Plan> {
        match self {
            Found::Plan(plan) => Some(*plan),
            Found::Nothing { .. } => None,
        }
    }
}

/// An instance in a folder of its own. When a test fails while it is alive, its name is printed and the folder kept.
#[derive(Debug)]
pub struct Trial {
    /// What and which seed, for messages.
    pub name: String,
    /// As read from the folder.
    pub instance: Instance,
    folder: Option<TempDir>,
    path: PathBuf,
}

impl Trial {
    /// Writes the tables and reads them back.
    pub fn new(name: impl Into<String>, tables: &Tables) -> Trial {
        let folder = tempfile::tempdir().expect("a folder for the instance");
        let path = folder.path().to_owned();
        tables.write(&path);
        let name = name.into();
        match tables::read(&path) {
            Ok(instance) => Trial { name, instance, folder: Some(folder), path },
            Err(faults) => panic!("{name}: the instance in {} has faults: {faults}", folder.keep().display()),
        }
    }

    /// An instance that was read with changes; its folder holds only its plans.
    pub fn of(name: impl Into<String>, instance: Instance) -> Trial {
        let folder = tempfile::tempdir().expect("a folder for the plans");
        let path = folder.path().to_owned();
        Trial { name: name.into(), instance, folder: Some(folder), path }
    }

    /// The folder with the tables.
    pub fn folder(&self) -> &Path {
        &self.path
    }

    /// Plans, and panics unless the plan holds in every respect or there is none and a reason is given.
    pub fn plan(&self, ask: Ask) -> Found {
        match self.ask(ask) {
            Answer::Plan(plan) => {
                verdict::believe(&self.instance, &plan, &self.path.join("plan"));
                assert_eq!(plan.objective, ask.objective);
                Found::Plan(plan)
            }
            Answer::None { proven, reasons } => {
                assert!(!reasons.is_empty(), "no plan and not a word why");
                Found::Nothing { proven }
            }
        }
    }

    /// Plans something that has a plan.
    pub fn must_plan(&self, ask: Ask) -> Plan {
        self.plan(ask).plan().expect("a plan")
    }

    /// The engine's answer. A plan that the checker refuses is a fault even where the engine has another.
    fn ask(&self, ask: Ask) -> Answer {
        let (stop, told, refused) = (AtomicBool::new(false), Cell::new(0), RefCell::new(Vec::new()));
        let progress = |_: Progress| {
            told.set(told.get() + 1);
            if ask.interrupt_after.is_some_and(|after| told.get() > after) {
                stop.store(true, Ordering::Relaxed);
            }
        };
        let accept = |plan: &Plan| {
            let found = verdict::breaches(&self.instance, plan);
            let holds = found.is_empty();
            refused.borrow_mut().extend(found);
            holds
        };
        let answer = solve(
            &self.instance,
            &Request {
                objective: ask.objective,
                engine: ask.engine,
                time_limit: None,
                seed: ask.seed,
                stop: &stop,
                progress: &progress,
                accept: &accept,
            },
        );
        let refused = refused.into_inner();
        assert!(refused.is_empty(), "the engine offered a plan that breaks rules: {refused:#?}");
        answer
    }
}

impl Drop for Trial {
    fn drop(&mut self) {
        if std::thread::panicking()
            && let Some(folder) = self.folder.take()
        {
            eprintln!("{}: the instance is kept in {}", self.name, folder.keep().display());
        }
    }
}
