//! The kick rings into the next one.

use crate::evidence::{Evidence, LowEndFacts, ratio_db};
use crate::finding::{Finding, Picture, PictureRow};
use crate::kind::{Cause, Family, Kind, Sizes};
use crate::kinds::low_end::lows::passage_span;

pub(crate) const KIND: Kind = Kind {
    name: "kick-long",
    family: Family::Sound,
    title: "the kick is too long for the tempo",
    cause: Cause::Sound,
    sizes: Sizes::both("percent of the gap", 150.0, 200.0),
    weight: 0.6,
    brings: &["kick-bass-overlap", "kick-lows"],
    unsure: true,
    measures: "The time in which the kick's lows fall by 20 dB, against the usual gap from one \
               kick to the next.",
    matters: "A kick that still sounds when the next one comes blurs its start, leaves no room \
              for the bass between, and fills the low end without rhythm.",
    threshold: "1.5 times the gap to look at, twice the gap to mend: then the kick has fallen by \
                only 13 or 10 dB when the next one comes, to a fifth or a third of its height \
                (common practice, no source; the heights are arithmetic).",
    mend: "Shorten the kick: its decay, its hold, or the end of the sample with a short fade. \
           If something was added that rings on (room, drive), take that off first.",
    wrong: "When the kick is the bass: one long tuned hit that plays the low line.",
    hear: "The kick alone through a low pass at 150 Hz: it runs into the next one without a gap.",
    train: "Shorten a long kick in steps of 50 ms in a full mix, and stop when the bass gets \
            clear.",
};

/// Sixteenths this near to the loudest hold a kick, dB.
const KICK_RANGE_DB: f64 = 10.0;
/// A kick starts where the power rises by this, dB.
const RISE_DB: f64 = 1.5;
/// The fall that makes a length, dB.
const FALL_DB: f64 = 20.0;
/// A wave is read so far, and not into the next hit.
const LONGEST_READ_MS: f64 = 420.0;
const READ_PART: f64 = 0.9;

pub(crate) fn find(evidence: &Evidence) -> Vec<Finding> {
    let (Some(mix), Some(passage)) = (&evidence.mix, &evidence.passage) else {
        return Vec::new();
    };
    let low_end = &evidence.low_end;
    // Without a bass the kick may be the bass.
    if low_end.bass.is_empty() || low_end.sixteenths.is_empty() {
        return Vec::new();
    }
    let slot_s = passage.bar_s / low_end.sixteenths.len() as f64;
    let bars = (passage.span_s.1 - passage.span_s.0) / passage.bar_s.max(1e-9);
    let Some(ringing) = Ringing::of(low_end, bars) else {
        return Vec::new();
    };
    let gap_ms = 1000.0 * slot_s * ringing.gap as f64;
    let longest_ms = 1000.0 * slot_s * ringing.longest_gap as f64;
    let by_fall_ms = gap_ms * FALL_DB / ringing.fall_db;
    // A wave that was read to its end tells; else what is left before the next.
    let read_ms = mix.kick.as_ref().map(|kick| kick.length_ms);
    let length_ms = match read_ms {
        Some(ms) if ms < LONGEST_READ_MS.min(READ_PART * longest_ms) => ms,
        _ => by_fall_ms,
    };
    let percent = (100.0 * length_ms / gap_ms).min(400.0);
    let Some(grade) = KIND.sizes.grade(percent) else {
        return Vec::new();
    };
    let words = format!(
        "The kick is too long: just before the next one, {gap_ms:.0} ms later, it has fallen by \
         only {:.0} dB.",
        ringing.fall_db
    );
    let row = |name: &str, value: f64, meant: bool| PictureRow {
        name: name.into(),
        value,
        meant,
    };
    let tempo = mix
        .tempo_bpm
        .map_or(String::new(), |bpm| format!(" at {bpm:.0} BPM"));
    vec![
        Finding::new(&KIND, grade, percent, words)
            .on(evidence.ids(&low_end.kick))
            .at(passage_span(evidence))
            .in_band((20.0, 150.0))
            .against(100.0, "20 dB down when the next kick comes")
            .mend(format!(
                "Shorten the kick to about {:.0} ms{tempo}: its decay first; take off what was \
                 added and rings on.",
                0.6 * gap_ms
            ))
            .hear("The kick's lows alone: there should be silence before the next one.")
            .picture(Picture::Bars {
                unit: "ms".into(),
                rows: vec![
                    row("kick", length_ms.min(4.0 * gap_ms), true),
                    row("gap", gap_ms, false),
                ],
                limit: Some(1.5 * gap_ms),
            }),
    ]
}

/// What is left of the kick before the next one.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Ringing {
    /// Middle and longest gap, in sixteenths.
    gap: usize,
    longest_gap: usize,
    /// Fall from the hit to the last sixteenth before the next one, dB, over one
    /// gap.
    fall_db: f64,
}

impl Ringing {
    fn of(low_end: &LowEndFacts, bars: f64) -> Option<Self> {
        let powers: Vec<f64> = low_end.sixteenths.iter().map(|slot| slot[0]).collect();
        let slots = powers.len();
        let loudest = powers.iter().copied().fold(0.0, f64::max);
        if loudest <= 0.0 {
            return None;
        }
        let before = |slot: usize| powers[(slot + slots - 1) % slots];
        let rises = |slot: usize| {
            ratio_db(powers[slot], loudest) >= -KICK_RANGE_DB
                && ratio_db(powers[slot], before(slot)) >= RISE_DB
        };
        // A late kick rises over two sixteenths: the first is its start.
        let starts: Vec<usize> = (0..slots)
            .filter(|&slot| rises(slot) && !rises((slot + slots - 1) % slots))
            .collect();
        if starts.is_empty() {
            return Self::without_falls(low_end, bars, &powers);
        }
        let of_start = |n: usize| {
            let (from, to) = (starts[n], starts[(n + 1) % starts.len()]);
            let gap = (to + slots - from - 1) % slots + 1;
            let fall_db = ratio_db(powers[from], before(to));
            // From the middle of the first to the middle of the last sixteenth.
            let span = gap.saturating_sub(1).max(1) as f64;
            Self {
                gap,
                longest_gap: gap,
                fall_db: fall_db.max(0.5) * gap as f64 / span,
            }
        };
        let mut gaps: Vec<Self> = (0..starts.len()).map(of_start).collect();
        gaps.sort_by_key(|ringing| ringing.gap);
        let longest_gap = gaps.last()?.gap;
        // Of gaps of one length the one in which it falls least.
        let middle = gaps[(gaps.len() - 1) / 2].gap;
        let alike = gaps.into_iter().filter(|ringing| ringing.gap == middle);
        let ringing = alike.min_by(|a, b| a.fall_db.total_cmp(&b.fall_db))?;
        Some(Self {
            longest_gap,
            ..ringing
        })
    }

    /// No start to be seen: no hit has fallen when the next one comes. Then the gap is
    /// the usual one of the hits that were found, and the kick falls by as much as the
    /// bar moves at all.
    fn without_falls(low_end: &LowEndFacts, bars: f64, powers: &[f64]) -> Option<Self> {
        let a_bar = low_end.hits.len() as f64 / bars.max(1e-9);
        if a_bar < 1.0 {
            return None;
        }
        let gap = ((powers.len() as f64 / a_bar).round() as usize).clamp(1, powers.len());
        let loudest = powers.iter().copied().fold(0.0, f64::max);
        let softest = powers.iter().copied().fold(f64::INFINITY, f64::min);
        Some(Self {
            gap,
            longest_gap: gap,
            fall_db: ratio_db(loudest, softest).max(0.5),
        })
    }
}

#[cfg(test)]
mod tests {
    use cupel_units::Role;

    use super::*;
    use crate::kind::Grade;
    use crate::kinds::low_end::trial::{kick, session};

    /// Four kicks a bar that fall by so much from sixteenth to sixteenth; beats of
    /// 500 ms.
    fn with(fall_db_per_slot: f64, read_ms: f64) -> Option<Grade> {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let fall = |slot: usize| 10f64.powf(-0.1 * fall_db_per_slot * (slot % 4) as f64);
        evidence.low_end.sixteenths = (0..16).map(|slot| [fall(slot), 0.0, fall(slot)]).collect();
        if let Some(mix) = &mut evidence.mix {
            mix.kick = Some(kick(50.0, read_ms));
        }
        find(&evidence).first().map(|finding| finding.grade)
    }

    #[test]
    fn graded_on_both_sides_of_each_limit() {
        // 20 dB in four sixteenths are 5 dB a sixteenth.
        assert_eq!(with(3.4, 450.0), None);
        assert_eq!(with(3.2, 450.0), Some(Grade::Look));
        assert_eq!(with(2.6, 450.0), Some(Grade::Look));
        assert_eq!(with(2.4, 450.0), Some(Grade::Mend));
        assert_eq!(with(0.6, 450.0), Some(Grade::Mend));
    }

    #[test]
    fn a_kick_that_hardly_falls_has_no_start_to_be_seen_and_is_long() {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let fall = |slot: usize| 10f64.powf(-0.04 * (slot % 4) as f64);
        evidence.low_end.sixteenths = (0..16).map(|slot| [fall(slot), 0.0, fall(slot)]).collect();
        if let Some(mix) = &mut evidence.mix {
            mix.kick = Some(kick(50.0, 450.0));
        }
        // nothing is known of its hits
        assert!(find(&evidence).is_empty());
        // four a bar, for 8 bars
        evidence.low_end.hits = vec![[1.0, 0.0, 1.0]; 32];
        let found = find(&evidence);
        assert_eq!(found[0].grade, Grade::Mend);
        assert!(found[0].sentence.contains("500 ms later"), "{found:?}");
    }

    #[test]
    fn a_kick_whose_wave_ends_early_is_not_long() {
        assert_eq!(with(2.0, 200.0), None);
    }

    #[test]
    fn two_hits_close_together_are_a_roll_and_no_long_kick() {
        let mut evidence = session(&[Role::Kick, Role::Bass]);
        let fall = |slots: f64| 10f64.powf(-0.5 * slots);
        let from = [0, 1, 2, 3, 4, 5, 0, 1, 0, 1, 2, 3, 4, 5, 6, 7];
        evidence.low_end.sixteenths = from
            .iter()
            .map(|&slots| [fall(f64::from(slots)), 0.0, 1.0])
            .collect();
        if let Some(mix) = &mut evidence.mix {
            mix.kick = Some(kick(50.0, 400.0));
        }
        assert!(find(&evidence).is_empty());
    }

    #[test]
    fn a_kick_that_is_the_bass_may_ring() {
        let mut evidence = session(&[Role::Kick, Role::Lead]);
        evidence.low_end.sixteenths = vec![[1.0, 0.0, 1.0]; 16];
        assert!(find(&evidence).is_empty());
    }
}
