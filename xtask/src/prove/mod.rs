//! `cargo xtask prove`: a row for each goal of the musical measures, judged through
//! files and the ordinary commands. See docs/proof.md.

mod answers;
pub(crate) mod dice;
mod judge;
mod looped;
pub(crate) mod options;
mod piece;
mod plan;
pub(crate) mod row;
mod rows;
pub(crate) mod session;
mod spectrum;
pub(crate) mod truth;
pub(crate) mod work;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use clap::Args;
use cupel_demo::generate;
use rayon::prelude::*;
use serde::Serialize;

use crate::error::XtaskError;
use options::ProofOptions;
use plan::Size;
use row::{Row, Verdict};
use rows::{Asked, Table};
use session::{Names, SessionCase};
use work::{Work, fingerprint};

/// What to prove, and on what.
#[derive(Debug, Args)]
pub(crate) struct Options {
    #[command(flatten)]
    proof: ProofOptions,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    version: u32,
    quick: bool,
    seeds: [u64; 3],
    rows: &'a [Row],
    sureness: &'a [Table],
    errors: &'a [String],
}

/// Something to be asked about.
enum Job {
    Piece(u64),
    Arrangement(u64),
    Made(u64),
    Shared(PathBuf),
    OneShots(PathBuf),
}

enum Done {
    Piece(piece::Case),
    Arrangement(piece::Case),
    Made(SessionCase),
    Shared(SessionCase),
    OneShots(SessionCase),
}

/// Asks, judges, prints.
pub(crate) fn run(options: &Options) -> Result<(), XtaskError> {
    let options = &options.proof;
    let work = options.work()?;
    eprintln!("answers are kept in {}", work.folder().display());
    let size = if options.quick {
        Size::QUICK
    } else {
        Size::FULL
    };
    let jobs = jobs(size, options.sessions.as_deref())?;
    let asked = ask_all(&work, &jobs, options.sessions.is_some())?;
    let (rows, tables) = rows::all(&asked);
    let errors = asked.errors();
    print!("{}", row::table(&rows));
    println!("\nHow often answers are right, by how sure they are:");
    for table in &tables {
        println!("{}", judge::sureness::print(table.of, &table.bins));
    }
    let of = |verdict: Verdict| rows.iter().filter(|row| row.verdict == verdict).count();
    println!(
        "\n{} pass, {} short, {} skipped",
        of(Verdict::Pass),
        of(Verdict::Short),
        of(Verdict::Skipped)
    );
    for error in errors.iter().take(10) {
        eprintln!("failed: {error}");
    }
    if errors.len() > 10 {
        eprintln!("and {} more failures", errors.len() - 10);
    }
    let document = Document {
        schema: "cupel/proof",
        version: 1,
        quick: options.quick,
        seeds: [plan::PIECES, plan::ARRANGEMENTS, plan::SESSIONS],
        rows: &rows,
        sureness: &tables,
        errors: &errors,
    };
    options.write("prove", &document)
}

/// Long ones first, so that no core waits for them at the end.
fn jobs(size: Size, sessions: Option<&Path>) -> Result<Vec<Job>, XtaskError> {
    let mut jobs = Vec::new();
    if let Some(sessions) = sessions {
        let entries = fs::read_dir(sessions).map_err(XtaskError::file(sessions))?;
        let mut folders: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
        folders.sort();
        for folder in folders {
            if folder.join("truth.json").is_file() {
                jobs.push(Job::Shared(folder));
            } else if folder.join("labels.csv").is_file() {
                jobs.push(Job::OneShots(folder));
            }
        }
    }
    jobs.extend((0..size.sessions).map(|n| Job::Made(plan::SESSIONS + n)));
    jobs.extend((0..size.arrangements).map(|n| Job::Arrangement(plan::ARRANGEMENTS + n)));
    jobs.extend((0..size.pieces).map(|n| Job::Piece(plan::PIECES + n)));
    Ok(jobs)
}

fn ask_all(work: &Work, jobs: &[Job], with_sessions: bool) -> Result<Asked, XtaskError> {
    let begin = Instant::now();
    let count = AtomicUsize::new(0);
    let done: Vec<Done> = jobs
        .par_iter()
        .with_max_len(1)
        .map(|job| {
            let done = ask(work, job);
            let so_far = count.fetch_add(1, Ordering::Relaxed) + 1;
            if so_far.is_multiple_of(10) || so_far == jobs.len() {
                let seconds = begin.elapsed().as_secs();
                eprintln!("{so_far} of {} after {seconds} s", jobs.len());
            }
            done
        })
        .collect::<Result<_, _>>()?;
    let mut asked = Asked {
        shared: with_sessions.then(Vec::new),
        ..Asked::default()
    };
    for one in done {
        match one {
            Done::Piece(case) => asked.pieces.push(case),
            Done::Arrangement(case) => asked.arrangements.push(case),
            Done::Made(case) => asked.made.push(case),
            Done::Shared(case) => asked.shared.get_or_insert_default().push(case),
            Done::OneShots(case) => asked.one_shots = Some(case),
        }
    }
    Ok(asked)
}

fn ask(work: &Work, job: &Job) -> Result<Done, XtaskError> {
    Ok(match job {
        Job::Piece(seed) => Done::Piece(work.kept(&format!("piece-{seed}"), |place| {
            piece::case(work, place, &plan::piece(*seed))
        })?),
        Job::Arrangement(seed) => {
            Done::Arrangement(work.kept(&format!("arrangement-{seed}"), |place| {
                piece::case(work, place, &plan::arrangement(*seed))
            })?)
        }
        Job::Made(seed) => Done::Made(work.kept(&format!("session-{seed}"), |place| {
            let folder = place.join(seed.to_string());
            generate(&folder, &plan::session(*seed), &|_, _| ())?;
            session::case(work, place, &folder)
        })?),
        Job::Shared(folder) => Done::Shared(work.kept(&kept_name(folder), |place| {
            session::case(work, place, folder)
        })?),
        Job::OneShots(folder) => Done::OneShots(work.kept(&kept_name(folder), |place| {
            let tracks = session::one_shots(folder)?;
            let mut case = SessionCase {
                name: "one-shots".to_owned(),
                ..SessionCase::default()
            };
            for names in [Names::Own, Names::Hidden, Names::Wrong] {
                session::roles(work, place, &tracks, names, None, &mut case)?;
            }
            Ok(case)
        })?),
    })
}

/// Another folder, or another truth in it, has another name.
fn kept_name(folder: &Path) -> String {
    let mut bytes = folder.to_string_lossy().into_owned().into_bytes();
    for file in ["truth.json", "labels.csv"] {
        bytes.extend(fs::read(folder.join(file)).unwrap_or_default());
    }
    format!("shared-{:016x}", fingerprint(&bytes))
}
