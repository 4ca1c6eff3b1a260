//! The command `rootward`: what the user typed -> a run of the library -> words on the terminal and an exit code.

mod args;
mod args_barriers;
mod args_layers;
mod args_pages;
mod args_protect;
mod args_services;
mod args_upkeep;
mod diagnose;
mod environment;
mod exit;
mod inspect;
mod progress;
mod rules;
mod screen;
mod summary;
mod summary_barriers;
mod typed_tree;

use args::{CommandLine, Verb};
use clap::Parser;
use exit::Exit;

/// Millions of small texts and shapes come and go on all threads: a seventh less time than with the system's allocator.
#[global_allocator]
static ALLOCATOR: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

fn main() -> std::process::ExitCode {
    if let Err(error) = environment::leave_behind() {
        return diagnose::tell(&error).into();
    }
    let outcome = match CommandLine::try_parse() {
        Ok(line) => run(line),
        Err(error) => {
            let exit = if error.use_stderr() { Exit::WrongUsage } else { Exit::Done };
            // Nothing is left to tell where the terminal is gone.
            let _ = error.print();
            return exit.into();
        }
    };
    match outcome {
        Ok(exit) => exit.into(),
        Err(error) => diagnose::tell(&error).into(),
    }
}

fn run(line: CommandLine) -> Result<Exit, rootward::error::Error> {
    if line.version {
        return exit::print(&rootward::pipeline::versions_text());
    }
    match line.verb {
        Some(Verb::Screen(args)) => screen::run(&args),
        Some(Verb::Plan(args)) => screen::plan(*args),
        Some(Verb::Inspect(args)) => inspect::run(&args),
        Some(Verb::Rules(args)) => rules::run(&args),
        None => Err(rootward::error::Error::Usage {
            what: "no command given".to_string(),
            hint: "rootward --help".to_string(),
        }),
    }
}
