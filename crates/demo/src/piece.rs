//! The quick way to one mix without its tracks, for trials of many.

use std::path::Path;

use crate::balance::Balance;
use crate::error::DemoError;
use crate::loudness::Loudness;
use crate::master::master_about;
use crate::record::{Record, sum_parts};
use crate::rng::Rng;
use crate::session::Progress;
use crate::settings::DemoSettings;
use crate::song::{compose, micro};
use crate::sums::{amplitude, amplitude_db, hundredth};
use crate::truth::{MixTruth, PieceTruth};
use crate::write::{MIX, generate_files, write_record, write_truth};

/// Highest sample of a mix that is not mastered.
const PEAK_DBFS: f64 = -3.0;

/// A mix and what is known about it.
#[derive(Clone, Debug)]
pub struct Piece {
    /// The mix.
    pub record: Record,
    /// What is known.
    pub truth: PieceTruth,
}

/// Makes the mix of a session in memory, without mistakes. Every other one, by the
/// seed, is mastered like a record; the others peak at -3 dBFS.
///
/// # Errors
/// [`DemoError::Setting`] for a setting outside its range.
pub fn make_mix(settings: &DemoSettings, progress: Progress<'_>) -> Result<Piece, DemoError> {
    let song = compose(settings)?.session;
    let rate = f64::from(song.sample_rate_hz);
    let mut mix = sum_parts(&song, &Balance::draw(settings), &mut |_, _| (), progress);
    let mut rng = Rng::labelled(settings.seed, "piece");
    if rng.chance(0.5) {
        master_about(&mut mix, rng.between(-12.0, -8.0), rate);
    } else {
        let gain = amplitude(PEAK_DBFS) / peak(&mix).max(1e-9);
        mix.iter_mut().flatten().for_each(|x| *x *= gain);
    }
    let mut meter = Loudness::new(rate);
    meter.push(&mix[0], &mix[1]);
    let truth = PieceTruth {
        title: song.title.clone(),
        style: settings.style.name().to_owned(),
        seed: settings.seed,
        file: MIX.to_owned(),
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
        bars: song.bars(&meter),
        roles: song
            .parts
            .iter()
            .map(|p| p.role.word().to_owned())
            .collect(),
        kick_times_s: song.kicks_s(),
        mix: MixTruth {
            lufs_i: meter.integrated_lufs().map(hundredth),
            sample_peak_dbfs: hundredth(amplitude_db(peak(&mix))),
            seconds: micro(song.frames() as f64 / rate),
        },
    };
    let record = Record {
        mix: truth.mix.clone(),
        samples: mix,
        sample_rate_hz: song.sample_rate_hz,
        layers: Vec::new(),
        bars: Vec::new(),
    };
    Ok(Piece { record, truth })
}

fn peak(mix: &[Vec<f64>; 2]) -> f64 {
    mix.iter()
        .flatten()
        .fold(0.0f64, |peak, x| peak.max(x.abs()))
}

/// Makes `mix.wav` (24-bit) and `truth.json` in `folder`, under the rules of
/// [`crate::generate`].
///
/// # Errors
/// As [`crate::generate`].
pub fn generate_mix(
    folder: &Path,
    settings: &DemoSettings,
    progress: Progress<'_>,
) -> Result<PieceTruth, DemoError> {
    settings.check()?;
    generate_files(folder, |making| {
        let piece = make_mix(settings, progress)?;
        write_record(&making.join(MIX), &piece.record)?;
        write_truth(making, &piece.truth)?;
        Ok((piece.truth, vec![MIX.to_owned()]))
    })
    .map(|(truth, _)| truth)
}
