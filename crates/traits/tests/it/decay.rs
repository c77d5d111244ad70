//! Dry hits at 120 BPM, convolved with noise that falls exponentially: the closed form
//! h^2 = exp(-13.8155 t / T) (ISO 3382-1, definition of the decay time).

use crate::sound::*;

/// Hits every half second for ten seconds.
fn hits(shot: impl Fn(&mut Chance) -> Vec<f64>, chance: &mut Chance) -> Vec<f64> {
    let mut sound = silence(10.0);
    for n in 0..20 {
        let shot = shot(chance);
        add(&mut sound, 0.5 * f64::from(n), &shot);
    }
    sound
}

#[test]
fn room_of_hits_within_a_quarter() {
    for (n, rt60_s) in [0.3, 0.4, 0.5, 0.7, 1.0, 1.5, 2.0].into_iter().enumerate() {
        for level_db in [-14.0, -9.0, -4.0] {
            let mut chance = Chance::new(n as u64);
            let snares = hits(|chance| snare(0.12, chance), &mut chance);
            let kicks = hits(|chance| kick(0.3, chance), &mut chance);
            for (name, dry) in [("snare", snares), ("kick", kicks)] {
                let wet = in_room(&dry, rt60_s, level_db, &mut chance);
                let decay = traits_of(&[&wet]).decay;
                let decay = decay.unwrap_or_else(|| panic!("{name} {rt60_s} s, {level_db} dB"));
                let off = decay.seconds / rt60_s - 1.0;
                println!("{name} {rt60_s} {level_db}: {decay:?}");
                assert!(
                    off.abs() < 0.25,
                    "{name} {rt60_s} s, {level_db} dB: {decay:?}"
                );
                if name == "snare" {
                    assert!(
                        (decay.level_lu - level_db).abs() < 5.0,
                        "{level_db}: {decay:?}"
                    );
                    assert!(decay.drop_db > 2.5);
                }
            }
        }
    }
}

#[test]
fn a_dry_sound_has_its_own_decay_and_no_drop() {
    let mut chance = Chance::new(5);
    let dry = hits(|chance| snare(0.3, chance), &mut chance);
    let decay = traits_of(&[&dry]).decay.unwrap();
    assert!((decay.seconds / 0.3 - 1.0).abs() < 0.1, "{decay:?}");
    assert!(decay.drop_db < 3.0, "{decay:?}");
}

#[test]
fn noise_below_is_not_the_room() {
    let mut chance = Chance::new(6);
    let dry = hits(|chance| snare(0.1, chance), &mut chance);
    let mut wet = in_room(&dry, 0.5, -9.0, &mut chance);
    wet.iter_mut().for_each(|x| *x += 2e-4 * chance.normal());
    let decay = traits_of(&[&wet]).decay.unwrap();
    assert!((decay.seconds / 0.5 - 1.0).abs() < 0.25, "{decay:?}");
}

#[test]
fn held_sounds_tell_nothing() {
    let held = sine(220.0, 0.3, 10.0);
    assert_eq!(traits_of(&[&held]).decay, None);
    let mut pads = silence(12.0);
    let mut chance = Chance::new(7);
    for n in 0..6 {
        let pad: Vec<f64> = (0..(1.9 * RATE) as usize)
            .map(|n| {
                let t = n as f64 / RATE;
                let level = if t < 0.9 {
                    1.0
                } else {
                    (-(t - 0.9) / 0.1).exp()
                };
                0.2 * level * chance.normal()
            })
            .collect();
        add(&mut pads, 2.0 * f64::from(n), &pad);
    }
    assert_eq!(traits_of(&[&pads]).decay, None);
}

#[test]
fn a_note_that_is_held_and_let_go_is_no_room() {
    let mut notes = silence(12.0);
    let mut chance = Chance::new(11);
    for n in 0..20 {
        let note: Vec<f64> = (0..(0.5 * RATE) as usize)
            .map(|n| {
                let t = n as f64 / RATE;
                0.2 * 10f64.powf(-3.0 * (t - 0.2).max(0.0) / 0.3) * chance.normal()
            })
            .collect();
        add(&mut notes, 0.6 * f64::from(n), &note);
    }
    assert_eq!(traits_of(&[&notes]).decay, None);
}

#[test]
fn short_gaps_gates_and_echoes_tell_nothing_of_a_room() {
    let mut chance = Chance::new(8);
    let mut sixteenths = silence(10.0);
    for n in 0..80 {
        let shot = snare(0.1, &mut chance);
        add(&mut sixteenths, 0.125 * f64::from(n), &shot);
    }
    let quick = in_room(&sixteenths, 2.0, -9.0, &mut chance);
    assert_eq!(traits_of(&[&quick]).decay, None);

    // a room that a gate shuts 200 ms after each hit
    let dry = hits(|chance| snare(0.1, chance), &mut chance);
    let mut gated = in_room(&dry, 2.0, -3.0, &mut chance);
    for (n, x) in gated.iter_mut().enumerate() {
        let t = (n as f64 / RATE) % 0.5;
        *x *= (-(t - 0.2).max(0.0) / 0.004).exp();
    }
    let decay = traits_of(&[&gated]).decay;
    assert!(
        decay.as_ref().is_none_or(|decay| decay.seconds < 0.3),
        "{decay:?}"
    );

    let mut echoes = silence(10.0);
    for n in 0..20 {
        let shot = snare(0.1, &mut chance);
        for echo in 0..3 {
            let level = 0.5f64.powi(echo);
            let shot: Vec<f64> = shot.iter().map(|x| x * level).collect();
            add(
                &mut echoes,
                0.5 * f64::from(n) + 0.15 * f64::from(echo),
                &shot,
            );
        }
    }
    let decay = traits_of(&[&echoes]).decay;
    assert!(
        decay.as_ref().is_none_or(|decay| decay.drop_db < 3.0),
        "{decay:?}"
    );
}

#[test]
fn lows_of_the_room_are_told() {
    let mut chance = Chance::new(9);
    let dry = hits(|chance| snare(0.12, chance), &mut chance);
    let full = traits_of(&[&in_room(&dry, 0.6, -9.0, &mut chance)])
        .decay
        .unwrap();
    // white noise holds 120 of 24000 Hz: -23 dB
    assert!((full.low_part_db.unwrap() + 23.0).abs() < 4.0, "{full:?}");
    assert!(
        (full.below_120_s.unwrap() / 0.6 - 1.0).abs() < 0.4,
        "{full:?}"
    );
}
