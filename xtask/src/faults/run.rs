//! All trials, session after session, two at once.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use rayon::prelude::*;

use crate::error::XtaskError;
use crate::faults::clean::Clean;
use crate::faults::inject::{Fault, Put};
use crate::faults::judge::TIMES;
use crate::faults::plan::{Recipe, recipes};
use crate::faults::trial::{Done, Outcome, Places, ask};
use crate::faults::{Options, folder};
use crate::prove::dice::Dice;
use crate::prove::work::{Work, fingerprint};

/// A clean session to be had.
enum Source {
    Made(Recipe),
    Shared(std::path::PathBuf),
}

/// Some faults at a size; none is the clean session itself.
struct Trial<'a> {
    name: String,
    faults: Vec<&'a Fault>,
    times: f64,
    seed: u64,
}

/// Asks about every session.
pub(crate) fn outcomes(options: &Options, faults: &[Fault]) -> Result<Vec<Outcome>, XtaskError> {
    let work = options.proof.work()?;
    if let Some(path) = &options.evidence {
        folder(path)?;
    }
    let mut sources: Vec<Source> = recipes(options.set).into_iter().map(Source::Made).collect();
    if !options.set {
        let shared = options.proof.session_folders()?;
        sources.extend(shared.into_iter().map(Source::Shared));
    }
    if options.proof.quick {
        sources = sources.into_iter().step_by(3).collect();
    }
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).build();
    let pool = pool.map_err(|error| XtaskError::Start {
        program: "two threads".to_owned(),
        source: std::io::Error::other(error),
    })?;
    let count = sources.len();
    let begin = Instant::now();
    let tell = |what: &str, number: usize, all: &[Outcome]| {
        let seconds = begin.elapsed().as_secs();
        eprintln!(
            "{what}{number} of {count} sessions, {} trials after {seconds} s",
            all.len()
        );
    };
    let mut all = Vec::new();
    for (number, source) in sources.iter().enumerate() {
        let drawn = |place: usize| is_drawn(options, (number, count), place);
        let mut trials = trials(options, faults, source, drawn);
        trials.extend(several(options, faults, count, source));
        all.extend(pool.install(|| of_session(options, &work, source, &trials))?);
        tell("", number + 1, &all);
    }
    // What found no place where it was drawn goes on to the sessions that are left.
    for (number, source) in sources.iter().enumerate() {
        let owed = |place: usize| {
            let per = per(options).min(count);
            !is_drawn(options, (number, count), place)
                && places_had(options, faults[place].name, &all) < per
        };
        let trials = trials(options, faults, source, owed);
        if trials.len() > 1 {
            let more = pool.install(|| of_session(options, &work, source, &trials))?;
            // the clean one was asked before
            all.extend(more.into_iter().skip(1));
            tell("places: ", number + 1, &all);
        }
    }
    Ok(all)
}

/// In how many sessions each fault is put.
fn per(options: &Options) -> usize {
    if options.proof.quick { 2 } else { options.per }
}

/// Whether a session is one of those a fault is put into, if it has a place.
fn is_drawn(options: &Options, (number, count): (usize, usize), place: usize) -> bool {
    // five has no factor in common with 6, 7, 16 and 19: all sessions take turns
    (5 * number + 3 * place) % count < per(options)
}

/// In how many sessions a fault found its place: at twice its size, if that is wanted.
fn places_had(options: &Options, fault: &str, all: &[Outcome]) -> usize {
    let twice = options.times.is_empty() || options.times.contains(&2.0);
    let of_fault = all.iter().filter(|outcome| {
        let [done] = &outcome.faults[..] else {
            return false;
        };
        done.fault == fault && (!twice || outcome.times == 2.0)
    });
    let sessions: BTreeSet<&str> = of_fault.map(|outcome| &*outcome.session).collect();
    sessions.len()
}

fn name_of(source: &Source) -> String {
    match source {
        Source::Made(recipe) => recipe.name(),
        Source::Shared(path) => {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            format!("shared-{name}")
        }
    }
}

impl<'a> Trial<'a> {
    fn new(session: &str, words: &str, faults: Vec<&'a Fault>, times: f64) -> Self {
        Self {
            name: format!("{session}--{words}"),
            seed: fingerprint(format!("{session} {words}").as_bytes()),
            faults,
            times,
        }
    }
}

/// The session itself, and the faults it gets, by their places in the list.
fn trials<'a>(
    options: &Options,
    faults: &'a [Fault],
    source: &Source,
    gets: impl Fn(usize) -> bool,
) -> Vec<Trial<'a>> {
    let session = name_of(source);
    let mut trials = vec![Trial::new(&session, "clean", Vec::new(), 0.0)];
    for (place, fault) in faults.iter().enumerate() {
        if !gets(place) {
            continue;
        }
        let wanted = |times: &f64| match options.times.is_empty() {
            true => !options.proof.quick || *times == 2.0,
            false => options.times.contains(times),
        };
        let sizes = TIMES.into_iter().filter(|times| match fault.sized {
            true => wanted(times),
            false => *times == 2.0,
        });
        trials.extend(sizes.map(|times| Trial {
            // at every size on the same track
            seed: fingerprint(format!("{session} {}", fault.name).as_bytes()),
            ..Trial::new(
                &session,
                &format!("{}-{times}", fault.name),
                vec![fault],
                times,
            )
        }));
    }
    trials
}

/// Several faults at once.
fn several<'a>(
    options: &Options,
    faults: &'a [Fault],
    count: usize,
    source: &Source,
) -> Vec<Trial<'a>> {
    let session = name_of(source);
    let mut trials = Vec::new();
    let local: Vec<&Fault> = faults.iter().filter(|fault| fault.local).collect();
    let share = options.several.div_ceil(count);
    if options.only.is_empty() && local.len() >= 5 {
        for several in 0..share {
            let mut dice = Dice::new(fingerprint(format!("{session} {several}").as_bytes()));
            let mut some: Vec<&Fault> = Vec::new();
            let wanted = dice.pick(&[3, 4, 5]);
            while some.len() < wanted {
                let fault = dice.pick(&local);
                if some.iter().all(|other| other.name != fault.name) {
                    some.push(fault);
                }
            }
            trials.push(Trial::new(
                &session,
                &format!("several-{several}"),
                some,
                2.0,
            ));
        }
    }
    trials
}

/// Makes the session, and asks about all that is done to it.
fn of_session(
    options: &Options,
    work: &Work,
    source: &Source,
    trials: &[Trial<'_>],
) -> Result<Vec<Outcome>, XtaskError> {
    let session = name_of(source);
    let place = tempfile::Builder::new()
        .prefix(&format!("{session}-"))
        .tempdir_in(work.folder())
        .map_err(XtaskError::file(work.folder()))?;
    let mut clean = match source {
        Source::Made(recipe) => Clean::kept(recipe, options.clean.as_deref())?,
        Source::Shared(path) => Clean::read(path, true)?,
    };
    let kept = options.clean.as_ref().map(|folder| folder.join(&session));
    let files = match (source, kept) {
        // links need one file system, which a folder of its own may not be on
        (Source::Made(_), Some(kept)) if can_link(&kept, place.path()) => kept,
        _ => {
            let files = place.path().join("clean");
            clean.write(&files)?;
            files
        }
    };
    // stays for the next run of the same program
    let cache = work.folder().join(format!("cache-{session}"));
    let places = Places {
        clean: &files,
        cache: &cache,
        evidence: options.evidence.as_deref(),
    };
    let ours = build_of_ours();
    let done = AtomicUsize::new(0);
    let one = |trial: &Trial<'_>, clean: &Clean| {
        let outcome = work.kept(&format!("{}-{ours:04x}", trial.name), |place| {
            let mut outcome = Outcome {
                name: trial.name.clone(),
                session: session.clone(),
                times: trial.times,
                ..Outcome::default()
            };
            let mut changed = clean.clone();
            for fault in &trial.faults {
                let mut dice = Dice::new(trial.seed);
                match (fault.put)(&changed, &mut dice, trial.times) {
                    Some(put) => changed = put_in(fault, put, &mut outcome),
                    None => outcome.no_place |= trial.faults.len() == 1,
                }
            }
            if !outcome.no_place {
                ask(work, place, &places, (clean, &changed), &mut outcome)?;
            }
            if let Some(folder) = places.evidence {
                note(folder, &outcome)?;
            }
            Ok(outcome)
        });
        done.fetch_add(1, Ordering::Relaxed);
        outcome
    };
    let Some((first, rest)) = trials.split_first() else {
        return Ok(Vec::new());
    };
    let first = one(first, &clean)?;
    clean.reference_kick = first.reference_kick;
    let mut outcomes = vec![first];
    let others: Result<Vec<Outcome>, XtaskError> = rest
        .par_iter()
        .with_max_len(1)
        .map(|trial| one(trial, &clean))
        .collect();
    outcomes.extend(others?);
    Ok(outcomes)
}

fn put_in(fault: &Fault, put: Put, outcome: &mut Outcome) -> Clean {
    let names = put
        .right
        .iter()
        .map(|&place| put.session.tracks[place].name.clone());
    outcome.faults.push(Done {
        fault: fault.name.to_owned(),
        right: names.collect(),
        what: put.what,
    });
    put.session
}

/// Lays what was done beside its evidence.
fn note(folder: &Path, outcome: &Outcome) -> Result<(), XtaskError> {
    let path = folder.join(format!("{}.done", outcome.name));
    let text = serde_json::to_vec(outcome).map_err(|source| XtaskError::Answer {
        program: "prove-findings",
        source,
    })?;
    fs::write(&path, text).map_err(XtaskError::file(&path))
}

fn can_link(from: &Path, to: &Path) -> bool {
    let link = to.join("link");
    let linked = fs::hard_link(from.join("truth.json"), &link).is_ok();
    let _ = fs::remove_file(link);
    linked
}

/// Tells one build of this program from another: other faults, other answers.
fn build_of_ours() -> u16 {
    let own = std::env::current_exe()
        .and_then(fs::read)
        .unwrap_or_default();
    (fingerprint(&own) & 0xffff) as u16
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::options::ProofOptions;

    fn options(times: &[f64]) -> Options {
        Options {
            proof: ProofOptions {
                sessions: None,
                out: None,
                quick: false,
                cupel: None,
                work: std::path::PathBuf::new(),
            },
            set: true,
            only: Vec::new(),
            times: times.to_vec(),
            per: 3,
            several: 0,
            clean: None,
            make: false,
            evidence: None,
            rejudge: None,
            as_answered: false,
        }
    }

    fn outcome(session: &str, fault: Option<&str>, times: f64) -> Outcome {
        Outcome {
            session: session.to_owned(),
            times,
            no_place: fault.is_none(),
            faults: fault
                .map(|fault| Done {
                    fault: fault.to_owned(),
                    ..Done::default()
                })
                .into_iter()
                .collect(),
            ..Outcome::default()
        }
    }

    #[test]
    fn a_fault_is_owed_until_enough_sessions_had_a_place() {
        let all = [
            outcome("a", Some("hum"), 1.0),
            outcome("a", Some("hum"), 2.0),
            outcome("b", None, 2.0),
            outcome("c", Some("mud"), 2.0),
            outcome("d", Some("hum"), 1.0),
        ];
        assert_eq!(places_had(&options(&[]), "hum", &all), 1);
        assert_eq!(places_had(&options(&[1.0]), "hum", &all), 2);
        assert_eq!(places_had(&options(&[2.0]), "one-place", &all), 0);
    }

    #[test]
    fn every_fault_is_drawn_for_as_many_sessions() {
        let options = options(&[]);
        for count in [6, 16, 19] {
            for place in 0..60 {
                let drawn = (0..count).filter(|&n| is_drawn(&options, (n, count), place));
                assert_eq!(drawn.count(), 3, "{count} {place}");
            }
        }
    }
}
