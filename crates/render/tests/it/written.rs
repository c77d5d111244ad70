//! Written outputs: whole or not at all, and measured as they are.

use std::fs;

use cupel_audio::SampleFormat;
use cupel_render::{measure_mix, write_outputs};

use crate::support::{parts, plan, read, tape};

#[test]
fn files_hold_the_pass_rounded_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut plan = plan(folder.path(), &parts());
    plan.tracks[1].strip.gain_db = -2.5;
    let out = folder.path().join("out");
    let written = write_outputs(&plan, &out, SampleFormat::F32, &[vec![0, 3]], &|_| ()).unwrap();
    let tape = tape(&plan, None);
    let pairs = [
        (&tape.mix, "premaster.wav"),
        (&tape.stems[0], "groups/drums.wav"),
        (&tape.stems[1], "groups/music.wav"),
    ];
    for (exact, name) in pairs {
        let file = read(&out.join(name));
        for side in 0..2 {
            let rounded: Vec<f64> = exact[side].iter().map(|x| f64::from(*x as f32)).collect();
            assert!(file[side] == rounded, "{name}");
        }
    }
    assert_eq!(written.frames as usize, tape.mix[0].len());
    assert_eq!(written.limited_samples, 0);
    // The sum of tracks 0 and 3 is the first stem: both are all of its group.
    let peak = tape.stems[0]
        .iter()
        .flatten()
        .fold(0.0, |p: f64, x| p.max(x.abs()));
    let found = written.peaks_dbfs[0].unwrap();
    assert!((found - 20.0 * peak.log10()).abs() < 1e-9, "{found}");
    // Writing measures what only measuring does.
    let heard = measure_mix(&plan, &[vec![0, 3]], &|_| ()).unwrap();
    assert_eq!(heard.mix.summary, written.mix.summary);
    assert_eq!(heard.peaks_dbfs, written.peaks_dbfs);
}

/// Noise of full scale on six tracks is far over full scale.
#[test]
fn what_integers_cannot_hold_is_counted() {
    let folder = tempfile::tempdir().unwrap();
    let plan = plan(folder.path(), &parts());
    let out = folder.path().join("out");
    let written = write_outputs(&plan, &out, SampleFormat::I24, &[], &|_| ()).unwrap();
    let over = tape(&plan, None)
        .mix
        .iter()
        .flatten()
        .filter(|x| x.abs() > 1.0)
        .count();
    assert!(over > 1000);
    // Dither decides about those at the very edge.
    assert!(written.limited_samples.abs_diff(over as u64) < 10, "{over}");
}

#[test]
fn a_track_that_cannot_be_read_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let plan = plan(folder.path(), &parts());
    fs::write(&plan.tracks[4].path, b"no audio").unwrap();
    let out = folder.path().join("out");
    let error = write_outputs(&plan, &out, SampleFormat::F32, &[], &|_| ()).unwrap_err();
    assert!(error.to_string().contains("4.wav"), "{error}");
    assert!(error.hint().is_some());
    let files = |path| {
        fs::read_dir(path)
            .unwrap()
            .filter(|e| e.as_ref().unwrap().path().is_file())
    };
    assert_eq!(
        files(out.clone()).count() + files(out.join("groups")).count(),
        0
    );
}

/// A place that cannot be written ends the render, and nothing stays.
#[test]
fn a_place_that_cannot_be_written_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let plan = plan(folder.path(), &parts());
    let out = folder.path().join("out");
    fs::write(&out, "a file, not a folder").unwrap();
    let error = write_outputs(&plan, &out, SampleFormat::F32, &[], &|_| ()).unwrap_err();
    assert!(error.to_string().starts_with("cannot write `"), "{error}");
    assert_eq!(fs::read_to_string(&out).unwrap(), "a file, not a folder");
}
