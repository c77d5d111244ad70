//! From samples to layers: a kick, a clap and off-beat hats on the right.

use cupel_rhythm::BarLines;
use cupel_units::Role;

use crate::{
    FoldedSound, LayerContext, LayerFacts, LayerMeter, Verdict, arrangement_bands, compare_layers,
    find_layers, layers_of_tracks,
};

const RATE_HZ: f64 = 48_000.0;
const BARS: usize = 8;
const BAR_S: f64 = 2.0;

type Stereo = [Vec<f64>; 2];

/// Plays a sound of the time since its start on some sixteenths of every bar.
fn play(slots: &[usize], right: f64, mut sound: impl FnMut(f64) -> f64) -> Stereo {
    let frames = (BARS as f64 * BAR_S * RATE_HZ) as usize;
    let mut both = [vec![0.0; frames], vec![0.0; frames]];
    for bar in 0..BARS {
        for &slot in slots {
            let start = ((bar as f64 + slot as f64 / 16.0) * BAR_S * RATE_HZ) as usize;
            let [left, rights] = &mut both;
            let here = left.iter_mut().zip(rights).skip(start).take(12_000);
            for (since, (l, r)) in here.enumerate() {
                let x = sound(since as f64 / RATE_HZ);
                *l += (1.0 - right) * x;
                *r += right * x;
            }
        }
    }
    both
}

/// White noise, the same every time.
fn noise() -> impl FnMut() -> f64 {
    let mut state = 1u64;
    move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (state >> 33) as f64 / f64::from(1u32 << 30) - 1.0
    }
}

fn kick() -> Stereo {
    play(&[0, 4, 8, 12], 0.5, |t| {
        let phase = std::f64::consts::TAU * (50.0 * t - 5.0 * (-t / 0.03).exp());
        (-t / 0.08).exp() * phase.sin()
    })
}

fn clap() -> Stereo {
    let mut white = noise();
    let mut held = [0.0; 2];
    play(&[4, 12], 0.5, move |t| {
        // a band about 1.5 kHz: difference of two one-pole low passes
        let x = white();
        held[0] += 0.35 * (x - held[0]);
        held[1] += 0.12 * (x - held[1]);
        1.2 * (-t / 0.05).exp() * (held[0] - held[1])
    })
}

fn hats() -> Stereo {
    let mut white = noise();
    let mut before = [0.0; 2];
    play(&[2, 6, 10, 14], 0.7, move |t| {
        let x = white();
        let high = x - 2.0 * before[0] + before[1];
        before = [x, before[0]];
        0.05 * (-t / 0.03).exp() * high
    })
}

fn fold(sounds: &[&Stereo]) -> FoldedSound {
    let lines = BarLines {
        bar_starts_s: (0..=BARS).map(|bar| bar as f64 * BAR_S).collect(),
        beats_per_bar: 4,
        swing: 0.5,
    };
    let mut mix = sounds[0].clone();
    for sound in &sounds[1..] {
        for (mix, channel) in mix.iter_mut().zip(sound.iter()) {
            mix.iter_mut().zip(channel).for_each(|(sum, x)| *sum += x);
        }
    }
    let mut meter = LayerMeter::new(RATE_HZ, 2, &lines, 0.0);
    meter.push(&[&mix[0], &mix[1]]);
    meter.finish()
}

#[test]
fn tracks_are_described_as_they_were_played() {
    let folds = [fold(&[&kick()]), fold(&[&clap()]), fold(&[&hats()])];
    let layers = layers_of_tracks(&[
        ("a", Role::Kick, &folds[0]),
        ("b", Role::Clap, &folds[1]),
        ("c", Role::ClosedHat, &folds[2]),
    ]);
    let places: Vec<&[usize]> = layers.iter().map(|layer| &layer.places[..]).collect();
    assert_eq!(places, [&[0, 4, 8, 12][..], &[4, 12], &[2, 6, 10, 14]]);
    assert!(
        layers
            .iter()
            .all(|layer| layer.pattern_bars == 1 && !layer.sustained)
    );
    // closed form: amplitudes 0.7 and 0.3 are an angle of atan(7/3) of a
    // constant-power pan, which is 0.48 to the right
    assert!((layers[2].side - 0.485).abs() < 0.02, "{}", layers[2].side);
    assert!(layers[1].side.abs() < 0.02);
    assert!(layers[0].band_hz.1 < 300.0 && layers[2].band_hz.0 > 3000.0);
    assert_eq!(layers[2].name, "closed hat on the off-beats, right");
}

#[test]
fn a_bare_beat_is_found_and_compared() {
    let (kick, clap, hats) = (kick(), clap(), hats());
    let found = find_layers(&fold(&[&kick, &clap, &hats]), &LayerContext::default());
    let folds = [fold(&[&kick]), fold(&[&clap]), fold(&[&hats])];
    let truth = layers_of_tracks(&[
        ("a", Role::Kick, &folds[0]),
        ("b", Role::Clap, &folds[1]),
        ("c", Role::ClosedHat, &folds[2]),
    ]);
    for layer in &truth {
        let facts = LayerFacts::from(layer);
        let there = |one: &crate::Layer| crate::layer_matches(&LayerFacts::from(one), &facts);
        assert!(found.iter().any(there), "{layer:?} in {found:?}");
    }
    // the session lacks the hats
    let pairs = compare_layers(&truth[..2], &truth);
    let verdicts: Vec<Verdict> = pairs.iter().map(|pair| pair.verdict).collect();
    assert_eq!(
        verdicts,
        [Verdict::Shared, Verdict::Shared, Verdict::Missing]
    );
    let bands = arrangement_bands(&pairs, &truth[..2], &truth);
    assert!(bands.len() <= 1, "{bands:?}");
    assert!(bands.iter().all(|band| band.low_hz > 3000.0));
}

#[test]
fn silence_has_no_layers() {
    let silent = [vec![0.0; 1000], vec![0.0; 1000]];
    assert!(find_layers(&fold(&[&silent]), &LayerContext::default()).is_empty());
}

#[test]
fn a_bass_on_the_off_beats_is_not_a_kick_in_eighths() {
    let kick = fold(&[&kick()]);
    let layers = layers_of_tracks(&[("a", Role::Kick, &kick)]);
    let mut bass = layers[0].clone();
    bass.kind = crate::LayerKind::Bass;
    bass.places = vec![2, 6, 10, 14];
    let mut eighths = layers[0].clone();
    eighths.places = (0..8).map(|n| 2 * n).collect();
    assert!(crate::layer_matches(
        &LayerFacts::from(&bass),
        &LayerFacts::from(&eighths)
    ));
    assert!(!crate::same_layer(&bass, &eighths));
    let verdicts: Vec<Verdict> = compare_layers(&[bass], &[eighths])
        .iter()
        .map(|pair| pair.verdict)
        .collect();
    assert_eq!(verdicts, [Verdict::Missing, Verdict::Extra]);
}
