//! Musical time, key, sections and low end of a file or a mix.

use std::path::Path;

use cupel_form::{Form, FormInput, find_form};
use cupel_harmony::{
    HarmonyFrames, KeyFinding, KickPlace, KickSound, Note, bass_notes, find_key, kick_against,
    kick_sound,
};
use cupel_measure::{BandFrames, LoudnessCurve};
use cupel_rhythm::{Grid, GridKind, TempoSettings, find_grid};
use cupel_session::MusicSettings;
use cupel_store::{Store, hash_of_parts};
use cupel_survey::{HEARD_VERSION, Heard, Measured, SurveyError, bands_of, heard_of};
use serde::{Deserialize, Serialize};

/// Changes whenever tempo, key, sections or notes read from the same hearing may
/// change.
const MUSIC_VERSION: u32 = 5;
const KIND: &str = "music";

/// How sure an answer must be to be called sure.
pub const SURE: f64 = 0.9;

/// The music of a file or a mix.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Musical {
    /// Tempo, beats, bars.
    pub grid: Grid,
    /// Key and tuning.
    pub key: KeyFinding,
    /// Sections and the busiest passage.
    pub form: Form,
    /// The bass line, note by note.
    pub bass: Vec<Note>,
    /// The sound of the kick.
    pub kick: Option<KickSound>,
    /// Where the kick sits against key and bass.
    pub kick_place: Option<KickPlace>,
}

/// What the music of a mix is read from.
pub(crate) struct Hearing<'a> {
    /// The mix.
    pub mix: &'a Heard,
    /// Its critical bands.
    pub bands: &'a BandFrames,
    /// Its loudness.
    pub curve: &'a LoudnessCurve,
    /// Its length.
    pub seconds: f64,
    /// Loudness of its tracks on its clock, where they are known.
    pub layers: &'a [&'a LoudnessCurve],
    /// The tracks that carry notes; else the mix stands for them.
    pub tonal: &'a [&'a HarmonyFrames],
    /// The track that plays the bass, where it is known.
    pub bass: Option<&'a HarmonyFrames>,
    /// The kick by itself, where it is known.
    pub kick: Option<&'a Heard>,
}

impl Musical {
    /// Reads the music of a mix.
    pub(crate) fn of(hearing: &Hearing<'_>, settings: &MusicSettings) -> Self {
        let grid = grid(hearing.mix, settings);
        let mix = [&hearing.mix.harmony];
        let tonal = if hearing.tonal.is_empty() {
            &mix[..]
        } else {
            hearing.tonal
        };
        let key = find_key(tonal);
        let form = find_form(&FormInput {
            grid: &grid,
            loudness: hearing.curve,
            bands: hearing.bands,
            layers: hearing.layers,
            seconds: hearing.seconds,
        });
        let mut bass = bass_notes(
            hearing.bass.unwrap_or(&hearing.mix.harmony),
            key.tuning_cents.unwrap_or(0.0),
        );
        let mut kick = match hearing.kick {
            Some(alone) => kick_sound(&alone.kick, None),
            None if grid.kind == GridKind::CannotTell => None,
            None => kick_sound(&hearing.mix.kick, Some(&grid.beats(hearing.seconds))),
        };
        spell(&mut bass, kick.as_mut(), &key);
        let sure_key = key.key.filter(|_| key.sure >= SURE);
        let kick_place = kick
            .as_ref()
            .map(|kick| kick_against(kick, sure_key, &bass));
        Self {
            grid,
            key,
            form,
            bass,
            kick,
            kick_place,
        }
    }
}

/// Notes are written as the likeliest key writes them.
fn spell(bass: &mut [Note], kick: Option<&mut KickSound>, key: &KeyFinding) {
    let Some(key) = key.key else {
        return;
    };
    for note in bass {
        note.name = key.note_name(note.midi);
    }
    if let Some(kick) = kick {
        let midi = 69.0 + 12.0 * (kick.fundamental_hz / 440.0).log2();
        kick.note = key.note_name(midi.round() as i32);
    }
}

/// The grid, with what is known beforehand.
fn grid(heard: &Heard, settings: &MusicSettings) -> Grid {
    let range_bpm = match (settings.lowest_bpm, settings.highest_bpm) {
        (None, None) => None,
        (low, high) => Some((low.unwrap_or(20.0), high.unwrap_or(400.0))),
    };
    let mut grid = find_grid(
        &heard.onsets,
        &TempoSettings {
            range_bpm,
            given_bpm: settings.tempo_bpm,
        },
    );
    place_bars(&mut grid, settings);
    grid
}

/// Metre and bar line where a person set them.
fn place_bars(grid: &mut Grid, settings: &MusicSettings) {
    if let (GridKind::CannotTell, Some(tempo_bpm), Some(downbeat_s)) =
        (grid.kind, settings.tempo_bpm, settings.downbeat_s)
    {
        grid.kind = GridKind::Steady;
        grid.tempo_bpm = Some(tempo_bpm);
        grid.beat_offset_s = Some(downbeat_s.rem_euclid(60.0 / tempo_bpm));
        grid.beats_per_bar = Some(4);
        grid.first_downbeat_s = Some(downbeat_s);
        grid.sure_tempo = 1.0;
    }
    let Some(tempo_bpm) = grid.tempo_bpm else {
        return;
    };
    if settings.tempo_bpm.is_some() {
        grid.sure_tempo = 1.0;
    }
    if let Some(beats) = settings.beats_per_bar {
        grid.beats_per_bar = Some(beats);
    }
    if let (Some(downbeat_s), Some(beats)) = (settings.downbeat_s, grid.beats_per_bar) {
        let bar_s = 60.0 / tempo_bpm * f64::from(beats);
        grid.first_downbeat_s = Some(downbeat_s.rem_euclid(bar_s));
        grid.sure_downbeat = 1.0;
    }
}

/// The music of a file measured before, or what is kept of it.
///
/// # Errors
/// [`SurveyError`] where the file has to be read again and cannot be.
pub fn music_of_file(
    path: &Path,
    measured: &Measured,
    settings: &MusicSettings,
    store: &Store,
) -> Result<Musical, SurveyError> {
    let key = music_key([measured.content.as_str()], settings);
    if let Some(music) = kept(store, &key) {
        return Ok(music);
    }
    let heard = heard_of(path, measured, store)?;
    let bands = bands_of(path, measured, store)?;
    let hearing = Hearing {
        mix: &heard,
        bands: &bands,
        curve: &measured.curve,
        seconds: measured.summary.seconds,
        layers: &[],
        tonal: &[],
        bass: None,
        kick: None,
    };
    let music = Musical::of(&hearing, settings);
    keep(store, &key, &music);
    Ok(music)
}

/// What the music of a mix hangs on.
pub(crate) fn music_key<T: Into<String>>(
    contents: impl IntoIterator<Item = T>,
    settings: &MusicSettings,
) -> String {
    let settings = format!("{HEARD_VERSION} {settings:?}");
    let parts: Vec<String> = contents
        .into_iter()
        .map(T::into)
        .chain([settings])
        .collect();
    hash_of_parts(parts.iter().map(String::as_str))
}

pub(crate) fn kept(store: &Store, key: &str) -> Option<Musical> {
    store.get(KIND, MUSIC_VERSION, key)
}

pub(crate) fn keep(store: &Store, key: &str, music: &Musical) {
    let _ = store.put(KIND, MUSIC_VERSION, key, music);
}
