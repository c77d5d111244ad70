//! What `cupel` answered, read from its JSON without trust: what is absent is noted
//! and counts as a failure.

use serde::{Deserialize, Serialize};
use serde_json::Value;

/// Fields that the answer about the music of a file must have, `null` or not.
const FIELDS: [&str; 10] = [
    "tempo_bpm",
    "beat_offset_s",
    "beats_per_bar",
    "first_downbeat_s",
    "swing",
    "key",
    "tuning_cents",
    "sections",
    "passage",
    "sure",
];

/// A stretch of time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Span {
    pub start_s: f64,
    pub end_s: f64,
}

/// A section, answered or true.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Section {
    #[serde(default)]
    pub name: String,
    pub start_s: f64,
    pub end_s: f64,
    #[serde(default)]
    pub busiest: bool,
}

/// How sure the answers are, 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Sure {
    pub tempo: Option<f64>,
    pub downbeat: Option<f64>,
    pub key: Option<f64>,
    pub sections: Option<f64>,
}

/// The answer about the music of one file; `None` where it could not tell.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Music {
    pub tempo_bpm: Option<f64>,
    pub beat_offset_s: Option<f64>,
    pub beats_per_bar: Option<u32>,
    pub first_downbeat_s: Option<f64>,
    pub swing: Option<f64>,
    pub key: Option<String>,
    pub tuning_cents: Option<f64>,
    pub sections: Option<Vec<Section>>,
    pub passage: Option<Span>,
    #[serde(default)]
    pub sure: Sure,
    pub grid: Option<String>,
    pub beats_s: Option<Vec<f64>>,
    /// Fields that were not there, or could not be read.
    #[serde(default)]
    pub absent: Vec<String>,
}

impl Music {
    /// Reads what it can.
    pub(crate) fn read(value: &Value) -> Self {
        let mut absent: Vec<String> = FIELDS
            .iter()
            .filter(|name| value.get(**name).is_none())
            .map(|name| (*name).to_owned())
            .collect();
        let sure = value.get("sure").cloned().unwrap_or(Value::Null);
        Self {
            tempo_bpm: number(value, "tempo_bpm"),
            beat_offset_s: number(value, "beat_offset_s"),
            beats_per_bar: field(value, "beats_per_bar", &mut absent),
            first_downbeat_s: number(value, "first_downbeat_s"),
            swing: number(value, "swing"),
            key: field(value, "key", &mut absent),
            tuning_cents: number(value, "tuning_cents"),
            sections: field(value, "sections", &mut absent),
            passage: field(value, "passage", &mut absent),
            sure: serde_json::from_value(sure).unwrap_or_default(),
            grid: field(value, "grid", &mut absent),
            beats_s: field(value, "beats_s", &mut absent),
            absent,
        }
    }

    /// Answers of `measure --json`, in the order of the files asked for.
    pub(crate) fn of_measure(document: &Value, files: usize) -> Vec<Self> {
        let list = document.get("files").and_then(Value::as_array);
        let mut read: Vec<Self> = list.into_iter().flatten().map(Self::read).collect();
        read.resize_with(files, || Self::read(&Value::Null));
        read
    }
}

fn number(value: &Value, name: &str) -> Option<f64> {
    value.get(name)?.as_f64().filter(|x| x.is_finite())
}

fn field<T: serde::de::DeserializeOwned>(
    value: &Value,
    name: &str,
    absent: &mut Vec<String>,
) -> Option<T> {
    let found = value.get(name).filter(|found| !found.is_null())?;
    match serde_json::from_value(found.clone()) {
        Ok(read) => Some(read),
        Err(_) => {
            absent.push(format!("{name} (unreadable)"));
            None
        }
    }
}

/// What was answered about one track.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct TrackAnswer {
    pub file: String,
    pub role: Option<String>,
    pub group: Option<String>,
    pub role_sure: Option<f64>,
}

/// A layer said to be in the reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct LayerAnswer {
    /// Sixteenths it is heard in, from 0.
    pub places: Vec<usize>,
    /// Sixteenths in all of its pattern.
    pub slots: usize,
    pub band_hz: (f64, f64),
    /// -1 to 1.
    pub side: f64,
    #[serde(default)]
    pub level_db: f64,
    #[serde(default)]
    pub sustained: bool,
    pub sure: Option<f64>,
}

/// The answer of `assay --json`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Assay {
    pub session: Music,
    pub reference: Option<Music>,
    pub tracks: Vec<TrackAnswer>,
    /// `None` where the document knows no layers.
    pub layers: Option<Vec<LayerAnswer>>,
}

impl Assay {
    /// Reads what it can.
    pub(crate) fn read(document: &Value) -> Self {
        let word = |track: &Value, name: &str| {
            let word = track.get(name).and_then(Value::as_str);
            word.map(str::to_owned)
        };
        let tracks = document.get("tracks").and_then(Value::as_array);
        Self {
            session: Music::read(document.get("session").unwrap_or(&Value::Null)),
            reference: document
                .get("reference")
                .filter(|found| !found.is_null())
                .map(Music::read),
            tracks: tracks
                .into_iter()
                .flatten()
                .filter_map(|track| {
                    Some(TrackAnswer {
                        file: word(track, "file")?,
                        role: word(track, "role"),
                        group: word(track, "group"),
                        role_sure: number(track, "role_sure"),
                    })
                })
                .collect(),
            layers: layers(document),
        }
    }
}

/// The list stands under `reference.layers`, or under `layers.reference`.
fn layers(document: &Value) -> Option<Vec<LayerAnswer>> {
    let list = document
        .pointer("/reference/layers")
        .or_else(|| document.pointer("/layers/reference"))?
        .as_array()?;
    let read = |layer: &Value| serde_json::from_value(layer.clone()).ok();
    Some(list.iter().filter_map(read).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn absent_is_not_null() {
        let music = Music::read(&json!({ "tempo_bpm": null, "key": 3, "beats_per_bar": 4 }));
        assert_eq!(music.beats_per_bar, Some(4));
        assert!(!music.absent.contains(&"tempo_bpm".to_owned()));
        assert!(music.absent.contains(&"swing".to_owned()));
        assert!(music.absent.contains(&"key (unreadable)".to_owned()));
    }

    #[test]
    fn an_empty_document_gives_as_many_answers_as_files() {
        let answers = Music::of_measure(&Value::Null, 3);
        assert_eq!(answers.len(), 3);
        assert_eq!(answers[0].absent.len(), FIELDS.len());
        assert_eq!(Assay::read(&Value::Null).layers, None);
    }
}
