//! Truth and samples agree.

use cupel_demo::{DemoSettings, FaultPlan, Session, make};

use crate::support::{channel, peak_dbfs, short, true_mix};

#[test]
fn true_mix_peaks_3_db_below_full_scale() {
    for seed in [1, 2] {
        let session = make(&short(seed)).unwrap();
        assert!(!session.truth.faults.is_empty());
        let peak = peak_dbfs(&true_mix(&session));
        assert!((peak + 3.0).abs() < 0.01, "{peak}");
        assert_eq!(session.truth.mix.sample_peak_dbfs, -3.0);
    }
}

#[test]
fn without_faults_the_tracks_are_the_true_mix() {
    let settings = DemoSettings {
        faults: FaultPlan::None,
        ..short(4)
    };
    let session = make(&settings).unwrap();
    assert!(session.truth.faults.is_empty());
    assert!(
        session
            .truth
            .tracks
            .iter()
            .all(|track| track.mistake_db == 0.0)
    );
    assert_eq!(session.truth.mix, session.truth.bounce.mix);
    assert!((peak_dbfs(&true_mix(&session)) + 3.0).abs() < 0.01);
}

/// Tracks with and without mistakes differ by exactly what the truth says.
#[test]
fn mistakes_are_as_stated() {
    let with = make(&short(6)).unwrap();
    let settings = DemoSettings {
        faults: FaultPlan::None,
        ..short(6)
    };
    let without = make(&settings).unwrap();
    for ((a, b), truth) in with
        .tracks
        .iter()
        .zip(&without.tracks)
        .zip(&with.truth.tracks)
    {
        let offset = fault_of(&with, &a.file, |fault| fault.offset_linear);
        let gain = 10f64.powf(truth.mistake_db / 20.0);
        let clean = channel(&b.samples, 0);
        for (x, y) in channel(&a.samples, 0).iter().zip(&clean) {
            let error = x - (gain * y + offset.unwrap_or(0.0));
            assert!(error.abs() < 1e-6, "{}: {error}", a.file);
        }
        if let Some(cut_s) = fault_of(&with, &a.file, |fault| fault.cut_s) {
            let frames = a.samples.frames();
            assert_eq!(frames, (cut_s * 44_100.0).round() as usize);
            let heard = clean[frames..].iter().fold(0.0f64, |p, x| p.max(x.abs()));
            assert!(
                heard > 1e-3 * b.samples.peak_linear(),
                "{}: {heard}",
                a.file
            );
        } else {
            assert_eq!(a.samples.frames(), b.samples.frames());
        }
    }
}

fn fault_of(
    session: &Session,
    file: &str,
    pick: impl Fn(&cupel_demo::FaultTruth) -> Option<f64>,
) -> Option<f64> {
    let mut own = session.truth.faults.iter();
    own.find_map(|fault| {
        if fault.track.as_deref() == Some(file) {
            pick(fault)
        } else {
            None
        }
    })
}

/// From silence or a decayed kick, the 2 ms after a stated time hold far more
/// energy than the 2 ms before, and the first sample out of silence lies there.
#[test]
fn kicks_start_where_the_truth_says() {
    let session = make(&short(8)).unwrap();
    let wave = channel(&session.tracks[0].samples, 0);
    let rate = f64::from(session.truth.sample_rate_hz);
    let window = (0.002 * rate) as usize;
    let energy = |range: &[f64]| range.iter().map(|x| x * x).sum::<f64>();
    let slope = |from: usize, to: usize| {
        // differences favour the click over the tail of the kick before
        let steps: Vec<f64> = wave[from..to]
            .windows(2)
            .map(|two| two[1] - two[0])
            .collect();
        energy(&steps)
    };
    assert!(session.truth.kick_times_s.len() > 20);
    for &time_s in &session.truth.kick_times_s {
        let at = (time_s * rate).round() as usize;
        let after = slope(at, at + window);
        let before = slope(at.saturating_sub(window), at);
        assert!(after > 10.0 * before, "{time_s}: {before} {after}");
    }
    let first = wave.iter().position(|x| x.abs() > 1e-4).unwrap() as f64 / rate;
    assert!(
        (first - session.truth.kick_times_s[0]).abs() < 0.002,
        "{first}"
    );
}

#[test]
fn the_pair_of_shakers_balances_until_it_leans() {
    let session = make(&short(9)).unwrap();
    let shakers: Vec<usize> = (0..session.tracks.len())
        .filter(|&index| session.truth.tracks[index].role == "shaker")
        .collect();
    let power = |index: usize, side: usize| -> f64 {
        let truth = &session.truth.tracks[index];
        let undo = 10f64.powf(-truth.mistake_db / 10.0);
        let wave = channel(&session.tracks[index].samples, side);
        undo * wave.iter().map(|x| x * x).sum::<f64>()
    };
    let side_power = |side: usize| shakers.iter().map(|&index| power(index, side)).sum::<f64>();
    let lean_db = 10.0 * (side_power(1) / side_power(0)).log10();
    assert!(lean_db.abs() < 0.5, "{lean_db}");
    let faults = &session.truth.faults;
    assert!(faults.iter().any(|fault| fault.fault == "pair leans"));
}
