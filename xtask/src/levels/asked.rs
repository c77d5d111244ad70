//! What `cupel` advises about the files of a trial.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::prove::work::Work;

/// Gain in dB by track's file without its ending.
pub(crate) type Gains = BTreeMap<String, f64>;

/// Net gains.
#[derive(Clone, Debug, Default)]
pub(crate) struct Advised {
    /// By `balance --all --exact`.
    pub exact: Gains,
    /// By one ordinary round.
    pub round: Gains,
    /// By the reference alone, where it was asked.
    pub alone: Gains,
    /// The bars that were compared, seconds.
    pub passage_s: Option<(f64, f64)>,
}

/// Asks about tracks and reference in a folder; with `alone` also what the reference
/// alone says.
pub(crate) fn advise(
    work: &Work,
    place: &Path,
    reference: &str,
    alone: bool,
) -> Result<Advised, String> {
    let mut advised = Advised::default();
    let answer = ask(
        work,
        place,
        reference,
        ("exact.toml", &["--all", "--exact"]),
    )?;
    advised.exact = gains(&answer);
    let at = |name: &str| answer.pointer(name).and_then(Value::as_f64);
    advised.passage_s = at("/passage/start_s").zip(at("/passage/end_s"));
    advised.round = gains(&ask(work, place, reference, ("round.toml", &[]))?);
    if alone {
        let words = ["--all", "--exact", "--no-usual"];
        advised.alone = gains(&ask(work, place, reference, ("alone.toml", &words))?);
    }
    Ok(advised)
}

fn ask(
    work: &Work,
    place: &Path,
    reference: &str,
    (session, words): (&str, &[&str]),
) -> Result<Value, String> {
    let _ = fs::remove_file(place.join(session));
    let open = [
        "open",
        "tracks",
        "--session",
        session,
        "--reference",
        reference,
    ];
    work.ask(place, &open)?;
    let mut all = vec!["balance", session];
    all.extend(words);
    work.ask(place, &all)
}

/// Gain with which every track is heard in the session's own bounce, by its file.
pub(crate) fn read_back(work: &Work, place: &Path, bounce: &str) -> Result<Gains, String> {
    let session = "bounce.toml";
    let _ = fs::remove_file(place.join(session));
    let opened = work.ask(
        place,
        &["open", "tracks", "--session", session, "--rough", bounce],
    )?;
    let assayed = work.ask(place, &["assay", session])?;
    let files = files(&opened);
    let recovered = assayed.pointer("/trust/gains").and_then(Value::as_array);
    let recovered = recovered.into_iter().flatten();
    Ok(recovered
        .filter_map(|gain| {
            let id = gain.get("id")?.as_str()?;
            Some((files.get(id)?.clone(), gain.get("gain_db")?.as_f64()?))
        })
        .collect())
}

fn gains(answer: &Value) -> Gains {
    listed(answer)
        .filter_map(|track| Some((stem(track)?, track.get("net_gain_db")?.as_f64()?)))
        .collect()
}

/// File by id.
fn files(answer: &Value) -> BTreeMap<String, String> {
    listed(answer)
        .filter_map(|track| Some((track.get("id")?.as_str()?.to_owned(), stem(track)?)))
        .collect()
}

fn listed(answer: &Value) -> impl Iterator<Item = &Value> {
    let tracks = answer.get("tracks").and_then(Value::as_array);
    tracks.into_iter().flatten()
}

fn stem(track: &Value) -> Option<String> {
    let file = Path::new(track.get("file")?.as_str()?);
    Some(file.file_stem()?.to_string_lossy().into_owned())
}
