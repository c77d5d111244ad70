//! The compared passages over their bars: bar maps and layers of both sides.

use cupel_barmap::{
    BarMap, Comparison, LowGuide, LowNote, LowReading, LowRows, Owners, Sheet, sheet_owners,
};
use cupel_layers::{
    ArrangementBand, FoldedSound, Layer, LayerContext, LayerKind, LayerPair, arrangement_bands,
    compare_layers, find_layers, layers_of_tracks,
};
use cupel_render::Plan;
use cupel_rhythm::BarLines;
use cupel_roles::Element;
use cupel_solve::LowHit;
use cupel_units::{Group, Role};

use crate::bar_read::{BarRead, file_bars, session_bars};
use crate::figures::{indices, plan_key};
use crate::low_tracks::LowTracks;
use crate::{Context, Musical, Passages, Surveyed, WorkError};

/// One side of the comparison over its bars.
#[derive(Clone, Debug)]
pub struct BarSide {
    /// The bars of the passage.
    pub lines: BarLines,
    /// Its bar map.
    pub map: BarMap,
    /// Its low end around its own notes.
    pub low: LowReading,
    /// What plays in it.
    pub layers: Vec<Layer>,
    /// The notes and kicks its low end was read around.
    pub guide: LowGuide,
}

/// The passages over their bars.
#[derive(Clone, Debug)]
pub struct Bars {
    /// The mix of the tracks as they came.
    pub mix: BarSide,
    /// Every track of the plan, by id.
    pub tracks: Vec<(String, BarMap)>,
    /// Every element, by name.
    pub elements: Vec<(String, BarMap)>,
    /// Every group.
    pub groups: Vec<(Group, BarMap)>,
    /// The reference, where it has a grid.
    pub reference: Option<BarSide>,
    /// Mix less reference at equal loudness.
    pub comparison: Option<Comparison>,
    /// Whose tracks fill the cells of the comparison, by track id; without a
    /// reference, of the mix read by itself.
    pub owners: Owners<String>,
    /// Layers of both sides, beside each other.
    pub pairs: Vec<LayerPair>,
    /// Bands that differ because other things play.
    pub arrangement: Vec<ArrangementBand>,
    /// Kick and bass below 150 Hz, hit by hit.
    pub low_hits: Vec<LowHit>,
}

impl Bars {
    /// Lays the passages over their bars; `None` where the session has no grid or
    /// no whole bar in its passage.
    pub(crate) fn of(
        surveyed: &Surveyed,
        plan: &Plan,
        elements: &[Element],
        passages: &Passages,
        (music, reference_music): (&Musical, Option<&Musical>),
        context: &Context<'_>,
    ) -> Result<Option<Self>, WorkError> {
        let stretch = passages.stretch;
        let Some(lines) = music.grid.bar_lines(stretch.start_s, stretch.end_s) else {
            return Ok(None);
        };
        let of_elements: Vec<Vec<usize>> = elements
            .iter()
            .map(|element| indices(plan, &element.tracks))
            .collect();
        let of_groups = groups(surveyed, plan);
        let low = LowTracks::of(surveyed, plan);
        let sums: Vec<Vec<usize>> = of_elements
            .iter()
            .chain(of_groups.iter().map(|(_, tracks)| tracks))
            .chain([&low.kick, &low.bass, &low.both])
            .filter(|tracks| tracks.len() > 1)
            .cloned()
            .collect();
        let key = plan_key(surveyed, plan);
        let Some(read) = session_bars(plan, &key, &sums, &lines, context)? else {
            return Ok(None);
        };
        let sum_of = |tracks: &[usize]| -> Option<&BarRead> {
            match tracks {
                [one] => read.tracks.get(*one),
                _ => read.sums.get(sums.iter().position(|sum| sum == tracks)?),
            }
        };
        let element_reads: Vec<(&Element, &BarRead)> = elements
            .iter()
            .zip(&of_elements)
            .filter_map(|(element, tracks)| Some((element, sum_of(tracks)?)))
            .collect();
        let folds: Vec<(&str, Role, &FoldedSound)> = element_reads
            .iter()
            .map(|(element, read)| (element.name.as_str(), element.role, &read.fold))
            .collect();
        let layers = layers_of_tracks(&folds);
        let guide = guide(music, &lines, &layers);
        let low_hits = low.hits(&guide, &lines, sum_of);
        let low = LowReading::of(&read.mix.low, &guide);
        let reference = reference_side(surveyed, passages, reference_music, context)?;
        let gain_db = passages.equal_loudness_db().unwrap_or(0.0);
        let comparison = reference.as_ref().map(|reference| {
            let other = (&reference.map, Some(&reference.low));
            Comparison::of((&read.mix.map, Some(&low)), other, gain_db)
        });
        let low_rows = comparison
            .as_ref()
            .map_or_else(|| LowRows::in_all(&[Some(&low)]), |c| c.low_rows);
        let sheets: Vec<(String, Sheet)> = plan
            .tracks
            .iter()
            .zip(&read.tracks)
            .map(|(track, read)| {
                let low = LowReading::of(&read.low, &guide);
                (track.id.clone(), Sheet::of(&read.map, Some(&low), low_rows))
            })
            .collect();
        let reference_layers = reference.as_ref().map_or(&[][..], |side| &side.layers);
        let pairs = match &reference {
            Some(side) => compare_layers(&layers, &side.layers),
            None => Vec::new(),
        };
        let arrangement = arrangement_bands(&pairs, &layers, reference_layers);
        let tracks = plan.tracks.iter().zip(&read.tracks);
        let group_maps = of_groups.iter().filter_map(|(group, tracks)| {
            let map = sum_of(tracks)?.map.clone();
            Some((*group, map))
        });
        Ok(Some(Self {
            tracks: tracks
                .map(|(track, read)| (track.id.clone(), read.map.clone()))
                .collect(),
            elements: element_reads
                .iter()
                .map(|(element, read)| (element.name.clone(), read.map.clone()))
                .collect(),
            groups: group_maps.collect(),
            owners: sheet_owners(&sheets),
            mix: BarSide {
                lines,
                map: read.mix.map.clone(),
                low,
                layers,
                guide,
            },
            reference,
            comparison,
            pairs,
            arrangement,
            low_hits,
        }))
    }
}

/// Tracks of every group, in plan order.
fn groups(surveyed: &Surveyed, plan: &Plan) -> Vec<(Group, Vec<usize>)> {
    let group_of = |id: &str| {
        let states = surveyed.tracks.iter();
        let mut of_id = states.filter(|state| state.track.id == id);
        of_id.next().and_then(|state| state.track.group)
    };
    let all = Group::ALL.iter().map(|&group| {
        let tracks = (0..plan.tracks.len())
            .filter(|&t| group_of(&plan.tracks[t].id) == Some(group))
            .collect();
        (group, tracks)
    });
    all.filter(|(_, tracks): &(Group, Vec<usize>)| !tracks.is_empty())
        .collect()
}

/// The reference over its bars, its layers heard from the mix of it.
fn reference_side(
    surveyed: &Surveyed,
    passages: &Passages,
    music: Option<&Musical>,
    context: &Context<'_>,
) -> Result<Option<BarSide>, WorkError> {
    let (Some(file), Some(side), Some(music)) = (&surveyed.reference, &passages.reference, music)
    else {
        return Ok(None);
    };
    let stretch = side.stretch;
    let Some(lines) = music.grid.bar_lines(stretch.start_s, stretch.end_s) else {
        return Ok(None);
    };
    let Some(read) = file_bars(file, surveyed.sample_rate_hz, &lines, context)? else {
        return Ok(None);
    };
    let layers = find_layers(&read.fold, &layer_context(music, &lines));
    let guide = guide(music, &lines, &layers);
    Ok(Some(BarSide {
        low: LowReading::of(&read.low, &guide),
        map: read.map,
        lines,
        layers,
        guide,
    }))
}

fn layer_context(music: &Musical, lines: &BarLines) -> LayerContext {
    let pitches = notes_within(music, lines)
        .into_iter()
        .map(|note| note.hertz);
    let (low, high) = pitches.fold((f64::INFINITY, 0.0_f64), |(low, high), hertz| {
        (low.min(hertz), high.max(hertz))
    });
    LayerContext {
        kick_hz: music.kick.as_ref().map(|kick| kick.fundamental_hz),
        bass_hz: (low < high).then_some((low, high)),
    }
}

/// What the low end is read around.
fn guide(music: &Musical, lines: &BarLines, layers: &[Layer]) -> LowGuide {
    let kick = layers.iter().find(|layer| layer.kind == LayerKind::Kick);
    LowGuide {
        notes: notes_within(music, lines),
        kick_hz: music.kick.as_ref().map(|kick| kick.fundamental_hz),
        kick_times_s: kick.map_or_else(Vec::new, |kick| times_of(kick, lines)),
        kick_length_s: music.kick.as_ref().map(|kick| kick.length_ms / 1000.0),
    }
}

fn notes_within(music: &Musical, lines: &BarLines) -> Vec<LowNote> {
    let first_s = lines.bar_starts_s.first().copied().unwrap_or(0.0);
    let last_s = lines.bar_starts_s.last().copied().unwrap_or(0.0);
    let tuning_cents = music.key.tuning_cents.unwrap_or(0.0);
    let notes = music.bass.iter();
    notes
        .filter(|note| note.end_s > first_s && note.start_s < last_s)
        .map(|note| LowNote::of(note, tuning_cents))
        .collect()
}

/// When a layer plays.
fn times_of(layer: &Layer, lines: &BarLines) -> Vec<f64> {
    let starts_s = lines.slot_starts_s();
    let period = layer.pattern_bars.max(1) * lines.slots();
    (0..lines.bars() * lines.slots())
        .filter(|slot| layer.places.contains(&(slot % period)))
        .filter_map(|slot| starts_s.get(slot).copied())
        .collect()
}
