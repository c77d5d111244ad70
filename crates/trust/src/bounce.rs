//! Tracks against the bounce: place, starts, faders, and what is left.

use std::ops::Range;

use nalgebra::Complex;

use crate::align::{Alignment, align};
use crate::clues::look;
use crate::feed::Placed;
use crate::gains::{Gains, recover};
use crate::gram::{BLOCK_FRAMES, Gram};
use crate::pairs::Pair;
use crate::pass::{Plan, Residuals, run};
use crate::session::Session;
use crate::shifts::PlacedSum;
use crate::spectra::Spectra;
use crate::starts::{Found, Search, Wanted};
use crate::thresholds::ADDS_UP_DB;
use crate::verdict::{Evidence, decide};
use crate::{
    FoundBy, FoundStart, LeftOut, LeftOutWhy, Polarity, RecoveredGain, Source, Trust, TrustError,
    TrustInput, words,
};
use cupel_units::{amplitude_to_db, db_to_amplitude, power_to_db};

/// A bounce longer than the tracks by less than this has a tail, no more.
const TAIL_S: u64 = 10;
/// A file that may have been trimmed begins with at least this.
const BEGINS_ABOVE_DBFS: f64 = -90.0;
/// Correlation with what is left of the bounce that places a trimmed file at
/// once, and that below which it is not found (common practice, no source).
const EASY_CORRELATION: f64 = 0.35;
const LEAST_CORRELATION: f64 = 0.15;
/// Share that a file explains at its start once the others are in place; below
/// it is looked for again, this many files at most (common practice, no source).
const SETTLED: f64 = 0.97;
const SECOND_LOOKS: usize = 8;
/// Correlation from which files that may all have been trimmed are aligned as
/// they are.
const ALL_AS_THEY_ARE: f64 = 0.5;
/// Slots looked at for the place of the bounce, for the faders, for the tone.
const SLOTS_ALIGN: usize = 20;
const SLOTS_GAINS: usize = 120;
const SLOTS_TONE: usize = 40;
/// From this many tracks on, slots are not halved, to save memory.
const MANY_TRACKS: usize = 48;
/// How near a doubled gain must come to 1 or 2 to decide about a copy.
const COPY_WITHIN_DB: f64 = 0.5;
/// Length of the places that are listed as the worst, and how many.
const WORST_S: usize = 5;
const WORST_LISTED: usize = 5;

/// Fills in everything that the bounce tells.
pub(crate) fn judge_bounce(
    input: &TrustInput,
    rough: &dyn Source,
    audible: &[usize],
    trust: &mut Trust,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<(), TrustError> {
    let session = Session::new(input, audible, &[]);
    let longest = whole_length(&session, rough);
    let doubtful = session.maybe_trimmed(longest, BEGINS_ABOVE_DBFS)?;
    let certain: Vec<usize> = (0..audible.len())
        .filter(|column| !doubtful.contains(column))
        .map(|column| audible[column])
        .collect();
    let Some(aligned) = place_bounce(input, rough, audible, &certain)? else {
        words::another_music(trust);
        return Ok(());
    };
    progress(0.05);
    let bounce = Bounce::new(rough, aligned, longest.max(rough.frames()));
    note_part(&session, &bounce, trust);
    let starts = find_starts(&session, &doubtful, &certain, &bounce, trust)?;
    progress(0.15);
    let session = Session::new(input, audible, &starts);
    trust.rough_lag_samples = Some(aligned.lag_frames);
    trust.rough_polarity = Some(if aligned.sign > 0.0 {
        Polarity::Same
    } else {
        Polarity::Inverted
    });
    judge_placed(&session, &bounce, trust, progress)
}

/// The bounce on the tracks' clock.
struct Bounce<'a> {
    placed: Placed<'a>,
    sign: f64,
    range: Range<u64>,
}

impl<'a> Bounce<'a> {
    fn new(rough: &'a dyn Source, aligned: Alignment, longest: u64) -> Self {
        let placed = Placed {
            source: rough,
            offset_frames: -aligned.lag_frames,
        };
        let start = placed.offset_frames.max(0) as u64;
        Self {
            placed,
            sign: aligned.sign,
            range: start..placed.end().min(longest).max(start),
        }
    }

    /// Slots that lie within the bounce as a whole.
    fn slots(&self, slot_frames: usize) -> Range<usize> {
        let frames = slot_frames as u64;
        let start = self.range.start.div_ceil(frames) as usize;
        let end = (self.range.end / frames) as usize;
        start..end.max(start)
    }
}

fn place_bounce(
    input: &TrustInput,
    rough: &dyn Source,
    audible: &[usize],
    certain: &[usize],
) -> Result<Option<Alignment>, TrustError> {
    let used = if certain.is_empty() { audible } else { certain };
    let session = Session::new(input, used, &[]);
    let common = session.end().min(rough.frames());
    let slots = session.pick(0..session.slots(common), SLOTS_ALIGN);
    let found = align(
        &session.placed,
        crate::judge::unmoved(rough),
        &slots,
        &session.pick(0..session.slots(session.end()), SLOTS_ALIGN),
        session.rate(),
    )?;
    if !certain.is_empty() || audible.is_empty() {
        return Ok(found);
    }
    // Where every file may have been trimmed, the bounce itself is the clock.
    let clock = Alignment {
        lag_frames: 0,
        sign: 1.0,
        correlation: 0.0,
    };
    let sure = found.filter(|found| found.correlation >= ALL_AS_THEY_ARE);
    Ok(Some(sure.unwrap_or(clock)))
}

/// Length of the session: that of the longest track, or of the bounce where
/// even the longest may have been trimmed.
fn whole_length(session: &Session, rough: &dyn Source) -> u64 {
    let tracks = session.end();
    let tail = TAIL_S * u64::from(session.rate());
    if rough.frames() > tracks + tail {
        rough.frames()
    } else {
        tracks
    }
}

fn note_part(session: &Session, bounce: &Bounce, trust: &mut Trust) {
    let rate = f64::from(session.rate());
    let covered_s = (bounce.range.end - bounce.range.start) as f64 / rate;
    let whole_s = session.end() as f64 / rate;
    if covered_s < 0.9 * whole_s {
        trust.notes.push(words::bounce_is_part(covered_s, whole_s));
    }
}

/// Looks for the starts in rounds: what was found in one no longer hides the
/// rest in the next.
fn find_starts(
    session: &Session,
    doubtful: &[usize],
    certain: &[usize],
    bounce: &Bounce,
    trust: &mut Trust,
) -> Result<Vec<(usize, u64)>, TrustError> {
    let mut open: Vec<usize> = doubtful.to_vec();
    let mut starts: Vec<(usize, u64)> = Vec::new();
    let mut unclear: Vec<usize> = Vec::new();
    let mut least = EASY_CORRELATION;
    while !open.is_empty() {
        let known: Vec<usize> = certain
            .iter()
            .copied()
            .chain(starts.iter().map(|(track, _)| *track))
            .collect();
        let found = search_round(session, &open, &known, &starts, bounce, least)?;
        let before = starts.len();
        unclear.clear();
        for (&column, found) in open.iter().zip(&found) {
            match found {
                Found::At(frame) => starts.push((session.tracks[column], *frame)),
                Found::CannotTell => unclear.push(column),
                Found::Nowhere => (),
            }
        }
        open.retain(|&column| {
            starts
                .iter()
                .all(|(track, _)| *track != session.tracks[column])
        });
        if starts.len() == before {
            if least <= LEAST_CORRELATION {
                break;
            }
            least = LEAST_CORRELATION;
        }
    }
    settle(session, certain, bounce, &mut starts)?;
    for &column in &open {
        trust.notes.push(if unclear.contains(&column) {
            words::start_unclear(session, column)
        } else {
            words::start_nowhere(session, column)
        });
    }
    starts.retain(|(_, frame)| *frame > 0);
    starts.sort_unstable();
    trust.starts = starts
        .iter()
        .map(|&(track, frame)| FoundStart {
            id: session.input.tracks[track].id.to_owned(),
            start_s: frame as f64 / f64::from(session.rate()),
            start_frames: frame,
            found_by: FoundBy::Bounce,
        })
        .collect();
    Ok(starts)
}

/// Settles each start once all the others are in place: to the sample, and by a
/// second look where it explains too little. The loudest come first, because
/// one of them in the wrong place spoils what all others explain.
fn settle(
    session: &Session,
    certain: &[usize],
    bounce: &Bounce,
    starts: &mut [(usize, u64)],
) -> Result<(), TrustError> {
    let mut looked: Vec<usize> = Vec::new();
    for _ in 0..SECOND_LOOKS {
        let shares = polish(session, certain, bounce, starts)?;
        let loudness = |index: usize| session.input.tracks[starts[index].0].max_momentary_lufs;
        let poor = (0..starts.len())
            .filter(|&index| shares[index] < SETTLED && !looked.contains(&starts[index].0))
            .reduce(|best, new| {
                if loudness(new) > loudness(best) {
                    new
                } else {
                    best
                }
            });
        let Some(index) = poor else {
            return Ok(());
        };
        let track = starts[index].0;
        looked.push(track);
        let others: Vec<usize> = certain
            .iter()
            .copied()
            .chain(starts.iter().map(|(track, _)| *track))
            .filter(|&other| other != track)
            .collect();
        let column: Vec<usize> = (0..session.tracks.len())
            .filter(|&column| session.tracks[column] == track)
            .collect();
        let found = search_round(session, &column, &others, starts, bounce, LEAST_CORRELATION)?;
        if let Some(Found::At(frame)) = found.first() {
            starts[index].1 = *frame;
        }
    }
    polish(session, certain, bounce, starts).map(|_| ())
}

/// Moves each start to the best sample; gives the share of what the others
/// leave that each file explains there.
fn polish(
    session: &Session,
    certain: &[usize],
    bounce: &Bounce,
    starts: &mut [(usize, u64)],
) -> Result<Vec<f64>, TrustError> {
    let tracks: Vec<usize> = certain
        .iter()
        .copied()
        .chain(starts.iter().map(|(track, _)| *track))
        .collect();
    let (sources, gains) = fit_known(session, &tracks, starts, bounce)?;
    let mut shares = Vec::with_capacity(starts.len());
    for (index, (track, start)) in starts.iter_mut().enumerate() {
        let mut others = left_factors(&gains, bounce.sign);
        others[certain.len() + index] = 0.0;
        let search = Search {
            known: &sources,
            factors: &others,
            range: bounce.range.clone(),
            rate_hz: session.rate(),
            least: LEAST_CORRELATION,
        };
        let sought = Wanted {
            source: crate::judge::unmoved(session.input.tracks[*track].source),
            momentary_lufs: session.input.tracks[*track].momentary_lufs,
        };
        if let Some(exact) = search.refine(&sought, *start as i64)? {
            *start = exact as u64;
        }
        shares.push(search.share_at(&sought, *start as i64)?);
    }
    Ok(shares)
}

/// Tracks in their places with the bounce last, and the gains of the tracks.
fn fit_known<'a>(
    session: &Session<'a>,
    tracks: &[usize],
    starts: &[(usize, u64)],
    bounce: &Bounce<'a>,
) -> Result<(Vec<Placed<'a>>, Vec<f64>), TrustError> {
    let known = Session::new(session.input, tracks, starts);
    let slots = known.pick(bounce.slots(known.slot_frames()), SLOTS_GAINS / 2);
    let count = known.tracks.len();
    let gram = Gram::measure(
        &mut known.feed(Some(bounce.placed))?,
        count + 1,
        &known.segments(&slots, 1),
        |_| (),
    )?;
    let among: Vec<usize> = (0..count).collect();
    let gains = recover(&gram, &among, bounce.sign);
    let sources = known
        .placed
        .iter()
        .copied()
        .chain([bounce.placed])
        .collect();
    Ok((sources, gains.linear))
}

fn search_round(
    session: &Session,
    open: &[usize],
    known: &[usize],
    starts: &[(usize, u64)],
    bounce: &Bounce,
    least: f64,
) -> Result<Vec<Found>, TrustError> {
    let (sources, gains) = fit_known(session, known, starts, bounce)?;
    let search = Search {
        known: &sources,
        factors: &left_factors(&gains, bounce.sign),
        range: bounce.range.clone(),
        rate_hz: session.rate(),
        least,
    };
    let wanted: Vec<Wanted> = open
        .iter()
        .map(|&column| Wanted {
            source: session.placed[column],
            momentary_lufs: session.input.tracks[session.tracks[column]].momentary_lufs,
        })
        .collect();
    search.find(&wanted)
}

/// Factors that leave of tracks and bounce what the gains do not explain.
fn left_factors(gains: &[f64], sign: f64) -> Vec<f64> {
    gains.iter().map(|gain| -gain).chain([sign]).collect()
}

fn judge_placed(
    session: &Session,
    bounce: &Bounce,
    trust: &mut Trust,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<(), TrustError> {
    let count = session.tracks.len();
    let slots = session.pick(bounce.slots(session.slot_frames()), SLOTS_GAINS);
    let parts = if count < MANY_TRACKS { 2 } else { 1 };
    let segments = session.segments(&slots, parts);
    let total = segments.len().max(1) as f64;
    let gram = Gram::measure(
        &mut session.feed(Some(bounce.placed))?,
        count + 1,
        &segments,
        |done| progress(0.15 + 0.2 * done as f64 / total),
    )?;
    let (mut kept, pairs) = session.name_copies(&gram, &slots, trust)?;
    let mut gains = recover(&gram, &kept, bounce.sign);
    for pair in &pairs {
        settle_copy(
            session,
            pair,
            &gram,
            bounce.sign,
            &mut kept,
            &mut gains,
            trust,
        );
    }
    let tone = if gains.residual_db > ADDS_UP_DB {
        Some(probe_tone(session, bounce, &slots, &gains)?)
    } else {
        None
    };
    let used: Vec<usize> = kept.clone();
    let sources: Vec<Placed> = used
        .iter()
        .map(|&column| session.placed[column])
        .chain([bounce.placed])
        .collect();
    let linear: Vec<f64> = used.iter().map(|&column| gains.linear[column]).collect();
    let residuals = run(
        Plan {
            sources: &sources,
            gains: &linear
                .iter()
                .map(|gain| gain * bounce.sign)
                .collect::<Vec<_>>(),
            unity: bounce.sign,
            range: bounce.range.clone(),
            rate_hz: session.rate(),
            tone,
        },
        &|share| progress(0.35 + 0.6 * share),
    )?;
    let worst = worst_places(&residuals, session.rate(), bounce.range.start);
    let residual_db = power_to_db(residuals.left / residuals.bounce.max(f64::MIN_POSITIVE));
    let clues = if residual_db > ADDS_UP_DB {
        let factors = left_factors(&linear, bounce.sign);
        Some(look(&sources, &factors, &worst, session.rate())?)
    } else {
        None
    };
    write_gains(session, &kept, &gains, trust);
    words::places(&residuals, session.rate(), bounce.range.start, trust);
    decide(
        &Evidence {
            session,
            used: &used,
            residuals: &residuals,
            clues: clues.as_ref(),
            start_s: bounce.range.start as f64 / f64::from(session.rate()),
        },
        trust,
    );
    if residual_db > ADDS_UP_DB {
        let placed = PlacedSum {
            session,
            used: &used,
            sources: &sources,
            gains: &linear,
            sign: bounce.sign,
            range: bounce.range.clone(),
        };
        trust.wrong_starts = placed.wrong_starts(trust)?;
    }
    Ok(())
}

/// Starts (frames) of the places with most left, most first, none twice.
fn worst_places(residuals: &Residuals, rate_hz: u32, start: u64) -> Vec<u64> {
    worst_stretches(residuals, WORST_S, WORST_LISTED + 1)
        .into_iter()
        .map(|second| start + second as u64 * u64::from(rate_hz))
        .collect()
}

/// First seconds of the stretches of `length` seconds with most left.
pub(crate) fn worst_stretches(residuals: &Residuals, length: usize, count: usize) -> Vec<usize> {
    let mut stretches: Vec<(f64, usize)> = residuals
        .by_second
        .chunks(length)
        .enumerate()
        .map(|(index, part)| (part.iter().map(|(_, left)| left).sum(), index * length))
        .collect();
    stretches.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    stretches.truncate(count);
    stretches.into_iter().map(|(_, second)| second).collect()
}

fn probe_tone(
    session: &Session,
    bounce: &Bounce,
    slots: &[usize],
    gains: &Gains,
) -> Result<Vec<Complex<f64>>, TrustError> {
    let count = session.tracks.len();
    let mut feed = session.feed(Some(bounce.placed))?;
    let mut spectra = Spectra::new(session.rate(), None);
    let mut sum = vec![0.0; 2 * BLOCK_FRAMES];
    let linear: Vec<f64> = gains.linear.iter().map(|gain| gain * bounce.sign).collect();
    let every = slots.len().div_ceil(SLOTS_TONE).max(1);
    for &slot in slots.iter().step_by(every) {
        spectra.jump();
        let (mut at, mut left) = (slot * session.slot_frames(), session.slot_frames());
        while left > 0 {
            let now = left.min(BLOCK_FRAMES);
            feed.read(at as u64, now)?;
            feed.mix(&linear, &mut sum);
            let (sum_left, sum_right) = sum.split_at(BLOCK_FRAMES);
            let (bounce_left, bounce_right) = feed.column(count).split_at(BLOCK_FRAMES);
            spectra.take(
                (&bounce_left[..now], &bounce_right[..now]),
                (&sum_left[..now], &sum_right[..now]),
            );
            at += now;
            left -= now;
        }
    }
    Ok(spectra.powers.tone())
}

/// Decides by the bounce whether both copies of one sound are in it.
fn settle_copy(
    session: &Session,
    pair: &Pair,
    gram: &Gram,
    sign: f64,
    kept: &mut Vec<usize>,
    gains: &mut Gains,
    trust: &mut Trust,
) {
    let usable = pair.is_exact() && pair.lag_samples == 0 && pair.correlation > 0.0;
    if !usable || !kept.contains(&pair.a) || !kept.contains(&pair.b) {
        return;
    }
    let alone: Vec<usize> = kept
        .iter()
        .copied()
        .filter(|&column| column != pair.b)
        .collect();
    let fitted = recover(gram, &alone, sign);
    let (Some(shared_db), true) = (fitted.shared_db, fitted.linear[pair.a] > 0.0) else {
        return;
    };
    let level = db_to_amplitude(pair.level_db);
    let found_db = amplitude_to_db(fitted.linear[pair.a]) - shared_db;
    let near = |factor: f64| (found_db - amplitude_to_db(factor)).abs() <= COPY_WITHIN_DB;
    let out = if near(1.0 + level) {
        let each = fitted.linear[pair.a] / (1.0 + level);
        *gains = fitted;
        gains.linear[pair.a] = each;
        gains.linear[pair.b] = each;
        return;
    } else if near(1.0) {
        (pair.b, pair.a)
    } else if near(level) {
        (pair.a, pair.b)
    } else {
        return;
    };
    kept.retain(|column| *column != out.0);
    *gains = recover(gram, kept, sign);
    trust.tracks_left_out.push(LeftOut {
        id: session.id(out.0),
        why: LeftOutWhy::Duplicate,
        text: format!(
            "`{}` is a copy of `{}`, and the bounce holds the sound once; it is left out",
            session.file(out.0),
            session.file(out.1)
        ),
        of: vec![session.id(out.1)],
        residual_db: None,
    });
}

fn write_gains(session: &Session, kept: &[usize], gains: &Gains, trust: &mut Trust) {
    let shared_db = gains.shared_db.unwrap_or(0.0);
    trust.rough_gain_db = gains.shared_db;
    trust.gains = kept
        .iter()
        .map(|&column| RecoveredGain {
            id: session.id(column),
            gain_db: (gains.linear[column] > 0.0)
                .then(|| amplitude_to_db(gains.linear[column]) - shared_db),
            confident: gains.confident[column],
        })
        .collect();
}
