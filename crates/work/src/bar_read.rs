//! Sounds of a passage laid over its bars.

use cupel_audio::TrackReader;
use cupel_barmap::{BarMap, BarMapMeter, LowBars};
use cupel_layers::{FoldedSound, LayerMeter};
use cupel_process::Bus;
use cupel_render::{Block, Plan, hear_passage};
use cupel_rhythm::BarLines;
use cupel_store::hash_of_parts;
use cupel_units::seconds_to_frames;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::{Context, FileState, WorkError};

/// Changes whenever what is read of the same bars may change.
const BARS_VERSION: u32 = 2;
const SESSION: &str = "session bars";
const REFERENCE: &str = "reference bars";

/// What the meters want to hear before the first bar line, and after the last.
const BEFORE_S: f64 = 0.06;
const AFTER_S: f64 = 0.02;
const BLOCK_FRAMES: usize = 1 << 13;

/// One sound over the bars.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct BarRead {
    /// Energy by sixteenth and row.
    pub map: BarMap,
    /// Its low end, bar by bar.
    pub low: LowBars,
    /// The sound folded, for its layers.
    pub fold: FoldedSound,
}

/// All sounds of a session's passage.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct SessionBars {
    pub mix: BarRead,
    /// In plan order.
    pub tracks: Vec<BarRead>,
    /// Sums of tracks, as asked for.
    pub sums: Vec<BarRead>,
}

struct Meters {
    map: BarMapMeter,
    layers: LayerMeter,
}

impl Meters {
    fn new(rate_hz: u32, lines: &BarLines, start_s: f64) -> Self {
        let rate_hz = f64::from(rate_hz);
        Self {
            map: BarMapMeter::new(rate_hz, 2, lines, start_s),
            layers: LayerMeter::new(rate_hz, 2, lines, start_s),
        }
    }

    fn push(&mut self, left: &[f64], right: &[f64]) {
        self.map.push(&[left, right]);
        self.layers.push(&[left, right]);
    }

    fn finish(self) -> BarRead {
        let (map, low) = self.map.finish_with_low();
        BarRead {
            // As it comes back from the store, so that both are the same.
            map: map.rounded(),
            low,
            fold: self.layers.finish(),
        }
    }
}

/// Start and end of what is heard for some bars; the start lies on a frame.
pub(crate) fn heard_s(lines: &BarLines, rate_hz: u32) -> Option<(f64, f64)> {
    let (first, last) = (lines.bar_starts_s.first()?, lines.bar_starts_s.last()?);
    let start = seconds_to_frames((first - BEFORE_S).max(0.0), rate_hz);
    Some((start as f64 / f64::from(rate_hz), last + AFTER_S))
}

/// Reads the mix of a plan, its tracks, and sums of tracks (indices in the plan).
pub(crate) fn session_bars(
    plan: &Plan,
    plan_key: &[String],
    sums: &[Vec<usize>],
    lines: &BarLines,
    context: &Context<'_>,
) -> Result<Option<SessionBars>, WorkError> {
    let Some((start_s, end_s)) = heard_s(lines, plan.sample_rate_hz) else {
        return Ok(None);
    };
    let asked = format!("{sums:?} {lines:?}");
    let key = hash_of_parts(plan_key.iter().map(String::as_str).chain([asked.as_str()]));
    if let Some(read) = context.store.get(SESSION, BARS_VERSION, &key) {
        return Ok(Some(read));
    }
    (context.progress)(0.0, "laying the tracks over the bars");
    let new = || Meters::new(plan.sample_rate_hz, lines, start_s);
    let mut mix = new();
    let mut tracks: Vec<Meters> = plan.tracks.iter().map(|_| new()).collect();
    let mut summed: Vec<(Meters, Bus)> = sums.iter().map(|_| (new(), Bus::default())).collect();
    let mut listen = |block: &Block| {
        mix.push(&block.mix.left, &block.mix.right);
        let pairs = tracks.par_iter_mut().zip(&block.tracks);
        pairs.for_each(|(meters, bus)| meters.push(&bus.left, &bus.right));
        let pairs = summed.par_iter_mut().zip(sums);
        pairs.for_each(|((meters, bus), indices)| {
            add_up(bus, indices, block);
            meters.push(&bus.left, &bus.right);
        });
    };
    hear_passage(plan, start_s, end_s, &mut listen)?;
    let mut tracks: Vec<BarRead> = tracks.into_par_iter().map(Meters::finish).collect();
    let sums = summed.into_par_iter().map(|(meters, _)| meters.finish());
    let read = SessionBars {
        mix: mix.finish(),
        sums: sums.collect(),
        tracks: std::mem::take(&mut tracks),
    };
    let _ = context.store.put(SESSION, BARS_VERSION, &key, &read);
    Ok(Some(read))
}

fn add_up(bus: &mut Bus, indices: &[usize], block: &Block) {
    let frames = block.mix.left.len();
    for side in [&mut bus.left, &mut bus.right] {
        side.clear();
        side.resize(frames, 0.0);
    }
    for track in indices.iter().filter_map(|&index| block.tracks.get(index)) {
        let sides = [(&mut bus.left, &track.left), (&mut bus.right, &track.right)];
        for (sum, side) in sides {
            sum.iter_mut().zip(side).for_each(|(sum, x)| *sum += x);
        }
    }
}

/// Reads the bars of one file.
pub(crate) fn file_bars(
    file: &FileState,
    rate_hz: u32,
    lines: &BarLines,
    context: &Context<'_>,
) -> Result<Option<BarRead>, WorkError> {
    let Some((start_s, end_s)) = heard_s(lines, rate_hz) else {
        return Ok(None);
    };
    let asked = format!("{rate_hz} {lines:?}");
    let key = hash_of_parts([file.measured.content.as_str(), asked.as_str()]);
    if let Some(read) = context.store.get(REFERENCE, BARS_VERSION, &key) {
        return Ok(Some(read));
    }
    let mut meters = Meters::new(rate_hz, lines, start_s);
    hear_file(file, rate_hz, (start_s, end_s), &mut |left, right| {
        meters.push(left, right);
    })?;
    let read = meters.finish();
    let _ = context.store.put(REFERENCE, BARS_VERSION, &key, &read);
    Ok(Some(read))
}

/// Reads a stretch of a file, left and right, block by block.
pub(crate) fn hear_file(
    file: &FileState,
    rate_hz: u32,
    (start_s, end_s): (f64, f64),
    listen: &mut dyn FnMut(&[f64], &[f64]),
) -> Result<(), WorkError> {
    let mut reader = TrackReader::open(&file.path, rate_hz, 0)?;
    let start = seconds_to_frames(start_s, rate_hz);
    let mut left_over = seconds_to_frames(end_s, rate_hz).saturating_sub(start) as usize;
    reader.seek(start)?;
    let (mut left, mut right) = (vec![0.0; BLOCK_FRAMES], vec![0.0; BLOCK_FRAMES]);
    while left_over > 0 {
        let wanted = left_over.min(BLOCK_FRAMES);
        let read = reader.read(&mut left[..wanted], &mut right[..wanted])?;
        if read == 0 {
            break;
        }
        make_finite(&mut left[..read]);
        make_finite(&mut right[..read]);
        listen(&left[..read], &right[..read]);
        left_over -= read;
    }
    Ok(())
}

/// A sample that is no number is silence to the measures; the health says so.
fn make_finite(channel: &mut [f64]) {
    channel
        .iter_mut()
        .filter(|x| !x.is_finite())
        .for_each(|x| *x = 0.0);
}
