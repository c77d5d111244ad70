//! A voice: one version of the mix, at one place.

use cupel_process::{Bus, DesignError, Mixer, MixerError, Strip, StripSettings};

use crate::{BLOCK_FRAMES, MixSettings};

/// Periods of a low cut's cutoff after which what came before is forgotten: its slowest
/// section, of Q 1.31, has fallen by 8 tau / (2 Q) = 19.2 nepers, 167 dB.
const SETTLED_PERIODS: f64 = 8.0;

/// Longest time played unheard before a place, seconds: as long as renders of a span do.
const LONGEST_S: f64 = 1.0;

/// Frames a place may move on while a strip is on its way to it.
const SLACK_FRAMES: u64 = 4_096;

/// Frames a strip must have played before a place so that it has settled there.
pub(crate) fn preroll_frames(strip: &StripSettings, sample_rate_hz: f64) -> u64 {
    let cuts = strip.low_cuts.iter();
    let longest_s = cuts
        .map(|cut| (SETTLED_PERIODS / cut.cutoff_hz).min(LONGEST_S))
        .fold(0.0, f64::max);
    (longest_s * sample_rate_hz) as u64
}

/// One track of a voice.
#[derive(Debug)]
pub(crate) struct Part {
    pub(crate) plays: bool,
    pub(crate) delay_frames: i64,
    strip: Strip,
    preroll_frames: u64,
    /// Frame of the session its strip stands at; `None` before it was anywhere.
    at: Option<u64>,
}

/// A version of the mix with its running state.
#[derive(Debug)]
pub(crate) struct Voice {
    pub(crate) parts: Vec<Part>,
    pub(crate) mixer: Mixer,
    /// Frame of the session it goes on at, once it has reached one.
    pub(crate) at: Option<u64>,
    /// Smallest and largest delay of what plays.
    delays: (i64, i64),
}

impl Voice {
    pub(crate) fn new(settings: &MixSettings, sample_rate_hz: f64) -> Result<Self, MixerError> {
        let parts = settings
            .tracks
            .iter()
            .map(|track| {
                Ok(Part {
                    plays: track.plays,
                    delay_frames: track.delay_frames,
                    strip: Strip::new(&track.strip, sample_rate_hz)?,
                    preroll_frames: preroll_frames(&track.strip, sample_rate_hz),
                    at: None,
                })
            })
            .collect::<Result<Vec<_>, DesignError>>()?;
        let group_of = settings.tracks.iter().map(|track| track.group).collect();
        let mut mixer = Mixer::new(group_of, &settings.groups, &[])?;
        // Its scratch memory is taken here, not while it plays.
        let silent = vec![Bus::silent(BLOCK_FRAMES); parts.len()];
        mixer.sum(&silent, &mut Bus::silent(BLOCK_FRAMES), None);
        let delays = || parts.iter().filter(|p| p.plays).map(|p| p.delay_frames);
        let delays = (delays().min().unwrap_or(0), delays().max().unwrap_or(0));
        Ok(Self {
            parts,
            mixer,
            at: None,
            delays,
        })
    }

    /// Frames of the tracks' own sound that any of them needs for a stretch of the
    /// session: the first, and the one after the last.
    pub(crate) fn needs(&self, from: u64, to: u64) -> (i64, i64) {
        (from as i64 - self.delays.1, to as i64 - self.delays.0)
    }
}

impl Part {
    /// The frame to go on from so that the strip has settled when it comes to `frame`.
    pub(crate) fn start_for(&self, frame: u64) -> u64 {
        match self.at {
            Some(at) if at <= frame && frame - at <= self.preroll_frames + SLACK_FRAMES => {
                // A strip that holds nothing need not play on.
                if self.preroll_frames == 0 { frame } else { at }
            }
            _ => frame.saturating_sub(self.preroll_frames),
        }
    }

    /// Goes to a frame; from elsewhere the strip begins at rest.
    pub(crate) fn go(&mut self, frame: u64) {
        if self.at != Some(frame) {
            self.strip.reset(frame);
            self.at = Some(frame);
        }
    }

    /// Where it stands.
    pub(crate) fn at(&self) -> Option<u64> {
        self.at
    }

    /// Plays a bus that holds the track's sound.
    pub(crate) fn play(&mut self, bus: &mut Bus) {
        self.strip.process(&mut bus.left, &mut bus.right);
        self.at = self.at.map(|at| at + bus.left.len() as u64);
    }
}
