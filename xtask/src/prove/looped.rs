//! `cupel loop` on an opened session: asked, and its file judged.
//!
//! Of the answer are read: `reference.file`, `reference.start_s` and `end_s` (times of
//! the source) and `transposed_semitones`, 0 if absent. Tempo and beats are the true
//! ones, so that a loop that starts off the beat is late.

use std::path::Path;

use cupel_audio::{Planar, Reader};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::XtaskError;
use crate::prove::judge::loops::{Take, read};
use crate::prove::truth::TrueMusic;
use crate::prove::work::Work;

/// Furthest an onset may be off, and the level before a hit.
pub(crate) const ONSET_S: f64 = 0.003;
pub(crate) const BEFORE_DB: f64 = -30.0;

/// What was read from one loop.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct LoopCase {
    pub name: String,
    /// Whether it was transposed to the session's key.
    pub in_key: bool,
    pub semitones: f64,
    /// Strong onsets, and how many of them lie where they should.
    pub onsets: usize,
    pub in_time: usize,
    /// Onsets with more before them than is allowed.
    pub smeared: usize,
    /// Distance from the pitch asked for.
    pub cents: Option<f64>,
    /// `None` where it was transposed.
    pub third_octave_db: Option<f64>,
}

/// Asks for a loop of a session of known tempo; `Err` says in words why there is
/// none.
pub(crate) fn ask(
    work: &Work,
    place: &Path,
    session: (&str, f64),
    reference: (&Path, &TrueMusic),
    in_key: bool,
) -> Result<Result<LoopCase, String>, XtaskError> {
    let (session, tempo_bpm) = session;
    let mut words = vec!["loop", session];
    if in_key {
        words.extend(["--key", "session"]);
    }
    let document = match work.ask(place, &words) {
        Ok(document) => document,
        Err(said) => return Ok(Err(said)),
    };
    let Some(facts) = facts(&document) else {
        return Ok(Err(
            "the answer of `cupel loop` names no file or no passage".to_owned(),
        ));
    };
    let (heard, truth) = reference;
    let beats = ((facts.start_s - truth.first_downbeat_s) / truth.beat_s()).round();
    let start_s = truth.first_downbeat_s + beats * truth.beat_s();
    let length_s = facts.end_s - facts.start_s;
    let inside = Path::new(session).parent().unwrap_or(Path::new(""));
    // the passage once: it may be played again to fill the loop
    let once_s = length_s * truth.tempo_bpm / tempo_bpm;
    let (made, made_hz) = mono(&place.join(inside).join(&facts.file), 0.0, once_s)?;
    let (passage, passage_hz) = mono(heard, start_s, length_s + 0.1)?;
    let semitones = facts.semitones;
    let take = |samples, sample_rate_hz, tempo_bpm| Take {
        samples,
        sample_rate_hz,
        tempo_bpm,
    };
    let reading = read(
        &take(&passage, passage_hz, truth.tempo_bpm),
        &take(&made, made_hz, tempo_bpm),
        semitones,
    );
    Ok(Ok(LoopCase {
        name: session.to_owned(),
        in_key,
        semitones,
        onsets: reading.onsets_s.len(),
        in_time: reading.onsets_s.iter().filter(|s| **s <= ONSET_S).count(),
        smeared: reading
            .before_db
            .iter()
            .filter(|db| **db > BEFORE_DB)
            .count(),
        cents: reading.cents,
        third_octave_db: reading.third_octave_db,
    }))
}

#[derive(Clone, Debug, PartialEq)]
struct Facts {
    file: String,
    start_s: f64,
    end_s: f64,
    semitones: f64,
}

fn facts(document: &Value) -> Option<Facts> {
    let number = |path: &str| document.pointer(path).and_then(Value::as_f64);
    Some(Facts {
        file: document.pointer("/reference/file")?.as_str()?.to_owned(),
        start_s: number("/reference/start_s")?,
        end_s: number("/reference/end_s")?,
        semitones: number("/transposed_semitones").unwrap_or(0.0),
    })
}

/// Middle of both sides, and the rate.
fn mono(path: &Path, start_s: f64, length_s: f64) -> Result<(Vec<f64>, f64), XtaskError> {
    const BLOCK: usize = 65_536;
    let mut reader = Reader::open(path)?;
    let rate = f64::from(reader.info().sample_rate_hz);
    let mut block = Planar::new(reader.info().channels, BLOCK);
    let mut samples = Vec::new();
    let first = (start_s * rate).round().max(0.0) as usize;
    let last = first as f64 + length_s * rate;
    let mut at = 0usize;
    loop {
        let frames = reader.read(&mut block, BLOCK)?;
        if frames == 0 || at as f64 > last {
            break;
        }
        for frame in 0..frames {
            if at + frame >= first && ((at + frame) as f64) < last {
                let sum: f64 = block.channels.iter().map(|channel| channel[frame]).sum();
                samples.push(sum / block.channels.len() as f64);
            }
        }
        at += frames;
    }
    Ok((samples, rate))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn an_answer_without_its_facts_is_none() {
        let whole = json!({ "reference": { "file": "a.wav", "start_s": 12.5, "end_s": 40.0 } });
        let read = facts(&whole).unwrap();
        assert_eq!(
            (read.file.as_str(), read.start_s, read.semitones),
            ("a.wav", 12.5, 0.0)
        );
        assert_eq!(facts(&json!({ "reference": { "file": "a.wav" } })), None);
        assert_eq!(facts(&Value::Null), None);
    }
}
