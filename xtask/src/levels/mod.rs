//! `cargo xtask prove-levels`: does the balance find the levels that were there?
//!
//! Tracks of sessions of known truth are turned up and down by seeded amounts and
//! written as files; `cupel open` and `cupel balance` are asked, and what they advise
//! is laid beside what was done. See docs/proof.md.

mod asked;
mod judge;
pub(crate) mod limiter;
mod material;
mod reference;
mod table;
mod trial;

use std::fs;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use clap::Args;
use cupel_demo::{DemoSettings, FaultPlan, Style, generate};
use rayon::prelude::*;
use serde::Serialize;

use crate::error::XtaskError;
use crate::prove::options::ProofOptions;
use crate::prove::row::{Row, Verdict, table};
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
    #[command(flatten)]
    proof: ProofOptions,
    /// Trials of every kind with each session; with `--quick` it is one.
    #[arg(long, value_name = "N", default_value = "20")]
    seeds: u64,
    /// Judge what an earlier run answered before it was cut off, and ask nothing.
    #[arg(long)]
    kept: bool,
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
    let work = options.proof.work()?;
    let made = tempfile::tempdir_in(work.folder()).map_err(XtaskError::file(work.folder()))?;
    let materials = materials(&options.proof, made.path())?;
    let seeds = if options.proof.quick {
        1
    } else {
        options.seeds
    };
    let mut trials = trial::all(&materials, seeds);
    if options.kept {
        trials.retain(|one| work.has(&one.name(&materials)));
    }
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
    println!("{}", judge::left_alone(&outcomes));
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
    let document = Document {
        schema: "cupel/proof-of-levels",
        version: 1,
        seeds,
        rows: &rows,
        trials: &outcomes,
    };
    options.proof.write("prove-levels", &document)
}

/// The shared sessions and those that are made.
fn materials(options: &ProofOptions, made: &std::path::Path) -> Result<Vec<Material>, XtaskError> {
    let mut found = Vec::new();
    for folder in options.session_folders()? {
        found.push(Material::read(&folder, true)?);
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
