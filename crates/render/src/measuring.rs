//! Measures the mix, and named sums of tracks, in one pass.

use cupel_measure::{Features, Meter, MeterSettings, Summary};
use cupel_process::Bus;
use cupel_units::seconds_to_frames;

use crate::{Block, Plan, RenderError, Sink, Span, run};

/// What was measured in a pass.
#[derive(Clone, Debug)]
pub struct Heard {
    /// The mix.
    pub mix: Features,
    /// Sample peak of each sum of tracks asked for, in dBFS; `None` where silent.
    pub peaks_dbfs: Vec<Option<f64>>,
    /// Frames rendered.
    pub frames: u64,
}

/// Measures the mix of a plan, and the sample peak of some sums of its tracks
/// (each a list of indices into the plan's tracks). Writes nothing.
///
/// # Errors
/// As [`run`].
pub fn measure_mix(
    plan: &Plan,
    sums: &[Vec<usize>],
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Heard, RenderError> {
    let mut sink = MixMeter::new(plan.sample_rate_hz, sums.to_vec())?;
    let frames = run(plan, None, false, &mut sink, progress)?;
    let (mix, peaks_dbfs) = sink.finish();
    Ok(Heard {
        mix,
        peaks_dbfs,
        frames,
    })
}

/// Measures a passage of the mix of a plan by itself.
///
/// # Errors
/// As [`run`].
pub fn measure_passage(plan: &Plan, start_s: f64, end_s: f64) -> Result<Summary, RenderError> {
    let mut sink = MixMeter::new(plan.sample_rate_hz, Vec::new())?;
    let start_frame = seconds_to_frames(start_s, plan.sample_rate_hz);
    let end_frame = seconds_to_frames(end_s, plan.sample_rate_hz);
    let span = Span {
        start_frame,
        frames: end_frame.saturating_sub(start_frame),
    };
    run(plan, Some(span), false, &mut sink, &|_| ())?;
    Ok(sink.finish().0.summary)
}

/// A sink that measures the mix and the peaks of sums of tracks.
pub(crate) struct MixMeter {
    meter: Meter,
    sums: Vec<Vec<usize>>,
    peaks_linear: Vec<f64>,
    scratch: Bus,
}

impl MixMeter {
    pub(crate) fn new(sample_rate_hz: u32, sums: Vec<Vec<usize>>) -> Result<Self, RenderError> {
        let meter = Meter::new(MeterSettings {
            sample_rate_hz,
            channels: 2,
        })?
        .without_bands();
        let peaks_linear = vec![0.0; sums.len()];
        Ok(Self {
            meter,
            sums,
            peaks_linear,
            scratch: Bus::default(),
        })
    }

    pub(crate) fn finish(self) -> (Features, Vec<Option<f64>>) {
        let in_db = |peak: &f64| (*peak > 0.0).then(|| cupel_units::amplitude_to_db(*peak));
        (
            self.meter.finish(),
            self.peaks_linear.iter().map(in_db).collect(),
        )
    }
}

impl Sink for MixMeter {
    fn take(&mut self, block: &Block) -> Result<(), RenderError> {
        self.meter.push(&[&block.mix.left, &block.mix.right]);
        for (sum, peak) in self.sums.iter().zip(&mut self.peaks_linear) {
            self.scratch.clear(block.mix.left.len());
            sum.iter()
                .filter_map(|&t| block.tracks.get(t))
                .for_each(|t| self.scratch.add(t, 1.0));
            for channel in [&self.scratch.left, &self.scratch.right] {
                *peak = channel.iter().fold(*peak, |peak, x| peak.max(x.abs()));
            }
        }
        Ok(())
    }
}
