//! One made piece: generated, measured through files, deleted.

use std::path::Path;

use cupel_audio::{SampleFormat, WavWriter};
use cupel_demo::make_mix;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::XtaskError;
use crate::prove::answers::Music;
use crate::prove::plan::{Plan, range};
use crate::prove::truth::TrueMusic;
use crate::prove::work::Work;

/// Length of an excerpt.
const EXCERPT_S: f64 = 15.0;
const BLOCK: usize = 65_536;

/// What is true of a piece, and what was answered.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Case {
    pub name: String,
    pub truth: TrueMusic,
    /// Nothing told beforehand.
    pub plain: Music,
    /// A range of tempo told.
    pub ranged: Music,
    /// The file with silence before it: how long, and what was answered.
    pub delayed: Option<(f64, Music)>,
    /// 15 s of the file, a range told.
    pub excerpt: Option<Music>,
    /// What went wrong, in words.
    pub errors: Vec<String>,
}

/// Makes a piece in `place` and asks about it.
pub(crate) fn case(work: &Work, place: &Path, plan: &Plan) -> Result<Case, XtaskError> {
    let piece = make_mix(&plan.settings, &|_, _| ())?;
    let truth: TrueMusic = serde_json::to_value(&piece.truth)
        .and_then(serde_json::from_value)
        .map_err(|source| XtaskError::Answer {
            program: "prove",
            source,
        })?;
    let rate = piece.record.sample_rate_hz;
    let frames = |s: f64| (s * f64::from(rate)).round() as usize;
    let [left, right] = &piece.record.samples;
    write(&place.join("mix.wav"), rate, 0, [left, right])?;
    let (mut first, mut second) = (vec!["mix.wav"], vec!["mix.wav"]);
    let mut delayed_s = None;
    if let Some(delay_s) = plan.delay_s {
        let silent = frames(delay_s);
        write(&place.join("later.wav"), rate, silent, [left, right])?;
        first.push("later.wav");
        delayed_s = Some(silent as f64 / f64::from(rate));
    }
    if plan.excerpt {
        let from = frames(excerpt_start_s(&truth)).min(left.len());
        let to = (from + frames(EXCERPT_S)).min(left.len());
        let sides = [&left[from..to], &right[from..to]];
        write(&place.join("excerpt.wav"), rate, 0, sides)?;
        second.push("excerpt.wav");
    }
    drop(piece);
    let mut errors = Vec::new();
    let mut plain = ask(work, place, &[], &first, &mut errors);
    let range = range(truth.tempo_bpm, plan.range_place);
    let told = ["--tempo-range", &range];
    let mut ranged = ask(work, place, &told, &second, &mut errors);
    let later = (plain.len() > 1).then(|| plain.swap_remove(1));
    Ok(Case {
        name: plan.settings.seed.to_string(),
        truth,
        delayed: delayed_s.zip(later),
        excerpt: (ranged.len() > 1).then(|| ranged.swap_remove(1)),
        plain: plain.swap_remove(0),
        ranged: ranged.swap_remove(0),
        errors,
    })
}

/// In a busy section, off the bar line.
fn excerpt_start_s(truth: &TrueMusic) -> f64 {
    let busy = truth.sections.iter().find(|section| section.busiest);
    let start_s = busy.map_or(0.0, |section| section.start_s) + 0.3 * truth.bar_s();
    start_s.min((truth.end_s() - EXCERPT_S).max(0.0))
}

/// Answers of `measure` about some files of a folder, one for each.
pub(crate) fn ask(
    work: &Work,
    place: &Path,
    options: &[&str],
    files: &[&str],
    errors: &mut Vec<String>,
) -> Vec<Music> {
    let words: Vec<&str> = ["measure"]
        .iter()
        .chain(files)
        .chain(options)
        .copied()
        .collect();
    let document = work.ask(place, &words).unwrap_or_else(|said| {
        errors.push(said);
        Value::Null
    });
    Music::of_measure(&document, files.len())
}

fn write(path: &Path, rate: u32, silent: usize, sides: [&[f64]; 2]) -> Result<(), XtaskError> {
    let mut writer = WavWriter::create(path, rate, 2, SampleFormat::I24)?;
    let zeros = vec![0.0; silent];
    writer.write(&[&zeros, &zeros])?;
    for (left, right) in sides[0].chunks(BLOCK).zip(sides[1].chunks(BLOCK)) {
        writer.write(&[left, right])?;
    }
    writer.finish()?;
    Ok(())
}
