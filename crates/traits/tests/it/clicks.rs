//! Steps of known height at known places.

use crate::sound::*;

/// A soft sine between silences, whole periods long, faded at both ends.
fn region(seconds: f64) -> Vec<f64> {
    let fade = |t: f64| (t / 0.02).min((seconds - t) / 0.02).clamp(0.0, 1.0);
    let tone = sine(110.0, 0.3, seconds);
    tone.iter()
        .enumerate()
        .map(|(n, x)| x * fade(n as f64 / RATE))
        .collect()
}

#[test]
fn a_file_that_ends_or_begins_in_its_sound() {
    let whole = sine(55.0, 0.3, 4.0);
    // a quarter period on, the sine stands at its crest: 0.3, -10.5 dBFS
    let cut = &whole[(0.25 / 55.0 * RATE) as usize..];
    let found = traits_of(&[cut]).clicks;
    assert!(found[0].file_edge && found[0].at_s == 0.0);
    assert!((found[0].step_dbfs + 10.46).abs() < 0.1, "{found:?}");
    let end = ((10.0 + 0.25) / 55.0 * RATE) as usize;
    let found = traits_of(&[&whole[..end], &whole[..end]]).clicks;
    assert_eq!(found.len(), 1);
    assert!(found[0].file_edge && (found[0].at_s * RATE - end as f64).abs() < 2.0);
    assert!((found[0].step_dbfs + 10.46).abs() < 0.1, "{found:?}");
    assert!(found[0].above_db > 30.0);
}

#[test]
fn a_region_cut_short_steps_to_silence() {
    for step_dbfs in [-40.0, -34.0, -28.0] {
        let mut sound = silence(6.0);
        let soft: Vec<f64> = region(2.0).iter().map(|x| 0.2 * x).collect();
        add(&mut sound, 1.0, &soft);
        let height = 10f64.powf(step_dbfs / 20.0);
        // where the sine comes to the height, the rest is silent
        let from = (2.0 * RATE) as usize;
        let at = (from..)
            .find(|&n| sound[n] < height && sound[n + 1] >= height)
            .unwrap()
            + 1;
        sound[at + 1..].fill(0.0);
        let found = traits_of(&[&sound]).clicks;
        assert_eq!(found.len(), 1, "{step_dbfs}: {found:?}");
        assert!((found[0].step_dbfs - step_dbfs).abs() < 3.0, "{found:?}");
        assert!((found[0].at_s * RATE - at as f64).abs() < 3.0 && !found[0].file_edge);
    }
}

#[test]
fn two_regions_that_do_not_meet() {
    let tone = sine(110.0, 0.3, 4.0);
    let other = sine(130.0, 0.3, 4.0);
    let mut sound = tone.clone();
    let far = |n: &usize| (tone[*n - 1] - other[*n]).abs() > 0.3;
    let at = (96_000..).find(far).unwrap();
    sound[at..].copy_from_slice(&other[at..]);
    let height = (sound[at] - sound[at - 1]).abs();
    assert!(height > 0.05);
    let found = traits_of(&[&sound]).clicks;
    let inside: Vec<_> = found.iter().filter(|click| !click.file_edge).collect();
    assert_eq!(inside.len(), 1, "{found:?}");
    assert_eq!((inside[0].at_s * RATE).round() as usize, at);
}

#[test]
fn onsets_crackle_and_saws_are_no_clicks() {
    let mut chance = Chance::new(1);
    // hits that start at once, some of them low
    let mut hits = silence(12.0);
    for n in 0..24 {
        let mut shot = kick(0.3, &mut chance);
        shot.iter_mut()
            .enumerate()
            .for_each(|(n, x)| *x += 0.3 * (-(n as f64) / 4000.0).exp());
        add(&mut hits, 0.5 * f64::from(n), &shot);
        let shot = snare(0.2, &mut chance);
        add(&mut hits, 0.5 * f64::from(n) + 0.25, &shot);
    }
    assert!(traits_of(&[&hits]).clicks.is_empty());
    // hits cut on the grid, every quarter
    let mut cut = silence(12.0);
    for n in 0..24 {
        let shot = kick(0.6, &mut chance);
        let at = (0.5 * f64::from(n) * RATE) as usize;
        add(&mut cut, 0.5 * f64::from(n), &shot);
        cut[at + 9_000..].fill(0.0);
    }
    assert!(traits_of(&[&cut]).clicks.is_empty());
    // crackle: single samples, here and there, over a soft tone
    let mut crackle = region(12.0);
    for _ in 0..40 {
        let at = ((chance.next() + 1.0) * 0.49 * crackle.len() as f64) as usize;
        crackle[at + 100] += 0.2 * chance.next();
    }
    let found = traits_of(&[&crackle]).clicks;
    assert!(found.is_empty(), "{found:?}");
    let saw: Vec<f64> = (0..480_000)
        .map(|n| {
            let phase = n as f64 * 82.4 / RATE;
            let fade = (n.min(480_000 - n) as f64 / 2_000.0).min(1.0);
            fade * 0.3 * (2.0 * phase.fract() - 1.0)
        })
        .collect();
    assert!(traits_of(&[&saw]).clicks.is_empty());
}

/// Crackle as a worn record has it, bursts of some samples over hiss, mostly about
/// twenty a second: some of them do not go back at once.
fn worn(seconds: f64, a_second: f64, chance: &mut Chance) -> Vec<f64> {
    let mut sound: Vec<f64> = (0..(seconds * RATE) as usize)
        .map(|_| 2e-4 * chance.next())
        .collect();
    let mut at = 0.0;
    loop {
        at += -(0.5 * (chance.next() + 1.0)).max(1e-9).ln() * RATE / a_second;
        let from = at as usize;
        if from + 64 > sound.len() {
            return sound;
        }
        let height = 10f64.powf(-0.05 * (25.0 + 9.0 * chance.next()));
        for n in 0..60 {
            sound[from + n] += height * chance.next() * (-(n as f64) / 9.0).exp();
        }
    }
}

#[test]
fn a_record_full_of_crackle_has_no_edges() {
    for seed in 1..7 {
        let mut chance = Chance::new(seed);
        let found = traits_of(&[&worn(60.0, 20.0, &mut chance)]).clicks;
        assert!(found.is_empty(), "{seed}: {found:?}");
    }
    // An edge far higher than all crackle is still one.
    let mut sound = worn(60.0, 20.0, &mut Chance::new(1));
    sound[..2_000].fill(0.0);
    let start = sound[..9_600].iter_mut().enumerate();
    start.for_each(|(n, x)| *x += 0.9 * (-(n as f64) / 480.0).exp());
    let found = traits_of(&[&sound]).clicks;
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].file_edge);
}
