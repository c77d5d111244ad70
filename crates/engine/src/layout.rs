//! The settings of one version of a mix as a list of numbers.
//!
//! All are 64-bit floats, little-endian where they travel:
//!
//! | numbers | what they are |
//! | --- | --- |
//! | 1 | version of this layout, 1 |
//! | 1 | frames of sound needed behind a place before it can be heard |
//! | 1 | frames of sound needed ahead of a place, beside what plays |
//! | 1, 1 | numbers of tracks and of groups |
//! | 1 a group | its gain, dB |
//! | 7 a track | whether it plays, its group or -1, delay in frames, gain in dB, pan, whether it is mono, whether its polarity is turned over |
//! | 1 and 2 a low cut | how many; cutoff in hertz and slope in dB per octave |
//! | 1, then of each curve 1 and 2 a point | how many curves; points; frame of the session and gain in dB |

use cupel_process::{Breakpoint, GainCurve, GroupSettings, LowCutSettings, Slope, StripSettings};

use crate::LEAD_FRAMES;
use crate::voice::preroll_frames;

const VERSION: f64 = 1.0;

/// One track of a version.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TrackSettings {
    /// Whether it is part of the mix; tracks left out by a solo are not.
    pub plays: bool,
    /// Its group, if any.
    pub group: Option<usize>,
    /// How much later it plays than its sound was sent, frames.
    pub delay_frames: i64,
    /// Its strip.
    pub strip: StripSettings,
}

/// One version of a mix.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MixSettings {
    /// The tracks, in the order their sound is sent.
    pub tracks: Vec<TrackSettings>,
    /// The groups.
    pub groups: Vec<GroupSettings>,
}

/// Numbers that are no settings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayoutError {
    /// The list is of another version, or ends too early or too late.
    Shape,
    /// A number is not what stands at its place.
    Value,
}

impl std::fmt::Display for LayoutError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Shape => "the list of settings has another shape",
            Self::Value => "a number of the settings is out of range",
        })
    }
}

impl std::error::Error for LayoutError {}

impl MixSettings {
    /// As numbers, for sessions of this rate.
    pub fn encode(&self, sample_rate_hz: f64) -> Vec<f64> {
        let playing = || self.tracks.iter().filter(|track| track.plays);
        let behind = playing()
            .map(|t| preroll_frames(&t.strip, sample_rate_hz) as i64 + t.delay_frames)
            .fold(0, i64::max);
        let ahead = playing().map(|t| -t.delay_frames).fold(0, i64::max);
        let counts = [self.tracks.len() as f64, self.groups.len() as f64];
        let mut numbers = vec![VERSION, behind as f64, ahead as f64];
        numbers.extend(counts);
        numbers.extend(self.groups.iter().map(|group| group.gain_db));
        for track in &self.tracks {
            let strip = &track.strip;
            numbers.extend([
                f64::from(u8::from(track.plays)),
                track.group.map_or(-1.0, |group| group as f64),
                track.delay_frames as f64,
                strip.gain_db,
                strip.pan,
                f64::from(u8::from(strip.mono)),
                f64::from(u8::from(strip.inverted)),
                strip.low_cuts.len() as f64,
            ]);
            for cut in &strip.low_cuts {
                numbers.extend([cut.cutoff_hz, slope_db(cut.slope)]);
            }
            numbers.push(strip.curves.len() as f64);
            for curve in &strip.curves {
                numbers.push(curve.points().len() as f64);
                for point in curve.points() {
                    numbers.extend([point.frame as f64, point.gain_db]);
                }
            }
        }
        numbers
    }

    /// From numbers.
    ///
    /// # Errors
    /// [`LayoutError`] where they are none of this layout.
    pub fn decode(numbers: &[f64]) -> Result<Self, LayoutError> {
        let mut reading = Reading(numbers);
        if reading.next()? != VERSION {
            return Err(LayoutError::Shape);
        }
        reading.next()?;
        reading.next()?;
        let (tracks, groups) = (reading.count(8)?, reading.count(1)?);
        let groups = (0..groups)
            .map(|_| {
                Ok(GroupSettings {
                    gain_db: reading.next()?,
                })
            })
            .collect::<Result<_, LayoutError>>()?;
        let tracks = (0..tracks)
            .map(|_| reading.track())
            .collect::<Result<_, LayoutError>>()?;
        if !reading.0.is_empty() {
            return Err(LayoutError::Shape);
        }
        Ok(Self { tracks, groups })
    }
}

fn slope_db(slope: Slope) -> f64 {
    match slope {
        Slope::Db12PerOctave => 12.0,
        Slope::Db24PerOctave => 24.0,
    }
}

struct Reading<'a>(&'a [f64]);

impl Reading<'_> {
    fn next(&mut self) -> Result<f64, LayoutError> {
        let (first, rest) = self.0.split_first().ok_or(LayoutError::Shape)?;
        self.0 = rest;
        Ok(*first)
    }

    /// A number of things of which each takes so many numbers at least.
    fn count(&mut self, least: usize) -> Result<usize, LayoutError> {
        let count = self.whole(0.0, self.0.len() as f64)? as usize;
        if count * least > self.0.len() {
            return Err(LayoutError::Shape);
        }
        Ok(count)
    }

    fn whole(&mut self, low: f64, high: f64) -> Result<i64, LayoutError> {
        let value = self.next()?;
        let whole = value as i64;
        if (low..=high).contains(&value) && whole as f64 == value {
            Ok(whole)
        } else {
            Err(LayoutError::Value)
        }
    }

    fn track(&mut self) -> Result<TrackSettings, LayoutError> {
        let lead = LEAD_FRAMES as f64;
        let plays = self.whole(0.0, 1.0)? == 1;
        let group = usize::try_from(self.whole(-1.0, 1e6)?).ok();
        let delay_frames = self.whole(-lead, lead)?;
        let mut strip = StripSettings {
            gain_db: self.next()?,
            pan: self.next()?,
            mono: self.whole(0.0, 1.0)? == 1,
            inverted: self.whole(0.0, 1.0)? == 1,
            ..StripSettings::default()
        };
        for _ in 0..self.count(2)? {
            let cutoff_hz = self.next()?;
            let slope = match self.whole(12.0, 24.0)? {
                12 => Slope::Db12PerOctave,
                24 => Slope::Db24PerOctave,
                _ => return Err(LayoutError::Value),
            };
            strip.low_cuts.push(LowCutSettings { cutoff_hz, slope });
        }
        for _ in 0..self.count(1)? {
            let points = (0..self.count(2)?)
                .map(|_| {
                    Ok(Breakpoint {
                        frame: self.whole(0.0, 1e15)? as u64,
                        gain_db: self.next()?,
                    })
                })
                .collect::<Result<_, LayoutError>>()?;
            strip.curves.push(GainCurve::new(points));
        }
        Ok(TrackSettings {
            plays,
            group,
            delay_frames,
            strip,
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn settings() -> MixSettings {
        let point = |frame, gain_db| Breakpoint { frame, gain_db };
        MixSettings {
            tracks: vec![
                TrackSettings::default(),
                TrackSettings {
                    plays: true,
                    group: Some(1),
                    delay_frames: -96,
                    strip: StripSettings {
                        gain_db: -1.5,
                        pan: 0.25,
                        mono: true,
                        inverted: true,
                        low_cuts: vec![LowCutSettings {
                            cutoff_hz: 40.0,
                            slope: Slope::Db24PerOctave,
                        }],
                        curves: vec![
                            GainCurve::new(vec![point(5, -2.0), point(900, 0.1)]),
                            GainCurve::default(),
                        ],
                    },
                },
            ],
            groups: vec![
                GroupSettings { gain_db: 0.0 },
                GroupSettings { gain_db: -3.25 },
            ],
        }
    }

    #[test]
    fn there_and_back() {
        let numbers = settings().encode(48_000.0);
        assert_eq!(MixSettings::decode(&numbers), Ok(settings()));
        // A fifth of a second at 40 Hz, less what the track plays early.
        assert_eq!(numbers[1..3], [9_600.0 - 96.0, 96.0]);
    }

    #[test]
    fn other_lists_are_refused() {
        let numbers = settings().encode(48_000.0);
        for end in 0..numbers.len() {
            assert!(MixSettings::decode(&numbers[..end]).is_err(), "{end}");
        }
        let with = |place: usize, value: f64| {
            let mut other = numbers.clone();
            other[place] = value;
            MixSettings::decode(&other)
        };
        assert_eq!(with(0, 2.0), Err(LayoutError::Shape));
        assert_eq!(with(3, f64::NAN), Err(LayoutError::Value));
        assert_eq!(with(7, 0.5), Err(LayoutError::Value));
        assert!(MixSettings::decode(&[numbers.clone(), vec![0.0]].concat()).is_err());
    }
}
