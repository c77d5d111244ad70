//! What can be wrong with a plan or its input.

/// Why a passage cannot be stretched.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StretchError {
    /// There is nothing to stretch.
    #[error("no channels were given")]
    NoChannels,
    /// The channels are not of one length.
    #[error("channel {channel} has {frames} frames, the first has {expected}")]
    UnequalChannels {
        /// Which channel, counted from 0.
        channel: usize,
        /// Its length.
        frames: usize,
        /// The length of the first channel.
        expected: usize,
    },
    /// The sample rate is zero.
    #[error("a sample rate of 0 Hz")]
    NoRate,
    /// Fewer than two anchors.
    #[error("a grid needs 2 anchors or more, {given} given")]
    TooFewAnchors {
        /// How many there are.
        given: usize,
    },
    /// A time, an onset or the transposition is infinite or no number.
    #[error("a time or the transposition is no finite number")]
    NotFinite,
    /// An anchor does not come after the one before it, in the input or the output.
    #[error("anchor {index} does not come after the one before it")]
    NotRising {
        /// Which anchor, counted from 0.
        index: usize,
    },
    /// An anchor lies outside the input.
    #[error("an anchor at {input_s} s, the input holds {length_s} s")]
    OutsideInput {
        /// The anchor's time in the input.
        input_s: f64,
        /// How long the input is.
        length_s: f64,
    },
    /// More than [`MOST_SEMITONES`](crate::MOST_SEMITONES) up or down.
    #[error("a transposition of {given} semitones, at most {most} up or down")]
    TooManySemitones {
        /// The transposition asked for.
        given: f64,
        /// The most there is.
        most: f64,
    },
    /// Between two anchors the speed changes by more than half or double.
    #[error("the length changes {given} times after anchor {index}, at most 2 times up or down")]
    TooFar {
        /// The anchor before, counted from 0.
        index: usize,
        /// Length in the output by length in the input.
        given: f64,
    },
}
