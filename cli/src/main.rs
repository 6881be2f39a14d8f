//! The command line: each command is a short composition of reading, planning, checking, telling and writing.
//!
//! [`args`] says what can be asked, [`commands`] does it, [`voice`] alone writes to the terminal, [`exit`] lists how a
//! command can end, [`refusal`] what ends one early, and [`objects`] what `--json` prints.

mod args;
mod asking;
mod checked_plan;
mod commands;
mod exchange_args;
mod exit;
mod farms;
mod floor_args;
mod interrupt;
mod objects;
mod out_folder;
mod plan_of;
mod progress;
mod refusal;
mod side_by_side;
mod two_threads;
mod voice;
mod whole_file;

use args::{Args, Command};
use clap::Parser;
use exit::Exit;
use std::process::ExitCode;
use voice::Voice;

fn main() -> ExitCode {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => return usage(&error).into(),
    };
    let mut voice = Voice::new(args.quiet);
    let (ended, json) = match &args.command {
        Command::New(args) => (commands::new::run(args, &mut voice), false),
        Command::Plan(args) => (commands::plan::run(args, &mut voice), args.json),
        Command::Check(args) => (commands::check::run(args, &mut voice), args.json),
        Command::Quote(args) => (commands::quote::run(args, &mut voice), args.json),
        Command::Explain(args) => (commands::explain::run(args, &mut voice), args.json),
        Command::Plates(args) => (commands::plates::run(args, &mut voice), args.json),
        Command::Compare(args) => (commands::compare::run(args, &mut voice), args.json),
        Command::Regress(args) => (commands::regress::run(args, &mut voice), args.json),
        Command::Export(args) => (commands::export::run(args, &mut voice), false),
        Command::Import(args) => (commands::import::run(args, &mut voice), false),
        Command::Report(args) => (commands::report::run(args, &mut voice), false),
        Command::Sheets(args) => (commands::sheets::run(args, &mut voice), args.json),
        Command::Ledger(args) => (commands::ledger::run(args, &mut voice), args.json),
        Command::Packing(args) => (commands::packing::run(args, &mut voice), false),
        Command::Labels(args) => (commands::labels::run(args, &mut voice), false),
        Command::Log(args) => (commands::log::run(args, &mut voice), args.json),
        Command::Replan(args) => (commands::replan::run(args, &mut voice), args.json),
        Command::Rehearse(args) => (commands::rehearse::run(args, &mut voice), args.json),
    };
    let exit = ended.unwrap_or_else(|refusal| refusal.tell(&mut voice, json));
    voice.finish(exit).into()
}

/// Help and the version go to standard output; a call that makes no sense is told on standard error and, where `--json`
/// was asked for, as an object too.
fn usage(error: &clap::Error) -> Exit {
    let mut voice = Voice::new(false);
    let styled = error.render().ansi().to_string();
    if !error.use_stderr() {
        voice.result(&styled);
        return voice.finish(Exit::Done);
    }
    voice.message(&styled);
    if std::env::args_os().any(|arg| arg == "--json") {
        voice.object(&objects::unusable::of_call(&error.render().to_string()));
    }
    voice.finish(Exit::Unusable)
}
