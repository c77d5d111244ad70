//! The compared passages as the solver wants them.

use cupel_barmap::{CrossMap, LowGuide};
use cupel_compare::{Cells, Stretch};
use cupel_rhythm::BarLines;
use cupel_solve::MixScene;

use crate::figures::plan_key;
use crate::scene_read::{file_scene, session_scene};
use crate::{Assayed, Context, WorkError};

/// Where there is no grid, passages are cut into pieces as long as bars of 120 BPM.
const PIECE_S: f64 = 2.0;

/// A print may be this much slower or faster, and longer or shorter by silence at
/// its ends.
const PRINT_TEMPO: (f64, f64) = (0.9, 1.1);
const PRINT_LONGER_S: f64 = 8.0;

/// Both passages in their cells.
#[derive(Debug)]
pub(crate) struct Passage {
    pub(crate) scene: MixScene,
    pub(crate) reference: Option<Cells>,
}

impl Passage {
    /// Reads them; `None` where there is nothing to compare.
    pub(crate) fn of(assayed: &Assayed, context: &Context<'_>) -> Result<Option<Self>, WorkError> {
        match &assayed.bars {
            Some(bars) => {
                let lines = (&bars.mix.lines, &bars.mix.guide);
                let Some(map) = scene(assayed, lines, context)? else {
                    return Ok(None);
                };
                let reference = match &bars.reference {
                    Some(side) => reference(assayed, (&side.lines, &side.guide), context)?,
                    None => in_pieces(assayed, context)?,
                };
                Ok(Some(Self {
                    scene: MixScene::of(&map),
                    reference,
                }))
            }
            None => Self::without_grid(assayed, context),
        }
    }

    fn without_grid(assayed: &Assayed, context: &Context<'_>) -> Result<Option<Self>, WorkError> {
        let Some(passages) = &assayed.passages else {
            return Ok(None);
        };
        let Some(lines) = pieces(passages.stretch) else {
            return Ok(None);
        };
        let nothing_known = LowGuide::default();
        let Some(map) = scene(assayed, (&lines, &nothing_known), context)? else {
            return Ok(None);
        };
        let mut scene = MixScene::of(&map);
        scene.layout.in_time = false;
        Ok(Some(Self {
            scene,
            reference: in_pieces(assayed, context)?,
        }))
    }
}

fn scene(
    assayed: &Assayed,
    (lines, guide): (&BarLines, &LowGuide),
    context: &Context<'_>,
) -> Result<Option<CrossMap>, WorkError> {
    let key = plan_key(&assayed.surveyed, &assayed.plan);
    session_scene(&assayed.plan, &key, lines, guide, context)
}

/// The reference's passage.
fn reference(
    assayed: &Assayed,
    (lines, guide): (&BarLines, &LowGuide),
    context: &Context<'_>,
) -> Result<Option<Cells>, WorkError> {
    let Some(file) = &assayed.surveyed.reference else {
        return Ok(None);
    };
    let rate_hz = assayed.surveyed.sample_rate_hz;
    let map = file_scene(file, rate_hz, lines, guide, 1.0, context)?;
    Ok(map.map(|map| {
        let low = map.low.as_ref().map(|low| low.reading(&[1.0]));
        Cells::of(&map.of(&[0]), low.as_ref())
    }))
}

/// The reference's passage where it has no grid.
fn in_pieces(assayed: &Assayed, context: &Context<'_>) -> Result<Option<Cells>, WorkError> {
    let side = assayed.passages.as_ref().and_then(|p| p.reference.as_ref());
    let Some(side) = side else {
        return Ok(None);
    };
    let Some(lines) = pieces(side.stretch) else {
        return Ok(None);
    };
    let read = reference(assayed, (&lines, &LowGuide::default()), context)?;
    Ok(read.map(|mut cells| {
        cells.layout.in_time = false;
        cells
    }))
}

/// Whether the reference may be a print of this mix: as long, at about its tempo.
pub(crate) fn may_be_print(assayed: &Assayed) -> bool {
    let seconds = assayed.mix.summary.seconds;
    let reference = assayed.surveyed.reference.as_ref();
    let other_s = reference.map(|file| file.summary().seconds);
    match (other_s, tempo_ratio(assayed)) {
        (Some(other_s), Some(ratio)) => {
            (PRINT_TEMPO.0..=PRINT_TEMPO.1).contains(&ratio)
                && (other_s - seconds / ratio).abs() < PRINT_LONGER_S
        }
        _ => false,
    }
}

/// Tempo of the reference against that of the session.
pub(crate) fn tempo_ratio(assayed: &Assayed) -> Option<f64> {
    let own_bpm = assayed.music.grid.tempo_bpm?;
    let other_bpm = assayed.reference_music.as_ref()?.grid.tempo_bpm?;
    Some(other_bpm / own_bpm)
}

/// The reference at the place of the session's passage, read as if it were this
/// mix, `semitones` higher and beginning `bars` bars later than the first bar lines
/// of both say.
pub(crate) fn print_passage(
    assayed: &Assayed,
    semitones: i32,
    bars: i32,
    context: &Context<'_>,
) -> Option<Cells> {
    let own = &assayed.bars.as_ref()?.mix;
    let ratio = tempo_ratio(assayed)?;
    let first_s = assayed.music.grid.first_downbeat_s?;
    let other_first_s = assayed.reference_music.as_ref()?.grid.first_downbeat_s?;
    let bar_s = own.lines.bar_starts_s.get(1)? - own.lines.bar_starts_s.first()?;
    let later_s = f64::from(bars) * bar_s;
    // A higher tone read at a lower rate is the tone it was, on a slower clock.
    let pitch = 2f64.powf(f64::from(semitones) / 12.0);
    let there_s = |time_s: f64| other_first_s + (time_s + later_s - first_s) / ratio;
    let lines = BarLines {
        bar_starts_s: own.lines.bar_starts_s.iter().map(|&t| there_s(t)).collect(),
        ..own.lines.clone()
    };
    let file = assayed.surveyed.reference.as_ref()?;
    let inside = 0.0..file.summary().seconds + 0.5;
    let mut ends = lines
        .bar_starts_s
        .first()
        .into_iter()
        .chain(lines.bar_starts_s.last());
    if !ends.all(|time_s| inside.contains(time_s)) {
        return None;
    }
    let rate_hz = assayed.surveyed.sample_rate_hz;
    let nothing_known = LowGuide::default();
    let map = file_scene(file, rate_hz, &lines, &nothing_known, pitch, context).ok()??;
    Some(Cells::of(&map.of(&[0]), None))
}

fn pieces(stretch: Stretch) -> Option<BarLines> {
    let count = ((stretch.end_s - stretch.start_s) / PIECE_S).floor();
    (count >= 1.0).then(|| BarLines {
        bar_starts_s: (0..=count as u32)
            .map(|piece| stretch.start_s + PIECE_S * f64::from(piece))
            .collect(),
        beats_per_bar: 4,
        swing: 0.5,
    })
}
