//! `cupel loop` on an opened session: asked, and its file judged.
//!
//! Of the answer are read: `file`; `tempo_bpm` of the loop; where the passage
//! starts in the reference, `passage.start_s` or `from.start_s`; and `semitones`, 0 if
//! absent. They stand at the top or under `loop`.

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

/// Asks for a loop; `Err` says in words why there is none.
pub(crate) fn ask(
    work: &Work,
    place: &Path,
    session: &str,
    reference: (&Path, &TrueMusic),
    in_key: bool,
) -> Result<Result<LoopCase, String>, XtaskError> {
    let mut words = vec!["loop", session];
    if in_key {
        words.extend(["--key", "session"]);
    }
    let document = match work.ask(place, &words) {
        Ok(document) => document,
        Err(said) => return Ok(Err(said)),
    };
    let Some((file, tempo_bpm, start_s, semitones)) = facts(&document) else {
        return Ok(Err(
            "the answer of `cupel loop` names no file, tempo or start".to_owned(),
        ));
    };
    let (made, made_hz) = mono(&place.join(file), 0.0, f64::INFINITY)?;
    // as much of the passage as the loop holds, and a little more
    let length_s = made.len() as f64 / made_hz * tempo_bpm / reference.1.tempo_bpm + 0.1;
    let (passage, passage_hz) = mono(reference.0, start_s, length_s)?;
    let take = |samples, sample_rate_hz, tempo_bpm| Take {
        samples,
        sample_rate_hz,
        tempo_bpm,
    };
    let reading = read(
        &take(&passage, passage_hz, reference.1.tempo_bpm),
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

/// File, tempo, start in the reference, semitones.
fn facts(document: &Value) -> Option<(String, f64, f64, f64)> {
    let inside = document.get("loop").unwrap_or(document);
    let number = |paths: &[&str]| {
        let mut found = paths.iter().filter_map(|path| inside.pointer(path));
        found.find_map(Value::as_f64)
    };
    Some((
        inside.get("file")?.as_str()?.to_owned(),
        number(&["/tempo_bpm"])?,
        number(&["/passage/start_s", "/from/start_s"])?,
        number(&["/semitones"]).unwrap_or(0.0),
    ))
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
        let whole = json!({ "loop": { "file": "a.wav", "tempo_bpm": 124.0,
            "passage": { "start_s": 12.5, "end_s": 40.0 } } });
        assert_eq!(facts(&whole), Some(("a.wav".to_owned(), 124.0, 12.5, 0.0)));
        assert_eq!(facts(&json!({ "file": "a.wav", "tempo_bpm": 124.0 })), None);
        assert_eq!(facts(&Value::Null), None);
    }
}
