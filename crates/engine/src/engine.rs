//! Slots of sound, and the voices that play it.

use cupel_process::{Bus, MixerError};

use crate::voice::Voice;
use crate::{BLOCK_FRAMES, LEAD_FRAMES, MixSettings, PIECE_FRAMES, piece};

/// A place for one piece.
#[derive(Debug)]
struct Slot {
    /// Number of the piece, counted from [`LEAD_FRAMES`] before the session.
    index: Option<u64>,
    bytes: Vec<u8>,
    used: usize,
}

/// How far a voice is on its way to a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// Not there yet: ask again.
    Working,
    /// It stands there, settled.
    Ready,
    /// Sound that it needs has not come.
    Missing,
}

/// The engine of one session.
#[derive(Debug)]
pub struct Engine {
    sample_rate_hz: f64,
    slots: Vec<Slot>,
    sound: Sound,
    voices: Vec<Option<Voice>>,
}

/// One block on its way.
#[derive(Debug)]
struct Sound {
    tracks: Vec<Bus>,
    mix: Bus,
    /// Left, then right, of what was rendered last.
    heard: Vec<f32>,
}

impl Engine {
    /// An engine for so many tracks, slots and voices.
    pub fn new(tracks: usize, sample_rate_hz: f64, slots: usize, voices: usize) -> Self {
        let slot = |_| Slot {
            index: None,
            bytes: vec![0; piece::largest_bytes(tracks)],
            used: 0,
        };
        Self {
            sample_rate_hz,
            slots: (0..slots).map(slot).collect(),
            sound: Sound {
                tracks: vec![Bus::silent(BLOCK_FRAMES); tracks],
                mix: Bus::silent(BLOCK_FRAMES),
                heard: vec![0.0; 2 * BLOCK_FRAMES],
            },
            voices: (0..voices).map(|_| None).collect(),
        }
    }

    /// The memory of a slot, to be filled; what it held is gone.
    pub fn slot(&mut self, slot: usize) -> Option<&mut [u8]> {
        let slot = self.slots.get_mut(slot)?;
        slot.index = None;
        Some(&mut slot.bytes)
    }

    /// A slot has been filled with a piece; `false` where it is none of these tracks.
    pub fn fill(&mut self, slot: usize, index: u64, bytes: usize) -> bool {
        let tracks = self.sound.tracks.len();
        let Some(slot) = self.slots.get_mut(slot) else {
            return false;
        };
        let good = bytes <= slot.bytes.len() && piece::is_piece(&slot.bytes[..bytes], tracks);
        slot.index = good.then_some(index);
        slot.used = bytes;
        good
    }

    /// Gives a voice other settings. It stands nowhere until it reaches a place.
    ///
    /// # Errors
    /// [`MixerError`], with what is out of range; the voice then is silent.
    pub fn set(&mut self, voice: usize, settings: &MixSettings) -> Result<(), MixerError> {
        let tracks = self.sound.tracks.len();
        let Some(place) = self.voices.get_mut(voice) else {
            return Ok(());
        };
        *place = None;
        if settings.tracks.len() != tracks {
            return Err(MixerError::NoSuchTrack {
                track: settings.tracks.len(),
                tracks,
            });
        }
        *place = Some(Voice::new(settings, self.sample_rate_hz)?);
        Ok(())
    }

    /// Brings a voice to a frame of the session, playing unheard what its filters need
    /// to settle; at most `budget` frames of tracks at a time.
    pub fn reach(&mut self, voice: usize, frame: u64, budget: u64) -> Reach {
        let Self {
            slots,
            sound,
            voices,
            ..
        } = self;
        let Some(voice) = voices.get_mut(voice).and_then(Option::as_mut) else {
            return Reach::Missing;
        };
        if voice.at == Some(frame) {
            return Reach::Ready;
        }
        voice.at = None;
        let mut left = budget;
        let Some(bus) = sound.tracks.first_mut() else {
            voice.at = Some(frame);
            return Reach::Ready;
        };
        let mut ready = true;
        for (track, part) in voice.parts.iter_mut().enumerate().filter(|(_, p)| p.plays) {
            part.go(part.start_for(frame));
            while let Some(at) = part.at().filter(|at| *at < frame) {
                let count = (frame - at).min(BLOCK_FRAMES as u64).min(left) as usize;
                if count == 0 {
                    ready = false;
                    break;
                }
                bus.clear(count);
                if !read(slots, track, at as i64 - part.delay_frames, bus) {
                    return Reach::Missing;
                }
                part.play(bus);
                left -= count as u64;
            }
        }
        if !ready {
            return Reach::Working;
        }
        voice.at = Some(frame);
        Reach::Ready
    }

    /// Renders the next frames of a voice, [`BLOCK_FRAMES`] at most; gives how many:
    /// none where the voice stands nowhere or sound has not come.
    pub fn render(&mut self, voice: usize, frames: usize) -> usize {
        let Self {
            slots,
            sound,
            voices,
            ..
        } = self;
        let frames = frames.min(BLOCK_FRAMES);
        let Some(voice) = voices.get_mut(voice).and_then(Option::as_mut) else {
            return 0;
        };
        let Some(at) = voice.at else { return 0 };
        let (first, end) = voice.needs(at, at + frames as u64);
        if !are_there(slots, first, end) {
            return 0;
        }
        let tracks = sound.tracks.iter_mut().zip(&mut voice.parts).enumerate();
        for (track, (bus, part)) in tracks {
            bus.clear(frames);
            if part.plays {
                read(slots, track, at as i64 - part.delay_frames, bus);
                part.play(bus);
            }
        }
        voice.mixer.sum(&sound.tracks, &mut sound.mix, None);
        voice.at = Some(at + frames as u64);
        let (left, right) = sound.heard.split_at_mut(BLOCK_FRAMES);
        for (heard, mix) in [(left, &sound.mix.left), (right, &sound.mix.right)] {
            for (heard, mix) in heard.iter_mut().zip(mix) {
                *heard = *mix as f32;
            }
        }
        frames
    }

    /// Left, then right, of what was rendered last, [`BLOCK_FRAMES`] each.
    pub fn heard(&self) -> &[f32] {
        &self.sound.heard
    }
}

/// The piece that a frame of the tracks' own sound is in, and its place there.
fn piece_of(frame: i64) -> Option<(u64, usize)> {
    let counted = u64::try_from(frame + LEAD_FRAMES as i64).ok()?;
    let long = PIECE_FRAMES as u64;
    Some((counted / long, (counted % long) as usize))
}

fn find(slots: &[Slot], index: u64) -> Option<&Slot> {
    slots.iter().find(|slot| slot.index == Some(index))
}

/// Whether all pieces of a stretch of the tracks' own sound are there.
fn are_there(slots: &[Slot], first: i64, end: i64) -> bool {
    match (piece_of(first), piece_of(end - 1)) {
        (Some((first, _)), Some((last, _))) => {
            (first..=last).all(|index| find(slots, index).is_some())
        }
        _ => false,
    }
}

/// Reads one track from a frame of its own sound on; `false` where it has not come.
fn read(slots: &[Slot], track: usize, frame: i64, bus: &mut Bus) -> bool {
    let mut done = 0;
    while done < bus.left.len() {
        let Some((index, from)) = piece_of(frame + done as i64) else {
            return false;
        };
        let Some(slot) = find(slots, index) else {
            return false;
        };
        let count = (PIECE_FRAMES - from).min(bus.left.len() - done);
        let (left, right) = (
            &mut bus.left[done..done + count],
            &mut bus.right[done..done + count],
        );
        piece::read(&slot.bytes[..slot.used], track, from, left, right);
        done += count;
    }
    true
}
