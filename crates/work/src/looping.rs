//! The busiest passage of the reference, at the session's tempo, as a loop.

use cupel_audio::{SampleFormat, WavWriter};
use cupel_measure::{Meter, MeterSettings, Summary};
use cupel_render::hear_passage;
use cupel_session::SessionLock;
use cupel_stretch::{StretchPlan, stretch, warn_beyond};

use crate::beats::{Beats, Steps};
use crate::in_key::{InKey, in_key};
use crate::place_audio::{Sound, read_stretch};
use crate::{Assayed, Context, Place, Stereo, WorkError, assay};

/// True peaks stay below this, in dBTP.
const HIGHEST_DBTP: f64 = -1.0;

/// What was asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LoopOptions {
    /// Whether the loop is transposed to the session's key.
    pub session_key: bool,
}

/// A loop that was written.
#[derive(Debug)]
pub struct Looped {
    /// The session it was made for.
    pub assayed: Assayed,
    /// The passage of the session, beat by beat.
    pub session: Beats,
    /// The passage of the reference.
    pub reference: Beats,
    /// Tempo in the loop by tempo in the reference, less one.
    pub tempo_change: f64,
    /// Whether the tempo changes further than quality is promised for.
    pub beyond: bool,
    /// How often the reference's passage is played, in part the last time.
    pub times: f64,
    /// Up, in semitones; 0 where it is not transposed.
    pub semitones: f64,
    /// Gain of the loop, in dB.
    pub gain_db: f64,
    /// What the session's passage measures.
    pub session_measures: Summary,
    /// What the loop measures as written.
    pub loop_measures: Summary,
    /// What a listener must know, in words.
    pub notes: Vec<String>,
}

/// Writes `cupel/loop/reference.wav`, and the session's own passage as it is beside
/// it, to be heard in turn.
///
/// # Errors
/// [`WorkError::NoReference`], [`WorkError::NoGrid`], [`WorkError::NothingToLoop`];
/// else as [`assay`], and where files cannot be read or written.
pub fn loop_reference(
    place: &Place,
    options: LoopOptions,
    context: &Context<'_>,
) -> Result<Looped, WorkError> {
    let assayed = assay(place, context)?;
    let Lying {
        session,
        reference,
        steps,
        semitones,
        mut notes,
        sound: mut looped,
    } = lying(&assayed, options, context)?;
    let rate_hz = assayed.surveyed.sample_rate_hz;
    let own = session_sound(&assayed, &session)?;
    for channel in &mut looped {
        channel.resize(own[0].len(), 0.0);
    }
    let session_measures = measured(&own, rate_hz)?;
    let (gain_db, note) = level(&mut looped, &session_measures, rate_hz)?;
    notes.extend(note);
    let loop_measures = measured(&looped, rate_hz)?;

    let _lock = SessionLock::take(place.folder.join("outputs"))?;
    write(place, "session.wav", &own, rate_hz)?;
    write(place, "reference.wav", &looped, rate_hz)?;
    Ok(Looped {
        tempo_change: steps.tempo_change,
        beyond: steps.tempo_change.abs() > warn_beyond() + 1e-6,
        times: steps.times,
        semitones,
        session,
        reference,
        gain_db,
        session_measures,
        loop_measures,
        notes,
        assayed,
    })
}

/// The reference's passage laid on the session's clock, at its own level.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// The sound, at the session's rate.
    pub sound: Stereo,
    /// Where it begins, in seconds of the session.
    pub start_s: f64,
}

/// How far up a loop in the session's key goes, in semitones; 0 where it stays.
pub fn semitones_to_session(assayed: &Assayed) -> f64 {
    let reference = assayed.reference_music.as_ref();
    reference.map_or(0.0, |music| {
        in_key(&assayed.music.key, &music.key).semitones
    })
}

/// Lays the reference's passage on the beats of the session's, and writes nothing.
///
/// # Errors
/// [`WorkError::NoReference`], [`WorkError::NoGrid`], [`WorkError::NothingToLoop`],
/// and where a file cannot be read.
pub fn lay_reference(
    assayed: &Assayed,
    options: LoopOptions,
    context: &Context<'_>,
) -> Result<Laid, WorkError> {
    let lying = lying(assayed, options, context)?;
    let [left, right] = lying.sound;
    Ok(Laid {
        sound: Stereo { left, right },
        start_s: lying.session.start_s(),
    })
}

/// A passage laid on another, and how.
struct Lying {
    session: Beats,
    reference: Beats,
    steps: Steps,
    semitones: f64,
    notes: Vec<String>,
    sound: Sound,
}

fn lying(
    assayed: &Assayed,
    options: LoopOptions,
    context: &Context<'_>,
) -> Result<Lying, WorkError> {
    let (Some(file), Some(music)) = (&assayed.surveyed.reference, &assayed.reference_music) else {
        return Err(WorkError::NoReference);
    };
    let silent = |which| WorkError::NothingToLoop { which };
    let passages = assayed.passages.as_ref().ok_or(silent("session"))?;
    let other = passages.reference.as_ref().ok_or(silent("reference"))?;
    let seconds = assayed.mix.summary.seconds;
    let session = Beats::of(&assayed.music.grid, &passages.stretch, seconds)
        .ok_or(WorkError::NoGrid { which: "session" })?;
    let reference = Beats::of(&music.grid, &other.stretch, file.measured.summary.seconds)
        .ok_or(WorkError::NoGrid { which: "reference" })?;
    let steps = Steps::new(&session, &reference);
    let mut notes = steps.notes(&session, &reference);
    let key = match options.session_key {
        true => in_key(&assayed.music.key, &music.key),
        false => InKey::default(),
    };
    notes.extend(key.note);

    let rate_hz = assayed.surveyed.sample_rate_hz;
    let (from_s, to_s) = (reference.start_s() - MARGIN_S, reference.end_s() + MARGIN_S);
    let sound = read_stretch(&file.path, rate_hz, from_s.max(0.0), to_s)?;
    let mut looped = [Vec::new(), Vec::new()];
    for (number, piece) in steps.pieces(&session, &reference).into_iter().enumerate() {
        let part = number as f64 / steps.times.ceil().max(1.0);
        (context.progress)(part, "stretching the reference");
        let anchors = piece
            .iter()
            .map(|&(x, y)| (x - from_s.max(0.0), y))
            .collect();
        let plan = StretchPlan {
            anchors,
            semitones: key.semitones,
            onsets_s: Vec::new(),
        };
        let laid = stretch(&sound, rate_hz, &plan)?;
        for (all, new) in looped.iter_mut().zip(laid) {
            all.extend(new);
        }
    }
    Ok(Lying {
        semitones: key.semitones,
        session,
        reference,
        steps,
        notes,
        sound: looped,
    })
}

/// What is read of the reference before and after its passage, in seconds.
const MARGIN_S: f64 = 0.5;

/// The session's passage as it is.
fn session_sound(assayed: &Assayed, beats: &Beats) -> Result<Sound, WorkError> {
    let mut sound = [Vec::new(), Vec::new()];
    hear_passage(
        &assayed.plan,
        beats.start_s(),
        beats.end_s(),
        &mut |block| {
            sound[0].extend_from_slice(&block.mix.left);
            sound[1].extend_from_slice(&block.mix.right);
        },
    )?;
    Ok(sound)
}

/// Brings the loop to the loudness of the session's passage; the gain in dB, and a
/// note where a true peak was in the way.
fn level(
    sound: &mut Sound,
    session: &Summary,
    rate_hz: u32,
) -> Result<(f64, Option<String>), WorkError> {
    let silent = |which| WorkError::NothingToLoop { which };
    let before = measured(sound, rate_hz)?;
    let own_lufs = session.integrated_lufs.ok_or(silent("session"))?;
    let lufs = before.integrated_lufs.ok_or(silent("reference"))?;
    let wanted_db = own_lufs - lufs;
    let most_db = before
        .true_peak_dbtp
        .map_or(wanted_db, |peak| HIGHEST_DBTP - peak);
    let gain_db = wanted_db.min(most_db);
    let gain = 10.0_f64.powf(gain_db / 20.0);
    for value in sound.iter_mut().flatten() {
        *value *= gain;
    }
    let note = (gain_db < wanted_db).then(|| {
        format!(
            "the loop is {:.1} LU quieter than the session's passage: louder, its peaks would \
             pass {HIGHEST_DBTP} dBTP",
            wanted_db - gain_db
        )
    });
    Ok((gain_db, note))
}

fn measured(sound: &Sound, rate_hz: u32) -> Result<Summary, WorkError> {
    let settings = MeterSettings {
        sample_rate_hz: rate_hz,
        channels: 2,
    };
    let meter = Meter::new(settings).map_err(cupel_render::RenderError::from)?;
    let mut meter = meter.without_bands();
    let [left, right] = sound;
    for (left, right) in left.chunks(1 << 14).zip(right.chunks(1 << 14)) {
        meter.push(&[left, right]);
    }
    Ok(meter.finish().summary)
}

fn write(place: &Place, name: &str, sound: &Sound, rate_hz: u32) -> Result<(), WorkError> {
    let folder = place.outputs().join("loop");
    std::fs::create_dir_all(&folder).map_err(|source| WorkError::Write {
        path: folder.clone(),
        source,
    })?;
    let mut writer = WavWriter::create(&folder.join(name), rate_hz, 2, SampleFormat::F32)?;
    writer.write(sound)?;
    writer.finish()?;
    Ok(())
}
