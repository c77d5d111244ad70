//! What is run, part by part.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::bench::Bench;
use crate::bench::child::{Usage, run};
use crate::bench::material::{write_mix, write_tracks};
use crate::bench::peers::{LIBROSA, ffmpeg_loudness, ffmpeg_mix, librosa, sox_mix};
use crate::bench::row::{Goal, Row};
use crate::bench::session::{Content, write_session};
use crate::error::XtaskError;

/// Memory goal, in MiB, and how it may grow when sessions are four times as long.
const PEAK_MIB: f64 = 150.0;
const PEAK_GROWTH: f64 = 1.1;

impl Bench {
    pub(crate) fn cupel(&self, task: &str, on: &Path, cache: &Path) -> Command {
        let mut command = Command::new(&self.cupel);
        command.arg(task).arg(on).arg("--cache").arg(cache);
        command
    }

    pub(crate) fn reference(&self) -> Result<PathBuf, XtaskError> {
        let path = self.folder.join("reference.wav");
        write_mix(&path, self.seconds)?;
        Ok(path)
    }

    pub(crate) fn empty(&self, name: &str) -> Result<PathBuf, XtaskError> {
        let path = self.folder.join(name);
        remove(&path)?;
        Ok(path)
    }
}

fn remove(folder: &Path) -> Result<(), XtaskError> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(XtaskError::file(folder)(error))
        }
        _ => Ok(()),
    }
}

/// Single files: WAV, FLAC and MP3, with an empty cache each time.
pub(crate) fn measure(bench: &Bench) -> Result<Vec<Row>, XtaskError> {
    let wav = bench.reference()?;
    let (flac, mp3) = (bench.folder.join("mix.flac"), bench.folder.join("mix.mp3"));
    run(Command::new("flac")
        .args(["-s", "-f", "-o"])
        .arg(&flac)
        .arg(&wav))?;
    let mut encode = Command::new("ffmpeg");
    encode
        .args(["-nostats", "-hide_banner", "-y", "-i"])
        .arg(&wav);
    encode
        .args(["-c:a", "libmp3lame", "-b:a", "320k"])
        .arg(&mp3);
    run(&mut encode)?;
    let mut rows = Vec::new();
    for (name, file) in [("WAV", &wav), ("FLAC", &flac), ("MP3", &mp3)] {
        let (mut own, mut plain, mut with_peak) = (Vec::new(), Vec::new(), Vec::new());
        for _ in 0..bench.runs {
            let cache = bench.empty("cache-measure")?;
            own.push(run(&mut bench.cupel("measure", file, &cache))?);
            plain.push(run(&mut ffmpeg_loudness(file, false))?);
            if name == "WAV" {
                with_peak.push(run(&mut ffmpeg_loudness(file, true))?);
            }
        }
        let what = format!("measure {name}, beside ffmpeg ebur128");
        let row = Row::cpu_ratio(what, Goal::AtMost(1.5), &own, &plain);
        if name == "WAV" {
            rows.push(row);
            let what = "measure WAV, beside ffmpeg ebur128 with true peak";
            let row = Row::cpu_ratio(what, Goal::AtMost(0.6), &own, &with_peak);
            rows.push(row.with_stretch(0.45));
        } else {
            rows.push(row);
        }
    }
    Ok(rows)
}

/// The music of one file beside a Python library that does spectrum, chroma and
/// beats; skipped where it is not installed.
pub(crate) fn music(bench: &Bench) -> Result<Vec<Row>, XtaskError> {
    let wav = bench.reference()?;
    let script = bench.folder.join("python_peer.py");
    fs::write(&script, LIBROSA).map_err(XtaskError::file(&script))?;
    // the first run compiles what the later ones find compiled
    if let Err(error) = run(&mut librosa(&script, &wav)) {
        eprintln!("skipped, no librosa: {error}");
        return Ok(Vec::new());
    }
    let (mut own, mut theirs) = (Vec::new(), Vec::new());
    for _ in 0..bench.runs {
        let cache = bench.empty("cache-music")?;
        own.push(run(&mut bench.cupel("measure", &wav, &cache))?);
        theirs.push(run(&mut librosa(&script, &wav))?);
    }
    let what = "measure WAV, beside librosa: stft, chroma, beat_track";
    Ok(vec![Row::cpu_ratio(
        what,
        Goal::AtMost(0.12),
        &own,
        &theirs,
    )])
}

/// A session of 24 tracks and a reference: with an empty cache, then again.
pub(crate) fn assay(bench: &Bench) -> Result<Vec<Row>, XtaskError> {
    bench.reference()?;
    let folder = bench.folder.join("tracks");
    let tracks = write_tracks(&folder, bench.seconds)?;
    let (mut first, mut again) = (Vec::new(), Vec::new());
    for _ in 0..bench.runs {
        let cache = bench.empty("cache-assay")?;
        let session = write_session(&folder, &tracks, Content::Assay)?;
        for used in [&mut first, &mut again] {
            let mut command = bench.cupel("assay", &session, &cache);
            used.push(run(command.env("RAYON_NUM_THREADS", "2"))?);
        }
    }
    let plays_s = f64::from(bench.seconds);
    let speeds: Vec<f64> = first.iter().map(|used| plays_s / used.wall_s).collect();
    let alone: Vec<f64> = first
        .iter()
        .map(|used| 2.0 * plays_s / used.cpu_s)
        .collect();
    let shares: Vec<f64> = pairs(&again, &first, |used| used.wall_s);
    let cpu_shares: Vec<f64> = pairs(&again, &first, |used| used.cpu_s);
    let what = "assay of 24 tracks and a reference, cache empty";
    let repeated = "assay again, files unchanged";
    Ok(vec![
        Row::of_values(
            what,
            "times real time",
            Goal::AtLeast(45.0),
            &speeds,
            &first,
            &[],
        ),
        Row::of_values(
            format!("{what}, CPU spread over 2 cores"),
            "times real time",
            Goal::None,
            &alone,
            &first,
            &[],
        ),
        Row::of_values(
            repeated,
            "share of first, wall",
            Goal::Below(0.3),
            &shares,
            &again,
            &first,
        ),
        Row::of_values(
            repeated,
            "share of first, CPU",
            Goal::None,
            &cpu_shares,
            &again,
            &first,
        ),
    ])
}

fn pairs(a: &[Usage], b: &[Usage], part: fn(&Usage) -> f64) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| part(a) / part(b)).collect()
}

/// Fader, pan and low cut on 24 tracks and the sum, on one thread, the cache
/// warm. Cupel also asks the system whether the files are unchanged, measures what
/// it writes and writes its report; with groups and a reference it writes and
/// measures stems and a comparison pair as well.
pub(crate) fn render(bench: &Bench) -> Result<Vec<Row>, XtaskError> {
    bench.reference()?;
    let folder = bench.folder.join("tracks");
    let tracks = write_tracks(&folder, bench.seconds)?;
    let cache = bench.empty("cache-render")?;
    let plain = write_session(&folder, &tracks, Content::Plain)?;
    let full = write_session(&folder, &tracks, Content::Full)?;
    for session in [&plain, &full] {
        run(&mut bench.render(session, &cache))?;
    }
    let (mut alone, mut whole) = (Vec::new(), Vec::new());
    let (mut sox, mut ffmpeg) = (Vec::new(), Vec::new());
    let to = bench.folder.join("peer.wav");
    for _ in 0..bench.runs {
        remove(&folder.join("cupel"))?;
        alone.push(run(&mut bench.render(&plain, &cache))?);
        sox.push(run(&mut sox_mix(&tracks, &to))?);
        remove(&folder.join("cupel"))?;
        whole.push(run(&mut bench.render(&full, &cache))?);
        ffmpeg.push(run(&mut ffmpeg_mix(&tracks, &to))?);
    }
    remove(&folder.join("cupel"))?;
    let _ = fs::remove_file(&to);
    let pre_master = "pre-master of 24 tracks, one thread";
    let all = "the same with 4 group stems and comparison pair";
    Ok(vec![
        Row::cpu_ratio(
            format!("{pre_master}, beside sox"),
            Goal::AtMost(0.25),
            &alone,
            &sox,
        ),
        Row::cpu_ratio(
            format!("{pre_master}, beside ffmpeg"),
            Goal::AtMost(0.2),
            &alone,
            &ffmpeg,
        ),
        Row::cpu_ratio(format!("{all}, beside sox"), Goal::None, &whole, &sox),
        Row::cpu_ratio(format!("{all}, beside ffmpeg"), Goal::None, &whole, &ffmpeg),
    ])
}

impl Bench {
    fn render(&self, session: &Path, cache: &Path) -> Command {
        let mut command = self.cupel("render", session, cache);
        command
            .args(["--format", "i24"])
            .env("RAYON_NUM_THREADS", "1");
        command
    }
}

/// Peak memory of assay and render at one length and at four times as much,
/// once each.
pub(crate) fn memory(bench: &Bench) -> Result<Vec<Row>, XtaskError> {
    bench.reference()?;
    let short = peaks(bench, "tracks", bench.seconds)?;
    let long = peaks(bench, "tracks-long", 4 * bench.seconds)?;
    if !bench.keeps_material {
        remove(&bench.folder.join("tracks-long"))?;
    }
    let minutes = bench.seconds / 60;
    let mut rows = Vec::new();
    for (index, task) in ["assay", "render"].into_iter().enumerate() {
        let (short, long) = (short[index], long[index]);
        rows.push(Row::of_values(
            format!("{task} of 24 tracks of {} minutes", 4 * minutes),
            "peak MiB",
            Goal::AtMost(PEAK_MIB),
            &[long.peak_mib],
            &[long],
            &[],
        ));
        rows.push(Row::of_values(
            format!("{task}, {} minutes beside {minutes}", 4 * minutes),
            "peak ratio",
            Goal::AtMost(PEAK_GROWTH),
            &[long.peak_mib / short.peak_mib],
            &[long],
            &[short],
        ));
    }
    Ok(rows)
}

/// What assay (cache empty) and render use at this length.
fn peaks(bench: &Bench, name: &str, seconds: u32) -> Result<[Usage; 2], XtaskError> {
    let folder = bench.folder.join(name);
    let tracks = write_tracks(&folder, seconds)?;
    let cache = bench.empty("cache-memory")?;
    let session = write_session(&folder, &tracks, Content::Assay)?;
    let assay = run(&mut bench.cupel("assay", &session, &cache))?;
    let session = write_session(&folder, &tracks, Content::Full)?;
    let render = run(&mut bench.cupel("render", &session, &cache))?;
    remove(&folder.join("cupel"))?;
    Ok([assay, render])
}
