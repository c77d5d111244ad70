//! Measures the mix, and named sums of tracks, in one pass.

use cupel_measure::{
    Features, HighestPeak, HighestPeaks, Meter, MeterSettings, Summary, SummedPart,
};
use cupel_process::Bus;
use cupel_units::{db_to_amplitude, seconds_to_frames};

use crate::{Block, Plan, RenderError, Sink, Span, run};

/// What was measured in a pass.
#[derive(Clone, Debug)]
pub struct Heard {
    /// The mix.
    pub mix: Features,
    /// Sample peak of each sum of tracks asked for, in dBFS; `None` where silent.
    pub peaks_dbfs: Vec<Option<f64>>,
    /// The highest peaks of the mix, with the share of each track of the plan.
    pub highest_peaks: Vec<HighestPeak>,
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
    let mut sink = MixMeter::new(plan, sums.to_vec())?;
    let frames = run(plan, None, false, &mut sink, progress)?;
    Ok(sink.finish(frames))
}

/// As [`measure_mix`], with critical bands over time in the features, while
/// `listen` hears every block of the mix, in order.
///
/// # Errors
/// As [`run`].
pub fn hear_mix(
    plan: &Plan,
    sums: &[Vec<usize>],
    listen: &mut (dyn FnMut(&Bus) + Send),
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Heard, RenderError> {
    let mut sink = Listening {
        meter: MixMeter::new(plan, sums.to_vec())?.with_bands(plan)?,
        listen,
    };
    let frames = run(plan, None, false, &mut sink, progress)?;
    Ok(sink.meter.finish(frames))
}

/// Lets `listen` hear every block of a span of the mix, in order, beside every
/// track after its strip.
///
/// # Errors
/// As [`run`].
pub fn hear_passage(
    plan: &Plan,
    start_s: f64,
    end_s: f64,
    listen: &mut (dyn FnMut(&Block) + Send),
) -> Result<(), RenderError> {
    struct Passing<'a>(&'a mut (dyn FnMut(&Block) + Send));
    impl Sink for Passing<'_> {
        fn take(&mut self, block: &Block) -> Result<(), RenderError> {
            (self.0)(block);
            Ok(())
        }
    }
    let span = span_between(start_s, end_s, plan.sample_rate_hz);
    run(plan, Some(span), false, &mut Passing(listen), &|_| ())?;
    Ok(())
}

fn span_between(start_s: f64, end_s: f64, sample_rate_hz: u32) -> Span {
    let start_frame = seconds_to_frames(start_s, sample_rate_hz);
    let end_frame = seconds_to_frames(end_s, sample_rate_hz);
    Span {
        start_frame,
        frames: end_frame.saturating_sub(start_frame),
    }
}

/// Measures a passage of the mix of a plan by itself.
///
/// # Errors
/// As [`run`].
pub fn measure_passage(plan: &Plan, start_s: f64, end_s: f64) -> Result<Summary, RenderError> {
    let mut sink = MixMeter::new(plan, Vec::new())?;
    let span = span_between(start_s, end_s, plan.sample_rate_hz);
    let frames = run(plan, Some(span), false, &mut sink, &|_| ())?;
    Ok(sink.finish(frames).mix.summary)
}

/// A sink that measures the mix, its highest peaks, and the peaks of sums of
/// tracks.
pub(crate) struct MixMeter {
    meter: Meter,
    sums: Vec<Vec<usize>>,
    peaks_linear: Vec<f64>,
    scratch: Bus,
    highest: HighestPeaks,
    /// Factor of every track in the mix after its strip: that of its group.
    gains_linear: Vec<f64>,
}

impl MixMeter {
    pub(crate) fn new(plan: &Plan, sums: Vec<Vec<usize>>) -> Result<Self, RenderError> {
        let meter = mix_meter(plan.sample_rate_hz)?.without_bands();
        let peaks_linear = vec![0.0; sums.len()];
        let group_gain = |group: Option<usize>| {
            let settings = group.and_then(|group| plan.groups.get(group));
            settings.map_or(1.0, |(_, settings)| db_to_amplitude(settings.gain_db))
        };
        Ok(Self {
            meter,
            sums,
            peaks_linear,
            scratch: Bus::default(),
            highest: HighestPeaks::new(plan.sample_rate_hz),
            gains_linear: plan.tracks.iter().map(|t| group_gain(t.group)).collect(),
        })
    }

    /// The same meter with critical bands over time.
    fn with_bands(mut self, plan: &Plan) -> Result<Self, RenderError> {
        self.meter = mix_meter(plan.sample_rate_hz)?;
        Ok(self)
    }

    pub(crate) fn finish(self, frames: u64) -> Heard {
        let in_db = |peak: &f64| (*peak > 0.0).then(|| cupel_units::amplitude_to_db(*peak));
        Heard {
            mix: self.meter.finish(),
            peaks_dbfs: self.peaks_linear.iter().map(in_db).collect(),
            highest_peaks: self.highest.finish(),
            frames,
        }
    }
}

fn mix_meter(sample_rate_hz: u32) -> Result<Meter, RenderError> {
    Ok(Meter::new(MeterSettings {
        sample_rate_hz,
        channels: 2,
    })?)
}

/// Measures the mix while someone listens.
struct Listening<'a> {
    meter: MixMeter,
    listen: &'a mut (dyn FnMut(&Bus) + Send),
}

impl Sink for Listening<'_> {
    fn take(&mut self, block: &Block) -> Result<(), RenderError> {
        (self.listen)(&block.mix);
        self.meter.take(block)
    }
}

impl Sink for MixMeter {
    fn take(&mut self, block: &Block) -> Result<(), RenderError> {
        self.meter.push(&[&block.mix.left, &block.mix.right]);
        let parts: Vec<SummedPart<'_>> = block
            .tracks
            .iter()
            .zip(&self.gains_linear)
            .map(|(track, &gain_linear)| SummedPart {
                left: &track.left,
                right: &track.right,
                gain_linear,
            })
            .collect();
        self.highest
            .push((&block.mix.left, &block.mix.right), &parts);
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
