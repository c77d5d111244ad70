//! What trials ask for beyond the styles: tuning, drift, no beat, loud drums, other
//! starts, drawn patterns and sections.

use cupel_demo::{
    Arrangement, DemoSettings, Key, MIX, Mode, Patterns, PieceTruth, Role, compose, generate_mix,
    make, make_mix, synthesise,
};

use crate::support::{channel, read_file, short};

fn quiet() -> impl Fn(f64, &str) + Sync {
    |_, _| {}
}

/// Frequency of a sub note, from upward zero crossings over half a second.
fn sub_hz(tuning_cents: f64) -> f64 {
    let settings = DemoSettings {
        tuning_cents,
        style: cupel_demo::Style::DrumAndBass,
        key: Some(Key {
            tonic: 9,
            mode: Mode::Minor,
        }),
        ..short(4)
    };
    let song = compose(&settings).unwrap().session;
    let sub = song.parts.iter().position(|p| p.role == Role::Sub).unwrap();
    let wave = channel(&synthesise(&song, sub), 0);
    let rate = f64::from(song.sample_rate_hz);
    let start = wave.iter().position(|x| x.abs() > 0.3).unwrap() + (0.05 * rate) as usize;
    let crossings: Vec<f64> = (start..start + (0.5 * rate) as usize)
        .filter(|&n| wave[n - 1] < 0.0 && wave[n] >= 0.0)
        .map(|n| n as f64 - wave[n] / (wave[n] - wave[n - 1]))
        .collect();
    let last = crossings.len() - 1;
    last as f64 * rate / (crossings[last] - crossings[0])
}

/// ISO 16: a cent is 2^(1/1200).
#[test]
fn tuning_moves_the_pitch() {
    let cents = 1200.0 * (sub_hz(-35.0) / sub_hz(0.0)).log2();
    assert!((cents + 35.0).abs() < 1.0, "{cents}");
    let truth = make(&DemoSettings {
        tuning_cents: -35.0,
        ..short(4)
    });
    let truth = truth.unwrap().truth;
    assert!((truth.tuning_hz - 440.0 * 2f64.powf(-35.0 / 1200.0)).abs() < 1e-5);
    assert_eq!(truth.reference.tuning_hz, 440.0);
}

fn energy(wave: &[f64]) -> f64 {
    wave.iter().map(|x| x * x).sum()
}

#[test]
fn a_cut_start_is_the_same_music_begun_later() {
    let (whole, cut) = (short(6), short(6));
    let whole = compose(&whole).unwrap().session;
    let cut = compose(&DemoSettings {
        start_s: -1.5,
        ..cut
    });
    let cut = cut.unwrap().session;
    let (a, b) = (synthesise(&whole, 0), synthesise(&cut, 0));
    let (a, b) = (channel(&a, 0), channel(&b, 0));
    let skipped = (1.5 * f64::from(whole.sample_rate_hz)) as usize;
    assert_eq!(a[skipped..], b[..]);
    assert!(energy(&b) > 0.0);
}

#[test]
fn silence_before_the_music_moves_every_time() {
    let late = DemoSettings {
        start_s: 2.25,
        ..short(6)
    };
    let (late, plain) = (make(&late).unwrap(), make(&short(6)).unwrap());
    assert_eq!(late.truth.first_downbeat_s, 2.25);
    for (a, b) in late
        .truth
        .kick_times_s
        .iter()
        .zip(&plain.truth.kick_times_s)
    {
        assert!((a - b - 2.25).abs() < 1e-5);
    }
    let silent = (2.2 * f64::from(late.truth.sample_rate_hz)) as usize;
    for track in late.tracks.iter().filter(|track| track.role == Role::Kick) {
        assert_eq!(energy(&channel(&track.samples, 0)[..silent]), 0.0);
    }
}

#[test]
fn drums_are_raised_by_what_is_asked() {
    let share_db = |drums_db: f64| {
        let settings = DemoSettings {
            drums_db,
            faults: cupel_demo::FaultPlan::None,
            ..short(8)
        };
        let session = make(&settings).unwrap();
        let of = |drums: bool| -> f64 {
            let tracks = session.tracks.iter().filter(|t| t.role.is_drum() == drums);
            tracks.map(|t| energy(&channel(&t.samples, 0))).sum()
        };
        10.0 * (of(true) / of(false)).log10()
    };
    let raised = share_db(12.0) - share_db(0.0);
    assert!((raised - 12.0).abs() < 0.01, "{raised}");
}

#[test]
fn a_mix_alone_is_what_its_truth_says() {
    let place = tempfile::tempdir().unwrap();
    let settings = DemoSettings {
        patterns: Patterns::Drawn,
        arrangement: Arrangement::Drawn,
        tempo_drift: 0.04,
        beats_per_bar: 3,
        ..short(9)
    };
    let truth = generate_mix(place.path(), &settings, &quiet()).unwrap();
    let text = std::fs::read_to_string(place.path().join("truth.json")).unwrap();
    assert_eq!(serde_json::from_str::<PieceTruth>(&text).unwrap(), truth);
    let (channels, rate) = read_file(&place.path().join(MIX));
    assert_eq!((channels.len(), rate), (2, truth.sample_rate_hz));
    let seconds = channels[0].len() as f64 / f64::from(rate);
    assert!((seconds - truth.mix.seconds).abs() < 1e-4);
    // three beats a bar, none of one length
    let beats = &truth.beats_s;
    assert_eq!(beats.len(), 3 * truth.bars.len());
    assert!(
        beats
            .chunks(3)
            .zip(&truth.bars)
            .all(|(beats, bar)| beats[0] == bar.start_s)
    );
    assert!((beats[1] - beats[0] - beats[9] + beats[8]).abs() > 1e-6);
    let busiest = truth.sections.iter().filter(|section| section.busiest);
    assert!(busiest.count() >= 1);
    // made again in place of the first
    assert_eq!(
        generate_mix(place.path(), &settings, &quiet()).unwrap(),
        truth
    );
}

#[test]
fn without_a_beat_there_are_no_drums() {
    for seed in 0..12 {
        let settings = DemoSettings {
            beatless: true,
            ..short(seed)
        };
        let piece = make_mix(&settings, &quiet()).unwrap();
        assert!(piece.truth.beatless && piece.truth.kick_times_s.is_empty());
        let pitched = ["pad", "vocal", "effects"];
        assert!(piece.truth.roles.iter().all(|r| pitched.contains(&&**r)));
        assert!(energy(&piece.record.samples[0]) > 0.0, "{seed}");
    }
}

/// The busiest section of a reference holds most layers, and each is described.
#[test]
fn layers_of_the_reference_are_told() {
    let truth = make(&short(11)).unwrap().truth;
    let layers = &truth.reference.layers;
    assert!(layers.len() >= 8, "{}", layers.len());
    let of = |role: &str| layers.iter().find(|layer| layer.role == role).unwrap();
    let kick = of("kick");
    assert!(kick.steps.iter().step_by(4).all(|share| *share > 0.8));
    assert!(kick.steps[2] == 0.0 && kick.low_hz < 100.0 && kick.width < 0.01);
    let hat = of("open hat");
    assert!(hat.low_hz > 3000.0 && hat.steps[2] > 0.8 && hat.steps[0] < 0.2);
    let shakers: Vec<_> = layers.iter().filter(|l| l.role == "shaker").collect();
    assert!(shakers[0].balance < -0.2 && shakers[1].balance > 0.2);
}
