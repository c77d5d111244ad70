//! One pass of all tracks through the graph.

use cupel_audio::TrackReader;
use cupel_process::{Bus, GroupSettings, Mixer, Strip};
use rayon::prelude::*;

use crate::{Plan, RenderError};

/// Frames in a block. Nothing that is rendered depends on it.
const BLOCK_FRAMES: usize = 1 << 13;

/// One block on its way to the sinks; all buses have the same length.
#[derive(Debug, Default)]
pub struct Block {
    /// Every track after its strip, in plan order.
    pub tracks: Vec<Bus>,
    /// The sum.
    pub mix: Bus,
    /// The sum of every group, in plan order, where stems were asked for.
    pub stems: Vec<Bus>,
}

/// A part of the session, in frames at its rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// First frame.
    pub start_frame: u64,
    /// Number of frames.
    pub frames: u64,
}

impl Block {
    fn truncate(&mut self, frames: usize) {
        for bus in self
            .tracks
            .iter_mut()
            .chain([&mut self.mix])
            .chain(&mut self.stems)
        {
            bus.left.truncate(frames);
            bus.right.truncate(frames);
        }
    }
}

/// Takes rendered blocks in order.
pub trait Sink: Send {
    /// Takes one block.
    ///
    /// # Errors
    /// [`RenderError`] ends the pass.
    fn take(&mut self, block: &Block) -> Result<(), RenderError>;
}

struct Playing {
    reader: TrackReader,
    strip: Strip,
}

/// Streams the plan through `sink`, the whole session or one span of it; gives
/// the frames rendered.
///
/// `progress` gets the part done, from 0 to 1. While the sink works on a block
/// the next one is read. Before a span up to a second is played unheard, so
/// that filters have settled; frames past the last track's end are silence.
///
/// # Errors
/// [`RenderError`] where a track cannot be read or a setting is out of range,
/// and whatever the sink returns.
pub fn run(
    plan: &Plan,
    span: Option<Span>,
    with_stems: bool,
    sink: &mut dyn Sink,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<u64, RenderError> {
    if plan.tracks.is_empty() {
        return Err(RenderError::NoTracks);
    }
    let mut playing = open(plan)?;
    let settings: Vec<GroupSettings> = plan.groups.iter().map(|(_, s)| s.clone()).collect();
    let mut mixer = Mixer::new(
        plan.tracks.iter().map(|t| t.group).collect(),
        &settings,
        &[],
    )?;
    let mut unheard = seek(&mut playing, span, plan.sample_rate_hz)?;
    let longest = playing
        .iter()
        .filter_map(|p| p.reader.frames())
        .max()
        .unwrap_or(0);
    let whole = span.map_or(longest, |span| span.frames);
    let wanted = span.map_or(u64::MAX, |span| span.frames);
    let stems = if with_stems { plan.groups.len() } else { 0 };
    let (mut now, mut next) = (empty(plan, stems), empty(plan, stems));
    let mut frames = fill(&mut playing, &mut mixer, &mut now)?;
    let mut done = 0u64;
    while frames > 0 && done < wanted {
        let heard = unheard == 0;
        unheard = unheard.saturating_sub(1);
        if heard {
            frames = frames.min((wanted - done).min(usize::MAX as u64) as usize);
            now.truncate(frames);
            done += frames as u64;
        }
        let last = done >= wanted;
        let (taken, filled) = rayon::join(
            || if heard { sink.take(&now) } else { Ok(()) },
            || {
                if last {
                    Ok(0)
                } else {
                    fill(&mut playing, &mut mixer, &mut next)
                }
            },
        );
        taken?;
        progress(if whole > 0 {
            (done as f64 / whole as f64).min(1.0)
        } else {
            0.0
        });
        frames = filled?;
        std::mem::swap(&mut now, &mut next);
    }
    Ok(done)
}

/// Goes to a span, early enough to settle; gives the number of blocks to play
/// unheard.
fn seek(playing: &mut [Playing], span: Option<Span>, rate_hz: u32) -> Result<u64, RenderError> {
    let Some(span) = span else { return Ok(0) };
    let block = BLOCK_FRAMES as u64;
    let unheard = u64::from(rate_hz)
        .div_ceil(block)
        .min(span.start_frame / block);
    let from = span.start_frame - unheard * block;
    for track in playing {
        track.reader.seek(from)?;
        track.strip.reset(from);
    }
    Ok(unheard)
}

fn open(plan: &Plan) -> Result<Vec<Playing>, RenderError> {
    plan.tracks
        .iter()
        .map(|track| {
            let reader = TrackReader::open(&track.path, plan.sample_rate_hz, track.start_frames)?;
            let mut settings = track.strip.clone();
            settings.mono = reader.is_mono();
            let strip =
                Strip::new(&settings, f64::from(plan.sample_rate_hz)).map_err(|source| {
                    RenderError::Design {
                        track: track.id.clone(),
                        source,
                    }
                })?;
            Ok(Playing { reader, strip })
        })
        .collect()
}

fn empty(plan: &Plan, stems: usize) -> Block {
    Block {
        tracks: vec![Bus::default(); plan.tracks.len()],
        mix: Bus::default(),
        stems: vec![Bus::default(); stems],
    }
}

/// Reads and processes the next block of every track in parallel and sums them
/// in track order. Gives its length; 0 where every track has ended.
fn fill(
    playing: &mut [Playing],
    mixer: &mut Mixer,
    block: &mut Block,
) -> Result<usize, RenderError> {
    let Block { tracks, mix, stems } = block;
    let read: Vec<Result<usize, RenderError>> = playing
        .par_iter_mut()
        .zip(tracks.par_iter_mut())
        .with_max_len(1)
        .map(|(track, bus)| play(track, bus))
        .collect();
    let mut frames = 0;
    for count in read {
        frames = frames.max(count?);
    }
    for bus in tracks.iter_mut() {
        bus.left.truncate(frames);
        bus.right.truncate(frames);
    }
    let stems = (!stems.is_empty()).then_some(stems.as_mut_slice());
    mixer.sum(tracks, mix, stems);
    Ok(frames)
}

fn play(track: &mut Playing, bus: &mut Bus) -> Result<usize, RenderError> {
    bus.left.resize(BLOCK_FRAMES, 0.0);
    bus.right.resize(BLOCK_FRAMES, 0.0);
    let read = track.reader.read(&mut bus.left, &mut bus.right)?;
    bus.left[read..].fill(0.0);
    bus.right[read..].fill(0.0);
    track.strip.process(&mut bus.left, &mut bus.right);
    Ok(read)
}
