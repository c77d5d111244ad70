//! `cupel render`: dither and the comparison pair.

use crate::support::{
    Folder, Sound, library_lufs, number, peak_dbfs, read, samples_24, silence, sum, write, write_at,
};

/// TPDF dither makes the error's mean 0 and its variance a quarter step squared,
/// whatever the signal (Lipshitz, Wannamaker, Vanderkooy, "Quantization and
/// Dither: A Theoretical Survey", JAES 40(5), 1992). On silence the triangle
/// between -1 and 1 step, rounded, gives 0 in 3/4 and each of -1 and 1 in 1/8.
#[test]
fn integers_are_dithered() {
    let folder = Folder::of_four();
    let quiet: Sound = vec![silence(400_000)];
    folder.write("05 Vox.wav", &quiet);
    folder.run(&["render", "--format", "i24"]).expect(0);
    let written = samples_24(&folder.path("cupel/premaster.wav"));
    let four = Folder::four().map(|(_, sound)| sound);
    let exact = sum(&four.iter().collect::<Vec<_>>());
    let scale = f64::from(1 << 23);
    for (written, exact) in written.iter().zip(&exact) {
        let errors: Vec<f64> = written
            .iter()
            .zip(exact)
            .map(|(w, x)| f64::from(*w) - x * scale)
            .collect();
        let count = errors.len() as f64;
        let mean = errors.iter().sum::<f64>() / count;
        let variance = errors.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / count;
        // Four standard deviations of mean and variance over 288000 frames.
        assert!(mean.abs() < 0.004, "{mean}");
        assert!((variance - 0.25).abs() < 0.003, "{variance}");
        assert!(errors.iter().all(|e| e.abs() <= 1.5 + 1e-6));
        let silent = &written[exact.len()..];
        let share = |value: i32| {
            silent.iter().filter(|&&w| w == value).count() as f64 / silent.len() as f64
        };
        assert!((share(0) - 0.75).abs() < 0.006, "{}", share(0));
        assert!((share(1) - 0.125).abs() < 0.005, "{}", share(1));
        assert!((share(-1) - 0.125).abs() < 0.005, "{}", share(-1));
    }
    // The two sides get dither of their own.
    let (left, right) = (&written[0][288_000..], &written[1][288_000..]);
    let alike = left.iter().zip(right).filter(|(l, r)| l == r).count();
    // By chance: 0.75² + 2 · 0.125² = 0.594 of them.
    let share = alike as f64 / left.len() as f64;
    assert!((share - 0.594).abs() < 0.01, "{share}");
}

/// Loudness of both files by an independent library.
fn check_pair(folder: &Folder, format: &str) {
    let document = folder.json(&["render", "--format", format]);
    let (mix, mix_rate) = read(&folder.path("cupel/compare/mix.wav"));
    let (reference, reference_rate) = read(&folder.path("cupel/compare/reference.wav"));
    assert_eq!(mix_rate, reference_rate);
    let (a, b) = (
        library_lufs(&mix, mix_rate),
        library_lufs(&reference, mix_rate),
    );
    assert!((a - b).abs() < 0.1, "{a} {b}");
    let compare = &document["compare"];
    let gains = [
        number(&compare["mix_gain_db"]),
        number(&compare["reference_gain_db"]),
    ];
    assert!(gains.iter().all(|gain| *gain <= 0.0), "{gains:?}");
    assert_eq!(
        gains.iter().fold(f64::MIN, |a, b| a.max(*b)),
        0.0,
        "{gains:?}"
    );
    assert!((number(&compare["loudness_lufs"]) - a).abs() < 0.05, "{a}");
}

#[test]
fn the_pair_is_equally_loud() {
    // The reference is louder, at another rate and of another length.
    let folder = Folder::of_four();
    write_at(&folder.path("reference.wav"), &Folder::reference(), 44_100);
    folder.run(&["balance"]).expect(0);
    check_pair(&folder, "f32");
    check_pair(&folder, "i24");
}

#[test]
fn a_louder_mix_is_turned_down() {
    let folder = Folder::of_four();
    let soft: Sound = crate::support::scaled(&Folder::reference(), -20.0);
    write(&folder.path("reference.wav"), &soft);
    folder.run(&["open", "."]).expect(0);
    check_pair(&folder, "f32");
    let (reference, _) = read(&folder.path("cupel/compare/reference.wav"));
    // Untouched but for its ends.
    assert!((peak_dbfs(&reference) - peak_dbfs(&soft)).abs() < 1e-6);
}

#[test]
fn a_silent_reference_gives_no_pair() {
    let folder = Folder::of_four();
    write(&folder.path("reference.wav"), &vec![silence(200_000); 2]);
    let document = folder.json(&["render"]);
    assert!(document["compare"].is_null());
    assert!(
        document["notes"].to_string().contains("silent"),
        "{}",
        document["notes"]
    );
    assert!(!folder.path("cupel/compare").exists());
}
