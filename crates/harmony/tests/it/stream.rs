//! Meters stream: blocks, silence, odd input.

use cupel_harmony::{
    HarmonyFrames, HarmonyMeter, KickMeter, bass_notes, find_key, kick_sound, tonalness,
};

use crate::synth::{Noise, add_note, hear};

#[test]
fn blocks_change_nothing() {
    let mut left = vec![0.0; 48_000 * 6];
    let mut noise = Noise(7);
    for n in 0..12 {
        let start_s = 0.5 * f64::from(n);
        add_note(&mut left, start_s, start_s + 0.4, 36.0 + f64::from(n), 0.3);
    }
    left.iter_mut().for_each(|x| *x += 0.01 * noise.next());
    let right: Vec<f64> = left.iter().map(|x| 0.5 * x).collect();
    let whole = hear(&left, &right, left.len());
    assert_eq!(whole, hear(&left, &right, 1000));
    assert_eq!(whole, hear(&left, &right, 4097));
}

#[test]
fn silence_and_nothing() {
    let silence = vec![0.0; 96_000];
    let (harmony, kick) = hear(&silence, &silence, 4800);
    assert_eq!(find_key(&[&harmony]).key, None);
    assert!(bass_notes(&harmony, 0.0).is_empty());
    assert_eq!(kick_sound(&kick, None), None);
    assert_eq!(tonalness(&harmony), 0.0);
    let empty = HarmonyFrames::default();
    assert_eq!(find_key(&[&empty]).key, None);
    assert_eq!(find_key(&[]).key, None);
    assert!(bass_notes(&empty, 0.0).is_empty());
    assert!(bass_notes(&HarmonyMeter::new(48_000, 2).finish(), 0.0).is_empty());
    assert_eq!(kick_sound(&KickMeter::new(48_000, 2).finish(), None), None);
}

#[test]
fn odd_samples_and_rates_do_no_harm() {
    for rate_hz in [1, 8_000, 22_050, 44_100, 192_000] {
        let mut harmony = HarmonyMeter::new(rate_hz, 1);
        let mut kick = KickMeter::new(rate_hz, 1);
        let odd = [0.5, f64::NAN, f64::INFINITY, -0.5, 1e300];
        let block: Vec<f64> = odd.iter().copied().cycle().take(50_000).collect();
        harmony.push(&[&block]);
        kick.push(&[&block]);
        harmony.push(&[]);
        kick.push(&[]);
        let frames = harmony.finish();
        let finding = find_key(&[&frames]);
        assert!(finding.sure.is_finite());
        assert!(
            bass_notes(&frames, 0.0)
                .iter()
                .all(|note| note.cents_off.is_finite())
        );
        let _ = kick_sound(&kick.finish(), None);
    }
}
