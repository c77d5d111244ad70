//! What the judgement works on: tracks and bounce behind a trait, so that no
//! file is opened here and everything can be tried in memory.

use crate::TrustError;

/// A stereo recording that can be opened any number of times.
///
/// Samples come at the session rate, 1.0 = full scale, with the start offset
/// of the file applied (silence before it). A mono file gives the same samples
/// on both sides.
pub trait Source: Sync {
    /// Opens a stream that stands at frame 0.
    ///
    /// # Errors
    /// [`TrustError::Read`] when the recording cannot be opened.
    fn open(&self) -> Result<Box<dyn Stream>, TrustError>;

    /// Length in frames at the session rate, start offset included.
    fn frames(&self) -> u64;
}

/// A place in a recording from which frames are read in order.
pub trait Stream: Send {
    /// Fills `left` and `right` (of one length) and returns how many frames
    /// were written; fewer than asked, or 0, only at the end.
    ///
    /// # Errors
    /// [`TrustError::Read`] when the recording cannot be read further.
    fn read(&mut self, left: &mut [f64], right: &mut [f64]) -> Result<usize, TrustError>;

    /// Goes to `frame`, counted from the common start; places past the end are
    /// allowed, where reading gives 0 frames.
    ///
    /// # Errors
    /// [`TrustError::Read`] when the place cannot be reached.
    fn seek(&mut self, frame: u64) -> Result<(), TrustError>;
}

/// One exported track with what is known of it already.
#[derive(Clone, Copy)]
pub struct TrackInput<'a> {
    /// Id within the session, unlike every other track's.
    pub id: &'a str,
    /// Name to show.
    pub file: &'a str,
    /// The samples.
    pub source: &'a dyn Source,
    /// Whether the file has one channel only.
    pub mono: bool,
    /// Whether the start is certain: the file carried a time stamp, or the
    /// start was set by hand.
    pub start_known: bool,
    /// Loudest momentary loudness; `None` for silence.
    pub max_momentary_lufs: Option<f64>,
    /// Momentary loudness ten times a second: value `i` belongs to the window
    /// that ends `(i + 1) * 0.1` s after the common start. Silence is
    /// `f32::NEG_INFINITY` (or not a number).
    pub momentary_lufs: &'a [f32],
    /// Largest sample; `None` for silence.
    pub sample_peak_dbfs: Option<f64>,
    /// Level of flat tops found by the health check, if there are any.
    pub ceiling_dbfs: Option<f64>,
}

/// A whole session: its tracks and, where there is one, the bounce of the
/// producer's own mix.
#[derive(Clone, Copy)]
pub struct TrustInput<'a> {
    /// Session rate, to which all sources are converted.
    pub sample_rate_hz: u32,
    /// The tracks in session order.
    pub tracks: &'a [TrackInput<'a>],
    /// The bounce of the same mix.
    pub rough: Option<&'a dyn Source>,
}
