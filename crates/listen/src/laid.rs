//! The reference's passage on the session's beats, and in its key where they differ.

use std::sync::Arc;

use cupel_work::{
    Laid, LoopOptions, Stereo, WorkError, lay_reference, semitones_to_session, stereo_lufs,
};

use crate::ListenError;
use crate::matching::quietly;
use crate::room::Room;
use crate::sources::{From, Source};

/// Shorter places say nothing of loudness, seconds.
const SHORTEST_S: f64 = 0.4;

/// A passage that was laid, and what it is called.
#[derive(Clone, Debug)]
pub(crate) struct Passage {
    id: &'static str,
    name: &'static str,
    laid: Arc<Laid>,
}

impl Passage {
    /// It as a source, and its loudness: at a place of the session, or all of it where
    /// it does not play there.
    pub(crate) fn heard(&self, span_s: Option<(f64, f64)>, rate_hz: u32) -> (Source, Option<f64>) {
        let source = Source {
            id: self.id.to_owned(),
            name: self.name.to_owned(),
            is_mix: false,
            gain_db: 0.0,
            session_s: self.laid.start_s,
            own_s: 0.0,
            from: From::Laid(self.laid.clone()),
        };
        let sound = &self.laid.sound;
        let frame = |time_s: f64| {
            let own_s = (time_s - self.laid.start_s).max(0.0);
            ((own_s * f64::from(rate_hz)) as usize).min(sound.left.len())
        };
        let there = span_s.map(|(start_s, end_s)| frame(start_s)..frame(end_s));
        let shortest = (SHORTEST_S * f64::from(rate_hz)) as usize;
        let lufs = there
            .filter(|span| span.len() > shortest)
            .and_then(|span| stereo_lufs(&part(sound, span.start as u64, span.len()), rate_hz))
            .or_else(|| stereo_lufs(sound, rate_hz));
        (source, lufs)
    }
}

impl Room {
    /// Lays the reference on the session's beats; it is a source from then on. Where
    /// one of both has no beats there is nothing to lay; where it fails, the facts say
    /// why.
    pub(crate) fn lay(&self) {
        let done = quietly(|| self.made()).and_then(|made| {
            self.with(|state| state.laid = made);
            self.sources_again()
        });
        self.with(|state| {
            state.laying = false;
            state.not_laid = done.err().map(|error| error.to_string());
        });
    }

    fn made(&self) -> Result<Vec<Passage>, ListenError> {
        if !self.state().laying {
            return Ok(Vec::new());
        }
        let lay = |session_key: bool| {
            let options = LoopOptions { session_key };
            lay_reference(&self.hearing.assayed, options, &self.context())
        };
        let plain = match lay(false) {
            Err(
                WorkError::NoGrid { .. } | WorkError::NoReference | WorkError::NothingToLoop { .. },
            ) => return Ok(Vec::new()),
            laid => Arc::new(laid?),
        };
        let mut made = vec![Passage {
            id: "reference-in-time",
            name: "the reference in the session's time",
            laid: plain,
        }];
        if semitones_to_session(&self.hearing.assayed) != 0.0 {
            made.push(Passage {
                id: "reference-in-key",
                name: "the reference in the session's time and key",
                laid: Arc::new(lay(true)?),
            });
        }
        Ok(made)
    }
}

/// Some frames of a sound; silence after its end.
pub(crate) fn part(sound: &Stereo, start: u64, frames: usize) -> Stereo {
    let cut = |side: &[f64]| {
        let from = (start as usize).min(side.len());
        let to = from.saturating_add(frames).min(side.len());
        let mut part = side[from..to].to_vec();
        part.resize(frames, 0.0);
        part
    };
    Stereo {
        left: cut(&sound.left),
        right: cut(&sound.right),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn passage() -> Passage {
        let tone = |gain: f64| -> Vec<f64> {
            (0..96_000)
                .map(|n| gain * (std::f64::consts::TAU * 997.0 * f64::from(n) / 48_000.0).sin())
                .collect()
        };
        Passage {
            id: "reference-in-time",
            name: "the reference in the session's time",
            laid: Arc::new(Laid {
                sound: Stereo {
                    left: tone(0.1),
                    right: tone(0.1),
                },
                start_s: 8.0,
            }),
        }
    }

    /// A sine of 997 Hz at -20 dBFS on both sides: -20 LUFS (BS.1770: 0 dBFS on one
    /// side is -3.01).
    #[test]
    fn loudness_is_that_of_the_place_or_of_all() {
        for span_s in [
            Some((8.0, 10.0)),
            Some((9.0, 10.0)),
            Some((60.0, 64.0)),
            None,
        ] {
            let (source, lufs) = passage().heard(span_s, 48_000);
            let lufs = lufs.unwrap();
            assert!((lufs + 20.0).abs() < 0.1, "{span_s:?}: {lufs}");
            assert_eq!(source.own_frame(8 * 48_000 + 5, 48_000), 5);
        }
    }

    #[test]
    fn past_its_end_is_silence() {
        let sound = &passage().laid.sound;
        let end = part(sound, 95_998, 10).left;
        assert_eq!((end.len(), end[1]), (10, sound.left[95_999]));
        assert!(end[2..].iter().all(|&x| x == 0.0));
        assert_eq!(part(sound, 200_000, 10).right, vec![0.0; 10]);
    }
}
