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
        meter: MixMeter::new(plan.sample_rate_hz, sums.to_vec())?.with_bands(plan)?,
        listen,
    };
    let frames = run(plan, None, false, &mut sink, progress)?;
    let (mix, peaks_dbfs) = sink.meter.finish();
    Ok(Heard {
        mix,
        peaks_dbfs,
        frames,
    })
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
    let mut sink = MixMeter::new(plan.sample_rate_hz, Vec::new())?;
    let span = span_between(start_s, end_s, plan.sample_rate_hz);
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
        let meter = mix_meter(sample_rate_hz)?.without_bands();
        let peaks_linear = vec![0.0; sums.len()];
        Ok(Self {
            meter,
            sums,
            peaks_linear,
            scratch: Bus::default(),
        })
    }

    /// The same meter with critical bands over time.
    fn with_bands(mut self, plan: &Plan) -> Result<Self, RenderError> {
        self.meter = mix_meter(plan.sample_rate_hz)?;
        Ok(self)
    }

    pub(crate) fn finish(self) -> (Features, Vec<Option<f64>>) {
        let in_db = |peak: &f64| (*peak > 0.0).then(|| cupel_units::amplitude_to_db(*peak));
        (
            self.meter.finish(),
            self.peaks_linear.iter().map(in_db).collect(),
        )
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
