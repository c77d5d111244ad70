//! One file measured whole: form, health, features.

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

use cupel_audio::{
    AudioError, FileInfo, HealthCode, HealthGrade, HealthMeter, HealthNote, Planar, Reader,
};
use cupel_measure::{
    BandFrames, Features, LoudnessCurve, MEASURE_VERSION, Meter, MeterSettings, Summary,
};
use cupel_store::{Store, StoreError};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::SurveyError;
use crate::content::content_of;
use crate::heard::{HEARD_VERSION, Heard, Listener};

/// Frames read at a time.
const BLOCK_FRAMES: usize = 1 << 14;

/// Blocks whose critical bands are held at a time: about a minute.
const PART_BLOCKS: usize = 176;

/// Kinds of records in the store.
const WHOLE: &str = "file";
const BANDS: &str = "bands";
const HEARD: &str = "heard";

/// What is known of a file, without its critical bands over time: those are
/// large and are read from the store when wanted, see [`bands_of`].
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Measured {
    /// BLAKE3 hash of the file's bytes, hexadecimal.
    pub content: String,
    /// The file's form.
    pub info: FileInfo,
    /// Its bill of health.
    pub health: Vec<HealthNote>,
    /// Figures of the whole file.
    pub summary: Summary,
    /// Loudness over time.
    pub curve: LoudnessCurve,
}

/// Measures a file, or finds it measured in the store.
///
/// # Errors
/// [`SurveyError`] where it cannot be read; the store failing to keep the
/// result is no error, it only costs time later.
pub fn measure_file(path: &Path, store: &Store) -> Result<Measured, SurveyError> {
    let content = hash(path, store)?;
    if let Some(measured) = store.get(WHOLE, MEASURE_VERSION, &content) {
        return Ok(measured);
    }
    let mut part = 0;
    let (measured, heard) = measure(path, content, &mut |content, bands, last| {
        let _ = store.put(
            BANDS,
            MEASURE_VERSION,
            &part_key(content, part),
            &(last, bands),
        );
        part += 1;
    })?;
    let _ = store.put(HEARD, HEARD_VERSION, &measured.content, &heard);
    let _ = store.put(WHOLE, MEASURE_VERSION, &measured.content, &measured);
    Ok(measured)
}

/// What was heard of a file measured before; heard again where the store no
/// longer has it.
///
/// # Errors
/// As [`measure_file`].
pub fn heard_of(path: &Path, measured: &Measured, store: &Store) -> Result<Heard, SurveyError> {
    if let Some(heard) = store.get(HEARD, HEARD_VERSION, &measured.content) {
        return Ok(heard);
    }
    let (_, heard) = measure(path, measured.content.clone(), &mut |_, _, _| ())?;
    let _ = store.put(HEARD, HEARD_VERSION, &measured.content, &heard);
    Ok(heard)
}

fn hash(path: &Path, store: &Store) -> Result<String, SurveyError> {
    content_of(path, store).map_err(|error| match error {
        // Not being able to read is the audio file's trouble, with its mend.
        StoreError::Read { path, source } => AudioError::Read { path, source }.into(),
        other => other.into(),
    })
}

/// Critical bands over time of a file measured before; measured again where the
/// store no longer has them.
///
/// # Errors
/// As [`measure_file`].
pub fn bands_of(
    path: &Path,
    measured: &Measured,
    store: &Store,
) -> Result<BandFrames, SurveyError> {
    if let Some(bands) = stored_bands(&measured.content, store) {
        return Ok(bands);
    }
    let mut whole: Option<BandFrames> = None;
    measure(
        path,
        measured.content.clone(),
        &mut |_, bands, _| match &mut whole {
            Some(whole) => whole.append(&bands),
            None => whole = Some(bands),
        },
    )?;
    // The last part always comes.
    whole.ok_or_else(|| {
        SurveyError::Audio(AudioError::Read {
            path: path.to_owned(),
            source: std::io::Error::other("nothing was measured"),
        })
    })
}

/// The parts of the bands put together; `None` where one is not there.
fn stored_bands(content: &str, store: &Store) -> Option<BandFrames> {
    let part = |number| {
        store.get::<(bool, BandFrames)>(BANDS, MEASURE_VERSION, &part_key(content, number))
    };
    let (mut last, mut whole) = part(0)?;
    for number in 1.. {
        if last {
            break;
        }
        let (ends, bands) = part(number)?;
        whole.append(&bands);
        last = ends;
    }
    Some(whole)
}

fn part_key(content: &str, number: usize) -> String {
    format!("{content}-{number}")
}

/// Measures files in parallel. The result stands in the order of `paths`,
/// whatever the number of threads. `progress` gets the number of files done and
/// the one just finished.
pub fn measure_files(
    paths: &[impl AsRef<Path> + Sync],
    store: &Store,
    progress: &(dyn Fn(usize, &Path) + Sync),
) -> Vec<Result<Measured, SurveyError>> {
    let done = AtomicUsize::new(0);
    paths
        .par_iter()
        .with_max_len(1)
        .map(|path| {
            let result = measure_file(path.as_ref(), store);
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, path.as_ref());
            result
        })
        .collect()
}

/// Measures a file in one pass. Its critical bands go to `take` part by part,
/// with the content and whether the part is the last, so that memory does not
/// grow with the file's length.
fn measure(
    path: &Path,
    content: String,
    take: &mut dyn FnMut(&str, BandFrames, bool),
) -> Result<(Measured, Heard), SurveyError> {
    let mut reader = Reader::open(path)?;
    let info = reader.info().clone();
    let settings = MeterSettings {
        sample_rate_hz: info.sample_rate_hz,
        channels: info.channels,
    };
    let mut meter = Meter::new(settings).map_err(|source| SurveyError::Measure {
        path: path.to_owned(),
        source,
    })?;
    let mut health = HealthMeter::new(info.sample_rate_hz, info.channels);
    let mut listener = Listener::new(info.sample_rate_hz, info.channels);
    let mut block = Planar::new(info.channels, BLOCK_FRAMES);
    let mut blocks = 0;
    while reader.read(&mut block, BLOCK_FRAMES)? > 0 {
        health.push(&planes(&block));
        make_finite(&mut block);
        meter.push(&planes(&block));
        listener.push(&planes(&block));
        blocks += 1;
        if blocks % PART_BLOCKS == 0 {
            take(&content, meter.take_bands(), false);
        }
    }
    let mut notes = reader.notes();
    notes.extend(health.finish());
    let Features {
        summary,
        curve,
        bands,
    } = meter.finish();
    notes.extend(lossy_note(&summary));
    take(&content, bands, true);
    let info = reader.info().clone();
    let measured = Measured {
        content,
        info,
        health: notes,
        summary,
        curve,
    };
    Ok((measured, listener.finish()))
}

fn planes(block: &Planar) -> Vec<&[f64]> {
    block.channels.iter().map(Vec::as_slice).collect()
}

/// A whole mix reaches at least from here to there, in hertz, within this range
/// of its strongest third octave, in dB (common practice, no source).
const MIX_REACH_HZ: (f64, f64) = (50.0, 10_000.0);
const MIX_RANGE_DB: f64 = 60.0;

/// A note on the brick wall that lossy coding leaves in a mix. Single sounds are
/// passed over: they may end anywhere.
fn lossy_note(summary: &Summary) -> Option<HealthNote> {
    let wall_hz = summary.bandwidth_hz?;
    let levels = || summary.third_octaves.iter();
    let strongest = levels()
        .filter_map(|band| band.level_dbfs)
        .fold(f64::NEG_INFINITY, f64::max);
    let (low_hz, high_hz) = MIX_REACH_HZ;
    let like_a_mix = levels()
        .filter(|band| (low_hz..=high_hz).contains(&band.nominal_hz))
        .all(|band| {
            band.level_dbfs
                .is_some_and(|level| level > strongest - MIX_RANGE_DB)
        });
    like_a_mix.then(|| {
        let text = format!(
            "the spectrum ends like a wall at {}, as lossy coding leaves it: compare the top end \
             with care, or use a lossless copy",
            cupel_units::read_hertz(wall_hz)
        );
        HealthNote::new(HealthCode::LossyBandwidth, HealthGrade::Look, text)
            .with_value(wall_hz, "Hz")
    })
}

/// A sample that is no number is silence to the measures; the health says so.
fn make_finite(block: &mut Planar) {
    for channel in &mut block.channels {
        // An "or" over all samples, unlike a sum, needs no order: many at a time.
        if channel.iter().fold(false, |bad, x| bad | !x.is_finite()) {
            channel
                .iter_mut()
                .filter(|x| !x.is_finite())
                .for_each(|x| *x = 0.0);
        }
    }
}
