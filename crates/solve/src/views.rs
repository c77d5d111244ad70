//! The views by which a mix is laid beside a reference.
//!
//! Two kinds of reference are met. A *print of this very mix* agrees cell by cell;
//! there every cell is a reading of its own. *Another song* agrees in what its
//! bands hold on average, in their peaks and in what is always there, by place in
//! the bar, in width, and in the low end around its own notes; how well was seen on
//! drawn sessions of known levels.

use cupel_barmap::LowPlace;
use cupel_compare::{Cells, Layout};

use crate::mix_scene::MixScene;
use crate::view::{Reading, View};

/// What is not heard: so far below the loudness of either side.
const FLOOR: f64 = 1e-6;
/// What lies this far under the strongest reading counts less and less, until it
/// counts for nothing (common practice, no source).
const FULL_WEIGHT_RANGE_DB: f64 = 45.0;
const NO_WEIGHT_RANGE_DB: f64 = 65.0;
/// Bands whose middles are read: below, rumble rules; above, lossy sources and
/// rates differ (common practice, no source).
const READ_HZ: (f64, f64) = (25.0, 16_500.0);

/// Exponents of the peaks, and of what is always there.
const PEAKS: f64 = 4.0;
const STEADY: f64 = -0.7;

/// Worth and least spread of a view.
struct Weight(f64, f64);

/// Relations found by trying on drawn sessions, seeds 500 to 519; their size on files
/// of made sessions, seeds 700 to 705 and 800 to 805; judged on others.
const MEAN: Weight = Weight(7.4, 3.7);
const PEAK: Weight = Weight(4.9, 3.0);
const STEADY_WEIGHT: Weight = Weight(21.0, 4.0);
const PLACES: Weight = Weight(18.9, 5.3);
const SIDE: Weight = Weight(13.3, 3.0);
const SIDE_STEADY: Weight = Weight(9.1, 4.0);
const LOW: Weight = Weight(3.8, 2.0);

/// Of a print: nearly every reading tells something of its own.
const FINE: Weight = Weight(150.0, 0.02);
const FINE_SIDE: Weight = Weight(60.0, 0.02);

/// A limiter turns a sixteenth down by so much more or less than others: those in
/// which the kick starts, and those between.
const GROUP_SPREAD_DB: f64 = 3.0;

/// Low places that are compared.
const LOW_PLACES: [LowPlace; 5] = [
    LowPlace::KickBody,
    LowPlace::KickPunch,
    LowPlace::Note,
    LowPlace::Octave,
    LowPlace::AboveOctave,
];

/// Views for a reference that may be another song.
pub(crate) fn song_views(scene: &MixScene, reference: &Cells) -> Vec<View> {
    let mix = &scene.layout;
    let places = same_places(mix, &reference.layout);
    let beat = mix.slots / if mix.slots.is_multiple_of(3) { 3 } else { 4 };
    // On the beats, where most kicks start, and between them.
    let sides_of_beat = |side: bool, exponent: f64| -> Vec<Reading> {
        if !places {
            return band_readings(mix, reference, &all_slots, side, exponent, None);
        }
        let parts = [true, false].into_iter().enumerate();
        let readings = parts.flat_map(|(group, on_beat)| {
            let slots = move |count: usize| {
                let all = 0..count;
                all.filter(|slot| (slot % beat == 0) == on_beat).collect()
            };
            band_readings(mix, reference, &slots, side, exponent, Some(group))
        });
        readings.collect()
    };
    let all =
        |side: bool, exponent: f64| band_readings(mix, reference, &all_slots, side, exponent, None);
    let mut views = vec![
        view(sides_of_beat(false, 1.0), &MEAN),
        view(sides_of_beat(false, PEAKS), &PEAK),
        view(all(false, STEADY), &STEADY_WEIGHT),
        view(sides_of_beat(true, 1.0), &SIDE),
        view(all(true, STEADY), &SIDE_STEADY),
        view(low_readings(scene, reference), &LOW),
    ];
    if places {
        let classes: [fn(usize, usize) -> bool; 4] = [
            |slot, beat| slot % beat == 0,
            |slot, beat| slot % beat == beat / 2,
            |slot, _| slot % 2 == 1,
            |slot, beat| slot % (2 * beat) == beat,
        ];
        let readings = classes.iter().enumerate().flat_map(|(group, class)| {
            let slots = move |count: usize| (0..count).filter(|&s| class(s, beat)).collect();
            band_readings(mix, reference, &slots, false, 1.0, Some(group))
        });
        views.push(view(readings.collect(), &PLACES));
    }
    views.retain(|view| !view.readings.is_empty());
    views
}

/// Views for a reference that is a print of this mix; with `limited`, all of a
/// sixteenth may have been turned down.
pub(crate) fn print_views(mix: &Layout, reference: &Cells, limited: bool) -> Vec<View> {
    if !same_places(mix, &reference.layout) {
        return Vec::new();
    }
    let single = |side: bool| -> Vec<Reading> {
        (0..mix.slots)
            .flat_map(|slot| {
                let slots = move |_| vec![slot];
                band_readings(mix, reference, &slots, side, 1.0, limited.then_some(slot))
            })
            .collect()
    };
    vec![view(single(false), &FINE), view(single(true), &FINE_SIDE)]
}

fn same_places(mix: &Layout, reference: &Layout) -> bool {
    mix.slots == reference.slots && mix.in_time && reference.in_time
}

fn view(readings: Vec<Reading>, weight: &Weight) -> View {
    View {
        readings,
        worth: weight.0,
        least_spread_db: weight.1,
        group_spread_db: GROUP_SPREAD_DB,
    }
}

fn all_slots(count: usize) -> Vec<usize> {
    (0..count).collect()
}

/// A reading a band over some of the sixteenths.
fn band_readings(
    mix: &Layout,
    reference: &Cells,
    slots: &dyn Fn(usize) -> Vec<usize>,
    side: bool,
    exponent: f64,
    group: Option<usize>,
) -> Vec<Reading> {
    let cells_of = |layout: &Layout, band: usize| -> Vec<(usize, f64)> {
        let slots = slots(layout.slots);
        let weight = 1.0 / slots.len().max(1) as f64;
        let cell = |slot: usize| match side {
            true => layout.side(band, slot),
            false => layout.whole(band, slot),
        };
        slots.into_iter().map(|slot| (cell(slot), weight)).collect()
    };
    let powers: Vec<f64> = reference.powers.iter().map(|p| p.unwrap_or(0.0)).collect();
    let bands = mix.bands.len().min(reference.layout.bands.len());
    let mut readings: Vec<Reading> = (0..bands)
        .filter(|&band| {
            let centre_hz = mix.bands[band].centre_hz();
            (READ_HZ.0..=READ_HZ.1).contains(&centre_hz)
        })
        .map(|band| {
            let mut reading = Reading {
                cells: cells_of(&reference.layout, band),
                exponent,
                reference: 0.0,
                floor: FLOOR,
                weight: 1.0,
                group,
            };
            reading.reference = reading.power(&powers);
            reading.cells = cells_of(mix, band);
            reading
        })
        .collect();
    let strongest = readings
        .iter()
        .fold(0.0_f64, |most, reading| most.max(reading.reference));
    for reading in &mut readings {
        let range_db = -10.0 * (reading.reference / strongest).log10();
        let part = (NO_WEIGHT_RANGE_DB - range_db) / (NO_WEIGHT_RANGE_DB - FULL_WEIGHT_RANGE_DB);
        reading.weight = if part.is_nan() {
            0.0
        } else {
            part.clamp(0.0, 1.0)
        };
    }
    readings
}

fn low_readings(mix: &MixScene, reference: &Cells) -> Vec<Reading> {
    LOW_PLACES
        .into_iter()
        .filter(|place| mix.read.contains(place))
        .filter_map(|place| {
            let power = reference.powers[reference.layout.low(place)]?;
            Some(Reading {
                cells: vec![(mix.layout.low(place), 1.0)],
                exponent: 1.0,
                reference: power,
                floor: FLOOR,
                weight: 1.0,
                group: Some(usize::from(place.is_kick())),
            })
        })
        .collect()
}
