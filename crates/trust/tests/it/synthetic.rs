//! Judgements on sessions made here, each with one thing changed.

use cupel_trust::{
    Cause, LeftOutWhy, Polarity, Source, Stream, TrackInput, Trust, TrustError, TrustInput,
    Verdict, judge,
};

use crate::music::{RATE_HZ, Random, limiter, reverb, session, shelf};
use crate::support::{Sound, Track, judged, mix, sum};

fn check(tracks: &[Track], rough: Option<&Sound>) -> Trust {
    judged(tracks, rough, RATE_HZ)
}

fn causes(trust: &Trust) -> Vec<Cause> {
    trust.differences.iter().map(|d| d.cause).collect()
}

fn codes(trust: &Trust) -> Vec<&str> {
    trust.notes.iter().map(|note| note.code.as_str()).collect()
}

fn left_out(trust: &Trust) -> Vec<&str> {
    trust
        .tracks_left_out
        .iter()
        .map(|l| l.id.as_str())
        .collect()
}

#[test]
fn an_ordinary_session_gets_no_finding() {
    for seed in 1..=5 {
        let trust = check(&session(seed), None);
        assert_eq!(trust.verdict, Verdict::Untested);
        assert!(trust.can_judge_balance);
        assert_eq!(left_out(&trust), Vec::<&str>::new());
        assert!(
            trust.near_identical.is_empty(),
            "{:?}",
            trust.near_identical
        );
        assert!(trust.notes.is_empty(), "{:?}", trust.notes);
    }
}

#[test]
fn a_late_inverted_quieter_bounce_adds_up() {
    let tracks = session(1);
    let mut rough = Sound::silence(777);
    rough.add(&sum(&tracks), -0.5, 777);
    let trust = check(&tracks, Some(&rough));
    assert_eq!(trust.verdict, Verdict::AddsUp, "{trust:?}");
    assert_eq!(trust.rough_lag_samples, Some(777));
    assert_eq!(trust.rough_polarity, Some(Polarity::Inverted));
    assert_eq!(trust.faders_in_files, Some(true));
    let gain_db = trust.rough_gain_db.expect("faders agree");
    assert!((gain_db + 6.0206).abs() < 0.01, "{gain_db}");
    assert!(trust.residual_db.expect("bounce") < -100.0);
    // At unity: y = -s/2, so half the sum is too much: 0 dB.
    assert!(trust.raw_residual_db.expect("bounce").abs() < 0.01);
}

#[test]
fn a_bounce_of_one_part_is_placed_far_off() {
    let tracks = session(2);
    let start = 21 * RATE_HZ as usize + 5;
    let rough = sum(&tracks).cut(start, 15 * RATE_HZ as usize);
    let trust = check(&tracks, Some(&rough));
    assert_eq!(trust.rough_lag_samples, Some(-(start as i64)));
    assert!(trust.residual_db.expect("bounce") < -100.0);
    assert!(codes(&trust).contains(&"bounce_is_part"));
}

#[test]
fn faders_are_recovered() {
    let tracks = session(3);
    let moved: Vec<f64> = (0..14).map(|i| f64::from((i * 5) % 14) - 8.0).collect();
    let trust = check(&tracks, Some(&mix(&tracks, &moved)));
    assert_eq!(trust.faders_in_files, Some(false));
    assert_eq!(trust.verdict, Verdict::AddsUpBut);
    assert_eq!(causes(&trust), [Cause::Faders]);
    let overall_db = trust.rough_gain_db.unwrap_or(0.0);
    for (gain, truth) in trust.gains.iter().zip(&moved) {
        let db = gain.gain_db.expect("heard") + overall_db;
        assert!(
            gain.confident && (db - truth).abs() < 0.05,
            "{gain:?} {truth}"
        );
    }
}

#[test]
fn groups_and_the_mix_among_the_tracks_are_left_out() {
    let mut tracks = session(4);
    let truth = sum(&tracks);
    let drums = sum(&tracks[..4]).scaled(0.7);
    tracks.insert(2, Track::new("drum group", drums));
    tracks.push(Track::new("whole mix", truth.clone()));
    for rough in [None, Some(&truth)] {
        let trust = check(&tracks, rough);
        assert_eq!(left_out(&trust), ["drum group", "whole mix"]);
        assert!(
            trust
                .tracks_left_out
                .iter()
                .all(|l| l.why == LeftOutWhy::Sum)
        );
        assert_eq!(
            trust.tracks_left_out[0].of,
            ["kick", "clap", "closed hat", "open hat"]
        );
        assert_eq!(trust.tracks_left_out[1].of.len(), 14);
        if rough.is_some() {
            assert_eq!(trust.verdict, Verdict::AddsUp);
        }
    }
}

#[test]
fn a_sum_is_named_not_its_largest_part() {
    let mut tracks = session(5);
    tracks.truncate(2);
    // c = a + b with b 30 dB down: a is nearly c, but c is the sum.
    tracks[1].sound = tracks[1].sound.scaled(0.1);
    tracks.insert(0, Track::new("c", sum(&tracks)));
    assert_eq!(left_out(&check(&tracks, None)), ["c"]);
}

#[test]
fn a_lightly_driven_group_is_probably_a_sum() {
    let mut tracks = session(6);
    let group = sum(&tracks[7..11]).map(|s| (1.5 * s).tanh() / 1.5);
    tracks.push(Track::new("music group", group));
    let trust = check(&tracks, None);
    assert_eq!(left_out(&trust), ["music group"]);
    assert_eq!(trust.tracks_left_out[0].why, LeftOutWhy::ProbablySum);
    assert_eq!(trust.tracks_left_out[0].of.len(), 4);
}

#[test]
fn a_late_inverted_copy_is_named() {
    let mut tracks = session(7);
    let mut copy = Sound::silence(300);
    copy.add(&tracks[3].sound, -0.5, 300);
    tracks.push(Track::new("copy", copy));
    let trust = check(&tracks, None);
    assert_eq!(trust.near_identical.len(), 1);
    let found = &trust.near_identical[0];
    assert_eq!((found.a.as_str(), found.b.as_str()), ("open hat", "copy"));
    assert_eq!(found.lag_samples, 300);
    assert!(found.exact && found.correlation < -0.999);
    assert!((found.level_db + 6.02).abs() < 0.05, "{found:?}");
    assert!(trust.tracks_left_out.is_empty());
}

#[test]
fn a_copy_is_left_out_only_if_the_bounce_shows_it() {
    let tracks = session(8);
    let once = sum(&tracks);
    let mut doubled = tracks.clone();
    doubled.push(Track::new("copy", tracks[11].sound.clone()));
    let twice = sum(&doubled);
    let alone = check(&doubled, None);
    assert_eq!(alone.near_identical.len(), 1);
    assert!(alone.tracks_left_out.is_empty());
    let trust = check(&doubled, Some(&once));
    assert_eq!(left_out(&trust), ["copy"]);
    assert_eq!(trust.tracks_left_out[0].why, LeftOutWhy::Duplicate);
    assert_eq!(trust.faders_in_files, Some(true));
    let trust = check(&doubled, Some(&twice));
    assert!(trust.tracks_left_out.is_empty());
    assert_eq!(trust.verdict, Verdict::AddsUp);
}

#[test]
fn trimmed_files_are_found() {
    let tracks = session(9);
    let rough = sum(&tracks);
    // One hat repeated exactly, so that shifts by a beat look alike.
    for index in [1, 3, 7, 9, 13] {
        let mut trimmed = tracks.clone();
        let (start, end) = tracks[index].sound.sounding();
        trimmed[index].sound = tracks[index].sound.cut(start, end - start);
        let trust = check(&trimmed, Some(&rough));
        let starts: Vec<(&str, u64)> = trust
            .starts
            .iter()
            .map(|s| (s.id.as_str(), s.start_frames))
            .collect();
        assert_eq!(starts, [(tracks[index].name.as_str(), start as u64)]);
        assert!(trust.residual_db.expect("bounce") < -60.0);
        // A start that is known is not looked for.
        trimmed[index].start_known = true;
        assert!(check(&trimmed, Some(&rough)).starts.is_empty());
    }
}

#[test]
fn an_exact_loop_is_found_by_its_ends() {
    let mut tracks = session(10);
    let one_bar = tracks[2].sound.cut(46_080, 46_080);
    let mut loop_track = Sound::default();
    for bar in 0..12 {
        loop_track.add(&one_bar, 1.0, bar * 46_080);
    }
    let start = 5 * 46_080 + 1;
    let mut rough = sum(&tracks);
    rough.add(&loop_track, 1.0, start);
    tracks.push(Track::new("loop", loop_track));
    let trust = check(&tracks, Some(&rough));
    assert_eq!(trust.starts.len(), 1, "{:?}", trust.notes);
    assert_eq!(trust.starts[0].start_frames, start as u64);
}

#[test]
fn a_file_that_fits_two_places_is_not_placed() {
    let mut tracks = session(11);
    let clip = session(12)[11]
        .sound
        .cut(20 * RATE_HZ as usize, 4 * RATE_HZ as usize);
    let mut rough = sum(&tracks);
    rough.add(&clip, 1.0, 8 * RATE_HZ as usize);
    rough.add(&clip, 1.0, 25 * RATE_HZ as usize);
    tracks.push(Track::new("clip", clip));
    let trust = check(&tracks, Some(&rough));
    assert!(trust.starts.is_empty(), "{:?}", trust.starts);
    assert!(
        codes(&trust).contains(&"start_unclear"),
        "{:?}",
        trust.notes
    );
}

#[test]
fn a_limiter_on_the_mix_leaves_the_balance_judgeable() {
    let tracks = session(13);
    let truth = sum(&tracks);
    let rough = limiter(&truth, RATE_HZ, truth.peak() * 0.45);
    let trust = check(&tracks, Some(&rough));
    assert_eq!(trust.verdict, Verdict::AddsUpBut, "{trust:?}");
    assert_eq!(causes(&trust)[0], Cause::MixDynamics);
    assert!(trust.can_judge_balance && trust.how_to_export.is_none());
    let ceiling = 0.3 * truth.peak();
    let clipped = truth.map(|s| s.clamp(-ceiling, ceiling));
    let trust = check(&tracks, Some(&clipped));
    assert_eq!(causes(&trust)[0], Cause::MixDynamics, "{trust:?}");
}

#[test]
fn an_equaliser_on_the_mix_is_named() {
    let tracks = session(14);
    let rough = shelf(&sum(&tracks), RATE_HZ, 3000.0, 5.0);
    let trust = check(&tracks, Some(&rough));
    assert_eq!(causes(&trust)[0], Cause::MixTone, "{trust:?}");
    assert!(trust.can_judge_balance);
}

#[test]
fn a_missing_track_is_said_to_be_missing() {
    for (seed, missing) in [(15, 0), (16, 7), (17, 11), (18, 13), (19, 1)] {
        let tracks = session(seed);
        let mut fewer = tracks.clone();
        fewer.remove(missing);
        let trust = check(&fewer, Some(&sum(&tracks)));
        assert_eq!(
            causes(&trust)[0],
            Cause::MissingTrack,
            "{}: {trust:?}",
            tracks[missing].name
        );
        if missing == 0 {
            assert_eq!(trust.verdict, Verdict::DoesNotAddUp);
            assert!(!trust.can_judge_balance && trust.how_to_export.is_some());
        }
    }
}

#[test]
fn a_missing_return_is_said_to_be_a_return() {
    let tracks = session(20);
    let mut sent = tracks[1].sound.clone();
    sent.add(&tracks[11].sound, 1.0, 0);
    sent.add(&tracks[12].sound, 1.0, 0);
    let mut rough = sum(&tracks);
    rough.add(&reverb(&sent, RATE_HZ, 1.8), 0.5, 0);
    let trust = check(&tracks, Some(&rough));
    assert_eq!(causes(&trust)[0], Cause::Return, "{trust:?}");
}

#[test]
fn a_processed_track_and_a_muted_one_are_named() {
    let tracks = session(21);
    let mut changed = tracks.clone();
    changed[8].sound = shelf(&changed[8].sound, RATE_HZ, 800.0, -12.0);
    let trust = check(&tracks, Some(&sum(&changed)));
    assert_eq!(causes(&trust)[0], Cause::TrackProcessing, "{trust:?}");
    assert_eq!(trust.differences[0].tracks, ["chords"]);
    changed = tracks.clone();
    changed.remove(6);
    let trust = check(&tracks, Some(&sum(&changed)));
    assert_eq!(causes(&trust), [Cause::NotInBounce], "{trust:?}");
    assert_eq!(trust.differences[0].tracks, ["rim"]);
    assert_eq!(trust.verdict, Verdict::AddsUpBut);
}

#[test]
fn a_file_beside_its_place_is_found_to_the_sample() {
    let tracks = session(22);
    let rough = sum(&tracks);
    assert!(check(&tracks, Some(&rough)).wrong_starts.is_empty());
    for (place, frames) in [(1, 88), (8, 200), (3, 30)] {
        let mut moved = tracks.clone();
        let mut late = Sound::silence(frames);
        late.add(&tracks[place].sound, 1.0, frames);
        moved[place].sound = late;
        let trust = check(&moved, Some(&rough));
        let found = &trust.wrong_starts;
        assert_eq!(found.len(), 1, "{} {trust:?}", moved[place].name);
        assert_eq!(found[0].id, moved[place].name);
        let late_s = frames as f64 / f64::from(RATE_HZ);
        assert!((found[0].late_s - late_s).abs() < 1e-6, "{found:?}");
        assert!(found[0].explained > 0.9);
    }
    // and a processed one lies at its place
    let mut changed = tracks.clone();
    changed[8].sound = shelf(&changed[8].sound, RATE_HZ, 800.0, -12.0);
    assert!(check(&tracks, Some(&sum(&changed))).wrong_starts.is_empty());
}

#[test]
fn the_bounce_of_another_piece_is_refused() {
    let mut random = Random::new(99);
    let noise = Sound::new(
        (0..800_000).map(|_| 0.1 * random.next()).collect(),
        (0..800_000).map(|_| 0.1 * random.next()).collect(),
    );
    let trust = check(&session(22), Some(&noise));
    assert_eq!(trust.verdict, Verdict::DoesNotAddUp);
    assert!(!trust.can_judge_balance && trust.how_to_export.is_some());
}

#[test]
fn remarks_on_the_files_alone() {
    let mut tracks = session(23);
    for track in &mut tracks {
        track.sound = track.sound.scaled(0.9 / track.sound.peak());
    }
    assert_eq!(codes(&check(&tracks, None)), ["normalised"]);
    let mut tracks = session(23);
    tracks[2].ceiling_dbfs = Some(-0.30);
    tracks[5].ceiling_dbfs = Some(-0.32);
    tracks[4].sound = Sound::silence(tracks[4].sound.len());
    let trust = check(&tracks, None);
    assert_eq!(codes(&trust), ["silent_track", "common_ceiling"]);
    assert_eq!(trust.notes[1].tracks, ["closed hat", "tom"]);
    let mut tracks = session(23);
    let (start, end) = tracks[10].sound.sounding();
    tracks[10].sound = tracks[10].sound.cut(start, end - start);
    assert_eq!(
        codes(&check(&tracks, None)),
        ["different_lengths", "maybe_trimmed"]
    );
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let tracks = session(24);
    let truth = sum(&tracks);
    let rough = limiter(&truth, RATE_HZ, truth.peak() * 0.6);
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("threads start")
            .install(|| check(&tracks, Some(&rough)))
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn odd_sessions_are_answered() {
    let trust = check(&[], None);
    assert_eq!(trust.verdict, Verdict::Untested);
    let silent = [Track::new("silent", Sound::silence(48_000))];
    assert_eq!(check(&silent, None).verdict, Verdict::Untested);
    let rough = sum(&session(1)[..1]);
    assert_eq!(check(&silent, Some(&rough)).verdict, Verdict::DoesNotAddUp);
    assert_eq!(
        check(&[], Some(&Sound::default())).verdict,
        Verdict::DoesNotAddUp
    );
    let one = [Track::new("only", rough.clone())];
    assert_eq!(check(&one, Some(&rough)).verdict, Verdict::AddsUp);
    let nan = [Track::new(
        "broken",
        rough.map(|s| if s > 0.3 { f32::NAN } else { s }),
    )];
    assert_ne!(check(&nan, Some(&rough)).verdict, Verdict::Untested);
}

struct Unreadable;

impl Source for Unreadable {
    fn open(&self) -> Result<Box<dyn Stream>, TrustError> {
        Err(TrustError::Read {
            file: "lost.wav".to_owned(),
            reason: "it is gone".to_owned(),
        })
    }

    fn frames(&self) -> u64 {
        480_000
    }
}

#[test]
fn bad_inputs_are_errors() {
    let curve = vec![-20.0f32; 100];
    let track = TrackInput {
        id: "a",
        file: "lost.wav",
        source: &Unreadable,
        mono: false,
        start_known: false,
        max_momentary_lufs: Some(-20.0),
        momentary_lufs: &curve,
        sample_peak_dbfs: Some(-6.0),
        ceiling_dbfs: None,
    };
    let ask = |tracks: &[TrackInput], sample_rate_hz: u32| {
        let input = TrustInput {
            sample_rate_hz,
            tracks,
            rough: None,
        };
        judge(&input, &|_| ())
    };
    assert!(matches!(
        ask(&[track], 48_000),
        Err(TrustError::Read { .. })
    ));
    assert!(matches!(
        ask(&[track, track], 48_000),
        Err(TrustError::RepeatedId { .. })
    ));
    assert!(matches!(
        ask(&[], 4),
        Err(TrustError::SampleRate { given: 4, .. })
    ));
}
