//! `cargo xtask prove-levels`: does the balance find the levels that were there?
//!
//! Tracks of sessions of known truth are turned up and down by seeded amounts and
//! written as files; `cupel open` and `cupel balance` are asked, and what they advise
//! is laid beside what was done. See docs/proof.md.

mod judge;
mod limiter;
mod material;
mod trial;

use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use clap::Args;
use cupel_demo::{DemoSettings, FaultPlan, Style, generate};
use rayon::prelude::*;
use serde::Serialize;

use crate::bench::build_cupel;
use crate::error::XtaskError;
use crate::prove::row::{Row, Verdict, table};
use crate::prove::work::Work;
use material::Material;
use trial::{Kind, Outcome, Trial};

/// Seeds of the sessions that are made: for these trials alone.
const SESSIONS: u64 = 130_000;
/// Styles that are made, each once.
const STYLES: [Style; 6] = [
    Style::House,
    Style::Deep,
    Style::Techno,
    Style::Trance,
    Style::Breaks,
    Style::Garage,
];

/// What to prove, and on what.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// Folder of sessions of known truth.
    #[arg(long, value_name = "DIR", env = "CUPEL_SESSIONS")]
    sessions: Option<PathBuf>,
    /// Write the result to this file, too, as JSON.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Trials of every kind with each session.
    #[arg(long, value_name = "N", default_value = "20")]
    seeds: u64,
    /// One trial of every kind with each session.
    #[arg(long)]
    quick: bool,
    /// Use this program instead of building it.
    #[arg(long, value_name = "FILE")]
    cupel: Option<PathBuf>,
    /// Folder for what was answered; a run cut off goes on from there.
    #[arg(long, value_name = "FOLDER", default_value = "target/prove")]
    work: PathBuf,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: u32,
    seeds: u64,
    rows: &'a [Row],
    trials: &'a [Outcome],
}

/// Asks, judges, prints.
pub(crate) fn run(options: &Options) -> Result<(), XtaskError> {
    let cupel = match &options.cupel {
        Some(path) => path.clone(),
        None => build_cupel()?,
    };
    let work = Work::new(cupel, &options.work)?;
    let made = tempfile::tempdir_in(work.folder()).map_err(XtaskError::file(work.folder()))?;
    let materials = materials(options, made.path())?;
    let seeds = if options.quick { 1 } else { options.seeds };
    let trials = trial::all(&materials, seeds);
    let begin = Instant::now();
    let count = AtomicUsize::new(0);
    let outcomes: Vec<Outcome> = trials
        .par_iter()
        .with_max_len(1)
        .map(|one: &Trial| {
            let outcome = work.kept(&one.name(&materials), |place| {
                trial::outcome(&work, place, one, &materials)
            });
            let so_far = count.fetch_add(1, Ordering::Relaxed) + 1;
            if so_far.is_multiple_of(10) || so_far == trials.len() {
                let seconds = begin.elapsed().as_secs();
                eprintln!("{so_far} of {} after {seconds} s", trials.len());
            }
            outcome
        })
        .collect::<Result<_, _>>()?;
    let rows = judge::rows(&outcomes);
    print!("{}", table(&rows));
    println!("\n{}", judge::by_role(&outcomes, Kind::AnotherSong));
    let of = |verdict: Verdict| rows.iter().filter(|row| row.verdict == verdict).count();
    println!(
        "\n{} pass, {} short, {} skipped",
        of(Verdict::Pass),
        of(Verdict::Short),
        of(Verdict::Skipped)
    );
    for outcome in outcomes.iter().filter(|o| o.failed.is_some()).take(10) {
        let said = outcome.failed.as_deref().unwrap_or_default();
        eprintln!("failed: {}: {said}", outcome.name);
    }
    let Some(out) = &options.out else {
        return Ok(());
    };
    let document = Document {
        schema: "cupel/proof-of-levels",
        version: 1,
        seeds,
        rows: &rows,
        trials: &outcomes,
    };
    let text = serde_json::to_string_pretty(&document).map_err(|source| XtaskError::Answer {
        program: "prove-levels",
        source,
    })?;
    fs::write(out, text + "\n").map_err(XtaskError::file(out))
}

/// The shared sessions and those that are made.
fn materials(options: &Options, made: &std::path::Path) -> Result<Vec<Material>, XtaskError> {
    let mut found = Vec::new();
    if let Some(sessions) = &options.sessions {
        let entries = fs::read_dir(sessions).map_err(XtaskError::file(sessions))?;
        let mut folders: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
        folders.sort();
        for folder in folders {
            if folder.join("truth.json").is_file() {
                found.push(Material::read(&folder, true)?);
            }
        }
    }
    let count = if options.quick { 2 } else { STYLES.len() };
    for (number, style) in STYLES.into_iter().take(count).enumerate() {
        let folder = made.join(number.to_string());
        let settings = DemoSettings {
            seed: SESSIONS + number as u64,
            style,
            seconds: 75.0,
            balance_spread_db: 0.0,
            faults: FaultPlan::None,
            ..DemoSettings::default()
        };
        generate(&folder, &settings, &|_, _| ())?;
        found.push(Material::read(&folder, false)?);
        fs::remove_dir_all(&folder).map_err(XtaskError::file(&folder))?;
    }
    Ok(found)
}
