//! Prints what is heard in files, one JSON object each: `hear [--features]
//! [--beats SECONDS_FIRST SECONDS_EACH] FILE...`. Files joined by `|` are several
//! tracks of one piece; joined by `+` they are summed first.
//!
//! `--features` prints the rows the key weights are fitted on, `--codes` what the
//! meter keeps.

use std::path::Path;
use std::time::Instant;

use cupel_audio::TrackReader;
use cupel_harmony::{
    HarmonyFrames, HarmonyMeter, KickFrames, KickMeter, bass_notes, find_key, fitting,
    kick_against, kick_sound, pitch_facts, tonalness,
};

type Failure = Box<dyn std::error::Error>;
const BLOCK: usize = 16_384;

fn main() -> Result<(), Failure> {
    let mut words = std::env::args().skip(1);
    let (mut features, mut codes, mut beats) = (false, false, None);
    while let Some(word) = words.next() {
        let mut number =
            || -> Result<f64, Failure> { Ok(words.next().ok_or("a number is missing")?.parse()?) };
        match word.as_str() {
            "--features" => features = true,
            "--codes" => codes = true,
            "--beats" => beats = Some((number()?, number()?)),
            file => show(file, features, codes, beats)?,
        }
    }
    Ok(())
}

fn show(
    names: &str,
    features: bool,
    codes: bool,
    beats: Option<(f64, f64)>,
) -> Result<(), Failure> {
    let mut heard = Vec::new();
    let mut spent = [0.0; 2];
    for name in names.split('|') {
        let (harmony, kick, each) = hear(name)?;
        spent = [spent[0] + each[0], spent[1] + each[1]];
        heard.push((harmony, kick));
    }
    let tracks: Vec<&HarmonyFrames> = heard.iter().map(|(harmony, _)| harmony).collect();
    if features {
        let rows = fitting::key_rows(&tracks).into_iter();
        let rows: Vec<String> = rows
            .map(|(name, row)| format!("{name:?}: {row:?}"))
            .collect();
        println!("{{\"file\": {names:?}, {}}}", rows.join(", "));
        return Ok(());
    }
    if codes {
        let all: Vec<_> = tracks.iter().map(|track| fitting::codes(track)).collect();
        let text = format!("{{\"file\": {names:?}, \"tracks\": {all:?}}}");
        println!("{}", text.replace('(', "[").replace(')', "]"));
        return Ok(());
    }
    let start = Clock::start();
    let key = find_key(&tracks);
    let key_s = start.seconds();
    let start = Clock::start();
    let bass = bass_notes(tracks[0], key.tuning_cents.unwrap_or(0.0));
    let notes_s = start.seconds();
    let beats_s: Option<Vec<f64>> = beats.map(|(first, each)| {
        let count = (tracks[0].seconds() - first) / each;
        (0..count as usize)
            .map(|n| first + each * n as f64)
            .collect()
    });
    let start = Clock::start();
    let kick = kick_sound(&heard[0].1, beats_s.as_deref());
    let kick_s = start.seconds();
    let place = kick.as_ref().map(|kick| kick_against(kick, key.key, &bass));
    println!(
        "{{\"file\": {names:?}, \"key\": {:?}, \"sure\": {}, \"tuning_cents\": {}, \"tonalness\": {:.3}, \"facts\": \"{:?}\", \"candidates\": {:?}, \"bass\": {:?}, \"kick\": {}, \"place\": {:?}, \"seconds\": {:?}}}",
        key.key.map_or("-".into(), |key| key.to_string()),
        key.sure,
        key.tuning_cents
            .map_or("null".into(), |cents| cents.to_string()),
        tonalness(tracks[0]),
        pitch_facts(tracks[0]),
        key.candidates
            .iter()
            .map(|other| format!("{} {:.3}", other.key, other.score))
            .collect::<Vec<_>>(),
        bass.iter()
            .map(|note| [
                note.start_s,
                note.end_s,
                note.midi.into(),
                note.cents_off,
                note.level_db,
                note.sure
            ])
            .collect::<Vec<_>>(),
        kick.as_ref().map_or("null".into(), |kick| format!(
            "[{}, {}, {}, {}, {}, {}, {}]",
            kick.fundamental_hz,
            kick.start_hz,
            kick.fall_ms,
            kick.length_ms,
            kick.click_db,
            kick.hits,
            kick.sure
        )),
        place.map_or(String::new(), |place| place.words),
        [spent[0], spent[1], key_s, notes_s, kick_s],
    );
    Ok(())
}

/// What is heard of a file or a sum, and the seconds the meters took.
fn hear(names: &str) -> Result<(HarmonyFrames, KickFrames, [f64; 2]), Failure> {
    let mut readers = Vec::new();
    let first = names.split('+').next().unwrap_or(names);
    let rate_hz = TrackReader::open(Path::new(first), 48_000, 0)?
        .info()
        .sample_rate_hz;
    for name in names.split('+') {
        readers.push(TrackReader::open(Path::new(name), rate_hz, 0)?);
    }
    let mut harmony = HarmonyMeter::new(rate_hz, 2);
    let mut kick = KickMeter::new(rate_hz, 2);
    let mut spent = [0.0; 2];
    let mut block = vec![vec![0.0; BLOCK]; 2];
    loop {
        let mut sum = vec![vec![0.0; BLOCK]; 2];
        let mut longest = 0;
        for reader in &mut readers {
            let (left, right) = block.split_at_mut(1);
            let frames = reader.read(&mut left[0], &mut right[0])?;
            longest = longest.max(frames);
            for (side, channel) in sum.iter_mut().zip(&block) {
                let played = channel[..frames].iter();
                side.iter_mut().zip(played).for_each(|(sum, x)| *sum += x);
            }
        }
        if longest == 0 {
            break;
        }
        let both = [&sum[0][..longest], &sum[1][..longest]];
        let start = Clock::start();
        harmony.push(&both);
        spent[0] += start.seconds();
        let start = Clock::start();
        kick.push(&both);
        spent[1] += start.seconds();
    }
    let start = Clock::start();
    let harmony = harmony.finish();
    spent[0] += start.seconds();
    Ok((harmony, kick.finish(), spent))
}

/// Processor time of this thread where the system tells it, else time.
struct Clock(Instant, Option<f64>);

impl Clock {
    fn start() -> Self {
        Self(Instant::now(), Self::spent_s())
    }

    fn seconds(&self) -> f64 {
        match (self.1, Self::spent_s()) {
            (Some(before), Some(now)) => now - before,
            _ => self.0.elapsed().as_secs_f64(),
        }
    }

    fn spent_s() -> Option<f64> {
        let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
        let nanoseconds: f64 = text.split(' ').next()?.parse().ok()?;
        Some(1e-9 * nanoseconds)
    }
}
