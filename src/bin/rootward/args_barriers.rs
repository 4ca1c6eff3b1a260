//! Flags on existing barriers to roots; what they do is resolved into `BarrierChoices`.

use clap::Args;
use rootward::error::Error;
use rootward::model::barrier::BarrierClass;
use rootward::settings::BarrierChoices;

/// The files of barriers, and what these do.
#[derive(Debug, Args)]
#[command(next_help_heading = "Existing barriers to roots")]
pub struct BarrierArgs {
    /// What roots do not pass: existing foundations, walls, roads
    #[arg(long, num_args = 1.., value_name = "FILE")]
    pub barriers: Vec<String>,
    /// Whether roots stop at barriers or pass them [default: foundations=stop,walls=stop,roads=pass,others=pass]
    #[arg(long, value_name = "CLASS=stop|pass,...", value_delimiter = ',', requires = "barriers")]
    pub barrier_roots: Vec<String>,
    /// Make up the area that barriers take of a root zone where roots can go on, to at most twice the radius
    #[arg(long, requires = "barriers")]
    pub make_up_area: bool,
}

impl BarrierArgs {
    /// Resolves what was typed.
    ///
    /// # Errors
    /// A class or a word that is not known; a class that is given twice.
    pub fn choices(&self) -> Result<BarrierChoices, Error> {
        let mut choices = BarrierChoices { make_up_area: self.make_up_area, ..BarrierChoices::default() };
        let mut seen = Vec::new();
        for typed in &self.barrier_roots {
            let (class, stops) = switch(typed).ok_or_else(|| refused(typed))?;
            if seen.contains(&class) {
                return Err(refused(typed));
            }
            seen.push(class);
            choices.stops[class as usize] = stops;
        }
        Ok(choices)
    }
}

fn switch(typed: &str) -> Option<(BarrierClass, bool)> {
    let (class, word) = typed.split_once('=')?;
    let class = BarrierClass::ALL.into_iter().find(|known| known.word() == class.trim())?;
    match word.trim() {
        "stop" => Some((class, true)),
        "pass" => Some((class, false)),
        _ => None,
    }
}

fn refused(typed: &str) -> Error {
    Error::Usage {
        what: format!(
            "--barrier-roots: got `{typed}`; expected each of foundations, walls, roads, others at most once, as CLASS=stop or CLASS=pass"
        ),
        hint: "--barrier-roots foundations=stop,walls=stop,roads=pass,others=pass".to_string(),
    }
}
