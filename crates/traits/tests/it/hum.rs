//! Lines at the mains and its multiples, in the pauses of something else.

use crate::sound::*;

/// Phrases of noise of 1.5 s with pauses as long.
fn phrases(chance: &mut Chance) -> Vec<f64> {
    let mut sound = silence(18.0);
    for n in 0..6 {
        let phrase: Vec<f64> = (0..(1.5 * RATE) as usize)
            .map(|n| {
                let t = n as f64 / RATE;
                0.15 * (t / 0.02).min(1.0) * ((1.5 - t) / 0.05).min(1.0) * chance.normal()
            })
            .collect();
        add(&mut sound, 3.0 * f64::from(n), &phrase);
    }
    sound
}

/// Mains with harmonics at 0, -4, -8 ... dB; level_dbfs of all together.
fn hum(mains_hz: f64, level_dbfs: f64, seconds: f64) -> Vec<f64> {
    let powers: Vec<f64> = (0..5).map(|n| 10f64.powf(-0.4 * f64::from(n))).collect();
    let scale = 10f64.powf(0.1 * level_dbfs) / powers.iter().sum::<f64>();
    let mut sum = silence(seconds);
    for (n, power) in powers.iter().enumerate() {
        let line = sine(
            mains_hz * (n + 1) as f64,
            (2.0 * scale * power).sqrt(),
            seconds,
        );
        add(&mut sum, 0.0, &line);
    }
    sum
}

#[test]
fn hum_in_pauses_at_its_level() {
    for mains_hz in [50.0, 59.95] {
        for level_dbfs in [-72.0, -60.0, -48.0] {
            let mut sound = phrases(&mut Chance::new(1));
            add(&mut sound, 0.0, &hum(mains_hz, level_dbfs, 18.0));
            let mut chance = Chance::new(2);
            sound.iter_mut().for_each(|x| *x += 1e-5 * chance.normal());
            let found = traits_of(&[&sound, &sound]).hum.unwrap();
            assert!((found.mains_hz - mains_hz).abs() < 0.1);
            assert!((found.level_dbfs - level_dbfs).abs() < 1.0, "{found:?}");
            assert!(found.harmonics >= 3 && found.above_db > 15.0, "{found:?}");
            assert!((found.pauses_s - 4.5).abs() < 1.5, "{found:?}");
        }
    }
}

#[test]
fn notes_beside_the_mains_are_no_hum() {
    // G1 = 49.0 Hz and B1 = 61.74 Hz in equal temperament at A = 440 Hz
    for hz in [49.0, 61.74] {
        let mut sound = phrases(&mut Chance::new(3));
        add(&mut sound, 0.0, &hum(hz, -50.0, 18.0));
        assert_eq!(traits_of(&[&sound]).hum, None, "{hz}");
        // and notes that die away in the pauses
        let mut sound = silence(24.0);
        for n in 0..8 {
            let note: Vec<f64> = hum(hz, -15.0, 2.8)
                .iter()
                .enumerate()
                .map(|(n, x)| x * (-(n as f64) / RATE / 0.35).exp())
                .collect();
            add(&mut sound, 3.0 * f64::from(n), &note);
        }
        assert_eq!(traits_of(&[&sound]).hum, None, "{hz}");
    }
}

#[test]
fn a_note_on_the_mains_that_dies_away_is_no_hum() {
    let mut sound = silence(24.0);
    for n in 0..8 {
        let note: Vec<f64> = hum(50.0, -12.0, 2.8)
            .iter()
            .enumerate()
            .map(|(n, x)| x * (-(n as f64) / RATE / 0.3).exp())
            .collect();
        add(&mut sound, 3.0 * f64::from(n), &note);
    }
    assert_eq!(traits_of(&[&sound]).hum, None);
}

#[test]
fn kicks_pads_and_a_lone_tone_are_no_hum() {
    let mut chance = Chance::new(4);
    let mut kicks = silence(20.0);
    for n in 0..20 {
        let shot = kick(0.5, &mut chance);
        add(&mut kicks, f64::from(n), &shot);
    }
    assert_eq!(traits_of(&[&kicks]).hum, None);
    assert_eq!(traits_of(&[&hum(50.0, -20.0, 20.0)]).hum, None);
    let mut lone = phrases(&mut chance);
    add(&mut lone, 0.0, &sine(50.0, 0.002, 18.0));
    assert_eq!(traits_of(&[&lone]).hum, None);
}
