//! What was heard of a file, as figures in a fixed order for the classifier.
//!
//! Most come in pairs: the middle value (median) over hits or frames, and the
//! distance from the lower to the upper fifth.

use crate::hit_shape::HitShape;
use crate::hop_levels::Sides;
use crate::timbre_meter::{Heard, HeardHit};
use crate::tone_frame::ToneFrame;

/// Number of figures.
pub(crate) const FEATURES: usize = 2 * (HIT_COLUMNS + START_COLUMNS + TONE_COLUMNS) + AFTER + WHOLE;
const HIT_COLUMNS: usize = 14;
const START_COLUMNS: usize = 15;
const TONE_COLUMNS: usize = 26;
const AFTER: usize = 7;
const WHOLE: usize = 18;

/// Hits this far under the loudest are left out, a ratio of power (24 dB).
const QUIET: f64 = 4e-3;

/// The figures; empty where nothing sounds.
pub(crate) fn features_of(heard: &Heard, sides: Sides, hop_s: f64) -> Vec<f32> {
    let loudest = heard.hits.iter().map(|h| h.shape.peak).fold(0.0, f64::max);
    let hits: Vec<&HeardHit> = heard
        .hits
        .iter()
        .filter(|hit| hit.shape.peak > loudest * QUIET)
        .collect();
    let top = heard
        .steady
        .iter()
        .map(|(_, f)| f.power)
        .fold(0.0, f64::max);
    let steady = heard.steady.iter().map(|(_, frame)| frame);
    let steady: Vec<&ToneFrame> = steady.filter(|frame| frame.power > top * QUIET).collect();
    let tones: Vec<&ToneFrame> = hits
        .iter()
        .filter_map(|hit| hit.tones[0].as_ref())
        .chain(steady.iter().copied())
        .collect();
    if tones.is_empty() && hits.is_empty() {
        return Vec::new();
    }
    let mut figures = Vec::with_capacity(FEATURES);
    let shapes = hits.iter().map(|hit| hit_columns(&hit.shape)).collect();
    spread_out(shapes, hit_columns(&HELD), &mut figures);
    let starts: Vec<_> = hits
        .iter()
        .filter_map(|hit| hit.start.as_ref())
        .map(start_columns)
        .collect();
    let held = tones
        .first()
        .map_or([0.0; START_COLUMNS], |frame| start_columns(frame));
    spread_out(starts, held, &mut figures);
    let columns = tones.iter().map(|frame| tone_columns(frame)).collect();
    spread_out(columns, [0.0; TONE_COLUMNS], &mut figures);
    after(&hits, &mut figures);
    whole(
        heard,
        sides,
        hop_s,
        &hits,
        &tones,
        steady.len(),
        &mut figures,
    );
    figures.iter().map(|&figure| figure as f32).collect()
}

/// Stands for a sound without hits.
const HELD: HitShape = HitShape {
    peak: 1.0,
    attack_s: 0.3,
    decays_s: [1.5; 3],
    lasts_s: 1.5,
    falls_db: 0.0,
    centre_s: 0.75,
    first_share: 0.03,
    bright_oct: [9.0; 3],
    bursts: 0.0,
    stray_db: 1.0,
};

fn hit_columns(hit: &HitShape) -> [f64; HIT_COLUMNS] {
    let log = |seconds: f64| (seconds + 0.003).ln();
    [
        log(hit.attack_s),
        log(hit.decays_s[0]),
        log(hit.decays_s[1]),
        log(hit.decays_s[2]),
        log(hit.lasts_s),
        hit.falls_db,
        log(hit.centre_s),
        hit.first_share,
        hit.bright_oct[0],
        hit.bright_oct[1] - hit.bright_oct[0],
        hit.bright_oct[2] - hit.bright_oct[0],
        hit.bursts,
        hit.stray_db,
        hit.decays_s[1] / hit.decays_s[0].max(0.003),
    ]
}

fn band_db(share: f64) -> f64 {
    10.0 * (share + 1e-4).log10()
}

fn start_columns(frame: &ToneFrame) -> [f64; START_COLUMNS] {
    let mut columns = [0.0; START_COLUMNS];
    for (column, &share) in columns.iter_mut().zip(&frame.bands) {
        *column = band_db(share);
    }
    columns[9] = frame.centroid_oct;
    columns[10] = frame.spread_oct;
    columns[11..14].copy_from_slice(&frame.flatness_db);
    columns[14] = frame.tonal[3];
    columns
}

fn tone_columns(frame: &ToneFrame) -> [f64; TONE_COLUMNS] {
    let mut columns = [0.0; TONE_COLUMNS];
    for (column, &share) in columns.iter_mut().zip(&frame.bands) {
        *column = band_db(share);
    }
    columns[9] = frame.centroid_oct;
    columns[10] = frame.spread_oct;
    columns[11..15].copy_from_slice(&frame.tonal);
    columns[15..18].copy_from_slice(&frame.flatness_db);
    columns[18] = frame.strongest_oct;
    columns[19] = frame.pitch_oct;
    columns[20] = frame.harmonic;
    columns[21..25].copy_from_slice(&frame.partials);
    columns[25] = frame.peaks;
    columns
}

/// The middle and the spread of each column; `absent` where there are no rows.
fn spread_out<const N: usize>(rows: Vec<[f64; N]>, absent: [f64; N], figures: &mut Vec<f64>) {
    for column in 0..N {
        let mut values: Vec<f64> = rows.iter().map(|row| row[column]).collect();
        let (middle, spread) = middle_and_spread(&mut values).unwrap_or((absent[column], 0.0));
        figures.extend([middle, spread]);
    }
}

/// Median, and distance from the lower to the upper fifth.
fn middle_and_spread(values: &mut [f64]) -> Option<(f64, f64)> {
    values.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let place = part * values.len().checked_sub(1)? as f64;
        let (low, rest) = (place.floor(), place.fract());
        let below = *values.get(low as usize)?;
        let above = *values.get(place.ceil() as usize)?;
        Some(below + rest * (above - below))
    };
    Some((at(0.5)?, at(0.8)? - at(0.2)?))
}

/// What becomes of a hit within 100 ms.
fn after(hits: &[&HeardHit], figures: &mut Vec<f64>) {
    let pairs: Vec<(&ToneFrame, &ToneFrame)> = hits
        .iter()
        .filter_map(|hit| Some((hit.tones[0].as_ref()?, hit.tones[1].as_ref()?)))
        .collect();
    let mut middle = |of: &dyn Fn(&ToneFrame, &ToneFrame) -> f64| {
        let mut values: Vec<f64> = pairs.iter().map(|(first, then)| of(first, then)).collect();
        let found = middle_and_spread(&mut values).map_or(0.0, |(middle, _)| middle);
        figures.push(found);
    };
    middle(&|first, then| then.centroid_oct - first.centroid_oct);
    middle(&|first, then| (then.strongest_oct - first.strongest_oct).clamp(-2.0, 2.0));
    middle(&|first, then| (then.pitch_oct - first.pitch_oct).clamp(-2.0, 2.0));
    middle(&|first, then| (then.pitch_oct - first.pitch_oct).abs().min(1.0));
    middle(&|first, then| then.tonal[3] - first.tonal[3]);
    middle(&|first, then| 10.0 * ((then.power + 1e-12) / (first.power + 1e-12)).log10());
    figures.push(pairs.len() as f64 / hits.len().max(1) as f64);
}

fn whole(
    heard: &Heard,
    sides: Sides,
    hop_s: f64,
    hits: &[&HeardHit],
    tones: &[&ToneFrame],
    steady: usize,
    figures: &mut Vec<f64>,
) {
    let highest = heard.powers.iter().copied().fold(0.0f32, f32::max);
    let db: Vec<f64> = heard
        .powers
        .iter()
        .map(|&power| {
            10.0 * f64::from(power / highest.max(f32::MIN_POSITIVE))
                .max(1e-6)
                .log10()
        })
        .collect();
    let sounding: Vec<f64> = db.iter().copied().filter(|&db| db > -40.0).collect();
    let share = |limit: f64| db.iter().filter(|&&db| db > limit).count() as f64;
    let seconds = (16.0 * hop_s * sounding.len() as f64).max(0.1);
    let gap_s = |gap: u32| (f64::from(gap) * hop_s).clamp(0.02, 8.0).ln();
    let mut gaps: Vec<f64> = heard.gaps.iter().skip(1).map(|&gap| gap_s(gap)).collect();
    let (gap, gap_spread) = middle_and_spread(&mut gaps).unwrap_or((0.7, 0.0));
    let mut levels: Vec<f64> = sounding.clone();
    let (level, level_spread) = middle_and_spread(&mut levels).unwrap_or((0.0, 0.0));
    figures.extend([
        (heard.gaps.len() as f64 / seconds).min(20.0),
        gap,
        gap_spread,
        share(-40.0) / db.len().max(1) as f64,
        share(-10.0) / share(-40.0).max(1.0),
        level,
        level_spread,
        steady as f64 / (steady + hits.len()).max(1) as f64,
        (heard.gaps.len() as f64).min(8.0),
    ]);
    // how the level and the brightness move from the beginning to the end
    figures.push(trend(&sounding));
    let bright: Vec<f64> = heard.steady.iter().map(|(_, f)| f.centroid_oct).collect();
    figures.push(trend(&bright));
    figures.extend(width(sides));
    figures.extend(melody(tones));
}

/// Correlation with time, -1 to 1.
fn trend(values: &[f64]) -> f64 {
    let count = values.len() as f64;
    if count < 4.0 {
        return 0.0;
    }
    let mean = values.iter().sum::<f64>() / count;
    let middle = (count - 1.0) / 2.0;
    let (mut both, mut time, mut own) = (0.0, 0.0, 0.0);
    for (i, value) in values.iter().enumerate() {
        let (t, v) = (i as f64 - middle, value - mean);
        both += t * v;
        time += t * t;
        own += v * v;
    }
    both / (time * own).sqrt().max(1e-9)
}

/// Side over mid power in dB, -40 to 20, and how far one side is louder.
fn width(sides: Sides) -> [f64; 2] {
    let both = 0.5 * (sides.left + sides.right);
    let (mid, side) = (both + sides.cross, both - sides.cross);
    let width = 10.0 * ((side + 1e-9 * both + 1e-30) / (mid + 1e-30)).log10();
    let lean = 10.0 * ((sides.left + 1e-30) / (sides.right + 1e-30)).log10();
    [width.clamp(-40.0, 20.0), lean.abs().min(20.0)]
}

/// Of the frames with a clear pitch: their share; how far they stray from the
/// semitones of one tuning, in cents; number of different semitones; range and
/// middle step in octaves.
fn melody(tones: &[&ToneFrame]) -> [f64; 5] {
    let pitches: Vec<f64> = tones
        .iter()
        .filter(|frame| frame.harmonic > 0.5 && frame.tonal[3] > 0.3)
        .map(|frame| frame.pitch_oct)
        .collect();
    let share = pitches.len() as f64 / tones.len().max(1) as f64;
    if pitches.len() < 2 {
        return [share, 0.0, pitches.len() as f64, 0.0, 0.0];
    }
    let (mut cos, mut sin) = (0.0, 0.0);
    for pitch in &pitches {
        let angle = std::f64::consts::TAU * (12.0 * pitch).fract();
        cos += angle.cos();
        sin += angle.sin();
    }
    let agree = (cos * cos + sin * sin).sqrt() / pitches.len() as f64;
    let stray = 100.0 / std::f64::consts::TAU * (-2.0 * agree.max(1e-3).ln()).sqrt();
    let mut notes: Vec<i64> = pitches.iter().map(|p| (12.0 * p).round() as i64).collect();
    let mut steps: Vec<f64> = pitches.windows(2).map(|p| (p[1] - p[0]).abs()).collect();
    let step = middle_and_spread(&mut steps).map_or(0.0, |(middle, _)| middle);
    notes.sort_unstable();
    notes.dedup();
    let mut sorted = pitches.clone();
    let range = middle_and_spread(&mut sorted).map_or(0.0, |(_, spread)| spread);
    [
        share,
        stray,
        (notes.len() as f64).min(24.0),
        range,
        step.min(2.0),
    ]
}
