//! What is true of a piece: read from `truth.json`, ours or of the shared format.

use serde::{Deserialize, Serialize};

use crate::prove::answers::Section;

fn four() -> u32 {
    4
}

fn a440() -> f64 {
    440.0
}

/// One bar.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Bar {
    pub start_s: f64,
    pub layers: usize,
    pub lufs: Option<f64>,
}

/// Length of a mix.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Mix {
    #[serde(default)]
    pub seconds: f64,
}

/// A layer of a reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct TrueLayer {
    pub role: String,
    pub steps: Vec<f64>,
    pub note_s: f64,
    pub low_hz: f64,
    pub high_hz: f64,
    pub lufs: f64,
    pub balance: f64,
}

/// The music of a mix or a reference. Fields that a format leaves out take the
/// values they have there: four beats, 440 Hz.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct TrueMusic {
    pub tempo_bpm: f64,
    #[serde(default = "four")]
    pub beats_per_bar: u32,
    #[serde(default)]
    pub first_downbeat_s: f64,
    /// Not judged where it is not stated.
    pub swing: Option<f64>,
    pub key: String,
    #[serde(default = "a440")]
    pub tuning_hz: f64,
    #[serde(default)]
    pub beatless: bool,
    #[serde(default)]
    pub beats_s: Vec<f64>,
    #[serde(default)]
    pub sections: Vec<Section>,
    #[serde(default)]
    pub bars: Vec<Bar>,
    #[serde(default)]
    pub kick_times_s: Vec<f64>,
    #[serde(default)]
    pub mix: Mix,
    #[serde(default)]
    pub layers: Vec<TrueLayer>,
    /// Plain words of what plays, where it is a mix alone.
    #[serde(default)]
    pub roles: Vec<String>,
}

impl TrueMusic {
    /// On a grid.
    pub(crate) fn is_steady(&self) -> bool {
        !self.beatless && self.beats_s.is_empty()
    }

    /// With a beat that wanders.
    pub(crate) fn drifts(&self) -> bool {
        !self.beatless && !self.beats_s.is_empty()
    }

    /// In seconds.
    pub(crate) fn beat_s(&self) -> f64 {
        60.0 / self.tempo_bpm
    }

    /// In seconds.
    pub(crate) fn bar_s(&self) -> f64 {
        self.beat_s() * f64::from(self.beats_per_bar)
    }

    /// How far A4 is from 440 Hz.
    pub(crate) fn tuning_cents(&self) -> f64 {
        1200.0 * (self.tuning_hz / 440.0).log2()
    }

    /// Where the music ends.
    pub(crate) fn end_s(&self) -> f64 {
        self.sections
            .last()
            .map_or(self.mix.seconds, |section| section.end_s)
    }
}

/// A track of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct TrueTrack {
    pub file: String,
    pub role: String,
}

/// The reference of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct TrueReference {
    pub file: String,
    #[serde(flatten)]
    pub music: TrueMusic,
}

/// A session: its mix, its tracks, its reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct TrueSession {
    #[serde(flatten)]
    pub music: TrueMusic,
    pub tracks: Vec<TrueTrack>,
    pub reference: Option<TrueReference>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shared_format_is_read() {
        let text = r#"{ "tempo_bpm": 124.0, "beats_per_bar": 4, "first_downbeat_s": 0.0,
            "key": "D minor", "tuning_hz": 440.0, "swing": 0.5, "mix": { "seconds": 79.4 },
            "sections": [{ "name": "drop", "start_s": 1, "end_s": 60, "busiest": true }],
            "tracks": [{ "file": "tracks/01 Kick.flac", "role": "kick", "pan": 0.0 }],
            "reference": { "file": "record.flac", "tempo_bpm": 126.0, "key": "E minor" } }"#;
        let truth: TrueSession = serde_json::from_str(text).unwrap();
        assert!(truth.music.is_steady() && truth.music.end_s() == 60.0);
        let reference = truth.reference.unwrap();
        assert_eq!(reference.music.beats_per_bar, 4);
        assert_eq!(reference.music.tuning_cents(), 0.0);
        assert_eq!(reference.music.swing, None);
    }
}
