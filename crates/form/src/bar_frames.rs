//! Band levels, loudness and layers, bar by bar.

use cupel_measure::{BandFrames, CRITICAL_BANDS, LoudnessCurve};

/// Parts a bar is cut into.
pub(crate) const SLOTS: usize = 8;
/// Values a bar has.
pub(crate) const WIDTH: usize = SLOTS * CRITICAL_BANDS;
/// How far below its own loud level a band is still heard, dB.
pub(crate) const RANGE_DB: f32 = 40.0;
/// Share of the slots that are softer than a band's loud level.
const LOUD: f64 = 0.95;
/// A layer plays where it is no further below its own loud level, dB.
const LAYER_RANGE_DB: f32 = 30.0;

/// What is known of every bar.
pub(crate) struct Bars {
    /// Bar lines, one more than there are bars; the last bar may be cut short.
    pub lines_s: Vec<f64>,
    /// `WIDTH` values a bar, slot by slot: dB above the band's floor, 0 to
    /// `RANGE_DB`.
    pub levels: Vec<f32>,
    /// Ungated loudness of each bar, LUFS, held to -100.
    pub loudness: Vec<f32>,
    /// For every layer, dB below its loud level in each bar, held to
    /// `-LAYER_RANGE_DB`.
    pub layers: Vec<Vec<f32>>,
}

impl Bars {
    /// Reads the bars between lines; at least two lines.
    pub fn read(
        lines_s: Vec<f64>,
        bands: &BandFrames,
        curve: &LoudnessCurve,
        layers: &[&LoudnessCurve],
    ) -> Self {
        let levels = above_floor(&slot_powers(&lines_s, bands));
        let loudness = bar_loudness(&lines_s, curve);
        let layers = layers
            .iter()
            .map(|layer| below_loud(&bar_loudness(&lines_s, layer)))
            .collect();
        Self {
            lines_s,
            levels,
            loudness,
            layers,
        }
    }

    pub fn count(&self) -> usize {
        self.loudness.len()
    }

    /// The values of a bar.
    pub fn row(&self, bar: usize) -> &[f32] {
        &self.levels[bar * WIDTH..(bar + 1) * WIDTH]
    }

    /// Mean level of a bar above the floors, dB.
    pub fn mean_level(&self, bar: usize) -> f32 {
        self.row(bar).iter().sum::<f32>() / WIDTH as f32
    }

    /// Whether a layer plays in a bar.
    pub fn plays(&self, layer: usize, bar: usize) -> bool {
        self.layers[layer][bar] > -LAYER_RANGE_DB
    }
}

/// Mean power of every band in every slot of every bar.
fn slot_powers(lines_s: &[f64], bands: &BandFrames) -> Vec<f32> {
    let mut powers = Vec::with_capacity(lines_s.len() * WIDTH);
    for bar in lines_s.windows(2) {
        let slot_s = (bar[1] - bar[0]) / SLOTS as f64;
        for slot in 0..SLOTS {
            let start_s = bar[0] + slot as f64 * slot_s;
            let means = bands.band_power_between(start_s, start_s + slot_s);
            powers.extend(means.iter().map(|&power| power as f32));
        }
    }
    powers
}

/// Powers as dB above a floor that lies `RANGE_DB` below each band's loud level.
fn above_floor(powers: &[f32]) -> Vec<f32> {
    let mut levels: Vec<f32> = powers
        .iter()
        .map(|power| 10.0 * power.max(1e-20).log10())
        .collect();
    let loudest = levels.iter().copied().fold(f32::MIN, f32::max);
    for band in 0..CRITICAL_BANDS {
        let own = levels.iter().skip(band).step_by(CRITICAL_BANDS);
        // a band that is never heard says nothing
        let loud = quantile(own.copied().collect(), LOUD).max(loudest - 70.0);
        let own = levels.iter_mut().skip(band).step_by(CRITICAL_BANDS);
        own.for_each(|level| *level = (*level - loud + RANGE_DB).clamp(0.0, RANGE_DB));
    }
    levels
}

fn bar_loudness(lines_s: &[f64], curve: &LoudnessCurve) -> Vec<f32> {
    lines_s
        .windows(2)
        .map(|bar| {
            let loudness = cupel_measure::loudness_between(curve, bar[0], bar[1]);
            loudness.map_or(-100.0, |lufs| lufs.max(-100.0) as f32)
        })
        .collect()
}

fn below_loud(loudness: &[f32]) -> Vec<f32> {
    let sounding = loudness.iter().copied().filter(|&lufs| lufs > -70.0);
    let loud = quantile(sounding.collect(), LOUD);
    loudness
        .iter()
        .map(|lufs| (lufs - loud).clamp(-LAYER_RANGE_DB, 0.0))
        .collect()
}

/// The value that a share of the values lie below; 0 for none.
pub(crate) fn quantile(mut values: Vec<f32>, share: f64) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let place = (share * (values.len() - 1) as f64).round() as usize;
    *values.select_nth_unstable_by(place, f32::total_cmp).1
}
