//! Speed and memory beside public tools: whole processes, run in turn.
//!
//! Goals are given as ratios, so that they hold on any machine. CPU time is
//! user and system time of the process and its children. Where the machine does
//! other work, trust CPU times and ratios; wall times then mean little.

mod advice;
mod child;
mod material;
mod peers;
mod row;
mod rows;
mod session;
mod voice;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use clap::Args;
use serde::Serialize;

use crate::error::XtaskError;
use child::first_line;
use row::Row;

/// What to compare, and how.
#[derive(Debug, Args)]
pub(crate) struct Options {
    /// Write the result to this file, too, as JSON.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Run everything once instead of five times.
    #[arg(long)]
    quick: bool,
    /// Length of the material; the goals stand for 5. Memory is measured at this
    /// length and at four times as much.
    #[arg(long, default_value_t = 5, value_name = "N")]
    minutes: u32,
    /// Do only these parts.
    #[arg(long, value_delimiter = ',', value_name = "PARTS")]
    only: Vec<Part>,
    /// Use this program instead of building it.
    #[arg(long, value_name = "FILE")]
    cupel: Option<PathBuf>,
    /// Make the material here and keep it; a temporary folder, removed at the
    /// end, if absent.
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

/// A part of the comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Part {
    /// `cupel measure` of single files.
    Measure,
    /// The music of a file beside a Python library.
    Music,
    /// `cupel assay`, first and again.
    Assay,
    /// `cupel balance` right after `cupel assay`, and `cupel report`.
    Balance,
    /// `cupel render` beside sox and ffmpeg.
    Render,
    /// Memory by length.
    Memory,
}

/// Where things are and how often they run.
#[derive(Debug)]
pub(crate) struct Bench {
    cupel: PathBuf,
    folder: PathBuf,
    runs: usize,
    seconds: u32,
    keeps_material: bool,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: u32,
    runs: usize,
    minutes: u32,
    processors: usize,
    tools: [String; 4],
    rows: &'a [Row],
}

/// Runs the comparison and prints it.
pub(crate) fn run(options: &Options) -> Result<(), XtaskError> {
    let cupel = match &options.cupel {
        Some(path) => path.clone(),
        None => build_cupel()?,
    };
    // Kept to the end of the function: the folder goes with it.
    let mut temporary = None;
    let folder = match &options.folder {
        Some(folder) => folder.clone(),
        None => {
            let made =
                tempfile::tempdir().map_err(XtaskError::file(Path::new("a temporary folder")))?;
            temporary.insert(made).path().to_owned()
        }
    };
    fs::create_dir_all(&folder).map_err(XtaskError::file(&folder))?;
    let bench = Bench {
        cupel,
        folder,
        runs: if options.quick { 1 } else { 5 },
        seconds: options.minutes * 60,
        keeps_material: options.folder.is_some(),
    };
    let wanted = |part| options.only.is_empty() || options.only.contains(&part);
    let mut result = Vec::new();
    for (part, rows) in [
        (
            Part::Measure,
            rows::measure as fn(&Bench) -> Result<Vec<Row>, XtaskError>,
        ),
        (Part::Music, rows::music),
        (Part::Assay, rows::assay),
        (Part::Balance, advice::balance),
        (Part::Render, rows::render),
        (Part::Memory, rows::memory),
    ] {
        if wanted(part) {
            eprintln!("running {part:?}");
            let rows = rows(&bench)?;
            println!("{}", row::table(&rows));
            result.extend(rows);
        }
    }
    let document = Document {
        schema: "cupel/bench",
        version: 1,
        runs: bench.runs,
        minutes: options.minutes,
        processors: std::thread::available_parallelism().map_or(0, usize::from),
        tools: [
            first_line(&bench.cupel.to_string_lossy(), "--version"),
            first_line("ffmpeg", "-version"),
            first_line("sox", "--version"),
            first_line("python3", "--version"),
        ],
        rows: &result,
    };
    if let Some(out) = &options.out {
        let text =
            serde_json::to_string_pretty(&document).map_err(|source| XtaskError::Answer {
                program: "bench",
                source,
            })?;
        fs::write(out, text + "\n").map_err(XtaskError::file(out))?;
    }
    Ok(())
}

/// Builds the program; it lies beside this one.
pub(crate) fn build_cupel() -> Result<PathBuf, XtaskError> {
    let cargo = std::env::var_os("CARGO").unwrap_or("cargo".into());
    let mut build = Command::new(cargo);
    build.args(["build", "--release", "--locked", "--package", "cupel"]);
    child::run(&mut build)?;
    let own = std::env::current_exe().map_err(XtaskError::file(Path::new("xtask")))?;
    Ok(own.with_file_name(format!("cupel{}", std::env::consts::EXE_SUFFIX)))
}
