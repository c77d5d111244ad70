//! What the files tell by themselves, without a bounce.
//!
//! What it measures: lengths, peaks and ceilings of the files side by side.
//! Why it matters: each of these is a way an export goes wrong.
//! When it is wrong: a session of samples that were all normalised on purpose
//! and mixed at unity looks like an export that was normalised.

use crate::thresholds::{
    COMMON_CEILING_WITHIN_DB, LENGTHS_DIFFER_S, NORMALISED_WITHIN_DB, SOUNDS_ABOVE_LUFS,
};
use crate::{Note, TrackInput, TrustInput};

/// Fewest files that can show that an export was normalised.
const NORMALISED_FEWEST: usize = 4;

/// Remarks on the files alone, in a fixed order.
pub(crate) fn remark(input: &TrustInput) -> Vec<Note> {
    [
        silent(input.tracks),
        different_lengths(input),
        common_ceiling(input.tracks),
        normalised(input.tracks),
    ]
    .into_iter()
    .flatten()
    .collect()
}

pub(crate) fn note(code: &str, text: String, tracks: Vec<String>) -> Note {
    Note {
        code: code.to_owned(),
        text,
        tracks,
    }
}

pub(crate) fn is_silent(track: &TrackInput) -> bool {
    track
        .max_momentary_lufs
        .is_none_or(|loudest_lufs| loudest_lufs < SOUNDS_ABOVE_LUFS)
}

/// Files named in running text: all of them up to four, else three and a count.
pub(crate) fn name_files(files: &[&str]) -> String {
    let quoted: Vec<String> = files.iter().map(|file| format!("`{file}`")).collect();
    match quoted.len() {
        0 => String::new(),
        1 => quoted[0].clone(),
        2..=4 => {
            let (last, first) = quoted.split_last().expect("not empty");
            format!("{} and {last}", first.join(", "))
        }
        count => format!("{} and {} more", quoted[..3].join(", "), count - 3),
    }
}

fn silent(tracks: &[TrackInput]) -> Option<Note> {
    let found: Vec<&TrackInput> = tracks.iter().filter(|track| is_silent(track)).collect();
    if found.is_empty() {
        return None;
    }
    let files: Vec<&str> = found.iter().map(|track| track.file).collect();
    let (verb, it) = if found.len() == 1 {
        ("is", "it")
    } else {
        ("are", "they")
    };
    Some(note(
        "silent_track",
        format!(
            "{} {verb} silent: {it} may have been muted while exporting",
            name_files(&files)
        ),
        ids(&found),
    ))
}

fn different_lengths(input: &TrustInput) -> Option<Note> {
    let rate = f64::from(input.sample_rate_hz);
    let seconds = |track: &TrackInput| track.source.frames() as f64 / rate;
    let longest_s = input.tracks.iter().map(seconds).fold(0.0, f64::max);
    let short: Vec<&TrackInput> = input
        .tracks
        .iter()
        .filter(|track| longest_s - seconds(track) > LENGTHS_DIFFER_S)
        .collect();
    if short.is_empty() {
        return None;
    }
    let shortest_s = short
        .iter()
        .map(|track| seconds(track))
        .fold(f64::INFINITY, f64::min);
    let unsure: Vec<&str> = short
        .iter()
        .filter(|track| !track.start_known)
        .map(|track| track.file)
        .collect();
    let start = if unsure.is_empty() {
        "their starts are known, so nothing is lost".to_owned()
    } else {
        format!(
            "{} carry no time stamp: this is fine if every file starts at the same place",
            name_files(&unsure)
        )
    };
    Some(note(
        "different_lengths",
        format!("the files differ in length, from {shortest_s:.1} s to {longest_s:.1} s; {start}"),
        ids(&short),
    ))
}

fn common_ceiling(tracks: &[TrackInput]) -> Option<Note> {
    let largest = largest_cluster(tracks, |track| track.ceiling_dbfs, COMMON_CEILING_WITHIN_DB);
    let ceiling_dbfs = largest.first()?.ceiling_dbfs?;
    let fewest = if ceiling_dbfs < -0.1 { 2 } else { 3 };
    if largest.len() < fewest {
        return None;
    }
    let files: Vec<&str> = largest.iter().map(|track| track.file).collect();
    Some(note(
        "common_ceiling",
        format!(
            "{} are cut flat at one level, {ceiling_dbfs:.1} dBFS: a limiter or clipper of the \
             mix was most likely printed into the exports; switch it off and export again",
            name_files(&files)
        ),
        ids(&largest),
    ))
}

fn normalised(tracks: &[TrackInput]) -> Option<Note> {
    let sounding: Vec<TrackInput> = tracks
        .iter()
        .filter(|track| !is_silent(track) && track.sample_peak_dbfs.is_some())
        .copied()
        .collect();
    let alike = largest_cluster(
        &sounding,
        |track| track.sample_peak_dbfs,
        NORMALISED_WITHIN_DB,
    );
    if alike.len() < NORMALISED_FEWEST || alike.len() * 5 < sounding.len() * 4 {
        return None;
    }
    let peak_dbfs = alike.first()?.sample_peak_dbfs?;
    Some(note(
        "normalised",
        format!(
            "{} of {} files peak at {peak_dbfs:.1} dBFS: the export was most likely normalised \
             file by file, so the balance of the mix is not in the files; export again with \
             normalising off",
            alike.len(),
            sounding.len()
        ),
        ids(&alike),
    ))
}

/// The largest set of tracks whose `value` lies within `within` of one another,
/// in session order.
fn largest_cluster<'a, 'b>(
    tracks: &'b [TrackInput<'a>],
    value: impl Fn(&TrackInput) -> Option<f64>,
    within: f64,
) -> Vec<&'b TrackInput<'a>> {
    let members = |low: f64| -> Vec<&'b TrackInput<'a>> {
        tracks
            .iter()
            .filter(|track| value(track).is_some_and(|v| v >= low && v <= low + within))
            .collect()
    };
    tracks
        .iter()
        .filter_map(&value)
        .map(members)
        .fold(
            Vec::new(),
            |best, new| if new.len() > best.len() { new } else { best },
        )
}

fn ids(tracks: &[&TrackInput]) -> Vec<String> {
    tracks.iter().map(|track| track.id.to_owned()).collect()
}
