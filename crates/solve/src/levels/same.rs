//! Tracks that cannot be told apart.

use crate::mix_scene::MixScene;

/// Tracks that are this much the same (correlation over all cells) cannot be told
/// apart; their relation stays as exported.
const SAME: f64 = 0.98;

/// For every track the first earlier one that it cannot be told from.
pub(super) fn same_tracks(scene: &MixScene) -> Vec<Option<usize>> {
    let tracks = scene.scene.tracks();
    let wholes = scene.layout.bands.len() * scene.layout.slots;
    let mut sums = vec![vec![0.0; tracks]; tracks];
    for cell in 0..wholes {
        for (i, row) in sums.iter_mut().enumerate() {
            for (j, sum) in row.iter_mut().enumerate().take(i + 1) {
                *sum += scene.scene.pair(j, i, cell);
            }
        }
    }
    (0..tracks)
        .map(|i| {
            (0..i).find(|&j| {
                let own = (sums[i][i] * sums[j][j]).sqrt();
                own > 0.0 && sums[i][j].abs() > SAME * own
            })
        })
        .collect()
}
