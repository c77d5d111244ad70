//! Kick and bass of a session, hit by hit.

use cupel_barmap::LowGuide;
use cupel_render::Plan;
use cupel_rhythm::BarLines;
use cupel_solve::LowHit;
use cupel_units::{Group, Role};

use crate::Surveyed;
use crate::bar_read::BarRead;

/// What counts as low.
const LOW_HZ: (f64, f64) = (20.0, 150.0);
/// A kick belongs to a sixteenth from this long before it starts.
const EARLY_S: f64 = 0.03;

/// Places in the plan of kick and bass.
#[derive(Debug)]
pub(crate) struct LowTracks {
    pub(crate) kick: Vec<usize>,
    pub(crate) bass: Vec<usize>,
    pub(crate) both: Vec<usize>,
}

impl LowTracks {
    pub(crate) fn of(surveyed: &Surveyed, plan: &Plan) -> Self {
        let with = |wanted: &dyn Fn(Role) -> bool| -> Vec<usize> {
            let tracks = plan.tracks.iter().enumerate();
            tracks
                .filter(|(_, planned)| {
                    let known = surveyed.session.track(&planned.id);
                    known.and_then(|track| track.role).is_some_and(wanted)
                })
                .map(|(place, _)| place)
                .collect()
        };
        let kick = with(&|role| role == Role::Kick);
        let bass = with(&|role| role.group() == Group::LowEnd);
        let both = match kick.is_empty() || bass.is_empty() {
            true => Vec::new(),
            false => with(&|role| role == Role::Kick || role.group() == Group::LowEnd),
        };
        Self { kick, bass, both }
    }

    /// Their powers in the sixteenths in which a kick starts.
    pub(crate) fn hits<'a>(
        &self,
        guide: &LowGuide,
        lines: &BarLines,
        read_of: impl Fn(&[usize]) -> Option<&'a BarRead>,
    ) -> Vec<LowHit> {
        if self.both.is_empty() {
            return Vec::new();
        }
        let reads = [&self.kick, &self.bass, &self.both].map(|tracks| read_of(tracks));
        let [Some(kick), Some(bass), Some(both)] = reads else {
            return Vec::new();
        };
        let starts_s = lines.slot_starts_s();
        let sixteenths = starts_s.windows(2).enumerate().filter(|(_, span)| {
            let mut kicks = guide.kick_times_s.iter();
            kicks.any(|&kick_s| kick_s >= span[0] - EARLY_S && kick_s < span[1] - EARLY_S)
        });
        sixteenths
            .map(|(index, _)| {
                let low = |read: &BarRead| read.low.between(index, LOW_HZ.0, LOW_HZ.1);
                LowHit {
                    kick: low(kick),
                    bass: low(bass),
                    both: low(both),
                }
            })
            .collect()
    }
}
