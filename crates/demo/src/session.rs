//! From a composition to finished samples: levels, mistakes, reference.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use crate::balance::Balance;
use crate::error::DemoError;
use crate::faults::Faults;
use crate::record::{Record, record};
use crate::role::Role;
use crate::samples::Samples;
use crate::settings::DemoSettings;
use crate::song::{Composition, Song, compose, micro};
use crate::sums::{
    amplitude, amplitude_db, hundredth, integrated_lufs, levelled, measure_sum, sum_peak, tenth,
};
use crate::truth::{BarTruth, FaultTruth, MixTruth, ReferenceTruth, TrackTruth, Truth};

/// Highest sample of the true mix.
const TRUE_PEAK_OF_MIX_DBFS: f64 = -3.0;
/// No exported track passes this.
const HIGHEST_TRACK_DBFS: f64 = -0.5;

/// Called with the share done, 0 to 1, and what is being done.
pub type Progress<'a> = &'a (dyn Fn(f64, &str) + Sync);

/// An exported track.
#[derive(Clone, Debug)]
pub struct Track {
    /// Path from the session's folder, with `/`.
    pub file: String,
    /// What it plays.
    pub role: Role,
    /// As exported, mistakes included.
    pub samples: Samples,
}

/// The tracks of a session and what is known about them, all but the reference.
#[derive(Clone, Debug)]
pub struct Exports {
    /// In file order.
    pub tracks: Vec<Track>,
    pub(crate) mix: MixTruth,
    pub(crate) bounce: MixTruth,
    pub(crate) bars: Vec<BarTruth>,
    pub(crate) track_truths: Vec<TrackTruth>,
    pub(crate) faults: Vec<FaultTruth>,
}

/// A whole session in memory.
#[derive(Clone, Debug)]
pub struct Session {
    /// Exported tracks.
    pub tracks: Vec<Track>,
    /// Reference.
    pub reference: Record,
    /// What is known.
    pub truth: Truth,
}

/// Makes a session in memory; for short ones, as trials want.
///
/// # Errors
/// [`DemoError::Setting`] for a setting outside its range.
pub fn make(settings: &DemoSettings) -> Result<Session, DemoError> {
    let silent: Progress<'_> = &|_, _| {};
    let composition = compose(settings)?;
    let exports = export(settings, &composition.session, silent);
    let reference = record(settings, &composition.reference, silent);
    let truth = truth(settings, &composition, &exports, &reference);
    Ok(Session {
        tracks: exports.tracks,
        reference,
        truth,
    })
}

/// Makes only the reference of a session, as [`make`] would.
///
/// # Errors
/// [`DemoError::Setting`] for a setting outside its range.
pub fn make_reference(settings: &DemoSettings) -> Result<Record, DemoError> {
    let silent: Progress<'_> = &|_, _| {};
    Ok(record(settings, &compose(settings)?.reference, silent))
}

/// Renders and levels the tracks, then makes the mistakes.
pub(crate) fn export(settings: &DemoSettings, song: &Song, progress: Progress<'_>) -> Exports {
    let rate = f64::from(song.sample_rate_hz);
    let balance = Balance::draw(settings);
    let done = AtomicUsize::new(0);
    let mut tracks: Vec<Track> = (0..song.parts.len())
        .into_par_iter()
        .map(|index| {
            let role = song.parts[index].role;
            let samples = levelled(song, index, &balance);
            let share = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(share as f64 / song.parts.len() as f64, role.title());
            Track {
                file: format!("tracks/{:02} {}.wav", index + 1, role.title()),
                role,
                samples,
            }
        })
        .collect();
    let to_true_db = TRUE_PEAK_OF_MIX_DBFS - amplitude_db(sum_peak(&tracks));
    scale_all(&mut tracks, |_| (to_true_db, 0.0));
    let (mix, _) = measure_sum(&tracks, rate);
    let roles: Vec<Role> = tracks.iter().map(|track| track.role).collect();
    let faults = Faults::draw(settings, &roles);
    let session_db = session_gain_db(&tracks, &faults);
    let loudness: Vec<Option<f64>> = mistakes(&mut tracks, &faults, session_db, song, rate);
    let (bounce, meter) = measure_sum(&tracks, rate);
    Exports {
        mix,
        bounce,
        bars: song.bars(&meter),
        track_truths: track_truths(song, &tracks, &balance, &faults, session_db, &loudness),
        faults: fault_truths(song, &tracks, &faults, session_db),
        tracks,
    }
}

/// Gain and constant per role, over all tracks.
fn scale_all(tracks: &mut [Track], change: impl Fn(Role) -> (f64, f64) + Sync) {
    tracks.par_iter_mut().for_each(|track| {
        let (gain_db, constant) = change(track.role);
        if gain_db != 0.0 || constant != 0.0 {
            track.samples.scale(amplitude(gain_db), constant);
        }
    });
}

/// Gain of the whole session that brings the kick's peak where it is wanted, held
/// back so that no track passes its limit; to a tenth.
fn session_gain_db(tracks: &[Track], faults: &Faults) -> f64 {
    let peak_db = |role: Role| {
        let track = tracks.iter().find(|track| track.role == role);
        track.map_or(-60.0, |track| amplitude_db(track.samples.peak_linear()))
    };
    let Some(kick_peak_dbfs) = faults.kick_peak_dbfs else {
        return 0.0;
    };
    let loudest = tracks
        .iter()
        .map(|track| peak_db(track.role) + faults.level_db(track.role))
        .fold(f64::NEG_INFINITY, f64::max);
    let wanted = kick_peak_dbfs - peak_db(Role::Kick);
    libm::floor(10.0 * wanted.min(HIGHEST_TRACK_DBFS - loudest)) / 10.0
}

/// Puts the mistakes into the tracks; gives the loudness of each as it then is.
fn mistakes(
    tracks: &mut [Track],
    faults: &Faults,
    session_db: f64,
    song: &Song,
    rate: f64,
) -> Vec<Option<f64>> {
    scale_all(tracks, |role| {
        let constant = match faults.dc {
            Some((who, constant)) if who == role => constant,
            _ => 0.0,
        };
        (session_db + faults.level_db(role), constant)
    });
    for track in tracks.iter_mut() {
        if faults.cut == Some(track.role) {
            track.samples.cut(cut_frame(song));
        }
    }
    tracks
        .par_iter()
        .map(|track| integrated_lufs(&track.samples, rate))
        .collect()
}

/// Just after the last bar line, while the last notes still ring.
fn cut_frame(song: &Song) -> usize {
    libm::round((song.end_s() + 0.05) * f64::from(song.sample_rate_hz)) as usize
}

fn track_truths(
    song: &Song,
    tracks: &[Track],
    balance: &Balance,
    faults: &Faults,
    session_db: f64,
    loudness: &[Option<f64>],
) -> Vec<TrackTruth> {
    tracks
        .iter()
        .zip(&song.parts)
        .zip(loudness)
        .map(|((track, part), lufs)| TrackTruth {
            file: track.file.clone(),
            role: track.role.word().to_owned(),
            level_offset_db: balance.offset_db(track.role),
            channels: track.samples.channels(),
            integrated_lufs: lufs.map(hundredth),
            pan: part.pan,
            reverb_rt60_s: part.reverb_rt60_s,
            sidechain_duck_db: part.sidechain_duck_db,
            mistake_db: tenth(session_db + faults.level_db(track.role)),
        })
        .collect()
}

fn fault_truths(
    song: &Song,
    tracks: &[Track],
    faults: &Faults,
    session_db: f64,
) -> Vec<FaultTruth> {
    let file = |role: Role| {
        let track = tracks.iter().find(|track| track.role == role);
        track.map(|track| track.file.clone())
    };
    let fault = |fault: &str, track: Option<String>, what: String, mistake_db: f64| FaultTruth {
        fault: fault.to_owned(),
        track,
        what,
        mistake_db,
        offset_linear: None,
        cut_s: None,
    };
    let mut made = Vec::new();
    if session_db != 0.0 {
        let way = if session_db > 0.0 { "hot" } else { "cold" };
        let what = format!("the whole session is {:.1} dB too {way}", session_db.abs());
        made.push(fault("session level", None, what, session_db));
    }
    for &(role, gain_db, pair) in &faults.levels {
        let way = if gain_db > 0.0 { "loud" } else { "low" };
        let what = format!("{} is {:.1} dB too {way}", role.title(), gain_db.abs());
        let word = if pair { "pair leans" } else { "level" };
        made.push(fault(word, file(role), what, gain_db));
    }
    if let Some((role, constant)) = faults.dc {
        made.push(FaultTruth {
            offset_linear: Some(constant),
            ..fault(
                "dc",
                file(role),
                format!("{} has a constant offset", role.title()),
                0.0,
            )
        });
    }
    if let Some(role) = faults.cut {
        let cut_s = cut_frame(song) as f64 / f64::from(song.sample_rate_hz);
        made.push(FaultTruth {
            cut_s: Some(micro(cut_s)),
            ..fault(
                "tail cut",
                file(role),
                format!("{} ends while it sounds", role.title()),
                0.0,
            )
        });
    }
    made
}

/// Gathers what is known.
pub(crate) fn truth(
    settings: &DemoSettings,
    composition: &Composition,
    exports: &Exports,
    reference: &Record,
) -> Truth {
    let (song, other) = (&composition.session, &composition.reference);
    let balance = if exports.faults.is_empty() {
        "the tracks sum, as they are, to a reasonable mix"
    } else {
        "the tracks sum to a reasonable mix once the mistakes are undone"
    };
    Truth {
        title: song.title.clone(),
        style: settings.style.name().to_owned(),
        seed: settings.seed,
        sample_rate_hz: song.sample_rate_hz,
        tempo_bpm: song.tempo_bpm(),
        beats_per_bar: settings.beats_per_bar,
        first_downbeat_s: micro(song.first_downbeat_s()),
        swing: song.grid.swing,
        key: song.key.to_string(),
        tuning_hz: song.tuning_hz(),
        beatless: settings.beatless,
        beats_s: song.beats_s(),
        sections: song.sections(),
        bars: exports.bars.clone(),
        kick_times_s: song.kicks_s(),
        balance: balance.to_owned(),
        mix: exports.mix.clone(),
        bounce: crate::truth::BounceTruth {
            file: crate::write::BOUNCE.to_owned(),
            mix: exports.bounce.clone(),
        },
        tracks: exports.track_truths.clone(),
        reference: ReferenceTruth {
            file: crate::write::REFERENCE.to_owned(),
            title: other.title.clone(),
            sample_rate_hz: other.sample_rate_hz,
            mix: reference.mix.clone(),
            tempo_bpm: other.tempo_bpm(),
            beats_per_bar: settings.beats_per_bar,
            first_downbeat_s: micro(other.first_downbeat_s()),
            swing: other.grid.swing,
            key: other.key.to_string(),
            tuning_hz: 440.0,
            sections: other.sections(),
            bars: reference.bars.clone(),
            layers: reference.layers.clone(),
        },
        faults: exports.faults.clone(),
    }
}
