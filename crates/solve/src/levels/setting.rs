//! What a fit may move, and what is believed of it beforehand.

use cupel_units::Role;

use super::{LevelInput, LevelTrack, Told, usual_gain_db};
use crate::prior::usual_level;
use crate::view::{Belief, View};
use crate::view_fit::ViewProblem;

/// Spread of the relation of two tracks that cannot be told apart, dB.
const SAME_SPREAD_DB: f64 = 0.05;

/// What stays fixed and how far the others may go.
pub(super) struct Setting {
    fixed_gain_db: Vec<Option<f64>>,
    range_db: Vec<(f64, f64)>,
    loudness_weight: Vec<f64>,
    reference_loudness: f64,
}

impl Setting {
    pub(super) fn of(input: &LevelInput<'_>, told: &[Told]) -> Self {
        let fixed = |(track, told): (&LevelTrack, &Told)| match told {
            Told::Fitted | Told::AsOneWith(_) => None,
            Told::Settled | Told::Silent | Told::Buried => Some(track.kept_gain_db.unwrap_or(0.0)),
        };
        let range = |track: &LevelTrack| match track.role {
            // Noise and risers are never pushed forward.
            Some(Role::Texture) => (-input.limit_db, 0.0),
            _ => (-input.limit_db, input.limit_db),
        };
        Self {
            fixed_gain_db: input.tracks.iter().zip(told).map(fixed).collect(),
            range_db: input.tracks.iter().map(range).collect(),
            loudness_weight: input.scene.layout.loudness_weights(),
            reference_loudness: input.reference.loudness(),
        }
    }

    pub(super) fn problem<'a>(
        &'a self,
        input: &LevelInput<'a>,
        views: &'a [View],
        beliefs: &'a [Belief],
    ) -> ViewProblem<'a> {
        ViewProblem {
            scene: &input.scene.scene,
            loudness_weight: &self.loudness_weight,
            reference_loudness: self.reference_loudness,
            views,
            beliefs,
            fixed_gain_db: &self.fixed_gain_db,
            range_db: &self.range_db,
        }
    }
}

pub(super) fn beliefs(input: &LevelInput<'_>, told: &[Told], least_spread_db: f64) -> Vec<Belief> {
    let mut beliefs = Vec::new();
    for (t, told) in told.iter().enumerate() {
        let belief = match told {
            Told::Fitted => usual_gain_db(input, t).map(|mean_db| Belief {
                factors: vec![(t, 1.0)],
                mean_db,
                spread_db: usual_level(input.tracks[t].role)
                    .spread_db
                    .max(least_spread_db),
            }),
            Told::AsOneWith(other) => Some(Belief {
                factors: vec![(t, 1.0), (*other, -1.0)],
                mean_db: 0.0,
                spread_db: SAME_SPREAD_DB,
            }),
            _ => None,
        };
        beliefs.extend(belief);
    }
    beliefs
}
