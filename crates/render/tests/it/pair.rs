//! The comparison pair.

use std::path::Path;

use cupel_audio::SampleFormat;
use cupel_render::{Side, write_pair};

use crate::support::{RATE_HZ, noise, read, write};

fn side(path: &Path, start_s: f64, end_s: f64) -> Side<'_> {
    Side {
        path,
        start_s,
        end_s,
    }
}

/// White noise scaled by a factor is louder by that factor in decibels, so the
/// gain that matches it is known.
#[test]
fn the_louder_is_turned_down_by_the_difference() {
    let dir = tempfile::tempdir().unwrap();
    let (mix, reference) = (dir.path().join("m.wav"), dir.path().join("r.wav"));
    let sound = noise(1, 3 * RATE_HZ as usize);
    let soft: Vec<f64> = sound.iter().map(|x| x * 0.25).collect();
    write(&mix, std::slice::from_ref(&soft));
    write(&reference, &[sound]);
    let pair = write_pair(
        side(&mix, 0.5, 2.5),
        side(&reference, 0.5, 2.5),
        RATE_HZ,
        SampleFormat::F32,
        dir.path(),
    )
    .unwrap();
    assert_eq!(pair.mix_gain_db, 0.0);
    // 20 log10(1/4)
    assert!(
        (pair.reference_gain_db + 12.0412).abs() < 1e-3,
        "{}",
        pair.reference_gain_db
    );
    assert!(pair.difference_lu.abs() < 1e-3, "{}", pair.difference_lu);
    let [left, right] = read(&dir.path().join("mix.wav"));
    assert_eq!(left.len(), 2 * RATE_HZ as usize);
    // Ends fade within 10 ms, all else is as it was.
    let start = RATE_HZ as usize / 2;
    let inner = 480..left.len() - 480;
    let expected: Vec<f64> = soft[start..][inner.clone()]
        .iter()
        .map(|x| f64::from(*x as f32))
        .collect();
    assert!(left[inner] == expected && left == right);
    assert_eq!((left[0], left[left.len() - 1]), (0.0, 0.0));
}

#[test]
fn silence_cannot_be_matched() {
    let dir = tempfile::tempdir().unwrap();
    let (mix, reference) = (dir.path().join("m.wav"), dir.path().join("r.wav"));
    write(&mix, &[noise(1, 96_000)]);
    write(&reference, &[vec![0.0; 96_000]]);
    let sides = (side(&mix, 0.0, 2.0), side(&reference, 0.0, 2.0));
    let error = write_pair(sides.0, sides.1, RATE_HZ, SampleFormat::F32, dir.path()).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("the passage of `reference` is silent"),
        "{error}"
    );
    assert!(error.hint().unwrap().contains("[passage]"));
    assert!(!dir.path().join("mix.wav").exists());
}
