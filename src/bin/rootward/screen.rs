//! `rootward screen`.

use crate::args::{PlanArgs, ScreenArgs};
use crate::args_pages::SheetsArg;
use crate::diagnose::{say, visible, visible_json};
use crate::exit::{self, Exit};
use crate::progress::Screen;
use crate::summary::Summary;
use rootward::error::{Error, Result};
use rootward::pipeline::{self, Screened};
use rootward::settings::Settings;
use std::fs::File;
use std::io::Write;
use std::mem::ManuallyDrop;
use std::path::Path;

/// Runs the whole job and prints its summary.
pub fn run(args: &ScreenArgs) -> Result<Exit> {
    run_with(args, args.settings()?)
}

/// `rootward plan`: the same for one permit, always with what protects its trees and with its pages.
pub fn plan(mut args: PlanArgs) -> Result<Exit> {
    args.screen.protect.protect = true;
    args.screen.pages.sheets = SheetsArg::All;
    let settings = Settings { permit: Some(args.permit), ..args.screen.settings()? };
    run_with(&args.screen, settings)
}

fn run_with(args: &ScreenArgs, settings: Settings) -> Result<Exit> {
    set_threads(args.threads)?;
    // Opened before the run: a name that cannot be written must not be found out when the results are in place.
    let timings = args.timings.as_deref().map(create).transpose()?;
    // Not cleared away at the end, which takes a large city a while: the process ends.
    let screened = ManuallyDrop::new(pipeline::screen(&settings, &Screen::new(args.quiet))?);
    let summary = Summary::of(&screened, &settings);
    let told = exit::print(&if args.json { visible_json(&summary.json()) } else { summary.text() });
    let timed = timings.map_or(Ok(()), |(path, file)| write_timings(path, file, &screened));
    // The results are in place: what cannot be told of them any more is no failure of the run.
    for error in [told.map(|_| ()), timed].into_iter().filter_map(Result::err) {
        say(&format!("warning: the results are complete, but {}", visible(&error.to_string())));
    }
    let found = summary.heritage_at_risk > 0 || summary.not_assessed > 0;
    Ok(if args.fail_at_risk && found { Exit::AtRisk } else { Exit::Done })
}

/// Starts the workers here, where it is an error if the system gives none: later it would be a panic.
///
/// This thread is one of them: what it has asked of PROJ's database while it opened the inputs, it need not ask again.
fn set_threads(threads: Option<usize>) -> Result<()> {
    let refuse = |what: String| Error::Usage { what, hint: "--threads 2".to_string() };
    if let Some(threads) = threads.filter(|threads| !(1..=1024).contains(threads)) {
        return Err(refuse(format!("--threads: got {threads}; expected 1 to 1024")));
    }
    // 0 stands for as many as there are processors.
    let built = rayon::ThreadPoolBuilder::new().num_threads(threads.unwrap_or(0)).use_current_thread().build_global();
    built.map_err(|error| match threads {
        Some(threads) => refuse(format!("--threads {threads}: {error}")),
        None => Error::Input {
            at: "rootward".to_string(),
            what: format!("the system starts no more threads: {error}"),
            hint: "--threads 1, or raise the limit (ulimit -u, ulimit -v)".to_string(),
        },
    })
}

fn create(path: &Path) -> Result<(&Path, File)> {
    File::create(path).map(|file| (path, file)).map_err(|error| Error::io(path, "write", error))
}

fn write_timings(path: &Path, mut file: File, screened: &Screened) -> Result<()> {
    let stages: serde_json::Map<String, serde_json::Value> =
        screened.timings.0.iter().map(|(stage, seconds)| ((*stage).to_string(), (*seconds).into())).collect();
    let text = serde_json::to_string_pretty(&serde_json::json!({ "seconds_by_stage": stages }))
        .map_err(|error| Error::io(path, "write", std::io::Error::other(error)))?;
    file.write_all((text + "\n").as_bytes()).map_err(|error| Error::io(path, "write", error))
}
