//! When strong hits start, to about a millisecond.

use crate::onset_bands::BANDS;

/// Least rise of a hit, in nepers of power.
const LEAST_RISE: f32 = 0.7;
/// Shares of the rise in power that an attack is measured between.
const EARLY_SHARE: f32 = 0.03;
const LATE_SHARE: f32 = 0.45;
/// What a sudden attack takes between them, in fine hops.
const STEP_LENGTH: f64 = 0.75;
/// Longest attack followed backwards, in fine hops.
const LONGEST_ATTACK: usize = 10;

/// How late power shows in the low band: delay of its filter.
const LOW_DELAY_S: f64 = 0.003;

/// Start of a sound in one band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Seconds from the start of the file, to about 1 ms.
    pub time_s: f64,
    /// Rise of the band's power in nepers, 0.7 to 3.
    pub strength: f32,
    /// Band it was found in, see
    /// [`band_edges_hz`](crate::OnsetCurve::band_edges_hz).
    pub band: usize,
}

impl Hit {
    /// How much it counts where times matter: sharp ones most, bass and chords,
    /// which swell, little.
    pub(crate) fn weight(&self) -> f64 {
        const BY_BAND: [f64; BANDS] = [0.7, 0.15, 1.0, 1.0];
        f64::from(self.strength).powi(2) * BY_BAND[self.band]
    }
}

/// Peaks of the rises, with their starts read from the fine powers.
pub(crate) fn find_hits(
    rises: &[Vec<f32>; BANDS],
    powers: &[Vec<f32>; BANDS],
    fine_per_hop: usize,
    fine_hop_s: f64,
) -> Vec<Hit> {
    let mut hits = Vec::new();
    for (band, curve) in rises.iter().enumerate() {
        for index in peaks(curve) {
            // a kick is placed by its click, where it has one
            let bands = if band == 0 { 0..BANDS } else { band..band + 1 };
            let centre = index * fine_per_hop;
            let start = bands
                .filter_map(|other| {
                    let (start, rise) = start_of(&powers[other], centre, fine_per_hop)?;
                    let late_s = if other == 0 { LOW_DELAY_S } else { 0.0 };
                    Some((start * fine_hop_s - late_s, rise))
                })
                .max_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((time_s, _)) = start {
                hits.push(Hit {
                    time_s: time_s.max(0.0),
                    strength: curve[index],
                    band,
                });
            }
        }
    }
    hits.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then(a.band.cmp(&b.band)));
    hits
}

/// Highest values within six hops either way.
fn peaks(curve: &[f32]) -> impl Iterator<Item = usize> + '_ {
    (0..curve.len()).filter(|&index| {
        let value = curve[index];
        let (from, to) = (index.saturating_sub(6), (index + 7).min(curve.len()));
        value >= LEAST_RISE
            && curve[from..index].iter().all(|&other| other < value)
            && curve[index + 1..to].iter().all(|&other| other <= value)
    })
}

/// Place in fine hops where power starts to rise, and by how much it rises.
fn start_of(powers: &[f32], centre: usize, fine_per_hop: usize) -> Option<(f64, f32)> {
    let from = centre.saturating_sub(3 * fine_per_hop);
    let to = (centre + 3 * fine_per_hop).min(powers.len());
    let around = powers.get(from..to)?;
    // steepest place: four hops after against four before
    let mean = |range: std::ops::Range<usize>| -> f32 {
        let count = range.len() as f32;
        around[range].iter().sum::<f32>() / count
    };
    let (mut best, mut place) = (0.0, None);
    for index in 1..around.len().saturating_sub(3) {
        let before = mean(index.saturating_sub(4)..index);
        let after = mean(index..index + 4);
        let rise = (after + 1e-12) / (before + 1e-12);
        if rise > best {
            (best, place) = (rise, Some((index, before, after)));
        }
    }
    let (index, before, after) = place?;
    Some(((from as f64 + foot(around, index, before, after)), best))
}

/// Place where an attack that rises through `index` leaves the floor: the
/// straight line of amplitude through two heights, drawn down to `before`.
fn foot(powers: &[f32], index: usize, before: f32, after: f32) -> f64 {
    let crossing = |share: f32| -> f64 {
        let line = before + share * (after - before);
        let first = (index.saturating_sub(2)..(index + 4).min(powers.len()))
            .find(|&at| powers[at] >= line)
            .unwrap_or(index);
        let mut at = first;
        while at > 0 && powers[at - 1] >= line && first - at < LONGEST_ATTACK {
            at -= 1;
        }
        let last = if at > 0 { powers[at - 1] } else { before };
        let share = (line - last).max(0.0) / (powers[at] - last).max(1e-20);
        at as f64 + f64::from(share.min(1.0)) - 0.5
    };
    let (early, late) = (crossing(EARLY_SHARE), crossing(LATE_SHARE));
    let (low, high) = (EARLY_SHARE.sqrt(), LATE_SHARE.sqrt());
    let length = (late - early - STEP_LENGTH).clamp(0.0, LONGEST_ATTACK as f64);
    // a sharp quiet sound before a slow loud one is the start
    (late - length * f64::from(high / (high - low))).max(early - 1.0)
}
