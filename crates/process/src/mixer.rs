//! The mixing graph: tracks into groups and sends, all into the mix.
//!
//! A group or send that does nothing costs nothing and changes nothing: its
//! tracks go straight to the mix, in track order, so that an untouched session
//! renders as the plain sum. A group with processing is summed first (its
//! tracks in track order) and joins the mix after the single tracks, in group
//! order; sends come last.

use crate::gain::factor;
use crate::{DesignError, db_to_gain};

/// One pair of channels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bus {
    /// Left samples.
    pub left: Vec<f64>,
    /// Right samples.
    pub right: Vec<f64>,
}

impl Bus {
    /// Silence of so many frames.
    pub fn silent(frames: usize) -> Self {
        Self {
            left: vec![0.0; frames],
            right: vec![0.0; frames],
        }
    }

    /// Makes it silent and so many frames long, keeping its memory.
    pub fn clear(&mut self, frames: usize) {
        for channel in [&mut self.left, &mut self.right] {
            channel.clear();
            channel.resize(frames, 0.0);
        }
    }

    /// Adds another bus, sample by sample, times a factor.
    pub fn add(&mut self, other: &Bus, gain_linear: f64) {
        add(&mut self.left, &other.left, gain_linear);
        add(&mut self.right, &other.right, gain_linear);
    }
}

fn add(sum: &mut [f64], part: &[f64], gain_linear: f64) {
    if gain_linear == 1.0 {
        sum.iter_mut().zip(part).for_each(|(s, p)| *s += p);
    } else {
        sum.iter_mut()
            .zip(part)
            .for_each(|(s, p)| *s += p * gain_linear);
    }
}

/// A group of tracks. Its processing is so far a gain.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GroupSettings {
    /// Gain of the whole group, in decibels.
    pub gain_db: f64,
}

/// A send: tracks at their own levels into a common return.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SendSettings {
    /// Level of each track into the send, in decibels; tracks not named send nothing.
    pub from_tracks: Vec<(usize, f64)>,
    /// Gain of the return, in decibels.
    pub return_gain_db: f64,
}

/// A graph that cannot be built.
#[derive(Clone, Debug, PartialEq)]
pub enum MixerError {
    /// A group or send names a track that is not there.
    NoSuchTrack {
        /// Index given.
        track: usize,
        /// Number of tracks.
        tracks: usize,
    },
    /// A track is in a group that is not there.
    NoSuchGroup {
        /// Index given.
        group: usize,
        /// Number of groups.
        groups: usize,
    },
    /// A gain out of range.
    Design(DesignError),
}

impl std::fmt::Display for MixerError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoSuchTrack { track, tracks } => {
                write!(f, "track {track} of {tracks} does not exist")
            }
            Self::NoSuchGroup { group, groups } => {
                write!(f, "group {group} of {groups} does not exist")
            }
            Self::Design(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for MixerError {}

impl From<DesignError> for MixerError {
    fn from(error: DesignError) -> Self {
        Self::Design(error)
    }
}

#[derive(Clone, Debug)]
struct Group {
    gain_linear: f64,
    tracks: Vec<usize>,
}

#[derive(Clone, Debug)]
struct Send {
    levels: Vec<(usize, f64)>,
    return_linear: f64,
}

/// Sums processed tracks into groups, sends and the mix.
#[derive(Clone, Debug)]
pub struct Mixer {
    group_of: Vec<Option<usize>>,
    groups: Vec<Group>,
    sends: Vec<Send>,
    scratch: Bus,
}

impl Mixer {
    /// `group_of[i]` is the group of track i, if any.
    ///
    /// # Errors
    /// [`MixerError`], with the index or gain that does not fit.
    pub fn new(
        group_of: Vec<Option<usize>>,
        groups: &[GroupSettings],
        sends: &[SendSettings],
    ) -> Result<Self, MixerError> {
        for &group in group_of.iter().flatten() {
            if group >= groups.len() {
                return Err(MixerError::NoSuchGroup {
                    group,
                    groups: groups.len(),
                });
            }
        }
        let members = |wanted| {
            (0..group_of.len())
                .filter(|&t| group_of[t] == Some(wanted))
                .collect()
        };
        let groups = groups
            .iter()
            .enumerate()
            .map(|(index, g)| {
                Ok(Group {
                    gain_linear: db_to_gain(g.gain_db)?,
                    tracks: members(index),
                })
            })
            .collect::<Result<_, DesignError>>()?;
        let sends = sends
            .iter()
            .map(|send| build_send(send, group_of.len()))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            group_of,
            groups,
            sends,
            scratch: Bus::default(),
        })
    }

    /// Sums one block: `tracks` after their strips, all of the same length, in
    /// track order. Fills `mix`, and `stems` (one a group) where given.
    pub fn sum(&mut self, tracks: &[Bus], mix: &mut Bus, mut stems: Option<&mut [Bus]>) {
        let frames = tracks.first().map_or(0, |track| track.left.len());
        mix.clear(frames);
        for (track, group) in tracks.iter().zip(&self.group_of) {
            if group.is_none_or(|g| self.groups[g].gain_linear == 1.0) {
                mix.add(track, 1.0);
            }
        }
        for (index, group) in self.groups.iter().enumerate() {
            let processed = group.gain_linear != 1.0;
            if !processed && stems.is_none() {
                continue;
            }
            self.scratch.clear(frames);
            group
                .tracks
                .iter()
                .for_each(|&t| self.scratch.add(&tracks[t], 1.0));
            if processed {
                mix.add(&self.scratch, group.gain_linear);
            }
            if let Some(stem) = stems.as_mut().and_then(|stems| stems.get_mut(index)) {
                stem.clear(frames);
                stem.add(&self.scratch, group.gain_linear);
            }
        }
        for send in &self.sends {
            self.scratch.clear(frames);
            send.levels
                .iter()
                .for_each(|&(t, level)| self.scratch.add(&tracks[t], level));
            mix.add(&self.scratch, send.return_linear);
        }
    }
}

fn build_send(send: &SendSettings, tracks: usize) -> Result<Send, MixerError> {
    let mut levels = Vec::with_capacity(send.from_tracks.len());
    for &(track, level_db) in &send.from_tracks {
        if track >= tracks {
            return Err(MixerError::NoSuchTrack { track, tracks });
        }
        db_to_gain(level_db)?;
        levels.push((track, factor(level_db)));
    }
    Ok(Send {
        levels,
        return_linear: db_to_gain(send.return_gain_db)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bus(left: &[f64]) -> Bus {
        Bus {
            left: left.to_vec(),
            right: left.iter().map(|x| -x).collect(),
        }
    }

    fn tracks() -> Vec<Bus> {
        vec![bus(&[0.1, 0.7]), bus(&[0.2, 1e-17]), bus(&[0.3, -0.7])]
    }

    fn plain_sum() -> Vec<f64> {
        vec![0.0 + 0.1 + 0.2 + 0.3, 0.0 + 0.7 + 1e-17 + -0.7]
    }

    #[test]
    fn idle_groups_do_not_touch_the_sum() {
        let mut mixer = Mixer::new(
            vec![Some(0), Some(1), Some(0)],
            &[GroupSettings::default(), GroupSettings::default()],
            &[],
        )
        .unwrap();
        let (mut mix, mut stems) = (Bus::default(), vec![Bus::default(); 2]);
        mixer.sum(&tracks(), &mut mix, Some(&mut stems));
        assert_eq!(mix.left, plain_sum());
        assert_eq!(stems[0].left, vec![0.1 + 0.3, 0.7 + -0.7]);
        assert_eq!(stems[1].right, vec![-0.2, -1e-17]);
    }

    #[test]
    fn a_group_gain_reaches_mix_and_stem() {
        let groups = [GroupSettings {
            gain_db: -6.020599913279624,
        }];
        let mut mixer = Mixer::new(vec![Some(0), None, Some(0)], &groups, &[]).unwrap();
        let (mut mix, mut stems) = (Bus::default(), vec![Bus::default()]);
        mixer.sum(&tracks(), &mut mix, Some(&mut stems));
        assert!((mix.left[0] - (0.2 + 0.5 * 0.4)).abs() < 1e-12);
        assert!((stems[0].left[0] - 0.2).abs() < 1e-12);
    }

    #[test]
    fn a_send_adds_its_return() {
        let send = SendSettings {
            from_tracks: vec![(1, 0.0)],
            return_gain_db: -20.0,
        };
        let mut mixer = Mixer::new(vec![None; 3], &[], &[send]).unwrap();
        let mut mix = Bus::default();
        mixer.sum(&tracks(), &mut mix, None);
        assert!((mix.left[0] - (0.6 + 0.02)).abs() < 1e-12);
    }

    #[test]
    fn wrong_indices_are_named() {
        let no_group = Mixer::new(vec![Some(2)], &[GroupSettings::default()], &[]).err();
        assert_eq!(
            no_group,
            Some(MixerError::NoSuchGroup {
                group: 2,
                groups: 1
            })
        );
        let send = SendSettings {
            from_tracks: vec![(4, 0.0)],
            return_gain_db: 0.0,
        };
        let no_track = Mixer::new(vec![None], &[], &[send]).err();
        assert_eq!(
            no_track,
            Some(MixerError::NoSuchTrack {
                track: 4,
                tracks: 1
            })
        );
    }
}
