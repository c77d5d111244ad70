//! `cargo xtask prove-findings`: are faults put in on purpose found, and none invented?
//!
//! Faults of known size are put into the files of clean sessions, `cupel open` and
//! `cupel assay` are asked, and what they find is laid beside what was done. See
//! docs/findings.md.

mod beats;
mod clean;
mod disk;
mod filter;
mod hard;
mod inject;
mod judge;
mod made;
mod plan;
mod rejudge;
mod room;
mod run;
mod sound;
mod speaker;
mod table;
mod trial;

use std::fs;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::error::XtaskError;
use crate::prove::options::ProofOptions;
use clean::Clean;
use inject::Fault;
use judge::{Alarm, Score};
use trial::Outcome;

/// What to prove, and on what.
#[derive(Debug, Args)]
pub(crate) struct Options {
    #[command(flatten)]
    proof: ProofOptions,
    /// Take the sessions that may set thresholds, and none of those that judge.
    #[arg(long)]
    set: bool,
    /// Only these kinds of faults.
    #[arg(long, value_name = "KIND", value_delimiter = ',')]
    only: Vec<String>,
    /// Only these sizes: some of 0.5, 1, 2 and 4 times; 2 with `--quick`.
    #[arg(long, value_name = "TIMES", value_delimiter = ',')]
    times: Vec<f64>,
    /// In how many sessions each fault is put; 2 with `--quick`.
    #[arg(long, value_name = "N", default_value = "5")]
    per: usize,
    /// Sessions with several faults at once.
    #[arg(long, value_name = "N", default_value = "20")]
    several: usize,
    /// Keep clean sessions in this folder, and take them from there.
    #[arg(long, value_name = "FOLDER")]
    clean: Option<PathBuf>,
    /// Only make the clean sessions in the folder of `--clean`, and stop there.
    #[arg(long, requires = "clean")]
    make: bool,
    /// Also keep what each finding was made from in this folder.
    #[arg(long, value_name = "FOLDER")]
    evidence: Option<PathBuf>,
    /// Judge the evidence in this folder with the rules as they are built in here, and
    /// ask no program.
    #[arg(long, value_name = "FOLDER")]
    rejudge: Option<PathBuf>,
    /// With `--rejudge`: as the program answered then, not by the rules built in here.
    #[arg(long, requires = "rejudge")]
    as_answered: bool,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: u32,
    setting: bool,
    scores: &'a [Score],
    alarms: &'a [Alarm],
    misses: &'a [String],
    trials: &'a [Outcome],
}

/// Asks, judges, prints.
pub(crate) fn run(options: &Options) -> Result<(), XtaskError> {
    if options.make {
        for recipe in plan::recipes(options.set) {
            println!("{}", Clean::kept(&recipe, options.clean.as_deref())?.name);
        }
        return Ok(());
    }
    let mut faults = inject::all();
    faults.retain(|fault| is_wanted(&options.only, fault));
    let (known, unknown): (Vec<Fault>, Vec<Fault>) = faults
        .into_iter()
        .partition(|fault| cupel_findings::kind_named(fault.name).is_some());
    let faults = known;
    if !unknown.is_empty() {
        let names: Vec<&str> = unknown.iter().map(|fault| fault.name).collect();
        println!("no such finding yet: {}\n", names.join(", "));
    }
    let outcomes = match &options.rejudge {
        Some(folder) => rejudge::outcomes(folder, options)?,
        None => run::outcomes(options, &faults)?,
    };
    let scores = judge::scores(&faults, &outcomes);
    let alarms = judge::alarms(&inject::all(), &outcomes);
    let misses = judge::misses(&outcomes);
    println!("{}", table::goals(&scores, &outcomes));
    println!("{}", table::table(&scores));
    println!("{}", table::by_session(&outcomes));
    println!("False alarms at mend:\n{}", table::alarms(&alarms));
    println!("Not found at twice the size, or on the wrong track:");
    misses.iter().for_each(|line| println!("- {line}"));
    let failed = outcomes
        .iter()
        .filter_map(|o| Some((&o.name, o.failed.as_ref()?)));
    for (name, said) in failed.take(10) {
        eprintln!("failed: {name}: {said}");
    }
    let document = Document {
        schema: "cupel/proof-of-findings",
        version: 1,
        setting: options.set,
        scores: &scores,
        alarms: &alarms,
        misses: &misses,
        trials: &outcomes,
    };
    options.proof.write("prove-findings", &document)
}

fn is_wanted(only: &[String], fault: &Fault) -> bool {
    only.is_empty() || only.iter().any(|name| name == fault.name)
}

/// Makes a folder that may be there.
fn folder(path: &std::path::Path) -> Result<(), XtaskError> {
    fs::create_dir_all(path).map_err(XtaskError::file(path))
}
