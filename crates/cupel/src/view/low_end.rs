//! The low end by note and over time, as the report shows it.

use cupel_barmap::{BarMap, Side};
use cupel_layers::LayerKind;
use cupel_report::{LowEndView, LowLine, LowNoteBand, Owner, PlayedNote};
use cupel_units::power_to_db;
use cupel_work::{BarSide, Musical};

use crate::view::State;

/// Powers below this are silence (-140 dB), as in the bar map.
const SILENCE: f64 = 1e-14;
/// A note of which less than this is sure is not shown.
const LEAST_SURE: f64 = 0.5;

/// The passages as exported; `None` without bars.
pub(crate) fn low_end(state: &State<'_>) -> Option<LowEndView> {
    let assayed = state.assayed;
    let bars = assayed.bars.as_ref()?;
    let passages = assayed.passages.as_ref()?;
    let gain_db = passages.equal_loudness_db().unwrap_or(0.0);
    let reference = bars.reference.as_ref();
    let map = &bars.mix.map;
    let semitones = map.rows.iter().enumerate();
    let notes = semitones.filter_map(|(row, of)| {
        let midi = of.midi?;
        let other = reference.and_then(|side| {
            let row = side
                .map
                .rows
                .iter()
                .position(|row| row.midi == Some(midi))?;
            Some(level_db(side.map.row_mean(row))? + gain_db)
        });
        Some(LowNoteBand {
            midi,
            mix_db: level_db(map.row_mean(row)),
            reference_db: other,
            owners: owners(state, &bars.tracks, row),
        })
    });
    Some(LowEndView {
        sentence: String::new(),
        notes: notes.collect(),
        mix: Some(line(&bars.mix, &assayed.music)),
        reference: reference
            .zip(assayed.reference_music.as_ref())
            .map(|(side, music)| line(side, music)),
    })
}

fn level_db(power: f64) -> Option<f64> {
    (power > SILENCE).then(|| power_to_db(power))
}

/// Shares of a row, tracks in their order.
fn owners(state: &State<'_>, tracks: &[(String, BarMap)], row: usize) -> Vec<Owner> {
    let powers = || tracks.iter().map(|(id, map)| (id, map.row_mean(row)));
    let sum: f64 = powers().map(|(_, power)| power).sum();
    if sum <= SILENCE {
        return Vec::new();
    }
    powers()
        .map(|(id, power)| Owner {
            track: state.name_of(id),
            share: power / sum,
        })
        .collect()
}

/// Bass and kick of one side over its bars.
fn line(side: &BarSide, music: &Musical) -> LowLine {
    let starts_s = &side.lines.bar_starts_s;
    let first_s = starts_s.first().copied().unwrap_or(0.0);
    let last_s = starts_s.last().copied().unwrap_or(0.0);
    let notes = music
        .bass
        .iter()
        .filter(|note| note.start_s < last_s && note.end_s > first_s && note.sure >= LEAST_SURE)
        .map(|note| PlayedNote {
            start_s: note.start_s.max(first_s),
            end_s: note.end_s.min(last_s),
            midi: note.midi,
            level_db: note.level_db,
        });
    LowLine {
        span_s: (first_s, last_s),
        bar_starts_s: starts_s.clone(),
        notes: notes.collect(),
        kicks_s: kicks_s(side),
        kick_hz: music.kick.as_ref().map(|kick| kick.fundamental_hz),
    }
}

/// When the kick hits: its layer laid over the bars.
fn kicks_s(side: &BarSide) -> Vec<f64> {
    let Some(kick) = side.layers.iter().find(|one| one.kind == LayerKind::Kick) else {
        return Vec::new();
    };
    let slots = side.lines.slots();
    let period = (kick.pattern_bars.max(1) * slots).max(1);
    let starts_s = side.lines.slot_starts_s();
    let slots = starts_s.iter().take(side.lines.bars() * slots).enumerate();
    slots
        .filter(|(slot, _)| kick.places.contains(&(slot % period)))
        .map(|(_, &start_s)| start_s)
        .collect()
}

/// Power of both sides of a map, all rows and sixteenths.
pub(crate) fn sides(map: &BarMap) -> (f64, f64) {
    let of = |side| -> f64 {
        let cells = (0..map.rows.len()).flat_map(|row| (0..map.slots).map(move |slot| (row, slot)));
        cells.map(|(row, slot)| map.power(side, row, slot)).sum()
    };
    (of(Side::Left), of(Side::Right))
}
