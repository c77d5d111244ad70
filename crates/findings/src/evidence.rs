//! What findings are made from: plain figures, measured before.
//!
//! Everything is owned and can be written and read back, so that a judgement can be
//! repeated from a file. Powers are mean squares (1 = full-scale square wave); times
//! are seconds of the session; tracks are named by their place in
//! [`Evidence::tracks`].

use cupel_audio::HealthNote;
use cupel_harmony::{KickPlace, KickSound, Note};
use cupel_layers::{Layer, LayerPair};
use cupel_measure::Summary;
pub use cupel_traits::{Click, Decay, Hum, Traits};
use cupel_trust::Trust;
use cupel_units::{Group, Role};
use serde::{Deserialize, Serialize};

/// All that is known.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Evidence {
    /// Tracks that are part of the sum, in session order.
    pub tracks: Vec<TrackFacts>,
    /// Tracks of one role that sound together.
    pub elements: Vec<ElementFacts>,
    /// The sum of the tracks as they came.
    pub mix: Option<MixFacts>,
    /// The bounce, where there is one.
    pub bounce: Option<FileFacts>,
    /// The reference, where there is one.
    pub reference: Option<ReferenceFacts>,
    /// Whether the tracks add up to the bounce.
    pub trust: Option<Trust>,
    /// The passages compared, band by band and sixteenth by sixteenth.
    pub passage: Option<PassageFacts>,
    /// Kick and bass.
    pub low_end: LowEndFacts,
    /// What the session aims at.
    pub aims: Aims,
}

/// What the session aims at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Aims {
    /// Peak of the kick, dBFS.
    pub kick_peak_dbfs: f64,
    /// Highest peak of the mix, dBFS.
    pub headroom_dbfs: f64,
}

/// A file and what its samples tell.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct FileFacts {
    /// Name for people.
    pub name: String,
    /// Figures of the whole file.
    pub summary: Summary,
    /// Its bill of health.
    pub health: Vec<HealthNote>,
    /// Whether it was coded with loss.
    pub lossy: bool,
    /// Finer traits of the sound.
    pub traits: Traits,
}

/// A track.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct TrackFacts {
    /// Id in the session.
    pub id: String,
    /// Its file.
    #[serde(flatten)]
    pub file: FileFacts,
    /// What it plays, where known.
    pub role: Option<Role>,
    /// Its group.
    pub group: Option<Group>,
    /// How sure the role is, 0 to 1.
    pub role_sure: f64,
    /// Whether it is part of the anchor.
    pub is_kick: bool,
    /// Its start in the session, seconds.
    pub start_s: f64,
    /// Its figures in the passage; `None` where there is none.
    pub in_passage: Option<Summary>,
    /// Loudness in every section of the mix, LUFS; `None` where silent.
    pub section_lufs: Vec<Option<f64>>,
    /// When it sounds, in seconds of the session.
    pub sounds_s: Vec<(f64, f64)>,
    /// How far its level is off.
    pub level: Option<LevelFacts>,
}

/// How far a level is off, as the solver reads it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LevelFacts {
    /// Gain that the reference and what is usual together ask for, dB: against the
    /// anchor where that should be; of the anchor, only where it is off itself beside
    /// most tracks, against those.
    pub asked_gain_db: f64,
    /// Gain that the reference alone asks for, dB; `None` where it cannot tell.
    pub reference_gain_db: Option<f64>,
    /// Gain that brings it to what is usual for its role, dB; `None` for an unknown
    /// role.
    pub usual_gain_db: Option<f64>,
    /// How far off `asked_gain_db` may be, standard deviation, dB.
    pub spread_db: f64,
}

/// Tracks of one role that sound together. Unknown figures are `None`.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ElementFacts {
    /// Name for people.
    pub name: String,
    /// What it plays.
    pub role: Role,
    /// Its tracks.
    pub tracks: Vec<usize>,
    /// Kick, snare and clap, hats, bass, lead and voice.
    pub core: bool,
    /// Right over left by loudness in the passage, dB.
    pub lean_db: Option<f64>,
    /// The same over every four bars of the passage.
    pub lean_by_four_bars_db: Vec<f64>,
    /// Its power by loudness against the whole mix in the passage, dB.
    pub share_db: Option<f64>,
    /// Folded to mono against its stereo, dB, at most 0.
    pub mono_loss_db: Option<f64>,
    /// Part of the sixteenths it plays in where it is heard, 0 to 1.
    pub heard_part: Option<f64>,
    /// In its best band: its power against all else, dB, and the band's middle, Hz.
    pub best: Option<(f64, f64)>,
}

/// The sum of the tracks.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct MixFacts {
    /// Figures of the whole.
    pub summary: Summary,
    /// Figures of the passage.
    pub in_passage: Option<Summary>,
    /// Sample peak of the kick element, dBFS.
    pub kick_peak_dbfs: Option<f64>,
    /// Share of each track in the highest peaks, 0 to 1.
    pub peak_shares: Vec<f64>,
    /// When the highest peak is.
    pub highest_peak_s: Option<f64>,
    /// Sections.
    pub sections: Vec<SectionFacts>,
    /// Tempo, beats a minute.
    pub tempo_bpm: Option<f64>,
    /// Length of a bar, seconds.
    pub bar_s: Option<f64>,
    /// Key, as `D minor`, where it is sure.
    pub key: Option<String>,
    /// The bass line.
    pub bass: Vec<Note>,
    /// The sound of the kick.
    pub kick: Option<KickSound>,
    /// Where the kick sits against key and bass.
    pub kick_place: Option<KickPlace>,
    /// Layers in the passage.
    pub layers: Vec<Layer>,
}

/// A section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SectionFacts {
    /// Its name.
    pub name: String,
    /// Start and end.
    pub span_s: (f64, f64),
    /// Whether it is the busiest.
    pub busiest: bool,
    /// Its loudness, LUFS.
    pub lufs: Option<f64>,
    /// Third octaves less the loudness of the same material, dB, from 20 Hz on;
    /// `None` where silent.
    pub third_octaves_db: Vec<Option<f64>>,
}

/// The reference.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ReferenceFacts {
    /// The file.
    #[serde(flatten)]
    pub file: FileFacts,
    /// Whether it is this mix itself, mastered or not.
    pub is_print: bool,
    /// Figures of its passage.
    pub in_passage: Option<Summary>,
    /// Its passage.
    pub passage_s: Option<(f64, f64)>,
    /// Sections.
    pub sections: Vec<SectionFacts>,
    /// Tempo, beats a minute.
    pub tempo_bpm: Option<f64>,
    /// How sure the tempo is, 0 to 1.
    pub tempo_sure: f64,
    /// Key, where it is sure.
    pub key: Option<String>,
    /// The bass line.
    pub bass: Vec<Note>,
    /// The sound of the kick.
    pub kick: Option<KickSound>,
    /// Layers in the passage.
    pub layers: Vec<Layer>,
    /// Layers of both beside each other.
    pub pairs: Vec<LayerPair>,
    /// Year in its tag.
    pub year: Option<i32>,
    /// Genre in its tag.
    pub genre: Option<String>,
}

/// Powers by band and sixteenth: band after band.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Powers {
    /// Mean of left and right.
    pub whole: Vec<f64>,
    /// Half the difference of left and right.
    pub side: Vec<f64>,
}

/// The passages in their bands and sixteenths.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct PassageFacts {
    /// Start and end in the session.
    pub span_s: (f64, f64),
    /// Length of a bar.
    pub bar_s: f64,
    /// Edges of the bands, hertz: half octaves below 151 Hz, third octaves above.
    pub bands_hz: Vec<(f64, f64)>,
    /// Sixteenths in a bar.
    pub slots: usize,
    /// Weight of every band in the loudness.
    pub loudness_weights: Vec<f64>,
    /// The mix.
    pub mix: Powers,
    /// Every track by itself.
    pub tracks: Vec<Powers>,
    /// Every element by itself, with the cross-terms of its tracks.
    pub elements: Vec<Powers>,
    /// The reference at the loudness of the mix.
    pub reference: Option<Powers>,
    /// Left and right powers of every track by band.
    pub track_sides: Vec<Vec<[f64; 2]>>,
    /// Left and right powers of the mix by band.
    pub mix_sides: Vec<[f64; 2]>,
    /// What remains after the best balance.
    pub remains: Vec<RemainsFacts>,
    /// Bands in which other things play in the reference.
    pub elsewhere_hz: Vec<(f64, f64)>,
}

/// A band in which the best balance leaves a difference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RemainsFacts {
    /// Lower and upper edge, hertz.
    pub band_hz: (f64, f64),
    /// Mix less reference after the balance, dB.
    pub difference_db: f64,
    /// The same before, dB.
    pub before_db: f64,
    /// Place of the track that fills most of it.
    pub track: Option<usize>,
    /// Its share, 0 to 1.
    pub share: f64,
    /// Whether other things play there in the reference.
    pub arrangement: bool,
}

/// Kick and bass.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct LowEndFacts {
    /// Places of the kick's tracks.
    pub kick: Vec<usize>,
    /// Places of the tracks of bass and sub.
    pub bass: Vec<usize>,
    /// Powers below 150 Hz of kick, bass and both, hit by hit.
    pub hits: Vec<[f64; 3]>,
    /// Sixteenths (of the whole passage) with their powers below 150 Hz of kick,
    /// bass and both.
    pub sixteenths: Vec<[f64; 3]>,
    /// Low places (kick, bass at its note, and so on): name, mix and reference at
    /// equal loudness, dB.
    pub places: Vec<LowPlaceFacts>,
}

/// A place of the low end on both sides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LowPlaceFacts {
    /// Plain name.
    pub name: String,
    /// Whether the kick makes it, else the bass.
    pub of_kick: bool,
    /// The mix, dB of mean square.
    pub mix_db: Option<f64>,
    /// The reference at the loudness of the mix, dB.
    pub reference_db: Option<f64>,
}

impl Evidence {
    /// Names for people of some tracks.
    pub fn names(&self, tracks: &[usize]) -> Vec<&str> {
        let named = tracks.iter().filter_map(|&place| self.tracks.get(place));
        named.map(|track| track.file.name.as_str()).collect()
    }

    /// Ids of some tracks.
    pub fn ids(&self, tracks: &[usize]) -> Vec<String> {
        let known = tracks.iter().filter_map(|&place| self.tracks.get(place));
        known.map(|track| track.id.clone()).collect()
    }

    /// The element a track belongs to.
    pub fn element_of(&self, track: usize) -> Option<&ElementFacts> {
        let mut elements = self.elements.iter();
        elements.find(|element| element.tracks.contains(&track))
    }
}

impl PassageFacts {
    /// Middle of a band, hertz.
    pub fn centre_hz(&self, band: usize) -> f64 {
        let (low_hz, high_hz) = self.bands_hz[band];
        (low_hz.max(20.0) * high_hz).sqrt()
    }

    /// Bands whose middle lies within two frequencies.
    pub fn bands_within(&self, low_hz: f64, high_hz: f64) -> Vec<usize> {
        let inside = |band: &usize| (low_hz..high_hz).contains(&self.centre_hz(*band));
        (0..self.bands_hz.len()).filter(inside).collect()
    }

    /// Mean over the bar of the power in a band.
    pub fn band(&self, powers: &[f64], band: usize) -> f64 {
        let slots = &powers[band * self.slots..(band + 1) * self.slots];
        slots.iter().sum::<f64>() / self.slots.max(1) as f64
    }

    /// Mean over the bar of the power in some bands.
    pub fn in_bands(&self, powers: &[f64], bands: &[usize]) -> f64 {
        bands.iter().map(|&band| self.band(powers, band)).sum()
    }

    /// Power of one sixteenth in some bands.
    pub fn in_slot(&self, powers: &[f64], bands: &[usize], slot: usize) -> f64 {
        let cells = bands.iter().map(|band| powers[band * self.slots + slot]);
        cells.sum()
    }

    /// Share of every track in some bands, each by itself, 0 to 1; all 0 in silence.
    pub fn shares(&self, bands: &[usize]) -> Vec<f64> {
        let own = |track: &Powers| self.in_bands(&track.whole, bands);
        let powers: Vec<f64> = self.tracks.iter().map(own).collect();
        let all: f64 = powers.iter().sum();
        let share = |power: &f64| if all > 0.0 { power / all } else { 0.0 };
        powers.iter().map(share).collect()
    }

    /// Places of the tracks that together make up most (80 percent) of some bands,
    /// the largest first, at most four.
    pub fn owners(&self, bands: &[usize]) -> Vec<usize> {
        let shares = self.shares(bands);
        let mut order: Vec<usize> = (0..shares.len()).collect();
        order.sort_by(|&a, &b| shares[b].total_cmp(&shares[a]).then(a.cmp(&b)));
        let mut sum = 0.0;
        let mut owners = Vec::new();
        for track in order {
            if sum >= 0.8 || owners.len() == 4 || shares[track] < 0.05 {
                break;
            }
            sum += shares[track];
            owners.push(track);
        }
        owners
    }
}

/// Ten times the logarithm of a ratio of powers, held within +-100.
pub fn ratio_db(power: f64, other: f64) -> f64 {
    match (power > 0.0, other > 0.0) {
        (true, true) => (10.0 * (power / other).log10()).clamp(-100.0, 100.0),
        (true, false) => 100.0,
        (false, true) => -100.0,
        (false, false) => 0.0,
    }
}
