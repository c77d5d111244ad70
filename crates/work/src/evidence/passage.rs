//! The passages, band by band and sixteenth by sixteenth.

use cupel_barmap::{BarMap, Side};
use cupel_compare::{Cells, Layout};
use cupel_findings::{ElementFacts, PassageFacts, Powers, RemainsFacts};
use cupel_solve::{MixScene, Remains};

use crate::Assayed;
use crate::beside::Passage;

pub(super) fn of(
    assayed: &Assayed,
    passage: &Passage,
    elements: &[ElementFacts],
    left: Vec<Remains>,
) -> PassageFacts {
    let scene = &passage.scene;
    let layout = &scene.layout;
    let tracks = scene.scene.tracks();
    let all: Vec<usize> = (0..tracks).collect();
    let mix = together(scene, &all);
    let span_s = assayed
        .passages
        .as_ref()
        .map_or((0.0, 0.0), |p| (p.stretch.start_s, p.stretch.end_s));
    let bars = assayed.bars.as_ref();
    let maps = bars.map_or(&[][..], |bars| &bars.tracks);
    PassageFacts {
        span_s,
        bar_s: bar_s(assayed),
        bands_hz: layout.bands.iter().map(|b| (b.low_hz, b.high_hz)).collect(),
        slots: layout.slots,
        loudness_weights: layout.band_weights(),
        tracks: (0..tracks).map(|t| together(scene, &[t])).collect(),
        elements: elements
            .iter()
            .map(|element| together(scene, &element.tracks))
            .collect(),
        reference: passage.reference.as_ref().map(|reference| {
            let as_is = vec![0.0; tracks];
            reference_powers(reference, &scene.cells(&as_is))
        }),
        track_sides: maps.iter().map(|(_, map)| sides(map, layout)).collect(),
        mix_sides: bars.map_or_else(Vec::new, |bars| sides(&bars.mix.map, layout)),
        mix,
        remains: left
            .into_iter()
            .map(|left| RemainsFacts {
                band_hz: (left.low_hz, left.high_hz),
                difference_db: left.difference_db,
                before_db: left.before_db,
                track: assayed.plan.tracks.iter().position(|t| t.id == left.track),
                share: left.share,
                arrangement: left.arrangement,
            })
            .collect(),
        elsewhere_hz: bars.map_or_else(Vec::new, |bars| {
            let bands = bars.arrangement.iter();
            bands.map(|band| (band.low_hz, band.high_hz)).collect()
        }),
    }
}

/// Length of a bar in the passage.
fn bar_s(assayed: &Assayed) -> f64 {
    let lines = assayed.bars.as_ref().map(|bars| &bars.mix.lines);
    let starts = lines.map_or(&[][..], |lines| &lines.bar_starts_s);
    match (starts.first(), starts.last()) {
        (Some(first), Some(last)) if starts.len() > 1 => (last - first) / (starts.len() - 1) as f64,
        _ => 2.0,
    }
}

/// Powers of some tracks together.
pub(super) fn together(scene: &MixScene, tracks: &[usize]) -> Powers {
    let mut gains_db = vec![-400.0; scene.scene.tracks()];
    for &track in tracks {
        gains_db[track] = 0.0;
    }
    powers(&scene.cells(&gains_db), 1.0)
}

fn powers(cells: &Cells, gain: f64) -> Powers {
    let layout = &cells.layout;
    let mut found = Powers::default();
    for band in 0..layout.bands.len() {
        for slot in 0..layout.slots {
            let power = |cell: usize| gain * cells.powers[cell].unwrap_or(0.0);
            found.whole.push(power(layout.whole(band, slot)));
            found.side.push(power(layout.side(band, slot)));
        }
    }
    found
}

/// The reference at the loudness of the mix; where its bars are of other length,
/// every sixteenth has the mean of the bar.
fn reference_powers(reference: &Cells, mix: &Cells) -> Powers {
    let loudness = reference.loudness();
    let gain = if loudness > 0.0 {
        mix.loudness() / loudness
    } else {
        0.0
    };
    let own = powers(reference, gain);
    let (slots, wanted) = (reference.layout.slots, mix.layout.slots);
    if slots == wanted && reference.layout.bands.len() == mix.layout.bands.len() {
        return own;
    }
    let bands = mix.layout.bands.len();
    let spread = |powers: &[f64]| -> Vec<f64> {
        let mean = |band: usize| {
            let cells = powers.get(band * slots..(band + 1) * slots).unwrap_or(&[]);
            cells.iter().sum::<f64>() / slots.max(1) as f64
        };
        (0..bands)
            .flat_map(|band| std::iter::repeat_n(mean(band), wanted))
            .collect()
    };
    Powers {
        whole: spread(&own.whole),
        side: spread(&own.side),
    }
}

/// Left and right powers by band, means over the bar.
fn sides(map: &BarMap, layout: &Layout) -> Vec<[f64; 2]> {
    let bands = layout.bands.iter();
    bands
        .map(|band| {
            [Side::Left, Side::Right].map(|side| {
                let rows = band.first_row..=band.last_row;
                let of_row = |row: usize| {
                    let slots = (0..map.slots).map(|slot| map.power(side, row, slot));
                    slots.sum::<f64>()
                };
                rows.map(of_row).sum::<f64>() / map.slots.max(1) as f64
            })
        })
        .collect()
}

/// What an element loses by loudness where both sides are folded to one, dB.
pub(super) fn mono_loss_db(powers: &Powers, facts: &PassageFacts) -> Option<f64> {
    let weighed = |cells: &[f64]| -> f64 {
        let bands = 0..facts.bands_hz.len();
        bands
            .map(|band| facts.band(cells, band) * facts.loudness_weights[band])
            .sum()
    };
    let (whole, side) = (weighed(&powers.whole), weighed(&powers.side));
    (whole > 1e-12).then(|| (10.0 * ((whole - side).max(1e-10 * whole) / whole).log10()).min(0.0))
}
