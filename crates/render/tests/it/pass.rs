//! One pass of all tracks: the sum, threads, spans, groups.

use cupel_process::{LowCutSettings, Slope};
use cupel_render::{Block, RenderError, Sink, Span, run};

use crate::support::{Part, Tape, parts, plan, tape};

/// The sum in track order, from the definition.
fn plain_sum(parts: &[Part]) -> [Vec<f64>; 2] {
    let end = |part: &Part| part.sound[0].len() as i64 + part.start_frames;
    let frames = parts.iter().map(end).max().unwrap() as usize;
    let mut total = [vec![0.0; frames], vec![0.0; frames]];
    for part in parts {
        for (side, total) in total.iter_mut().enumerate() {
            let channel = &part.sound[side.min(part.sound.len() - 1)];
            for (n, x) in channel.iter().enumerate() {
                if let Ok(at) = usize::try_from(n as i64 + part.start_frames) {
                    total[at] += x;
                }
            }
        }
    }
    total
}

#[test]
fn untouched_it_is_the_plain_sum() {
    let folder = tempfile::tempdir().unwrap();
    let parts = parts();
    let tape = tape(&plan(folder.path(), &parts), None);
    assert!(tape.mix == plain_sum(&parts));
}

#[test]
fn threads_change_no_bit() {
    let folder = tempfile::tempdir().unwrap();
    let mut plan = plan(folder.path(), &parts());
    for (index, track) in plan.tracks.iter_mut().enumerate() {
        track.strip.gain_db = -1.7 * index as f64;
        track.strip.pan = 0.3 - 0.1 * index as f64;
        track.strip.low_cuts.push(LowCutSettings {
            cutoff_hz: 40.0 + 10.0 * index as f64,
            slope: Slope::Db24PerOctave,
        });
    }
    plan.groups[0].1.gain_db = -2.2;
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| tape(&plan, None))
    };
    let one = with(1);
    assert!(one == with(2) && one == with(5));
}

/// A span is that part of the whole; filters have settled by then.
#[test]
fn a_span_is_a_part_of_the_whole() {
    let folder = tempfile::tempdir().unwrap();
    let mut plan = plan(folder.path(), &parts());
    let whole = tape(&plan, None);
    let span = Span {
        start_frame: 29_999,
        frames: 17_003,
    };
    let inner = 29_999..29_999 + 17_003;
    let part = tape(&plan, Some(span));
    assert_eq!(part.mix[1], whole.mix[1][inner.clone()]);
    plan.tracks[0].strip.low_cuts.push(LowCutSettings {
        cutoff_hz: 100.0,
        slope: Slope::Db12PerOctave,
    });
    let (whole, part) = (tape(&plan, None), tape(&plan, Some(span)));
    let far = part.mix[0]
        .iter()
        .zip(&whole.mix[0][inner])
        .fold(0.0, |far: f64, (a, b)| far.max((a - b).abs()));
    assert!(far < 1e-9, "{far}");
}

/// Past the last track's end a span is silence.
#[test]
fn a_span_may_reach_past_the_end() {
    let folder = tempfile::tempdir().unwrap();
    let plan = plan(folder.path(), &parts());
    let whole = tape(&plan, None).mix[0].len();
    let start = whole - 100;
    let span = Span {
        start_frame: start as u64,
        frames: 100,
    };
    assert_eq!(tape(&plan, Some(span)).mix[0].len(), 100);
}

#[test]
fn stems_add_up_to_the_mix() {
    let folder = tempfile::tempdir().unwrap();
    let mut parts = parts();
    parts
        .iter_mut()
        .for_each(|part| part.group = part.group.or(Some(1)));
    let mut plan = plan(folder.path(), &parts);
    plan.groups[1].1.gain_db = -3.3;
    let tape = tape(&plan, None);
    for side in 0..2 {
        for (n, mix) in tape.mix[side].iter().enumerate() {
            let stems = tape.stems[0][side][n] + tape.stems[1][side][n];
            assert!((mix - stems).abs() < 1e-12, "{n}");
        }
    }
}

#[test]
fn no_track_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let plan = plan(folder.path(), &[]);
    let error = run(&plan, None, false, &mut Tape::default(), &|_| ()).unwrap_err();
    assert_eq!(error.to_string(), "no track is part of the mix");
}

/// A setting that no processor can do is named with its track.
#[test]
fn a_bad_setting_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let mut plan = plan(folder.path(), &parts());
    plan.tracks[2].strip.pan = 3.0;
    let error = run(&plan, None, false, &mut Tape::default(), &|_| ()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "cannot render track `2`: pan 3 is not between -1 and 1"
    );
}

struct Refuses;

impl Sink for Refuses {
    fn take(&mut self, _: &Block) -> Result<(), RenderError> {
        Err(RenderError::NoTracks)
    }
}

#[test]
fn a_sink_ends_the_pass() {
    let folder = tempfile::tempdir().unwrap();
    let plan = plan(folder.path(), &parts());
    assert!(run(&plan, None, false, &mut Refuses, &|_| ()).is_err());
}
