//! Puts a session into a folder, and never over one it did not make.

use std::fs;
use std::path::{Path, PathBuf};

use cupel_audio::{AudioError, SampleFormat, WavWriter};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::error::DemoError;
use crate::record::{Record, record};
use crate::session::{Progress, Track, export, truth};
use crate::settings::DemoSettings;
use crate::song::compose;
use crate::sums::each_sum;
use crate::truth::Truth;

/// Name of the marker in a folder the generator made.
pub const MARKER: &str = "made-by-cupel-demo.json";
/// Name of the reference.
pub const REFERENCE: &str = "reference.wav";
/// Name of a mix made alone.
pub const MIX: &str = "mix.wav";
/// Name of the rough mix.
pub const BOUNCE: &str = "bounce.wav";
const TRUTH: &str = "truth.json";
const TRACKS: &str = "tracks";
const MAKING: &str = ".making";
const BLOCK: usize = 32_768;

/// What was made.
#[derive(Clone, Debug)]
pub struct DemoMade {
    /// The session's folder.
    pub folder: PathBuf,
    /// Tracks, in order.
    pub tracks: Vec<PathBuf>,
    /// The reference, 24-bit.
    pub reference: PathBuf,
    /// The rough mix, 32-bit float: the sum of the tracks rounded once.
    pub bounce: PathBuf,
    /// The contents of `truth.json`.
    pub truth: Truth,
    /// What else lay in a folder made earlier, and was left there.
    pub left_alone: Vec<PathBuf>,
}

/// The marker: which files are ours to replace.
#[derive(Debug, Default, Serialize, Deserialize)]
struct Marker {
    version: u32,
    files: Vec<String>,
}

/// Makes a session in `folder`: `tracks/*.wav` (32-bit float, as they sum exactly),
/// `reference.wav`, `bounce.wav`, `truth.json` and a marker.
///
/// A folder made earlier is replaced file by file once all new files are whole;
/// what others put there is left alone and named. Same settings, same bytes, with
/// any number of threads.
///
/// # Errors
/// [`DemoError::ForeignFolder`] if the folder holds files and no marker, before
/// anything is touched; [`DemoError::Setting`]; [`DemoError::File`] and
/// [`DemoError::Audio`] if the disk refuses.
pub fn generate(
    folder: &Path,
    settings: &DemoSettings,
    progress: Progress<'_>,
) -> Result<DemoMade, DemoError> {
    let composition = compose(settings)?;
    let (truth, left_alone) = generate_files(folder, |making| {
        let truth = fill(making, settings, &composition, progress)?;
        let tracks = truth.tracks.iter().map(|track| track.file.clone());
        let files = tracks.chain([REFERENCE, BOUNCE].map(str::to_owned));
        let files = files.collect();
        Ok((truth, files))
    })?;
    let tracks = truth.tracks.iter();
    Ok(DemoMade {
        folder: folder.to_path_buf(),
        tracks: tracks.map(|track| folder.join(&track.file)).collect(),
        reference: folder.join(REFERENCE),
        bounce: folder.join(BOUNCE),
        truth,
        left_alone,
    })
}

/// Lets `fill` write files into a folder of things half made, then puts them and
/// `truth.json` in place of what was made earlier. `fill` gives the files but for
/// the truth; what else lies in the folder is given back.
pub(crate) fn generate_files<T>(
    folder: &Path,
    fill: impl FnOnce(&Path) -> Result<(T, Vec<String>), DemoError>,
) -> Result<(T, Vec<PathBuf>), DemoError> {
    let earlier = claim(folder)?;
    let making = folder.join(MAKING);
    let (truth, mut files) = match fill(&making) {
        Ok(made) => made,
        Err(error) => {
            let _ = fs::remove_dir_all(&making);
            return Err(error);
        }
    };
    files.push(TRUTH.to_owned());
    let left_alone = replace(folder, &making, &earlier, files)?;
    Ok((truth, left_alone))
}

/// Checks the folder, puts the marker there and clears what was left half made.
fn claim(folder: &Path) -> Result<Marker, DemoError> {
    let marker_path = folder.join(MARKER);
    let earlier = match fs::read(&marker_path) {
        Ok(bytes) => serde_json::from_slice(&bytes).map_err(|_| foreign(folder))?,
        Err(_) if is_filled(folder) => return Err(foreign(folder)),
        Err(_) => Marker::default(),
    };
    fs::create_dir_all(folder).map_err(DemoError::file("make", folder))?;
    write_marker(folder, &earlier)?;
    let making = folder.join(MAKING);
    if making.exists() {
        fs::remove_dir_all(&making).map_err(DemoError::file("remove", &making))?;
    }
    let tracks = making.join(TRACKS);
    fs::create_dir_all(&tracks).map_err(DemoError::file("make", &tracks))?;
    Ok(earlier)
}

fn foreign(folder: &Path) -> DemoError {
    DemoError::ForeignFolder {
        folder: folder.to_path_buf(),
    }
}

/// Whether something is there that must not be touched.
fn is_filled(folder: &Path) -> bool {
    match fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => folder.exists(),
    }
}

fn write_marker(folder: &Path, marker: &Marker) -> Result<(), DemoError> {
    let path = folder.join(MARKER);
    let text = serde_json::to_string_pretty(marker)?;
    fs::write(&path, text + "\n").map_err(DemoError::file("write", path))
}

/// Writes all new files into the folder of things half made.
fn fill(
    making: &Path,
    settings: &DemoSettings,
    composition: &crate::song::Composition,
    progress: Progress<'_>,
) -> Result<Truth, DemoError> {
    // the reference leaves memory before the tracks come
    let mut reference = {
        let record = record(settings, &composition.reference, &|share, what| {
            progress(0.45 * share, what);
        });
        write_record(&making.join(REFERENCE), &record)?;
        record
    };
    reference.samples = [Vec::new(), Vec::new()];
    let song = &composition.session;
    let exports = export(settings, song, &|share, what| {
        progress(0.45 + 0.45 * share, what);
    });
    progress(0.9, "writing tracks");
    exports
        .tracks
        .par_iter()
        .try_for_each(|track| write_track(making, track, song.sample_rate_hz))?;
    write_bounce(&making.join(BOUNCE), &exports.tracks, song.sample_rate_hz)?;
    let truth = truth(settings, composition, &exports, &reference);
    write_truth(making, &truth)?;
    progress(1.0, "done");
    Ok(truth)
}

pub(crate) fn write_truth(making: &Path, truth: &impl Serialize) -> Result<(), DemoError> {
    let path = making.join(TRUTH);
    let text = serde_json::to_string_pretty(truth)?;
    fs::write(&path, text + "\n").map_err(DemoError::file("write", path))
}

fn write_track(making: &Path, track: &Track, rate: u32) -> Result<(), DemoError> {
    let path = making.join(&track.file);
    let channels = track.samples.channels();
    let mut block = vec![vec![0.0; BLOCK]; channels];
    let write = || -> Result<(), AudioError> {
        let mut writer = WavWriter::create(&path, rate, channels, SampleFormat::F32)?;
        for start in (0..track.samples.frames()).step_by(BLOCK) {
            let length = BLOCK.min(track.samples.frames() - start);
            for (channel, out) in block.iter_mut().enumerate() {
                out.resize(length, 0.0);
                track.samples.read(channel, start, out);
            }
            writer.write(&block)?;
        }
        writer.finish().map(drop)
    };
    write_or(&path, write)
}

fn write_bounce(path: &Path, tracks: &[Track], rate: u32) -> Result<(), DemoError> {
    write_or(path, || {
        let mut writer = WavWriter::create(path, rate, 2, SampleFormat::F32)?;
        let mut result = Ok(());
        each_sum(tracks, |left, right| {
            if result.is_ok() {
                result = writer.write(&[left, right]);
            }
        });
        result?;
        writer.finish().map(drop)
    })
}

pub(crate) fn write_record(path: &Path, record: &Record) -> Result<(), DemoError> {
    let [left, right] = &record.samples;
    write_or(path, || {
        let mut writer = WavWriter::create(path, record.sample_rate_hz, 2, SampleFormat::I24)?;
        for (left, right) in left.chunks(BLOCK).zip(right.chunks(BLOCK)) {
            writer.write(&[left, right])?;
        }
        writer.finish().map(drop)
    })
}

fn write_or(path: &Path, write: impl FnOnce() -> Result<(), AudioError>) -> Result<(), DemoError> {
    write().map_err(|source| DemoError::Audio {
        path: path.to_path_buf(),
        source,
    })
}

/// Removes the earlier files and moves the new ones in; gives what else is there.
fn replace(
    folder: &Path,
    making: &Path,
    earlier: &Marker,
    files: Vec<String>,
) -> Result<Vec<PathBuf>, DemoError> {
    for file in earlier.files.iter().filter(|file| is_plain(file)) {
        let path = folder.join(file);
        if path.exists() {
            fs::remove_file(&path).map_err(DemoError::file("remove", path))?;
        }
    }
    if files.iter().any(|file| file.starts_with(TRACKS)) {
        let tracks = folder.join(TRACKS);
        fs::create_dir_all(&tracks).map_err(DemoError::file("make", &tracks))?;
    }
    // named before they come, so that a stop in between leaves none unnamed
    let marker = Marker { version: 1, files };
    write_marker(folder, &marker)?;
    for file in &marker.files {
        let path = folder.join(file);
        fs::rename(making.join(file), &path).map_err(DemoError::file("move", path))?;
    }
    fs::remove_dir_all(making).map_err(DemoError::file("remove", making))?;
    others(folder, &marker)
}

/// Whether a name from a marker stays inside the folder.
fn is_plain(file: &str) -> bool {
    Path::new(file)
        .components()
        .all(|part| matches!(part, std::path::Component::Normal(_)))
}

/// What lies in the folder and in `tracks` beside the files of the marker.
fn others(folder: &Path, marker: &Marker) -> Result<Vec<PathBuf>, DemoError> {
    let mut found = Vec::new();
    for place in [folder.to_path_buf(), folder.join(TRACKS)] {
        if !place.is_dir() {
            continue;
        }
        let entries = fs::read_dir(&place).map_err(DemoError::file("read", &place))?;
        for entry in entries {
            let path = entry.map_err(DemoError::file("read", &place))?.path();
            let ours = path == folder.join(MARKER)
                || path == folder.join(TRACKS)
                || marker.files.iter().any(|file| path == folder.join(file));
            if !ours {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}
