//! What is known about each layer of the reference: place in the bar, band, level
//! and side, read from the part alone before it is summed and mastered.

use crate::loudness::Loudness;
use crate::role::Role;
use crate::samples::Samples;
use crate::song::{Part, Song};
use crate::spectrum::band_hz;
use crate::sums::{CHUNK, hundredth};
use crate::truth::LayerTruth;

/// The first busiest section, as bars: from and to.
fn busiest_bars(song: &Song) -> Option<(usize, usize)> {
    let sections = &song.sections;
    let busy = sections.iter().find(|section| section.is_busiest())?;
    Some((busy.start_bar, busy.end_bar()))
}

/// Reads one part; `None` where it does not sound in the first busiest section.
pub(crate) fn layer(song: &Song, part: &Part, samples: &Samples) -> Option<LayerTruth> {
    let (first, end) = busiest_bars(song)?;
    let lines = song.bar_lines_s();
    let rate = f64::from(song.sample_rate_hz);
    let frames = |s: f64| libm::round(s.max(0.0) * rate) as usize;
    let (from, to) = (frames(lines[first]), frames(lines[end]));
    let mut sides = [vec![0.0; to - from], vec![0.0; to - from]];
    for (side, wave) in sides.iter_mut().enumerate() {
        samples.read(side, from, wave);
    }
    let lufs = loudness(&sides, rate)?;
    let [left, right] = &sides;
    let energy = |value: fn(f64, f64) -> f64| -> f64 {
        let pairs = left.iter().zip(right);
        pairs.map(|(&l, &r)| value(l, r) * value(l, r)).sum()
    };
    let (in_left, in_right) = (energy(|l, _| l), energy(|_, r| r));
    let (middle, side) = (energy(|l, r| 0.5 * (l + r)), energy(|l, r| 0.5 * (l - r)));
    let (low_hz, high_hz) = band_hz(left, right, rate)?;
    Some(LayerTruth {
        role: part.role.word().to_owned(),
        steps: steps(song, part, first, end),
        note_s: note_s(part),
        low_hz: libm::round(low_hz),
        high_hz: libm::round(high_hz),
        lufs: hundredth(lufs),
        balance: hundredth((in_right - in_left) / (in_right + in_left)),
        width: hundredth(side / (side + middle)),
    })
}

fn loudness(sides: &[Vec<f64>; 2], rate: f64) -> Option<f64> {
    let mut meter = Loudness::new(rate);
    for (left, right) in sides[0].chunks(CHUNK).zip(sides[1].chunks(CHUNK)) {
        meter.push(left, right);
    }
    meter.integrated_lufs()
}

/// Share of the bars in which a note starts nearest to each sixteenth.
fn steps(song: &Song, part: &Part, first: usize, end: usize) -> Vec<f64> {
    let count = song.grid.steps();
    let mut hits = vec![0usize; count];
    for bar in first..end {
        for (step, hits) in hits.iter_mut().enumerate() {
            let at = song.clock.played_s(song.grid.place_s(bar, step));
            let near = 0.4 * song.grid.step_s();
            let plays = |start_s: f64| (start_s - at).abs() < near;
            *hits += usize::from(part.events.iter().any(|event| plays(event.start_s)));
        }
    }
    hits.iter()
        .map(|&hits| hundredth(hits as f64 / (end - first) as f64))
        .collect()
}

/// Middle length of the notes; 0 for hits.
fn note_s(part: &Part) -> f64 {
    if part.role.is_drum() && part.role != Role::OpenHat {
        return 0.0;
    }
    let mut lengths: Vec<f64> = part.events.iter().map(|event| event.length_s).collect();
    lengths.sort_by(f64::total_cmp);
    lengths
        .get(lengths.len() / 2)
        .map_or(0.0, |&s| libm::round(1e3 * s) / 1e3)
}
