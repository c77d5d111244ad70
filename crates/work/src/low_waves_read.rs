//! Kick and bass of a passage around the hits where both may sound.

use cupel_barmap::{LowWaveMeter, LowWaves};
use cupel_process::Bus;
use cupel_render::{Block, Plan, hear_passage};
use cupel_store::hash_of_parts;

use crate::bar_read::heard_s;
use crate::figures::plan_key;
use crate::low_tracks::LowTracks;
use crate::{Assayed, Context, WorkError};

/// Changes whenever what is read of the same samples may change.
const WAVES_VERSION: u32 = 1;
const WAVES: &str = "low waves";

/// Reads them; `None` without bars, kick or bass.
///
/// # Errors
/// [`WorkError`] where a track cannot be read.
pub(crate) fn low_waves(
    assayed: &Assayed,
    context: &Context<'_>,
) -> Result<Option<LowWaves>, WorkError> {
    let low = LowTracks::of(&assayed.surveyed, &assayed.plan);
    let Some(bars) = assayed.bars.as_ref().filter(|_| !low.both.is_empty()) else {
        return Ok(None);
    };
    let rate_hz = assayed.plan.sample_rate_hz;
    let Some((start_s, end_s)) = heard_s(&bars.mix.lines, rate_hz) else {
        return Ok(None);
    };
    let hits_s = &bars.mix.guide.kick_times_s;
    let asked = format!("{low:?} {start_s} {end_s} {hits_s:?}");
    let key = plan_key(&assayed.surveyed, &assayed.plan);
    let key = hash_of_parts(key.iter().map(String::as_str).chain([asked.as_str()]));
    if let Some(read) = context.store.get(WAVES, WAVES_VERSION, &key) {
        return Ok(Some(read));
    }
    let plan = Plan {
        tracks: low
            .both
            .iter()
            .map(|&place| assayed.plan.tracks[place].clone())
            .collect(),
        ..assayed.plan.clone()
    };
    let is_kick: Vec<bool> = low.both.iter().map(|p| low.kick.contains(p)).collect();
    let mut meter = LowWaveMeter::new(f64::from(rate_hz), start_s, hits_s);
    let (mut kick, mut bass) = (Vec::new(), Vec::new());
    let mut listen = |block: &Block| {
        for (sum, wanted) in [(&mut kick, true), (&mut bass, false)] {
            sum.clear();
            sum.resize(block.mix.left.len(), 0.0);
            let tracks = block.tracks.iter().zip(&is_kick);
            tracks
                .filter(|(_, is_kick)| **is_kick == wanted)
                .for_each(|(bus, _)| add_middle(sum, bus));
        }
        meter.push(&kick, &bass);
    };
    hear_passage(&plan, start_s, end_s, &mut listen)?;
    let read = meter.finish();
    let _ = context.store.put(WAVES, WAVES_VERSION, &key, &read);
    Ok(Some(read))
}

fn add_middle(sum: &mut [f64], bus: &Bus) {
    let sides = bus.left.iter().zip(&bus.right);
    let sums = sum.iter_mut().zip(sides);
    sums.for_each(|(sum, (left, right))| *sum += 0.5 * (left + right));
}
