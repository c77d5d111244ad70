//! Everything that is said, in a producer's words.

use crate::bounce::worst_stretches;
use crate::pass::Residuals;
use crate::remarks::note;
use crate::session::Session;
use crate::spectra::octaves;
use crate::verdict::Evidence;
use crate::{BandResidual, Cause, Note, TimeResidual, Trust, Verdict};
use cupel_units::{amplitude_to_db, power_to_db, read_hertz, round_to_step};

/// Stretches listed as the worst, and their length in seconds.
const WORST_LISTED: usize = 5;
const WORST_S: usize = 5;

/// How to export so that the files add up.
pub(crate) const HOW_TO_EXPORT: &str = "export all tracks from the same start to the same end, \
     with faders, pan and automation in, each return as a file of its own, nothing on the mix \
     bus, normalising off, 24-bit or float; then bounce the same mix with the same settings and \
     name it with --rough";

pub(crate) fn untested(trust: &mut Trust) {
    trust.verdict = Verdict::Untested;
    trust.sentence = "there is no bounce of your mix here, so whether the files add up to it is \
                      untested; add one with --rough to know"
        .to_owned();
}

pub(crate) fn another_music(trust: &mut Trust) {
    trust.verdict = Verdict::DoesNotAddUp;
    trust.can_judge_balance = false;
    trust.sentence = "the bounce has nothing in common with the tracks, so it is most likely of \
                      another piece; the balance cannot be judged against it"
        .to_owned();
    trust.how_to_export = Some(HOW_TO_EXPORT.to_owned());
}

pub(crate) fn start_unclear(session: &Session, column: usize) -> Note {
    note(
        "start_unclear",
        format!(
            "`{}` may have been trimmed to its first clip, and several places in the bounce fit \
             it equally well: set its start by hand, or export it from the common start",
            session.file(column)
        ),
        vec![session.id(column)],
    )
}

pub(crate) fn start_nowhere(session: &Session, column: usize) -> Note {
    note(
        "start_not_found",
        format!(
            "`{}` begins at once with sound and was not found in the bounce: its start is taken \
             as the common one",
            session.file(column)
        ),
        vec![session.id(column)],
    )
}

/// Where and in which bands most is left.
pub(crate) fn places(residuals: &Residuals, rate_hz: u32, start: u64, trust: &mut Trust) {
    let left = octaves(&residuals.powers.left, rate_hz);
    let bounce = octaves(&residuals.powers.bounce, rate_hz);
    let total = residuals.powers.left_total().max(f64::MIN_POSITIVE);
    trust.residual_by_band = left
        .iter()
        .zip(&bounce)
        .map(|(&(low_hz, high_hz, left), &(_, _, bounce))| BandResidual {
            low_hz,
            high_hz,
            residual_db: (left > 0.0 && bounce > 0.0).then(|| power_to_db(left / bounce)),
            share: left / total,
        })
        .collect();
    let seconds = residuals.by_second.len().max(1) as f64;
    let mean = residuals.bounce / seconds;
    trust.residual_by_time = worst_stretches(residuals, WORST_S, WORST_LISTED)
        .into_iter()
        .filter_map(|second| {
            let end = (second + WORST_S).min(residuals.by_second.len());
            let left: f64 = residuals.by_second[second..end]
                .iter()
                .map(|(_, left)| left)
                .sum();
            let origin_s = start as f64 / f64::from(rate_hz);
            (left > 0.0 && mean > 0.0).then(|| TimeResidual {
                start_s: origin_s + second as f64,
                end_s: origin_s + end as f64,
                residual_db: power_to_db(left / (end - second) as f64 / mean),
            })
        })
        .collect();
}

/// The verdict in one or two sentences, and how to export where it is needed.
pub(crate) fn conclude(evidence: &Evidence, trust: &mut Trust) {
    let left_db = -evidence.left_db();
    let size = if left_db >= 120.0 {
        "nothing is left of the bounce".to_owned()
    } else {
        format!("what is left lies {left_db:.0} dB under it")
    };
    let named: Vec<&str> = trust.differences.iter().map(|d| d.text.as_str()).collect();
    let named = named.join("; ");
    trust.sentence = match trust.verdict {
        Verdict::AddsUp if named.is_empty() => {
            format!("the files add up to your mix: {size}")
        }
        Verdict::AddsUp => format!("the files add up to your mix: {size}; {named}"),
        Verdict::AddsUpBut => format!(
            "the files add up to your mix but for what is named here, and the balance may be \
             judged: {size}; {named}"
        ),
        _ => format!(
            "the files do not add up to your mix ({size}), so its balance cannot be judged yet; \
             {named}"
        ),
    };
    if !trust.can_judge_balance {
        trust.how_to_export = Some(HOW_TO_EXPORT.to_owned());
    }
}

pub(crate) fn on_the_mix(evidence: &Evidence, cause: Cause) -> String {
    match cause {
        Cause::MixDynamics => format!(
            "a limiter, clipper or compressor works on the mix, by up to {:.1} dB where it is \
             loud, and is not in the files, which is right",
            -evidence.deepest_db()
        ),
        Cause::MixTone => format!(
            "an equaliser works on the mix and is not in the files, which is right{}",
            tone(evidence)
        ),
        _ => format!(
            "processing works on the mix, tone and level together, and is not in the files, which \
             is right{}",
            tone(evidence)
        ),
    }
}

/// Octaves that the bounce raises or lowers, beside its middle.
fn tone(evidence: &Evidence) -> String {
    let powers = &evidence.residuals.powers;
    let rate = evidence.session.rate();
    let real: Vec<f64> = powers.cross.iter().map(|cross| cross.re).collect();
    let loudest = octaves(&powers.sum, rate)
        .iter()
        .map(|b| b.2)
        .fold(0.0, f64::max);
    let bands: Vec<(f64, f64)> = octaves(&real, rate)
        .iter()
        .zip(octaves(&powers.sum, rate))
        .filter(|(cross, sum)| cross.2 > 0.0 && sum.2 > 1e-6 * loudest)
        .map(|(cross, sum)| ((sum.0 * sum.1).sqrt(), amplitude_to_db(cross.2 / sum.2)))
        .collect();
    let mut sorted: Vec<f64> = bands.iter().map(|band| band.1).collect();
    sorted.sort_by(f64::total_cmp);
    let Some(&middle) = sorted.get(sorted.len() / 2) else {
        return String::new();
    };
    let changed: Vec<String> = bands
        .iter()
        .map(|(hz, db)| (hz, round_to_step(db - middle, 0.5)))
        .filter(|(_, db)| db.abs() >= 1.0)
        .map(|(hz, db)| format!("{db:+} dB about {}", read_hertz(*hz)))
        .collect();
    if changed.is_empty() {
        String::new()
    } else {
        format!(" ({})", changed.join(", "))
    }
}

pub(crate) fn on_the_tracks(evidence: &Evidence, cause: Cause, tracks: &[usize]) -> String {
    let session = evidence.session;
    let bands = where_most(evidence);
    match cause {
        Cause::TrackProcessing => format!(
            "{} sounds different in the bounce: an effect on it, or on its group, is not in the \
             file",
            session.files(tracks)
        ),
        Cause::Return if tracks.is_empty() => {
            "a reverb or delay return is likely missing: what is left follows the hits and lasts \
             longer"
                .to_owned()
        }
        Cause::Return => format!(
            "a reverb or delay return is likely missing: what is left follows the hits and lasts \
             longer, most of all after {}",
            session.files(tracks)
        ),
        Cause::MissingTrack => format!(
            "a track is likely missing: the bounce holds sound that is in none of the files, most \
             of it {bands}"
        ),
        Cause::Small => "what is left is like the noise of a lossy format (MP3, AAC): it changes \
                         no balance"
            .to_owned(),
        _ => format!(
            "what differs is of no known kind, most of it {bands}: look for processing on groups \
             and on the mix, and for pan that is not in the files"
        ),
    }
}

/// The octave with most left, and the worst stretch, in words.
fn where_most(evidence: &Evidence) -> String {
    let rate = evidence.session.rate();
    let band = octaves(&evidence.residuals.powers.left, rate)
        .into_iter()
        .fold(
            (0.0, 0.0, 0.0),
            |best, band| if band.2 > best.2 { band } else { best },
        );
    let second = worst_stretches(evidence.residuals, WORST_S, 1)
        .first()
        .copied()
        .unwrap_or(0);
    let second = second + evidence.start_s as usize;
    format!(
        "between {} and {}, most clearly from {}:{:02}",
        read_hertz(band.0),
        read_hertz(band.1),
        second / 60,
        second % 60
    )
}

pub(crate) fn not_in_bounce(session: &Session, columns: &[usize]) -> String {
    let verb = if columns.len() == 1 { "is" } else { "are" };
    format!(
        "{} {verb} among the files but not heard in the bounce: muted there, or not meant to be \
         exported",
        session.files(columns)
    )
}

pub(crate) fn faders(session: &Session, moved: &[usize], trust: &Trust) -> String {
    let gains: Vec<f64> = trust
        .gains
        .iter()
        .filter(|gain| moved.iter().any(|&column| session.id(column) == gain.id))
        .filter_map(|gain| gain.gain_db)
        .collect();
    let low = gains.iter().copied().fold(f64::INFINITY, f64::min);
    let high = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    format!(
        "the faders are not in the files: the bounce plays {} at {low:+.1} to {high:+.1} dB; the \
         recovered faders are listed, and what is judged here are the files as they are",
        session.files(moved)
    )
}

pub(crate) fn bounce_is_part(seconds: f64, whole_s: f64) -> Note {
    note(
        "bounce_is_part",
        format!(
            "the bounce covers {seconds:.0} s of {whole_s:.0} s of tracks: only that part was \
             compared"
        ),
        Vec::new(),
    )
}
