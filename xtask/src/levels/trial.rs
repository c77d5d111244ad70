//! One trial: tracks as files, a reference, and what was advised.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use cupel_audio::{SampleFormat, WavWriter};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::XtaskError;
use crate::levels::limiter::limited;
use crate::levels::material::Material;
use crate::prove::dice::Dice;
use crate::prove::work::{Work, fingerprint};

/// Every track is turned by up to this.
const OFFSET_DB: f64 = 12.0;
/// Spread of a drawn level table; the voice gets 0.6 of it, the kick none.
const TABLE_DB: f64 = 3.5;
/// Loudness of a released record.
const RECORD_LUFS: f64 = -9.0;
/// How far a role of the reference is moved either way.
pub(crate) const MOVED_DB: f64 = 4.0;

/// What the reference is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) enum Kind {
    OwnMix,
    Disguise,
    AnotherSong,
}

impl Kind {
    pub(crate) const ALL: [Self; 3] = [Self::OwnMix, Self::Disguise, Self::AnotherSong];

    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::OwnMix => "own mix",
            Self::Disguise => "own mix in disguise",
            Self::AnotherSong => "another song",
        }
    }
}

/// Roles of the reference that are moved, in the data's words.
pub(crate) const MOVED: [(&str, &[&str]); 4] = [
    ("bass", &["bass"]),
    ("clap", &["clap", "snare"]),
    ("voice", &["vocal"]),
    ("hat", &["closed hat", "open hat"]),
];

/// What is to be tried.
#[derive(Clone, Debug)]
pub(crate) struct Trial {
    pub session: usize,
    pub other: usize,
    pub kind: Kind,
    pub seed: u64,
    /// Whether the reference's roles are moved, too.
    pub moves_reference: bool,
}

/// What was done to a track and what was advised.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Advice {
    pub role: String,
    pub sounds: bool,
    pub offset_db: f64,
    /// By `balance --all --exact`.
    pub exact_db: Option<f64>,
    /// By one ordinary round.
    pub round_db: Option<f64>,
    /// By the reference alone.
    pub no_usual_db: Option<f64>,
    /// That brings all tracks to one loudness.
    pub equal_db: f64,
    /// By a table of roles made from the other sessions.
    pub table_db: f64,
}

/// What a trial gave.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Outcome {
    pub name: String,
    pub kind: Kind,
    pub shared: bool,
    pub tracks: Vec<Advice>,
    /// By how much the advice follows a role of the reference that goes from -4 to
    /// +4 dB: role and dB.
    pub follows: Vec<(String, f64)>,
    pub failed: Option<String>,
}

/// All trials with these sessions.
pub(crate) fn all(materials: &[Material], seeds: u64) -> Vec<Trial> {
    let mut trials = Vec::new();
    for seed in 0..seeds {
        for kind in Kind::ALL {
            for session in 0..materials.len() {
                let mut dice = Dice::new(7_000_000 + 1000 * seed + session as u64);
                // The reference's tracks come from a session of the same kind.
                let others: Vec<usize> = (0..materials.len())
                    .filter(|&m| m != session && materials[m].shared == materials[session].shared)
                    .collect();
                if kind == Kind::AnotherSong && others.is_empty() {
                    continue;
                }
                let other = match others.is_empty() {
                    true => session,
                    false => dice.pick(&others),
                };
                trials.push(Trial {
                    session,
                    other,
                    kind,
                    seed,
                    moves_reference: kind == Kind::AnotherSong && seed == 0,
                });
            }
        }
    }
    trials
}

impl Trial {
    pub(crate) fn name(&self, materials: &[Material]) -> String {
        let kind = self.kind.words().replace(' ', "-");
        let names: Vec<&str> = materials.iter().map(|m| m.name.as_str()).collect();
        let all = fingerprint(names.join(" ").as_bytes());
        let session = names[self.session];
        format!("levels-{kind}-{session}-{}-{:04x}", self.seed, all & 0xffff)
    }
}

/// Does the trial in an empty folder.
pub(crate) fn outcome(
    work: &Work,
    place: &Path,
    trial: &Trial,
    materials: &[Material],
) -> Result<Outcome, XtaskError> {
    let own = &materials[trial.session];
    let mut dice = Dice::new(9_000_000 + 1000 * trial.seed + trial.session as u64);
    let offsets: Vec<f64> = own
        .parts
        .iter()
        .map(|_| dice.between(-OFFSET_DB, OFFSET_DB))
        .collect();
    let table = match trial.kind {
        Kind::AnotherSong => draw_table(own, &materials[trial.other], &mut dice),
        _ => BTreeMap::new(),
    };
    let right: Vec<f64> = own
        .parts
        .iter()
        .map(|part| gain_of(part, own, &table))
        .collect();
    let tracks = place.join("tracks");
    fs::create_dir_all(&tracks).map_err(XtaskError::file(&tracks))?;
    for ((part, right_db), offset_db) in own.parts.iter().zip(&right).zip(&offsets) {
        let path = tracks.join(format!("{}.wav", part.name));
        write(
            &path,
            own.rate_hz,
            &gained(&part.sides, right_db + offset_db),
        )?;
    }
    let mut outcome = Outcome {
        name: trial.name(materials),
        kind: trial.kind,
        shared: own.shared,
        tracks: Vec::new(),
        follows: Vec::new(),
        failed: None,
    };
    let file = write_reference(work, place, trial, materials, (&table, &[], 0.0), &mut dice)?;
    let file = match file {
        Ok(file) => file,
        Err(said) => {
            outcome.failed = Some(said);
            return Ok(outcome);
        }
    };
    let advised = advise(work, place, &file, trial.kind == Kind::AnotherSong);
    match advised {
        Ok([exact, round, no_usual]) => {
            let tables = usual_table(materials, trial.session);
            outcome.tracks = own
                .parts
                .iter()
                .enumerate()
                .map(|(n, part)| {
                    let lufs = part.lufs.unwrap_or(-99.0) + right[n] + offsets[n];
                    let usual = tables.get(part.role.as_str()).copied();
                    Advice {
                        role: part.role.clone(),
                        sounds: part.sounds,
                        offset_db: offsets[n],
                        exact_db: exact.get(&part.name).copied(),
                        round_db: round.get(&part.name).copied(),
                        no_usual_db: no_usual.get(&part.name).copied(),
                        equal_db: -lufs,
                        table_db: usual.map_or(0.0, |usual| usual - lufs),
                    }
                })
                .collect();
        }
        Err(said) => outcome.failed = Some(said),
    }
    if trial.moves_reference {
        for (name, words) in MOVED {
            let has = |m: &Material| {
                let mut parts = m.parts.iter();
                parts.any(|part| words.contains(&part.role.as_str()) && part.sounds)
            };
            if !has(own) || !has(&materials[trial.other]) {
                continue;
            }
            let mut levels = Vec::new();
            for moved_db in [-MOVED_DB, MOVED_DB] {
                let moved = (&table, words, moved_db);
                let file = write_reference(work, place, trial, materials, moved, &mut dice)?;
                let advised = file.and_then(|file| advise(work, place, &file, false));
                let Ok([exact, ..]) = advised else { continue };
                levels.push(level_of(own, &exact, words));
            }
            if let [Some(low), Some(high)] = levels[..] {
                outcome.follows.push((name.to_owned(), high - low));
            }
        }
    }
    Ok(outcome)
}

/// Gain of some roles against the kick, mean over their tracks that sound.
fn level_of(own: &Material, gains: &BTreeMap<String, f64>, words: &[&str]) -> Option<f64> {
    let mean = |wanted: &dyn Fn(&str) -> bool| {
        let parts = own.parts.iter().filter(|p| p.sounds && wanted(&p.role));
        let found: Vec<f64> = parts.filter_map(|p| gains.get(&p.name).copied()).collect();
        (!found.is_empty()).then(|| found.iter().sum::<f64>() / found.len() as f64)
    };
    Some(mean(&|role| words.contains(&role))? - mean(&|role| role == "kick")?)
}

/// Levels of all roles of both sessions beside the kick, as drawn, LU.
fn draw_table(own: &Material, other: &Material, dice: &mut Dice) -> BTreeMap<String, f64> {
    let mut table: BTreeMap<String, f64> = BTreeMap::new();
    for (key, level) in other.plain_levels().into_iter().chain(own.plain_levels()) {
        table.insert(key.to_owned(), level);
    }
    for (key, level) in &mut table {
        let share = match key.as_str() {
            "kick" => 0.0,
            "vocal" => 0.6,
            _ => 1.0,
        };
        *level += share * TABLE_DB * normal(dice).clamp(-2.2, 2.2);
    }
    table
}

/// Sum of twelve draws less six: near enough to normal.
fn normal(dice: &mut Dice) -> f64 {
    (0..12).map(|_| dice.unit()).sum::<f64>() - 6.0
}

/// The gain that brings a part to its level in the table.
fn gain_of(
    part: &crate::levels::material::Part,
    session: &Material,
    table: &BTreeMap<String, f64>,
) -> f64 {
    let plain = session.plain_levels();
    let levels = table.get(&part.key).zip(plain.get(part.key.as_str()));
    levels.map_or(0.0, |(wanted, plain)| wanted - plain - part.drawn_db)
}

/// Loudness of every role beside the kick in the other sessions, their mean, LU.
fn usual_table(materials: &[Material], but: usize) -> BTreeMap<&str, f64> {
    let mut sums: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for (_, material) in materials.iter().enumerate().filter(|(n, _)| *n != but) {
        let levels = material.plain_levels();
        for part in &material.parts {
            if let Some(level) = levels.get(part.key.as_str()) {
                let sum = sums.entry(part.role.as_str()).or_default();
                *sum = (sum.0 + level, sum.1 + 1.0);
            }
        }
    }
    sums.into_iter()
        .map(|(role, (sum, count))| (role, sum / count))
        .collect()
}

fn gained(sides: &[Vec<f32>; 2], gain_db: f64) -> [Vec<f64>; 2] {
    let gain = 10f64.powf(gain_db / 20.0);
    [0, 1].map(|side| sides[side].iter().map(|&x| gain * f64::from(x)).collect())
}

fn write(path: &Path, rate_hz: u32, sides: &[Vec<f64>; 2]) -> Result<(), XtaskError> {
    let mut writer = WavWriter::create(path, rate_hz, 2, SampleFormat::F32)?;
    writer.write(sides)?;
    writer.finish()?;
    Ok(())
}

/// Writes the reference and gives its name; `Err` says in words why there is none.
fn write_reference(
    work: &Work,
    place: &Path,
    trial: &Trial,
    materials: &[Material],
    (table, moved, moved_db): (&BTreeMap<String, f64>, &[&str], f64),
    dice: &mut Dice,
) -> Result<Result<String, String>, XtaskError> {
    let own = &materials[trial.session];
    let path = place.join("reference.wav");
    match trial.kind {
        Kind::OwnMix => {
            write(&path, own.rate_hz, &own.sum(&vec![0.0; own.parts.len()]))?;
            Ok(Ok("reference.wav".to_owned()))
        }
        Kind::Disguise => disguised(place, own, dice),
        Kind::AnotherSong => {
            let other = &materials[trial.other];
            let gains: Vec<f64> = other
                .parts
                .iter()
                .map(|part| {
                    let is_moved = moved.contains(&part.role.as_str());
                    gain_of(part, other, table) + if is_moved { moved_db } else { 0.0 }
                })
                .collect();
            let mix = other.sum(&gains);
            let mut gain_db = 0.0;
            for _ in 0..4 {
                write(&path, other.rate_hz, &limited(&mix, other.rate_hz, gain_db))?;
                let answer = match work.ask(place, &["measure", "reference.wav"]) {
                    Ok(answer) => answer,
                    Err(said) => return Ok(Err(said)),
                };
                let lufs = answer
                    .pointer("/files/0/integrated_lufs")
                    .and_then(Value::as_f64);
                let Some(lufs) = lufs else {
                    return Ok(Err("the reference has no loudness".to_owned()));
                };
                if (lufs - RECORD_LUFS).abs() < 0.2 {
                    break;
                }
                gain_db += RECORD_LUFS - lufs;
            }
            Ok(Ok("reference.wav".to_owned()))
        }
    }
}

/// Limited by 6 to 9 dB, turned, late, transposed, faster, and encoded.
fn disguised(
    place: &Path,
    own: &Material,
    dice: &mut Dice,
) -> Result<Result<String, String>, XtaskError> {
    let mix = own.sum(&vec![0.0; own.parts.len()]);
    let peak = mix
        .iter()
        .flatten()
        .fold(0.0_f64, |most, x| most.max(x.abs()));
    let into_db = dice.between(6.0, 9.0) - 20.0 * (peak / 0.85).log10();
    let mut mix = limited(&mix, own.rate_hz, into_db);
    // From full scale down, so that nothing clips.
    let gain = 10f64.powf(dice.between(-17.0, 0.0) / 20.0);
    let late = (dice.between(0.0, 3.0) * f64::from(own.rate_hz)) as usize;
    for side in &mut mix {
        side.iter_mut().for_each(|x| *x *= gain);
        side.splice(0..0, vec![0.0; late]);
    }
    let plain = place.join("plain.wav");
    write(&plain, own.rate_hz, &mix)?;
    let semitones = dice.pick(&[-2.0, -1.0, 1.0, 2.0]);
    let faster = 1.0 + dice.between(0.02, 0.04);
    let pitch = 2f64.powf(semitones / 12.0);
    let rate = f64::from(own.rate_hz);
    let filters = format!(
        "asetrate={},aresample={},atempo={:.6}",
        (rate * pitch).round(),
        rate,
        faster / pitch
    );
    let done = Command::new("ffmpeg")
        .args(["-v", "error", "-y", "-i"])
        .arg(&plain)
        .args(["-af", &filters, "-b:a", "320k"])
        .arg(place.join("reference.mp3"))
        .status();
    Ok(match done {
        Ok(status) if status.success() => Ok("reference.mp3".to_owned()),
        Ok(status) => Err(format!("ffmpeg: {status}")),
        Err(error) => Err(format!("ffmpeg: {error}")),
    })
}

type Gains = BTreeMap<String, f64>;

/// Net gain by track's file: exactly, after one round, by the reference alone.
fn advise(work: &Work, place: &Path, file: &str, all: bool) -> Result<[Gains; 3], String> {
    let open = |session: &str| {
        work.ask(
            place,
            &["open", "tracks", "--session", session, "--reference", file],
        )
    };
    for old in ["exact.toml", "round.toml", "alone.toml"] {
        let _ = fs::remove_file(place.join(old));
    }
    let ask = |session: &str, words: &[&str]| {
        open(session)?;
        let mut all = vec!["balance", session];
        all.extend(words);
        Ok::<Gains, String>(gains(&work.ask(place, &all)?))
    };
    let exact = ask("exact.toml", &["--all", "--exact"])?;
    if !all {
        let round = ask("round.toml", &[])?;
        return Ok([exact, round, Gains::new()]);
    }
    let round = ask("round.toml", &[])?;
    let alone = ask("alone.toml", &["--all", "--exact", "--no-usual"])?;
    Ok([exact, round, alone])
}

fn gains(answer: &Value) -> Gains {
    let tracks = answer.get("tracks").and_then(Value::as_array);
    let tracks = tracks.into_iter().flatten();
    tracks
        .filter_map(|track| {
            let file = track.get("file")?.as_str()?;
            let stem = Path::new(file).file_stem()?.to_string_lossy().into_owned();
            Some((stem, track.get("net_gain_db")?.as_f64()?))
        })
        .collect()
}
